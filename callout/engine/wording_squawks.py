"""What is said about squawks.

Rule of this file: sentences only. Text that a machine made out of a recording is
never said without the word "unverified".
"""

from __future__ import annotations

from callout.checklist.model import Aircraft
from callout.engine.squawk_state import Known, closed_lists
from callout.engine.wording import sentence
from callout.words.say_numbers import say_duration, say_everyday

HOWS = ("repaired", "replaced", "adjusted", "no fault found")
"""How a squawk was closed, as far as it can be said (common practice, no source)."""

NAMED = 3
"""Squawks that are called by name when a session begins; of the others their number."""

SPOKEN_TEXT = 200
"""Characters of a note that are read aloud."""

GO_AHEAD = "Go ahead."
KEPT = "Squawk kept."
DROPPED = "Squawk dropped."
RECORDED = "This session is being recorded."
NONE_HEARD = "Squawk kept, no words heard."
GO_AHEAD_LOST = "Logbook lost, nothing of this is kept. Write it down."
NOT_KEPT = "Squawk not kept, the logbook is lost. Write it down."


def at_begin(squawks: tuple[Known, ...]) -> str:
    """One short sentence about all that are open; "" if none is."""
    if not squawks:
        return ""
    grounded = "Aircraft grounded. " if any(one.grounds for one in squawks) else ""
    first = sorted(squawks, key=lambda one: not one.grounds)
    called = [one.called for one in first[:NAMED]]
    if len(first) > NAMED:
        called.append(f"{say_everyday(len(first) - NAMED)} more")
    count = "Open squawk" if len(first) == 1 else f"{say_everyday(len(first))} open squawks"
    return grounded + sentence(f"{count}: {', '.join(called)}")


def read(known: Known) -> str:
    """An open squawk, where it belongs."""
    text = f"Open squawk, {age(known.days)}: {known.called}"
    if known.grounds:
        text += ", grounds the aircraft"
    words = known.text[:SPOKEN_TEXT].strip()
    if words:
        kind = "Noted" if known.kind == "typed" else "Unverified"
        text += f". {kind}: {words}"
    return sentence(text)


def age(days: int) -> str:
    """How old, in days."""
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{say_everyday(days)} days old"


def ask_how(known: Known) -> str:
    """Clearing asks how."""
    return f"Clear squawk {known.called}. Say how: {', '.join(HOWS)}. Or negative."


def closed(known: Known, how: str, *, lost: bool = False) -> str:
    """It is closed; `lost`: there is no logbook that would know."""
    told = ", but the logbook is lost: it will be open again" if lost else ""
    return sentence(f"Squawk {known.called} cleared, {how}{told}")


def grounded(aircraft: Aircraft, known: Known) -> str:
    """The aircraft is grounded, and what that means."""
    lists = [aircraft.list(one).title for one in closed_lists(aircraft)]
    text = f"Aircraft grounded, squawk {known.called}."
    if lists:
        opens = "open" if len(lists) > 1 else "opens"
        text += " " + sentence(f"{', '.join(lists)} {opens} by override only")
    return text


def running_grounded(title: str) -> str:
    """It was grounded while a list ran that a grounded aircraft's does not open."""
    return sentence(f"{title} is running and will not be complete")


def refusal(squawks: tuple[Known, ...]) -> str:
    """Why a list does not open."""
    return sentence(f"Aircraft grounded, squawk {', '.join(one.called for one in squawks)}")


def broken_off(seconds: float) -> str:
    """The program was killed while one was recorded."""
    if seconds <= 0:
        return "Squawk broken off, its recording was lost."
    return f"Squawk broken off, {say_duration(max(1, round(seconds)))} kept."
