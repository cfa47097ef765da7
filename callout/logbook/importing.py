"""Takes an export into a logbook: all of it or nothing.

Rule of this file: one transaction. An empty logbook takes every number as it is, so that
its export is the same to the last byte; in another, what is new gets the next numbers, in
its order. A session that is there already is not written twice; one that goes on where the
other ends is continued; one of the same beginning that says something else is a conflict.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from uuid import uuid4

from callout.logbook import samples
from callout.logbook.errors import LogbookError
from callout.logbook.import_read import Placed, at
from callout.logbook.lines import Row, row_of
from callout.logbook.origins import IMPORT
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES


class ConflictError(LogbookError):
    """The same session is there with something else in it."""


@dataclass
class Imported:
    """What became of an import: number in the file -> number here."""

    new: dict[int, int] = field(default_factory=dict)
    continued: dict[int, int] = field(default_factory=dict)
    known: dict[int, int] = field(default_factory=dict)


@dataclass
class _Session:
    """The rows of one session, as they came: table -> rows."""

    number: int
    line: int
    rows: dict[str, list[Row]] = field(default_factory=lambda: {name: [] for name in TABLES})

    @property
    def head(self) -> Row:
        return self.rows["sessions"][0][1:]


def take_in(logbook: Logbook, path: Path, lines: Iterable[Placed]) -> Imported:
    """Write what is new; NotTakenInError or ConflictError says why nothing was written."""
    done = Imported()
    batch = IMPORT + uuid4().hex  # what is said of a session by its number is meant within it
    with logbook.writing():
        empty = logbook.how_many() == 0
        before = max(logbook.numbers(), default=0)
        taken: set[int] = set()
        for session in _sessions(path, lines):
            here = None if empty else _same(logbook, path, session, before, taken)
            if here is None:
                here = _write(logbook, path, session, keep=empty)
                done.new[session.number] = here
                logbook.put_all("origins", [(batch, session.number, here, 0)])
                continue
            logbook.put_all("origins", [(batch, session.number, here, 1)])
            taken.add(here)
            went_on = _go_on(logbook, path, session, here)
            (done.continued if went_on else done.known)[session.number] = here
        logbook.let_numbers_follow()
    return done


def _sessions(path: Path, lines: Iterable[Placed]) -> Iterator[_Session]:
    """The lines, session by session; each has to begin with its own line."""
    at_hand: _Session | None = None
    seen: set[int] = set()
    for number, line in lines:
        try:
            table, row = row_of(line)
        except (ValueError, ArithmeticError, LogbookError) as error:
            raise at(path, number, error) from None
        session = line["session"]
        if table == "sessions":
            if session in seen:
                raise at(path, number, f"session {session} begins a second time")
            if at_hand is not None:
                yield at_hand
            seen.add(session)
            at_hand = _Session(session, number)
        elif at_hand is None or session != at_hand.number:
            raise at(path, number, f"the line that begins session {session} is not before it")
        at_hand.rows[table].append(row)
    if at_hand is not None:
        yield at_hand


def _same(
    logbook: Logbook, path: Path, session: _Session, before: int, taken: set[int]
) -> int | None:
    """The number of the same session here, if it is here; ConflictError if it is not the same."""
    columns = " = ? AND ".join(TABLES["sessions"].columns)
    query = f"SELECT session FROM sessions WHERE {columns} = ? AND session <= ? ORDER BY session"  # noqa: S608
    found = [n for (n,) in logbook.select(query, *session.head, before) if n not in taken]
    ours = _plain(session.rows)
    for number in found:
        theirs = _plain(_rows_here(logbook, number))
        if any(_begins(*pair) for pair in ((ours, theirs), (theirs, ours))):
            return int(number)
    if not found or session.head[-1] == RECORDING:
        return None  # of one recording there may be many sessions, all of the same beginning
    raise ConflictError(
        f"{path}:{session.line}: session {session.number} is in {logbook.path} as session "
        f"{found[0]}, with something else in it. Nothing of the file was taken in. Export both "
        "to see where they part; take the file into a logbook of its own with --logbook FILE.db."
    )


def _rows_here(logbook: Logbook, number: int) -> dict[str, list[Row]]:
    rows: dict[str, list[Row]] = {}
    for name, table in TABLES.items():
        query = (
            f"SELECT {', '.join(table.all)} FROM {name} WHERE session = ? "  # noqa: S608
            f"ORDER BY {table.key}"
        )
        rows[name] = [tuple(row) for row in logbook.select(query, number)]
    return rows


_Plain = tuple[list[object], list[object], list[object]]


def _plain(rows: dict[str, list[Row]]) -> _Plain:
    """Entries, samples and end without the numbers that only tell where they are kept."""
    places = {row[0]: place for place, row in enumerate(rows["entries"], 1)}
    entries: list[object] = [(places.get(row[2]), *row[3:]) for row in rows["entries"]]
    order = sorted(places)
    noted: list[object] = [
        (bisect_right(order, row[2]), repr(samples.unpack(row[4])), *row[5:])
        for row in rows["samples"]
    ]
    return entries, noted, [row[1:] for row in rows["ends"]]


def _begins(one: _Plain, other: _Plain) -> bool:
    """Whether `other` is `one` from its beginning, so far as it goes."""
    if other[2]:
        return other == one
    return all(a[: len(b)] == b for a, b in zip(one[:2], other[:2], strict=True))


def _go_on(logbook: Logbook, path: Path, session: _Session, here: int) -> bool:
    """Write what came after what is here; whether there was anything."""
    there = _rows_here(logbook, here)
    left = {
        name: rows[len(there[name]) :]
        for name, rows in session.rows.items()
        if name in ("entries", "samples", "ends")
    }
    numbers = {
        row[0]: old[0] for row, old in zip(session.rows["entries"], there["entries"], strict=False)
    }
    known = {row[2:] for row in there["acts"]}
    acts = [row for row in session.rows["acts"] if row[2:] not in known]
    _put(logbook, path, session, left | {"acts": acts}, here, numbers, keep=False)
    return any(left.values()) or bool(acts)


def _write(logbook: Logbook, path: Path, session: _Session, *, keep: bool) -> int:
    """A session that is new; gives its number here."""
    here = session.number if keep else logbook.next_number("sessions")
    logbook.put_all("sessions", [(here, *session.head)])
    _put(logbook, path, session, session.rows, here, {}, keep=keep)
    return here


def _put(
    logbook: Logbook, path: Path, session: _Session, rows: dict[str, list[Row]], here: int,
    numbers: dict[int, int], *, keep: bool,
) -> None:  # fmt: skip
    """Rows of every table but sessions; `numbers`: seq in the file -> seq here, so far."""
    numbered = {
        name: _numbered(logbook, name, rows.get(name, []), keep=keep)
        for name in ("entries", "samples", "clips", "acts")
    }
    numbers |= {old: row[0] for old, row in numbered["entries"]}
    try:
        entries = [
            (seq, here, None if event is None else numbers[event], *rest)
            for _, (seq, _, event, *rest) in numbered["entries"]
        ]
    except KeyError as error:
        raise at(
            path, session.line, f"a fact of session {session.number} follows from entry {error}, "
            "which is not in it",
        ) from None  # fmt: skip
    logbook.put_all("entries", entries)
    order = sorted(numbers)
    noted = []
    for _, (batch, _, after, *rest) in numbered["samples"]:
        place = bisect_right(order, after)
        new = numbers[order[place - 1]] if place else 0
        noted.append((batch, here, after if keep else new, *rest))
    logbook.put_all("samples", noted)
    for name in ("clips", "acts"):
        logbook.put_all(name, [(key, here, *rest) for _, (key, _, *rest) in numbered[name]])
    logbook.put_all("ends", [(here, *row[1:]) for row in rows["ends"]])


def _numbered(
    logbook: Logbook, table: str, rows: list[Row], *, keep: bool
) -> list[tuple[int, Row]]:
    """(key in the file, the row with its key here)."""
    if keep or not rows:
        return [(row[0], row) for row in rows]
    keys = itertools.count(logbook.next_number(table))
    return [(row[0], (next(keys), *row[1:])) for row in rows]
