"""Which list a bench of turns answers.

Rule of this file: an aircraft in, the id of a list out.
"""

from __future__ import annotations

from itertools import takewhile

from callout.checklist.model import Aircraft, Ask, CheckList, ListKind
from callout.running.problems import CannotRunError

ENOUGH = 3


def chosen(aircraft: Aircraft, wanted: str = "") -> str:
    """The list of this id, or the first that begins with ENOUGH questions in a row.

    A later list may have to wait for the ones before it.
    """
    normal = [one for one in aircraft.lists if one.kind is ListKind.NORMAL]
    if wanted:
        if wanted not in [one.id for one in normal]:
            ids = ", ".join(one.id for one in normal)
            raise CannotRunError(f"There is no list {wanted!r}; the file has {ids}.")
        return wanted
    enough = [one.id for one in normal if questions(one) >= ENOUGH]
    if not enough:
        raise CannotRunError(
            f"No list of this aircraft begins with {ENOUGH} questions; name one with --list."
        )
    return enough[0]


def questions(checklist: CheckList) -> int:
    """How many of its items are questions before the first that is none."""
    return sum(1 for _ in takewhile(lambda item: isinstance(item.task, Ask), checklist.items()))
