"""An export taken back: to the last byte into an empty logbook, nothing twice into another.

The properties hold for whatever a logbook can hold: any event and fact, any Unicode, any
float, any sound. That an export is JSON and CSV is held by test_logbook_export.py.
"""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook_history_rig import PLANE, at, wrote
from logbook_import_rig import FORMS, exported, lines_of, session, taken
from logbook_samples import happened, stamp
from test_logbook_codec import ANY_EVENT, ANY_RECORD
from test_logbook_export import ANY_STAMP

from callout.cli.main import main
from callout.engine.events import Reading, SessionOpened
from callout.logbook.export import json_lines
from callout.logbook.history import past
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook

FLOATS = st.floats(allow_nan=False, allow_infinity=False)
ANY_NOTED = st.tuples(
    FLOATS, st.builds(Reading, gauge=st.text(), value=st.decimals(), at=st.floats())
)
ANY_STEP = st.tuples(
    ANY_EVENT,
    st.lists(ANY_RECORD, max_size=2),
    ANY_STAMP,
    st.lists(ANY_NOTED, max_size=3),
    st.binary(max_size=50),
)
ANY_SESSION = st.tuples(st.text(), st.text(), ANY_STAMP, st.lists(ANY_STEP, max_size=4),
                        st.booleans())  # fmt: skip


def fill(logbook, sessions):
    """Write sessions of any kind, their rows between one another as two machines would."""
    numbers = [
        logbook.begin(name, "1", file, "key", when) for name, file, when, _, _ in sessions
    ]  # fmt: skip
    for turn in range(4):
        for number, (_, _, _, steps, _) in zip(numbers, sessions, strict=True):
            if turn < len(steps):
                event, facts, when, noted, sound = steps[turn]
                for now, reading in noted:
                    logbook.note(number, reading, now)
                logbook.append(number, event, facts, when)
                after = (when.now, when.wall, when.boot, when.boot_id)
                with logbook.writing():
                    logbook.put("clips", (None, number, "1", "flac", 0.5, 1.25, sound, *after))
                    logbook.put("acts", (None, number, 1, "closed", (facts and facts[0].fact) or "",
                                         "by hand", *after))  # fmt: skip
    for number, (_, file, when, _, ends) in zip(numbers, sessions, strict=True):
        if ends:
            logbook.finish(number, file, when)


@pytest.mark.parametrize("form", FORMS)
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ANY_SESSION, max_size=3))
def test_export_import_export_is_the_same_to_the_last_byte(tmp_path_factory, form, sessions):
    folder = tmp_path_factory.mktemp("any")
    with Logbook.open(folder / "one.db") as logbook:
        fill(logbook, sessions)
    before = exported(folder / "one.db", form)
    (folder / "file").write_bytes(before)
    taken(folder / "file", folder / "two.db")
    assert before == exported(folder / "two.db", form)
    other = next(name for name in FORMS if name != form)
    assert exported(folder / "one.db", other) == exported(folder / "two.db", other)

    again = taken(folder / "file", folder / "two.db")
    assert (len(sessions), {}, {}) == (len(again.known), again.new, again.continued)
    assert before == exported(folder / "two.db", form)


def test_export_from_a_file_import_into_a_server_and_back_is_the_same(tmp_path, database):
    with Logbook.open(tmp_path / "one.db") as logbook:
        for name in ("Reedlark", "Other"):
            number = session(logbook, name, stamp(1))
            logbook.finish(number, "ended", stamp(60))
    before = exported(tmp_path / "one.db")
    (tmp_path / "file").write_bytes(before)
    taken(tmp_path / "file", database)
    assert before == exported(database)
    with Logbook.open(database) as logbook:  # the database's own numbers go on behind them
        assert 3 == session(logbook, "Third", stamp(5))
    (tmp_path / "all").write_bytes(exported(database))
    done = taken(tmp_path / "all", tmp_path / "one.db")
    assert ({3: 3}, {1: 1, 2: 2}) == (done.new, done.known)


def test_another_logbooks_sessions_get_the_next_numbers_in_their_order(tmp_path):
    with Logbook.open(tmp_path / "theirs.db") as logbook:
        for minute in range(3):
            logbook.finish(session(logbook, "Theirs", stamp(60 * minute)), "ended", stamp(200))
    with Logbook.open(tmp_path / "ours.db") as logbook:
        session(logbook, "Ours", stamp(7))
        ours = list(json_lines(logbook, [1]))
    (tmp_path / "file").write_bytes(exported(tmp_path / "theirs.db"))

    done = taken(tmp_path / "file", tmp_path / "ours.db")

    assert {1: 2, 2: 3, 3: 4} == done.new
    with (
        Logbook.read(tmp_path / "ours.db") as ours_now,
        Logbook.read(tmp_path / "theirs.db") as theirs,
    ):
        assert ours == list(json_lines(ours_now, [1]))
        for old, new in done.new.items():
            assert theirs.events(old) == ours_now.events(new)
            assert theirs.facts(old) == ours_now.facts(new)
            entries = list(ours_now.entries(new))
            events = {entry.seq: entry for entry in entries if entry.kind == "event"}
            assert all(entry.event in events for entry in entries if entry.kind == "fact")


