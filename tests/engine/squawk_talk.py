"""Lists to squawk in, and a pilot who does.

Rule of this file: nothing here asserts but that the squawk was opened.
"""

from __future__ import annotations

from engine_rig import ask, checklist, mode, rig, talk
from engine_talk import Talk

from callout.checklist.model import ListKind
from callout.engine.effects import Keep
from callout.engine.events import (
    NotUnderstood,
    SessionOpened,
)
from callout.engine.rules import State

WALK = checklist(
    "walk",
    ask("cap", where="nose"),
    ask("oil", where="bay", killer=True),
    ask("tail", where="tail"),
    abort="stop",
)
START = checklist("start", ask("lever"), engine_state="start", abort="stop")
LANDED = checklist("landed", ask("idle"), engine_state="running")
STOP = checklist("stop", ask("fuel"), kind=ListKind.ABORT)
LISTS = (WALK, START, LANDED, STOP)

PAST = (
    ("7.1", "walk/oil", "bay", "Oil", 3, "", "", False, True),
    ("9.2", "walk/tail", "tail", "Tail", 0, "crack in the fin", "typed", True, False),
)


def keeps(one: Talk) -> list[Keep]:
    return [e for e in one.effects if isinstance(e, Keep)]


def squawking() -> Talk:
    one = talk(*LISTS).say("squawk")
    assert State.SQUAWKING is mode(one)
    return one


def opened(*squawks: tuple, **fields: object) -> Talk:
    one = Talk(rig(*LISTS))
    one.handle(SessionOpened((), squawks=squawks or PAST, **fields))
    return one


def talks(one: Talk, seconds: float = 2.0) -> None:
    """Somebody says something that is in no grammar."""
    one.now += seconds
    serial = one.session.state.grammar.serial
    began = one.now - seconds / 2
    one.handle(NotUnderstood("not in the grammar", "", 0.1, serial, began, one.now, "test"))
