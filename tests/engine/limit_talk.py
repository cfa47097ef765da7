"""A session with a gauge that has limits over time, and what is said as it shows values.

Rule of this file: plain functions, no test.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from engine_aircraft import SPEED, VOLTS
from engine_rig import ask, checklist, item, rig
from engine_talk import Talk
from limit_feeds import RUNNING, START, Samples, gauge

from callout.checklist.model import Aircraft, ReadValue
from callout.engine.events import Heard, Reading

HEAT = gauge(replace(START, rate_at_most=Decimal(600)), RUNNING)
ALLOWED = (
    "Caution. Exhaust temperature seven five zero degrees, above seven four zero at most "
    "five seconds."
)


def plane() -> Aircraft:
    lists = (
        checklist("start", ask("door"), ask("lamp"), engine_state="start"),
        checklist("run", ask("seat"), item("heat", ReadValue("heat")), engine_state="running"),
    )
    return replace(rig(*lists), gauges=(VOLTS, HEAT, SPEED))


def talking() -> Talk:
    return Talk(plane()).open("start", "run")


def fed(one: Talk, samples: Samples, name: str = "heat") -> list[str]:
    """Let a gauge show these; what is said about it."""
    said = []
    begins = one.now
    for at, value in samples:
        one.now = begins + at
        one.handle(Reading(name, Decimal(f"{value:.1f}"), one.now))
        said += one.said
    return said


def answer(one: Talk, word: str, later: float = 0.5) -> list[str]:
    """A word said so soon that the last reading still holds."""
    one.now += later
    serial = one.session.state.grammar.serial
    one.handle(Heard(word, 1.0, serial, one.now - 0.1, one.now, "test"))
    return one.said
