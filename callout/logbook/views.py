"""Views that answer common questions in any SQLite tool.

Rule of this file: views only read; what they show is all in `entries`. A fact's
(key, value) pairs become one JSON object in `details`; a key that stands there
twice keeps both, as SQLite's json_group_object does. Times are UTC.

  facts     every fact: list, item, what, details, when
  ticks     what was answered, item by item
  readings  measured values that something followed from (the others: samples.py)
  lists     what happened to whole lists: opened, complete, left
  ended     sessions with how and when they ended, if they did
"""

from __future__ import annotations

VIEWS = """
CREATE VIEW facts AS
SELECT seq, session, event, name AS fact,
    CASE instr(about, '/') WHEN 0 THEN about ELSE substr(about, 1, instr(about, '/') - 1) END
        AS list,
    CASE instr(about, '/') WHEN 0 THEN '' ELSE substr(about, instr(about, '/') + 1) END
        AS item,
    (SELECT json_group_object(json_extract(value, '$[0]'), json_extract(value, '$[1]'))
        FROM json_each(entries.data, '$.data')) AS details,
    now, wall
FROM entries WHERE kind = 'fact';

CREATE VIEW ticks AS
SELECT seq, session, event, list, item, details, now, wall FROM facts WHERE fact = 'ticked';

CREATE VIEW lists AS
SELECT seq, session, event, list, fact, details, now, wall
FROM facts WHERE fact LIKE 'list %';

CREATE VIEW readings AS
SELECT seq, session,
    json_extract(data, '$.gauge') AS gauge,
    CAST(json_extract(data, '$.value') AS REAL) AS value,
    json_extract(data, '$.value') AS written,
    json_extract(data, '$.at') AS at,
    wall
FROM entries WHERE kind = 'event' AND name = 'Reading';

CREATE VIEW ended AS
SELECT s.session, s.aircraft, s.revision, s.file, s.fingerprint,
    s.wall AS began, e.wall AS ended, e.how,
    (SELECT count(*) FROM entries n WHERE n.session = s.session AND n.kind = 'fact'
        AND n.name = 'ticked') AS ticks
FROM sessions s LEFT JOIN ends e USING (session);
"""

POSTGRES_VIEWS = """
CREATE VIEW facts AS
SELECT seq, session, event, name AS fact,
    split_part(about, '/', 1) AS list,
    CASE strpos(about, '/') WHEN 0 THEN '' ELSE substr(about, strpos(about, '/') + 1) END
        AS item,
    (SELECT json_object_agg(pair.value ->> 0, pair.value ->> 1)
        FROM json_array_elements(data::json -> 'data') AS pair) AS details,
    now, wall
FROM entries WHERE kind = 'fact';

CREATE VIEW ticks AS
SELECT seq, session, event, list, item, details, now, wall FROM facts WHERE fact = 'ticked';

CREATE VIEW lists AS
SELECT seq, session, event, list, fact, details, now, wall
FROM facts WHERE fact LIKE 'list %';

CREATE VIEW readings AS
SELECT seq, session,
    data::json ->> 'gauge' AS gauge,
    (data::json ->> 'value')::double precision AS value,
    data::json ->> 'value' AS written,
    data::json -> 'at' AS at,
    wall
FROM entries WHERE kind = 'event' AND name = 'Reading';

CREATE VIEW ended AS
SELECT s.session, s.aircraft, s.revision, s.file, s.fingerprint,
    s.wall AS began, e.wall AS ended, e.how,
    (SELECT count(*) FROM entries n WHERE n.session = s.session AND n.kind = 'fact'
        AND n.name = 'ticked') AS ticks
FROM sessions s LEFT JOIN ends e USING (session);
"""
"""The same views in PostgreSQL's words for JSON, one for one."""
