"""An export that is harmed, or says something else of a session that is here, changes nothing.

A file is taken in whole or not at all, and what is wrong with it is named by its line.
"""

from __future__ import annotations

import pytest
from logbook_import_rig import FORMS, exported, lines_of, session, taken
from logbook_samples import happened, stamp

from callout.logbook.errors import LogbookError
from callout.logbook.import_read import NotTakenInError
from callout.logbook.importing import ConflictError
from callout.logbook.store import Logbook


def test_the_same_beginning_with_something_else_in_it_is_refused_whole(tmp_path):
    for name, answer in (("one", 0), ("two", 1)):
        with Logbook.open(tmp_path / f"{name}.db") as logbook:
            number = session(logbook)
            logbook.append(number, *happened()[answer], stamp(30))
            session(logbook, f"Only in {name}", stamp(99))
    (tmp_path / "file").write_bytes(exported(tmp_path / "two.db"))
    lines = (tmp_path / "file").read_bytes().splitlines(keepends=True)
    second = next(n for n, line in enumerate(lines) if b"Only in two" in line)
    (tmp_path / "file").write_bytes(b"".join(lines[second:] + lines[:second]))
    before = exported(tmp_path / "one.db")

    with pytest.raises(ConflictError, match=r"is in .*one\.db as session 1, with something else"):
        taken(tmp_path / "file", tmp_path / "one.db")
    assert before == exported(tmp_path / "one.db")


def refused(tmp_path, text, sentence):
    (tmp_path / "file").write_bytes(text)
    with Logbook.open(tmp_path / "two.db") as logbook:
        session(logbook, "Ours", stamp(70))
    before = exported(tmp_path / "two.db")
    with pytest.raises(LogbookError, match=sentence):
        taken(tmp_path / "file", tmp_path / "two.db")
    assert before == exported(tmp_path / "two.db")


@pytest.mark.parametrize("form", FORMS)
def test_a_file_cut_or_changed_anywhere_is_taken_whole_or_not_at_all(tmp_path, form):
    lines = lines_of(tmp_path, form)
    whole = b"".join(lines)
    for place in range(7, len(whole) - 1, 211):
        (tmp_path / "file").write_bytes(whole[:place])
        target = tmp_path / f"cut-{place}.db"
        said = ""
        try:
            taken(tmp_path / "file", target)
        except NotTakenInError as error:
            said = str(error)
        ends_with_a_line = whole[:place].endswith(b"\n")
        assert ends_with_a_line or form == "csv" or said.startswith(f"{tmp_path / 'file'}:")
        assert not said or b"" == exported(target)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda line: b"battery on\n", ":3: it is no JSON object of an export"),
        (lambda line: b"\xff\n", "no text in UTF-8"),
        (lambda line: line.replace(b'"line": "fact"', b'"line": "wish"'), ":3: it is no line of"),
        (lambda line: line.replace(b'"seq": 2', b'"seq": "two"'), ":3: 'seq' must be a whole"),
        (lambda line: line.replace(b'"seq": 2, ', b""), ":3: .*'seq' is missing"),
        (lambda line: line.replace(b'"event": 1', b'"event": 9'), "before it, not from entry 9"),
        (lambda line: line.replace(b'"event": 1', b'"event": 0'), "follows from entry 0"),
        (lambda line: line.replace(b'"session": 1', b'"session": 2'), "begins session 2 is not"),
        (lambda line: line.replace(b'"now": 0.5', b'"now": NaN'), ":3: it is no JSON"),
        (lambda line: line.replace(b"2031-05", b"May 31"), ":3: The stamp's wall time must be"),
        (lambda line: line.replace(b'"name": "list', b'"name": "no list'), "of another fact"),
        (lambda line: line.replace(b"Z", b"\\ud800Z"), "half a surrogate pair"),
        (lambda line: line + line, "number in entries is taken|already|refused"),
    ],
)
def test_a_line_that_does_not_fit_is_named_and_nothing_is_taken_in(tmp_path, change, sentence):
    lines = lines_of(tmp_path)
    lines[2] = change(lines[2])
    if "taken" in sentence:  # only where the numbers are kept can one be there twice
        (tmp_path / "file").write_bytes(b"".join(lines))
        with pytest.raises(LogbookError, match=sentence):
            taken(tmp_path / "file", tmp_path / "two.db")
        assert b"" == exported(tmp_path / "two.db")
        return
    refused(tmp_path, b"".join(lines), sentence)


def test_a_csv_of_something_else_is_refused(tmp_path):
    refused(tmp_path, b"seq,something\r\n1,2\r\n", "1: the head must be seq,session,aircraft")
    refused(tmp_path, b"time,volts\r\n1,2\r\n", ":1: it is no JSON object")
