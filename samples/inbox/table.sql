-- findings.ndjson and uploads.ndjson as tables of sqlite3 (3.38 or later), as they are:
--     cd SITE && sqlite3 inbox.db <.../samples/inbox/table.sql
-- Each line of the files is one value; what is in it becomes columns. A name may hold
-- anything, so separators are characters that JSON never holds unescaped.
CREATE TABLE finding_lines (line TEXT);
CREATE TABLE upload_lines (line TEXT);
.mode ascii
.separator "\037" "\n"
.import findings.ndjson finding_lines
.import uploads.ndjson upload_lines
.mode list

CREATE TABLE uploads AS SELECT
    line ->> 'upload' AS upload, line ->> 'path' AS path, line ->> 'sha256' AS sha256,
    line ->> 'duplicate_of' AS duplicate_of, line ->> 'machine' AS machine,
    line ->> 'implement' AS implement, line ->> 'tractor' AS tractor,
    line ->> 'start_utc' AS start_utc, line ->> 'duration_s' AS duration_s,
    line ->> 'frames' AS frames, line ->> 'rejected' AS rejected, line ->> 'worst' AS worst,
    line ->> 'verdict' AS verdict, line ->> 'root_codes' AS root_codes, line ->> 'error' AS error
FROM upload_lines;

CREATE TABLE findings AS SELECT
    line ->> 'upload' AS upload, line ->> 'path' AS path, line ->> 'machine' AS machine,
    line ->> 'ecu_name' AS ecu_name, line ->> 'code' AS code, line ->> 'severity' AS severity,
    line ->> 'root' AS root, line ->> 'section' AS section, line ->> 'address' AS address,
    line ->> 'pgn' AS pgn, line ->> 'spn' AS spn, line ->> 'fmi' AS fmi,
    line ->> 'start_utc' AS start_utc, line ->> 'start' AS start, line ->> 'end' AS "end",
    line ->> 'count' AS count, line ->> 'title' AS title
FROM finding_lines;

DROP TABLE finding_lines;
DROP TABLE upload_lines;
