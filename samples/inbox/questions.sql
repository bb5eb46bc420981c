-- Five questions worth asking of an inbox. Tables: table.sql.
.mode list
.separator "|"

.print 1. Which machines lost the same speed source in more than one upload?
SELECT machine, ecu_name, pgn, count(DISTINCT upload) AS uploads, min(start_utc), max(start_utc)
FROM findings
WHERE code IN ('speed-lost', 'speed-stuck-zero', 'speed-not-available') AND ecu_name IS NOT NULL
GROUP BY machine, ecu_name, pgn HAVING count(DISTINCT upload) > 1
ORDER BY uploads DESC, machine, ecu_name, pgn;

.print 2. Which section of the harness fails at which age? (section, days since the machine was first seen, times, machines, of 100 uploads at that age)
WITH first AS (SELECT machine, min(start_utc) AS seen FROM uploads GROUP BY machine),
aged AS (SELECT upload, machine, cast((julianday(start_utc) - julianday(seen)) / 90 AS INTEGER) AS quarter
    FROM uploads JOIN first USING (machine) WHERE duplicate_of IS NULL AND start_utc IS NOT NULL),
size AS (SELECT quarter, count(*) AS uploads FROM aged GROUP BY quarter)
SELECT coalesce(section, 'not placed: no rig') AS section, quarter * 90 AS from_day,
    count(*) AS times, count(DISTINCT aged.machine) AS machines,
    round(100.0 * count(DISTINCT upload) / uploads, 1) AS percent
FROM findings JOIN aged USING (upload) JOIN size USING (quarter)
WHERE code = 'harness-section-silent'
GROUP BY 1, quarter ORDER BY 1, quarter;

.print 3. What is the root cause most often, over how many machines?
SELECT code, count(DISTINCT upload) AS uploads, count(DISTINCT machine) AS machines
FROM findings WHERE root AND severity <> 'note'
GROUP BY code ORDER BY uploads DESC, code;

.print 4. Which machines have shown no fault since a fault of theirs?
SELECT machine, max(start_utc) AS last_upload,
    max(CASE worst WHEN 'fault' THEN start_utc END) AS last_fault
FROM uploads WHERE machine IS NOT NULL
GROUP BY machine HAVING last_fault < last_upload ORDER BY last_fault, machine;

.print 5. Why could uploads not be used?
SELECT substr(error, 1, 40) AS reason, count(*) AS uploads
FROM uploads WHERE worst = 'unusable' GROUP BY reason ORDER BY uploads DESC, reason;
