"""What a page may send: words with what it showed when they were touched, or a wish for a code.

Rule of this file: whatever is not exactly one of these is junk, and junk ends the
connection it came by.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

LONGEST = 1024
"""Characters of a message."""

LONGEST_WORDS = 120
"""Characters of words: no answer is longer."""

_LATEST = 1e12
"""Seconds: no session lasts so long."""


@dataclass(frozen=True, slots=True)
class Touch:
    """Words that were touched or typed on a page.

    Fields:
        text: as the grammar has them, or as they were typed
        serial, asked_at: the grammar and the moment of asking that the page showed
    """

    text: str
    serial: int
    asked_at: float


@dataclass(frozen=True, slots=True)
class Invite:
    """A pilot's page asks for the code that lets another screen in."""

    role: str


class JunkError(ValueError):
    """Not a message."""


def message(text: str) -> Touch | Invite:
    """Read one message.  Raises JunkError."""
    if len(text) > LONGEST:
        raise JunkError("too long")
    try:
        found = json.loads(text, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        raise JunkError("not JSON") from error
    if not isinstance(found, dict):
        raise JunkError("not an object")
    if found.keys() == {"say", "shown"}:
        return _touch(found["say"], found["shown"])
    if found.keys() == {"invite"} and found["invite"] in ("pilot", "helper"):
        return Invite(found["invite"])
    raise JunkError("not known")


def _touch(words: object, shown: object) -> Touch:
    if not (isinstance(words, str) and 0 < len(words) <= LONGEST_WORDS and words.isprintable()):
        raise JunkError("no words")
    if not (isinstance(shown, list) and len(shown) == 2):
        raise JunkError("answers nothing")
    serial, asked_at = shown
    if type(serial) is not int or type(asked_at) not in (int, float) or not 0 <= serial < 2**53:
        raise JunkError("answers nothing")
    if not abs(asked_at) < _LATEST:  # a whole number may be longer than a float can be
        raise JunkError("answers nothing")
    return Touch(words, serial, float(asked_at))


def _refuse(name: str) -> float:
    raise JunkError(name)
