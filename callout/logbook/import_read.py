"""Reads an export back, line by line, each with the place where it stands.

Rule of this file: it opens files and knows JSON and CSV; what a line means stands in
lines.py. A file of any size is read in bounded memory, and whatever it holds becomes lines
or one sentence that names the line.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from callout.logbook import strict_json
from callout.logbook.errors import LogbookError, from_os
from callout.logbook.export import CSV_COLUMNS, NUMBER_OF
from callout.logbook.lines import Line
from callout.logbook.tables import WHEN

LONGEST = 256 * 2**20
"""Characters of one line at most: a minute of recorded talk has a million."""

Placed = tuple[int, Line]
"""(number of the line in the file, what stands there)."""


class NotTakenInError(LogbookError):
    """A line that cannot be taken in; the text is for people."""


def at(path: Path, number: int, why: object) -> NotTakenInError:
    """Make the error for a line: FILE:LINE: what is wrong."""
    text = " ".join(str(why).split()).rstrip(".")
    return NotTakenInError(f"{path}:{number}: {text}. Nothing of the file was taken in.")


def read(path: Path) -> Iterator[Placed]:
    """Every line of an export; NotTakenInError names the first that is none."""
    try:
        # newline="" because line ends are part of a CSV field.
        with path.open(encoding="utf-8-sig", newline="") as file:
            start = file.read(len(CSV_COLUMNS[0]) + 1)
            file.seek(0)
            rows = _csv(path, file) if start == CSV_COLUMNS[0] + "," else _json(path, file)
            yield from rows
    except UnicodeDecodeError:
        raise NotTakenInError(
            f"{path} is no export of a logbook: it is no text in UTF-8."
        ) from None
    except OSError as error:
        if not path.is_file():
            raise NotTakenInError(f"There is no file {path} to take in.") from None
        raise from_os(error, path) from None


def _json(path: Path, file: IO[str]) -> Iterator[Placed]:
    number = 0
    while text := file.readline(LONGEST):
        number += 1
        if len(text) == LONGEST:
            raise at(path, number, "the line is longer than any line of an export")
        try:
            line = strict_json.parsed(text)
        except (ValueError, RecursionError):
            raise at(path, number, "it is no JSON object of an export") from None
        if not isinstance(line, dict):
            raise at(path, number, "it is no JSON object of an export")
        if not text.endswith("\n"):
            raise at(path, number, "the file ends within a line, so something is missing")
        yield number, line


def _csv(path: Path, file: IO[str]) -> Iterator[Placed]:
    csv.field_size_limit(LONGEST)
    records = csv.reader(file, strict=True)
    try:
        if tuple(next(records)) != CSV_COLUMNS:
            raise at(path, 1, f"the head must be {','.join(CSV_COLUMNS)}")
        for record in records:
            number = records.line_num
            if len(record) != len(CSV_COLUMNS):
                raise at(path, number, f"it has {len(record)} fields, not {len(CSV_COLUMNS)}")
            try:
                yield number, _line(dict(zip(CSV_COLUMNS, record, strict=True)))
            except (ValueError, RecursionError) as error:
                raise at(path, number, error) from None
    except csv.Error as error:
        raise at(path, records.line_num, error) from None


def _line(cells: dict[str, str]) -> Line:
    """A record as the line it was made from."""
    what = cells["kind"]
    line: Line = {"line": what, "session": _whole(cells["session"])}
    if what in NUMBER_OF:
        line[NUMBER_OF[what]] = _whole(cells["seq"])
    if what == "fact":
        line |= {"event": _whole(cells["event"]), "about": cells["about"]}
    if what in ("event", "fact", "clip"):
        line["name"] = cells["name"]
    if what == "session":
        line |= {name: cells[name] for name in ("aircraft", "revision")}
    line |= {name: cells[name] for name in WHEN}
    line |= {name: float(cells[name]) for name in ("now", "boot")}
    data: Any = strict_json.parsed(cells["data"])
    if what in ("event", "fact"):
        return line | {"text": cells["data"]}
    if not isinstance(data, dict):
        raise ValueError("its data must be a JSON object")
    return data | line


def _whole(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,19}", text):
        raise ValueError(f"{text!r} is no number of a row")
    return int(text)
