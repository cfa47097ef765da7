"""Small invented lists, built a line each, for one behaviour at a time."""

from __future__ import annotations

from typing import Any

from engine_aircraft import HEAT, SPEED, VOLTS
from engine_talk import Talk

from callout.checklist.model import (
    Aircraft,
    Ask,
    CheckList,
    Choose,
    GoTo,
    Item,
    OnlyIf,
    Option,
    Section,
    Settings,
    Source,
    Task,
)
from callout.engine.rules import State


def ask(name: str, **fields: Any) -> Item:
    """An item called by its id, answered with "ready"."""
    return Item(name, name.title(), Ask(("ready",)), **fields)


def item(name: str, task: Task, **fields: Any) -> Item:
    return Item(name, name.title(), task, **fields)


def choice(name: str, **fields: Any) -> Item:
    """A choice between "left" and "right"."""
    ways = Choose((Option("left", ("left",)), Option("right", ("right",))))
    return Item(name, name.title(), ways, **fields)


def only(choice_id: str, way: str) -> tuple[OnlyIf, ...]:
    return (OnlyIf(choice_id, way),)


def go_to(list_id: str, **fields: Any) -> Item:
    return Item("go", "Going on", GoTo(list_id), **fields)


def checklist(name: str, *items: Item, **fields: Any) -> CheckList:
    return CheckList(name, name.title(), (Section("", items),), **fields)


def rig(*lists: CheckList, settings: Settings | None = None) -> Aircraft:
    return Aircraft(
        name="Test rig",
        revision="1",
        written_by="nobody, invented",
        limits_from=Source("invented"),
        lists=lists,
        gauges=(VOLTS, HEAT, SPEED),
        settings=settings or Settings(),
    )


def talk(*lists: CheckList, settings: Settings | None = None) -> Talk:
    """A session that has opened the first of the lists."""
    return Talk(rig(*lists, settings=settings)).open()


def mode(one: Talk) -> State:
    return one.session.state.mode


def in_hand(one: Talk) -> str:
    state = one.session.state
    assert state.run is not None
    assert state.item is not None
    return tuple(one.aircraft.list(state.run.list_id).items())[state.item].id


def ticked(one: Talk) -> list[str]:
    return one.about("ticked")
