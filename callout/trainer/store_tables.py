"""The tables of a practice book.

Rule of this file: SQL only. What is written in them is never changed and never deleted,
and the tables themselves hold it; a change of them is a new version.
"""

VERSION = 2
"""Version of the tables; kept in the file's user_version."""

TABLES = """
CREATE TABLE practice (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  aircraft TEXT NOT NULL,
  revision TEXT NOT NULL,
  fingerprint TEXT NOT NULL,
  drill TEXT NOT NULL,
  title TEXT NOT NULL,
  roles TEXT NOT NULL,
  coached INTEGER NOT NULL,
  percent INTEGER NOT NULL CHECK (percent BETWEEN 0 AND 100),
  critical_missed INTEGER NOT NULL,
  result TEXT NOT NULL
) STRICT;
CREATE INDEX practice_of ON practice (who, aircraft, at);
CREATE TRIGGER practice_kept BEFORE DELETE ON practice
BEGIN SELECT RAISE(ABORT, 'practice is never deleted'); END;
CREATE TRIGGER practice_unchanged BEFORE UPDATE ON practice
BEGIN SELECT RAISE(ABORT, 'practice is never changed'); END;
"""

ATTEMPTS = """
CREATE TABLE attempt (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  aircraft TEXT NOT NULL,
  drill TEXT NOT NULL,
  title TEXT NOT NULL,
  roles TEXT NOT NULL
) STRICT;
CREATE TABLE scored (
  id INTEGER PRIMARY KEY,
  attempt INTEGER NOT NULL REFERENCES attempt (id),
  at TEXT NOT NULL,
  calls INTEGER NOT NULL,
  in_time INTEGER NOT NULL,
  of INTEGER NOT NULL,
  how INTEGER NOT NULL
) STRICT;
CREATE INDEX scored_of ON scored (attempt);
CREATE TRIGGER attempt_kept BEFORE DELETE ON attempt
BEGIN SELECT RAISE(ABORT, 'practice is never deleted'); END;
CREATE TRIGGER attempt_unchanged BEFORE UPDATE ON attempt
BEGIN SELECT RAISE(ABORT, 'practice is never changed'); END;
CREATE TRIGGER scored_kept BEFORE DELETE ON scored
BEGIN SELECT RAISE(ABORT, 'practice is never deleted'); END;
CREATE TRIGGER scored_unchanged BEFORE UPDATE ON scored
BEGIN SELECT RAISE(ABORT, 'practice is never changed'); END;
"""
"""Since version 2: a drill that was begun, and what it had come to after each call."""
