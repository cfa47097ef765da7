"""The cool-down: from when it counts, what is left of it, and what waits for it.

Rule of this file: it counts in session time, which goes on while the machine
sleeps and while the program is away, so what is left is right after both. It
counts from the last moment at which power is known to have been raised; fuel
stays on until it is done, unless two utterances and a reason say otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from callout.checklist.duties import CoolDown
from callout.checklist.model import Aircraft, CheckList, ListKind
from callout.engine import timers, wording, wording_duties
from callout.engine.counters_session import WRONG
from callout.engine.duties_times import cooled_at, wait_of
from callout.engine.effects import Record, ToneKind
from callout.engine.rules import State
from callout.engine.state import SessionState, Timer
from callout.engine.turn import Turn


def _set(turn: Turn, **changes: Any) -> None:  # noqa: ANN401  fields of Cooling
    duties = turn.state.duties
    turn.set(duties=replace(duties, cooling=replace(duties.cooling, **changes)))


def follow(turn: Turn, fact: Record) -> None:
    """What one fact means for it."""
    cool, cooling = turn.aircraft.cool_down, turn.state.duties.cooling
    if cool is None:
        return
    path = fact.about
    if fact.fact == "list opened":
        _list_opened(turn, cool, turn.aircraft.list(path))
    elif fact.fact in ("ticked", "overridden") and path in cool.blocks:
        _set(turn, over=True)
    elif fact.fact == "reopened" and path in cool.blocks:
        _set(turn, over=False)  # whatever passed it, it is asked again and waits again
    elif fact.fact == "ticked" and path in cool.starts:
        if cooling.over or (cooling.began is None and not cooling.done):
            _begin(turn, cool)
    elif fact.fact == "reopened" and path in cool.starts and not cooling.over:
        _unsay(turn, dict(fact.data)["why"])


def _list_opened(turn: Turn, cool: CoolDown, opened: CheckList) -> None:
    """The engine runs again, or is loaded again: what was done before says nothing."""
    if opened.kind is not ListKind.NORMAL or opened.engine_state == "any":
        return
    cooling = turn.state.duties.cooling
    waiting = turn.aircraft.list(cool.wait.partition("/")[0])
    loaded = opened.engine_state != waiting.engine_state and opened.id not in cool.lists
    if loaded and (cooling.began is not None or cooling.done):
        if not cooling.over:
            turn.record("cool-down not begun", "", why=f"{opened.id} opened")
        _set(turn, began=None, marks=(), done=False)
    _set(turn, over=False)


def _unsay(turn: Turn, why: str) -> None:
    """The tick that began it was wrong, or is to be done again: it has not begun."""
    if why in (*WRONG, "go back"):
        turn.record("cool-down not begun", "", why=why)
        _set(turn, began=None, marks=(), done=False)


def _begin(turn: Turn, cool: CoolDown, *, again: bool = False) -> None:
    """From now on it counts, in all its length."""
    wait = wait_of(turn.aircraft, cool)
    timer = timers.start(turn.now, wait.seconds, wait.marks)
    outside = bool(turn.state.duties.cooling.outside)  # then it counts from when it is not
    _set(turn, began=turn.now, marks=timer.marks, done=False, over=False, raised=outside)
    fact = "cool-down started again" if again else "cool-down started"
    turn.record(fact, "", seconds=f"{wait.seconds:g}")
    if wait_in_hand(turn):
        turn.set(timer=replace(timer, marks=()))


def wait_in_hand(turn: Turn) -> bool:
    """Whether the timed wait is the item in hand."""
    cool = turn.aircraft.cool_down
    return cool is not None and turn.state.item is not None and turn.about == cool.wait


def start_wait(turn: Turn) -> bool:
    """The timed wait is reached: it lasts as long as the cool-down still does.

    Whether there is a cool-down that it belongs to.
    """
    cool = turn.aircraft.cool_down
    if cool is None or not wait_in_hand(turn):
        return False
    cooling = turn.state.duties.cooling
    if cooling.over or (cooling.began is None and not cooling.done):
        _begin(turn, cool)
    began = turn.state.duties.cooling.began
    seconds = wait_of(turn.aircraft, cool).seconds
    if began is None:  # it was done before the wait was reached
        began = turn.now - seconds
    turn.set(timer=Timer(began, began + seconds))
    return True


def call_due(turn: Turn) -> None:
    """A mark or the end is due."""
    end, cooling = cooled_at(turn.aircraft, turn.state.duties), turn.state.duties.cooling
    if end is None:
        return
    if turn.now >= end:
        _finish(turn)
    elif cooling.marks and turn.now >= end - cooling.marks[0]:
        mark, *left = cooling.marks
        _set(turn, marks=tuple(left))
        if turn.now - (end - mark) <= timers.LATEST_MARK:
            here = wait_in_hand(turn)
            turn.record("mark", None if here else "", remaining=f"{mark:g}")
            text = wording.time_left(mark) if here else wording_duties.cooling_left(mark)
            turn.say(text, about="mark", fresh=timers.MARK_FRESH)


def _finish(turn: Turn) -> None:
    """It is done: said here, or by the timed wait if that is in hand."""
    began = turn.state.duties.cooling.began
    assert began is not None
    turn.record("cool-down complete", "", seconds=f"{turn.now - began:.1f}")
    _set(turn, began=None, marks=(), done=True, raised=False)
    if not wait_in_hand(turn):
        turn.say(wording_duties.COOLED)
    if turn.state.mode is State.ASKING and _blocked_in_hand(turn):
        turn.ask(wording.prompt(turn.aircraft, turn.item), again=True)


def raised(turn: Turn) -> None:
    """The pilot says that power was raised."""
    _again(turn, "said")


def _again(turn: Turn, by: str) -> None:
    """Power was raised: said once, and all of the time counts anew."""
    cool = turn.aircraft.cool_down
    assert cool is not None
    if by == "said" or not turn.state.duties.cooling.raised:
        turn.record("power raised", "", by=by)
        turn.tone(ToneKind.CAUTION)
        text = wording_duties.cooling_again(wait_of(turn.aircraft, cool).seconds)
        turn.say(text)
        turn.more_time(text)
        _begin(turn, cool, again=True)
        _set(turn, raised=by != "said")
    else:
        _count_anew(turn, cool)


def _count_anew(turn: Turn, cool: CoolDown) -> None:
    """Still raised: the time counts from this reading."""
    wait = wait_of(turn.aircraft, cool)
    timer = timers.start(turn.now, wait.seconds, wait.marks)
    _set(turn, began=turn.now, marks=timer.marks)
    if wait_in_hand(turn):
        turn.set(timer=replace(timer, marks=()))


def called_out(turn: Turn, gauge: str, value: Decimal) -> None:
    """The pilot calls a value: it starts nothing, but one outside the band was raised power."""
    cool, cooling = turn.aircraft.cool_down, turn.state.duties.cooling
    if cool is None or cooling.over or not (cooling.began is not None or cooling.done):
        return
    if any(one.gauge == gauge and not one.band.holds(value) for one in cool.idle):
        _set(turn, raised=False)
        _again(turn, gauge)


def read(turn: Turn, gauge: str, value: Decimal) -> None:
    """A measured value of a gauge."""
    cool, cooling = turn.aircraft.cool_down, turn.state.duties.cooling
    if cool is None or cooling.over or not value.is_finite():
        return
    condition = next((one for one in cool.idle if one.gauge == gauge), None)
    if condition is None:
        return
    holds = condition.band.holds(value)
    outside = cooling.outside - {gauge} if holds else cooling.outside | {gauge}
    seen = cooling.seen | {gauge}
    if (seen, outside) != (cooling.seen, cooling.outside):
        _set(turn, seen=seen, outside=outside)
    if not holds and (cooling.began is not None or cooling.done):
        _again(turn, gauge)
    elif holds and not outside:
        _idle(turn, cool, seen)


def _idle(turn: Turn, cool: CoolDown, seen: frozenset[str]) -> None:
    """Every gauge that was read is in its band."""
    cooling = turn.state.duties.cooling
    if cooling.raised:
        _set(turn, raised=False)
        if cooling.began is not None:  # written down at once, with the readings before it
            turn.record("idle again", "", counted=f"{turn.now - cooling.began:.2f}")
    all_seen = seen >= {one.gauge for one in cool.idle}
    run = turn.state.run
    watched = all_seen and run is not None and run.list_id in cool.lists
    if watched and cooling.began is None and not cooling.done:
        _begin(turn, cool)


def unsure(turn: Turn, gauge: str = "") -> None:
    """Nobody reads this gauge any more ("" for all of them).

    If it was the one that showed power raised, power was raised until now at least.
    """
    cool, cooling = turn.aircraft.cool_down, turn.state.duties.cooling
    left = cooling.seen - {gauge} if gauge else frozenset()
    if cool is None or left == cooling.seen:
        return
    _set(turn, seen=left, outside=cooling.outside & left)
    if cooling.outside - left and cooling.began is not None and not cooling.over:
        _count_anew(turn, cool)


def nobody_watched(turn: Turn) -> None:
    """The program was away: power that was raised before may have been raised all along."""
    cool, cooling = turn.aircraft.cool_down, turn.state.duties.cooling
    raised = bool(cooling.outside) and cooling.began is not None and not cooling.over
    unsure(turn)
    if cool is not None and raised:
        seconds = wait_of(turn.aircraft, cool).seconds
        turn.record("cool-down started again", "", seconds=f"{seconds:g}")
        turn.say(wording_duties.cooling_again(seconds))


def blocks(turn: Turn) -> bool:
    """Whether the item in hand waits for the cool-down."""
    cooling = turn.state.duties.cooling
    return _blocked_in_hand(turn) and not cooling.done and not cooling.over


def _blocked_in_hand(turn: Turn) -> bool:
    cool = turn.aircraft.cool_down
    return cool is not None and turn.state.item is not None and turn.about in cool.blocks


def seconds_left(turn: Turn) -> float | None:
    """Seconds left; None if it has not begun."""
    end = cooled_at(turn.aircraft, turn.state.duties)
    return None if end is None else max(0.0, end - turn.now)


def wait_prompt(turn: Turn) -> str:
    """What is read aloud for the timed wait when part of it has passed; "" for the whole."""
    left, cool = seconds_left(turn), turn.aircraft.cool_down
    if cool is None or left is None or not wait_in_hand(turn):
        return ""
    whole = wait_of(turn.aircraft, cool).seconds
    return wording_duties.wait_left(turn.item.call, left) if left < whole else ""


def call_wait(turn: Turn) -> None:
    """Before an item that waits for it is read aloud: what is left."""
    if blocks(turn):
        turn.say(wording_duties.not_cooled(seconds_left(turn)))


def refuse(turn: Turn, prompt: str) -> None:
    """An answer that came too soon."""
    left = seconds_left(turn)
    turn.record("blocked", words=turn.input.text, left="" if left is None else f"{left:.1f}")
    turn.hush()
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.ask(f"{wording_duties.blocked(left)} {prompt}", again=True)


def listened_for(aircraft: Aircraft, state: SessionState) -> bool:
    """Whether the words that say that power was raised count now."""
    cool, cooling = aircraft.cool_down, state.duties.cooling
    if cool is None or not cool.raised or cooling.over:
        return False
    return cooling.began is not None or cooling.done
