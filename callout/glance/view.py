"""The view: a session as the page shows it, a pure function of what was seen.

Rule of this file: values in, a frozen value out; `as_json` makes it text. Every
word comes from the owner's file or from the engine's own wording; nothing here
decides anything.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from callout.checklist.model import Aircraft, Item, Who
from callout.engine import wording
from callout.engine.rules import State
from callout.engine.state import SessionState, Status, applies, current, open_items
from callout.engine.timers import remaining
from callout.engine.watch_times import limits, runs
from callout.glance.seen import Seen
from callout.glance.view_gauges import GaugeView, gauges
from callout.glance.view_ways import Entry, Way, entry, ways

NEXT = 2
"""Items that are shown ahead."""


@dataclass(frozen=True, slots=True)
class Timing:
    """Time that runs: what it is for, seconds left, and how many there were."""

    name: str
    left: float
    of: float


@dataclass(frozen=True, slots=True)
class Warned:
    """A warning (grave) or caution that stands; `answered`: the pilot acknowledged it."""

    text: str
    grave: bool
    answered: bool


@dataclass(frozen=True, slots=True)
class Glance:
    """One look at a session.

    Fields:
        role: "pilot" or "helper"
        aircraft, revision, notice: of the file
        mode: the engine's state, in its own word
        shown: names what is asked, so that a touch can say what it answers: the
            serial of the grammar and the moment of asking
        title, place: of the list, and where in it
        item, answer: what is asked, and what would answer it; item is "" between lists
        who, killer, why: of the item
        prompt: the sentence an answer is due to
        timing: time that runs, the item's first
        gauges, ahead, open_ones, left: gauges; what comes next; items passed without
            their answer; how many are not done
        alerts: what stands, gravest first
        ways: what may be said, entry: a number that may be given
        heard, understood, said: last heard, whether it counted, last said
        lost: parts that do not work
        ended: the session is over
    """

    role: str
    aircraft: str
    revision: str
    notice: str
    mode: str
    shown: tuple[int, float]
    title: str = ""
    place: str = ""
    item: str = ""
    answer: str = ""
    who: str = ""
    killer: bool = False
    why: str = ""
    prompt: str = ""
    timing: tuple[Timing, ...] = ()
    gauges: tuple[GaugeView, ...] = ()
    ahead: tuple[str, ...] = ()
    open_ones: tuple[str, ...] = ()
    left: int = 0
    alerts: tuple[Warned, ...] = ()
    ways: tuple[Way, ...] = ()
    entry: Entry | None = None
    heard: str = ""
    understood: bool = True
    said: str = ""
    lost: tuple[str, ...] = ()
    ended: bool = False


def glance(aircraft: Aircraft, seen: Seen, now: float, role: Who = Who.PILOT) -> Glance:
    """What a screen of this role shows at session time `now` (s)."""
    state = seen.state
    item = _in_hand(aircraft, state)
    theirs = role is Who.PILOT or (item is not None and item.who is role)
    return Glance(
        role=role.value,
        aircraft=aircraft.name,
        revision=aircraft.revision,
        notice=aircraft.notice,
        mode=state.mode.value,
        shown=(state.grammar.serial, state.asked_at),
        title=aircraft.list(state.run.list_id).title if state.run is not None else "",
        place=_place(aircraft, state) if theirs else "",
        item=item.call if item is not None and theirs else "",
        answer=wording.answer_wanted(aircraft, item) if item is not None and theirs else "",
        who=item.who.value if item is not None else "",
        killer=item is not None and theirs and item.killer,
        why=item.why if item is not None and theirs else "",
        prompt=state.prompt if theirs else "",
        timing=tuple(_timing(aircraft, state, item, now)) if theirs else (),
        gauges=gauges(aircraft, seen, item) if role is Who.PILOT else (),
        ahead=_ahead(aircraft, state, role),
        open_ones=_open(aircraft, state, role),
        left=len(_of(open_items(aircraft, state), role)),
        alerts=_alerts(state),
        ways=ways(aircraft, state, item, role),
        entry=entry(aircraft, state) if theirs else None,
        heard=seen.heard.text,
        understood=seen.heard.understood,
        said=seen.said,
        lost=tuple(sorted(seen.lost)),
        ended=state.mode is State.ENDED,
    )


def as_json(view: Glance) -> str:
    """The view as one line of JSON."""
    return json.dumps(asdict(view), ensure_ascii=True, separators=(",", ":"))


def _in_hand(aircraft: Aircraft, state: SessionState) -> Item | None:
    if state.run is None or state.item is None:
        return None
    return current(aircraft, state)[1]


def _of(items: tuple[Item, ...], role: Who) -> tuple[Item, ...]:
    """A helper has the helper's items only; the pilot has all."""
    return items if role is Who.PILOT else tuple(item for item in items if item.who is role)


def _place(aircraft: Aircraft, state: SessionState) -> str:
    """Section or station, and how far the list is: "cabin, item 3 of 12"."""
    if state.run is None or state.item is None:
        return ""
    checklist = aircraft.list(state.run.list_id)
    items = tuple(checklist.items())
    here = [i for i, item in enumerate(items) if applies(item, state.choices)]
    where = items[state.item].where
    count = f"item {here.index(state.item) + 1} of {len(here)}" if state.item in here else ""
    return ", ".join(part for part in (where, count) if part)


def _timing(aircraft: Aircraft, state: SessionState, item: Item | None, now: float) -> list[Timing]:
    found = []
    timer = state.timer
    if timer is not None and item is not None:
        found.append(Timing(item.call, round(remaining(timer, now), 1), timer.ends - timer.began))
    spec, watch = aircraft.start_watch, state.watch
    if spec is not None and watch is not None and runs(spec, watch):
        due = min((at for at, _ in limits(spec, watch, now)), default=None)
        if due is not None:
            phase = spec.phases[watch.phase]
            left = round(max(0.0, due - now), 1)
            found.append(Timing(phase.call, left, phase.within or left))
    return found


def _ahead(aircraft: Aircraft, state: SessionState, role: Who) -> tuple[str, ...]:
    """The next items of the list; behind its end, the next list."""
    found: list[str] = []
    if state.run is not None:
        items = tuple(aircraft.list(state.run.list_id).items())
        begin = -1 if state.item is None else state.item
        for index in range(begin + 1, len(items)):
            item, mark = items[index], state.run.marks[index]
            if mark.status is Status.PENDING and applies(item, state.choices):
                found += [item.call for _ in _of((item,), role)]
    if len(found) < NEXT and state.plan and role is Who.PILOT:
        found.append(f"list: {aircraft.list(state.plan[0]).title}")
    return tuple(found[:NEXT])


def _open(aircraft: Aircraft, state: SessionState, role: Who) -> tuple[str, ...]:
    """What was passed without its answer, with the reason that was given."""
    if state.run is None:
        return ()
    items = tuple(aircraft.list(state.run.list_id).items())
    passed = (Status.DEFERRED, Status.SKIPPED, Status.OVERRIDDEN)
    found = []
    for item, mark in zip(items, state.run.marks, strict=True):
        if mark.status in passed and _of((item,), role):
            found.append(f"{item.call} ({mark.status.value})")
        elif state.mode is State.REVIEWING and mark.status is Status.PENDING:
            found += [one.call for one in _of((item,), role) if applies(one, state.choices)]
    return tuple(found)


def _alerts(state: SessionState) -> tuple[Warned, ...]:
    found = [Warned(a.text, a.grave, a.answered) for a in state.alerts if not a.ended]
    return tuple(sorted(found, key=lambda one: (not one.grave, one.answered)))
