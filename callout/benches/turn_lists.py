"""Which list a bench of turns answers, and with what.

Rule of this file: an aircraft in, words out.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import takewhile

from callout.checklist.model import Aircraft, Ask, CheckList, ListKind, ReadValue
from callout.running.problems import CannotRunError
from callout.words.normal import normalise
from callout.words.say_numbers import say_digits

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


def answer(aircraft: Aircraft, list_id: str, place: int, share: float) -> tuple[str, str]:
    """What answers an item, and of which kind it is: "answer" or "value"; "" for no question.

    `share` (0 .. 1) chooses a value between the ends of what is asked for.
    """
    task = tuple(aircraft.list(list_id).items())[place].task
    if isinstance(task, Ask):
        return normalise(task.answers[0]), "answer"
    if isinstance(task, ReadValue):
        gauge = aircraft.gauge(task.gauge)
        lows = (task.accept.at_least, gauge.possible.at_least)
        highs = (task.accept.at_most, gauge.possible.at_most)
        low = max(end for end in lows if end is not None)
        high = min(end for end in highs if end is not None)
        # A whole number of steps, and never beyond the ends.
        step = Decimal(1).scaleb(-gauge.decimals)
        value = low + step * int((high - low) / step * Decimal(share))
        word = aircraft.settings.decimal_word
        return say_digits(value, gauge.decimals, decimal_word=word), "value"
    return "", ""
