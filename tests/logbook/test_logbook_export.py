"""What leaves the logbook: JSON lines without loss, CSV by RFC 4180."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook_samples import begin, happened, stamp
from test_logbook_codec import ANY_EVENT, ANY_RECORD

from callout.engine.events import Lost
from callout.logbook import codec
from callout.logbook.export import CSV_COLUMNS, csv_lines, json_lines
from callout.logbook.rows import Entry
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

# RFC 4180 section 2, ABNF, with TEXTDATA widened from ASCII to all but the four
# characters that need quotes (the RFC's own grammar is ASCII only).
_FIELD = r'(?:"(?:[^"]|"")*"|[^",\r\n]*)'
_RECORD = re.compile(rf"{_FIELD}(?:,{_FIELD})*\r\n")

ANY_STAMP = st.builds(
    Stamp,
    now=st.floats(allow_nan=False, allow_infinity=False),
    wall=st.just("2031-05-04T09:30:00.125Z"),
    boot=st.floats(allow_nan=False, allow_infinity=False),
    boot_id=st.text(),
)


@pytest.fixture
def logbook(tmp_path):
    """Two sessions, the first of them ended, with text that begs to be quoted."""
    with Logbook.open(tmp_path / "logbook.db") as opened:
        for _ in range(2):
            session = begin(opened, file='in "a, b"\r\nc.yaml')
            for n, (event, facts) in enumerate(happened()):
                opened.append(session, event, facts, stamp(n))
        opened.finish(1, "complete", stamp(60))
        yield opened


def entry_of(line):
    """The stored entry, made anew from one exported line alone."""
    when = Stamp(line["now"], line["wall"], line["boot"], line["boot_id"])
    text = json.dumps(line["data"], separators=(",", ":"))
    event, about = line.get("event"), line.get("about", "")
    return Entry(line["seq"], line["session"], event, line["line"], line["name"], about, text, when)


def test_logbook_export_json_lines_hold_every_column_of_every_row(logbook):
    lines = [json.loads(line) for line in json_lines(logbook, [1, 2])]

    assert ["session", *["event", "fact"] * 2, "event", "event", "fact", "fact", "end"] == [
        line["line"] for line in lines if line["session"] == 1
    ]
    assert [*logbook.entries(1), *logbook.entries(2)] == [
        entry_of(line) for line in lines if line["line"] in {"event", "fact"}
    ]
    when = {"now": 0.0, "wall": stamp().wall, "boot": 1000.0, "boot_id": stamp().boot_id}
    assert {
        "line": "session",
        "session": 1,
        "aircraft": "Invented helicopter",
        "revision": "1",
        "file": 'in "a, b"\r\nc.yaml',
        "fingerprint": "abc",
    } | when == lines[0]
    assert {"line": "end", "session": 1, "how": "complete"} | when | {
        "now": 60.0,
        "wall": stamp(60).wall,
        "boot": 1060.0,
    } == lines[9]
    assert "end" not in [line["line"] for line in lines if line["session"] == 2]


@settings(max_examples=30, deadline=None)  # it writes to a disk
@given(st.lists(st.tuples(ANY_EVENT, st.lists(ANY_RECORD, max_size=2), ANY_STAMP), max_size=5))
def test_logbook_export_json_lines_lose_nothing_of_any_session(tmp_path_factory, steps):
    with Logbook.open(tmp_path_factory.mktemp("any") / "logbook.db") as logbook:
        session = begin(logbook)
        for event, facts, when in steps:
            logbook.append(session, event, facts, when)
        lines = list(json_lines(logbook, [session]))

        assert all(line.endswith("}\n") and line.isascii() for line in lines)
        assert repr(list(logbook.entries(session))) == repr(
            [entry_of(json.loads(line)) for line in lines[1:]]
        )
        events = [json.loads(line) for line in lines if '"line": "event"' in line]
        assert repr([event for event, _, _ in steps]) == repr(
            [codec.event_from(line["name"], json.dumps(line["data"])) for line in events]
        )


def test_logbook_export_csv_keeps_to_rfc_4180(logbook):
    logbook.append(2, Lost("feed", 'said "no",\r\nthen ended'), [], stamp())
    lines = list(csv_lines(logbook, [1, 2]))

    assert all(_RECORD.fullmatch(line) for line in lines)
    records = list(csv.reader(io.StringIO("".join(lines), newline=""), strict=True))
    assert list(CSV_COLUMNS) == records[0]
    assert {len(CSV_COLUMNS)} == {len(record) for record in records}
    kept = [*logbook.entries(1), *logbook.entries(2)]
    assert [(str(e.seq), e.kind, e.name, e.about, e.data, repr(e.stamp.now)) for e in kept] == [
        (r[0], r[4], r[6], r[7], r[8], r[9]) for r in records if r[4] in ("event", "fact")
    ]
    assert '3,1,Invented helicopter,1,event,,Heard,,"{""text"":""battery on"",' in lines[4]
    others = [r for r in records[1:] if r[4] not in ("event", "fact")]
    assert ["session", "end", "session"] == [r[4] for r in others]
    assert {"file": 'in "a, b"\r\nc.yaml', "fingerprint": "abc"} == json.loads(others[0][8])
    assert {"how": "complete"} == json.loads(others[1][8])


def test_logbook_export_csv_quotes_an_aircraft_of_any_name(tmp_path):
    name = 'a "b", c\r\nd'
    with Logbook.open(tmp_path / "logbook.db") as logbook:
        session = logbook.begin(name, "", "f", "f", stamp())
        logbook.append(session, *happened()[2], stamp())
        header, first, line = csv_lines(logbook, [session])

    assert '1,1,"a ""b"", c\r\nd",,event,,Clock,,{},0.0,' in line
    assert _RECORD.fullmatch(line)
    assert _RECORD.fullmatch(first)
    assert header.count(",") == len(CSV_COLUMNS) - 1