def test_a_session_that_went_on_is_continued_and_an_older_export_changes_nothing(tmp_path):
    with Logbook.open(tmp_path / "one.db") as logbook:
        number = session(logbook, steps=2)
    (tmp_path / "early").write_bytes(exported(tmp_path / "one.db"))
    with Logbook.open(tmp_path / "one.db") as logbook:
        for event, facts in happened()[2:]:
            logbook.append(number, event, facts, stamp(9))
        logbook.finish(number, "ended", stamp(10))
    (tmp_path / "late").write_bytes(exported(tmp_path / "one.db"))

    assert {1: 1} == taken(tmp_path / "early", tmp_path / "two.db").new
    assert {1: 1} == taken(tmp_path / "late", tmp_path / "two.db").continued
    assert exported(tmp_path / "one.db") == exported(tmp_path / "two.db")
    assert {1: 1} == taken(tmp_path / "early", tmp_path / "two.db").known
    assert exported(tmp_path / "one.db") == exported(tmp_path / "two.db")


def test_two_sessions_of_one_recording_stay_two(tmp_path):
    began = Stamp(0.0, "1970-01-01T00:00:00.000Z", 0.0, RECORDING)
    with Logbook.open(tmp_path / "one.db") as logbook:
        for steps in (3, 3, 4):
            session(logbook, when=began, steps=steps)
    (tmp_path / "file").write_bytes(exported(tmp_path / "one.db"))
    taken(tmp_path / "file", tmp_path / "two.db")
    assert exported(tmp_path / "one.db") == exported(tmp_path / "two.db")
    assert {1, 2, 3} == set(taken(tmp_path / "file", tmp_path / "two.db").known)


def test_a_recording_that_was_removed_here_does_not_come_back(tmp_path):
    when = (1.0, stamp().wall, 1.0, "")
    with Logbook.open(tmp_path / "one.db") as logbook:
        number = session(logbook)
        with logbook.writing():
            logbook.put("clips", (None, number, "1", "flac", 0.0, 1.0, b"talk", *when))
    (tmp_path / "file").write_bytes(exported(tmp_path / "one.db"))
    with Logbook.open(tmp_path / "one.db") as logbook, logbook.writing():
        logbook.erase("DELETE FROM clips RETURNING piece")
        logbook.put("acts", (None, number, 0, "recording removed", "owner", "", *when))
    before = exported(tmp_path / "one.db")
    assert {1: 1} == taken(tmp_path / "file", tmp_path / "one.db").known
    assert before == exported(tmp_path / "one.db")


def test_what_was_taken_in_is_not_taken_up_as_the_session_at_hand(tmp_path):
    with Logbook.open(tmp_path / "one.db") as logbook:
        session(logbook)
    (tmp_path / "file").write_bytes(exported(tmp_path / "one.db"))
    taken(tmp_path / "file", tmp_path / "two.db")
    with Logbook.read(tmp_path / "two.db") as logbook:
        assert logbook.unfinished() is None
    with Logbook.read(tmp_path / "one.db") as logbook:
        assert 1 == logbook.unfinished("abc").session


def flown(path, day, fact="counted"):
    """A day's session in which something was counted."""
    with Logbook.open(path) as logbook:
        number = logbook.begin(PLANE.name, "1", "invented.yaml", "abc", at(day, boot=f"{day}"))
        first = SessionOpened((), past(logbook, PLANE, number, at(day, boot=f"{day}")).tallies)
        logbook.append(number, first, [], at(day, boot=f"{day}"))
        wrote(logbook, number, at(day + 1, boot=f"{day}"), fact, counter="charge", to="0")
        logbook.finish(number, "ended", at(day + 2, boot=f"{day}"))


def test_counters_take_an_older_session_that_came_later_for_what_it_was(tmp_path):
    """What a charger did last month takes nothing off the starts of today, and the next
    session begins with what all of them say, whichever number they have."""
    flown(tmp_path / "theirs.db", 1000, "count set back")
    flown(tmp_path / "ours.db", 2000)
    flown(tmp_path / "theirs.db", 3000)
    (tmp_path / "file").write_bytes(exported(tmp_path / "theirs.db"))
    taken(tmp_path / "file", tmp_path / "ours.db")
    with Logbook.read(tmp_path / "ours.db") as logbook:
        assert 2.0 == past(logbook, PLANE, 0, at(9000, boot="now"), "abc").tallies[0][1]
    flown(tmp_path / "ours.db", 4000)
    with Logbook.read(tmp_path / "ours.db") as logbook:
        assert 3.0 == past(logbook, PLANE, 0, at(9000, boot="now"), "abc").tallies[0][1]


def test_a_spreadsheets_byte_order_mark_is_no_matter(tmp_path):
    lines = lines_of(tmp_path, "csv")
    (tmp_path / "file").write_bytes(b"\xef\xbb\xbf" + b"".join(lines))
    taken(tmp_path / "file", tmp_path / "two.db")
    assert b"".join(lines) == exported(tmp_path / "two.db", "csv")


def test_the_command_says_what_became_of_the_file(tmp_path):
    lines = lines_of(tmp_path)
    (tmp_path / "file").write_bytes(b"".join(lines))
    with Logbook.open(tmp_path / "two.db") as logbook:
        session(logbook, "Ours", stamp(70))

    def run(file):
        words = ["log", "import", str(tmp_path / file), "--logbook", str(tmp_path / "two.db")]
        return CliRunner().invoke(main, words)

    assert "1 session is new.\nSession 1 of the file is session 2 here.\n" == run("file").stdout
    assert "1 session is there already.\n" == run("file").stdout
    missing = run("nowhere")
    assert (2, "") == (missing.exit_code, missing.stdout)
    assert f"There is no file {tmp_path / 'nowhere'} to take in.\n" == missing.stderr
