"""What is wrong in an aircraft file, as sentences with a place.

Rule of this file: a problem is a value for a person to read. It says what was
found, what was expected and, where a word is nearly right, which one was meant.
"""

from __future__ import annotations

import difflib
import itertools
from collections.abc import Iterable
from dataclasses import dataclass

MOST_PROBLEMS = 200
"""No person reads more; a hostile file could bring a hundred thousand."""

_LONGEST_GUESSED = 60
"""Words longer than this are not compared: difflib takes time in the square of the length."""

_MOST_GUESSED = 500
"""So many known words are compared; no honest file has more of one kind."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where something is written: file as given, line and column from 1."""

    file: str
    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing that is wrong, with its place; prints as `file:line:column: message`."""

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        """The line that editors and terminals can jump from."""
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class FileProblems(Exception):  # noqa: N818 - the name is the sentence
    """Everything that is wrong in the files of one aircraft, in reading order.

    Fields:
        problems: at least one
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class TooMany(Exception):  # noqa: N818 - no error, a full list
    """Raised inside the reader when MOST_PROBLEMS are reached; never leaves it."""


class Collector:
    """Gathers problems, so that all of them can be told at once."""

    def __init__(self) -> None:
        self._found: dict[Problem, None] = {}

    def add(self, place: Place, message: str) -> None:
        """Note one problem.  Raises TooMany when nobody would read further."""
        full = len(self._found) >= MOST_PROBLEMS - 1
        if full:
            message = f"more problems than {MOST_PROBLEMS - 1}; the rest is not listed"
        line = "".join(one if one.isprintable() else " " for one in message)  # names may hold tabs
        self._found.setdefault(Problem(place.file, place.line, place.column, line))
        if full:
            raise TooMany

    def __bool__(self) -> bool:
        """Whether anything was found."""
        return bool(self._found)

    def stop(self) -> FileProblems:
        """The error that carries all of them, in the order of files as met, then of lines."""
        order = {file: at for at, file in enumerate(dict.fromkeys(p.file for p in self._found))}
        return FileProblems(
            sorted(self._found, key=lambda p: (order[p.file], p.line, p.column, p.message))
        )


def quoted(text: str) -> str:
    """The text as found, short enough for one line."""
    flat = " ".join(text.split())
    shown = flat if len(flat) <= 40 else flat[:37] + "..."
    return f'"{shown}"'


def listed(words: Iterable[str], last: str = "or") -> str:
    """The words as a list in a sentence: a, b or c."""
    all_words = list(words)
    if len(all_words) < 2:
        return "".join(all_words)
    return f"{', '.join(all_words[:-1])} {last} {all_words[-1]}"


def nearest(word: str, words: Iterable[str]) -> str:
    """The word most like `word`, or "" when none is near."""
    if len(word) > _LONGEST_GUESSED:
        return ""
    as_key = "_".join(word.lower().replace("-", "_").split())
    by_form = {
        known.lower().replace("-", "_").replace(" ", "_"): known
        for known in itertools.islice(words, _MOST_GUESSED)
    }
    near = difflib.get_close_matches(as_key, by_form, n=1, cutoff=0.6)
    return by_form[near[0]] if near else ""


def did_you_mean(word: str, words: Iterable[str]) -> str:
    """The ending of a sentence that names the nearest word, or "" when none is near."""
    near = nearest(word, words)
    return f'; did you mean "{near}"?' if near else ""
