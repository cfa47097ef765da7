"""Sessions in the invented aircraft, brought to where a test begins."""

from __future__ import annotations

from engine_aircraft import aircraft
from engine_talk import Talk

from callout.checklist.model import Settings

TO_VOLTS = ("free", "secure", "in hand", "battery")
BEFORE = (*TO_VOLTS, "two four point five", "clear")


def before_start(settings: Settings | None = None) -> Talk:
    return Talk(aircraft(settings)).open("before-start")


def started() -> Talk:
    """The start list at its first value, gas generator speed."""
    talk = Talk(aircraft()).open("before-start", "start").say(*BEFORE, "proceed")
    talk.hear_out()
    return talk
