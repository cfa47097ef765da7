"""A talk in which something is warned of.

Rule of this file: plain functions, no test.
"""

from __future__ import annotations

from decimal import Decimal

from engine_rig import ask, checklist, talk
from engine_talk import Talk

from callout.engine.effects import Priority, Say
from callout.engine.events import Heard, Reading, SpeechEnded
from callout.engine.state import Alert

HOT = "Warning. Exhaust temperature seven three zero degrees, never above seven two zero."


def reads(one: Talk, value: str, gauge: str = "heat") -> Talk:
    one.handle(Reading(gauge, Decimal(value), one.now))
    return one


def hot() -> Talk:
    """A session in which the exhaust has just passed its limit."""
    one = talk(checklist("first", ask("door"), ask("oil"), engine_state="start"))
    one.hear_out()
    one.now += 3.0
    return reads(one, "730")


def says(one: Talk) -> list[Say]:
    return [e for e in one.effects if isinstance(e, Say)]


def warnings(one: Talk) -> list[str]:
    return [e.text for e in says(one) if e.priority is Priority.WARNING]


def alert(one: Talk) -> Alert:
    (found,) = one.session.state.alerts
    return found


def hear_warning(one: Talk, seconds: float = 3.0) -> Talk:
    """The warning is said to its end."""
    one.now += seconds
    number = alert(one).say
    assert number is not None
    one.handle(SpeechEnded(number))
    return one


def told(one: Talk, text: str, after: float) -> Talk:
    """Words that begin so many seconds from now."""
    began = one.now + after
    one.now = began + 0.4
    serial = one.session.state.grammar.serial
    one.handle(Heard(text, 1.0, serial, began, one.now, "test"))
    return one
