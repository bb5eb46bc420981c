-- Five questions worth asking of an inbox. Tables: table.sql.
.mode list
.separator "|"

.print 1. Which machines lost the same speed source in more than one upload?
SELECT machine, ecu_name, pgn, count(DISTINCT upload) AS uploads, min(start_utc), max(start_utc)
FROM findings
WHERE code IN ('speed-lost', 'speed-stuck-zero', 'speed-not-available') AND ecu_name IS NOT NULL
GROUP BY machine, ecu_name, pgn HAVING count(DISTINCT upload) > 1
ORDER BY uploads DESC, machine, ecu_name, pgn;

.print 2. Which part of the harness fails, and how long after the machine was first seen?
SELECT f.machine, coalesce(f.section, 'not placed: no rig') AS section, count(*) AS times,
    min(cast(julianday(f.start_utc) - julianday(m.first) AS INTEGER)) AS days_at_first
FROM findings AS f
JOIN (SELECT machine, min(start_utc) AS first FROM uploads GROUP BY machine) AS m USING (machine)
WHERE f.code = 'harness-section-silent'
GROUP BY f.machine, f.section ORDER BY times DESC, f.machine, section;

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
