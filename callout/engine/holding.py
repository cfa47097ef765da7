"""Stand by, hold, resume, and coming back after a crash.

Rule of this file: nothing is ticked but a timed wait whose time has passed, and
that only when the pilot goes on. Ticks that went out of date meanwhile are
asked again.
"""

from __future__ import annotations

from callout.checklist.model import Await, ResumePolicy, Wait
from callout.engine import alerts, answers, closing, flow, marks, sensors, wording
from callout.engine.events import Resumed
from callout.engine.rules import State
from callout.engine.state import Status
from callout.engine.turn import Turn
from callout.words.say_numbers import say_duration

#: After the program was away for longer than this (s) nobody remembers the
#: place: resume starts the list again whatever the policy. That a long gap
#: forces a restart follows an operator's procedures, as quoted (interrupted:
#: from the top); the figure is common practice, no source.
LONG_GAP = 900.0


def stand_by(turn: Turn) -> None:
    """Silent until the answer or resume; the answer still counts, unless the list was held."""
    mode = turn.state.mode
    turn.record("standing by")
    turn.hush()
    if mode is not State.STANDING_BY:
        turn.set(back_to=mode)
    turn.set(mode=State.STANDING_BY, answer_due=None)
    turn.say(f"Standing by at {flow.name_of_place(turn)}.")


def leave_stand_by(turn: Turn) -> None:
    """Resume after stand by: the item is asked again."""
    if turn.state.back_to is State.HOLDING:
        resume(turn)
        return
    turn.record("resumed")
    turn.hush()
    _finish_or_go_on(turn)


def hold(turn: Turn) -> None:
    """Hold the list: "holding at ITEM" (FSF ALAR Briefing Note 1.5, as quoted)."""
    turn.record("held")
    turn.hush()
    turn.set(mode=State.HOLDING, back_to=None, doubt=None, overriding=None, answer_due=None)
    turn.say(f"Holding at {flow.name_of_place(turn)}.")


def resume(turn: Turn) -> None:
    """Resume by the policy of the settings; stale ticks are reopened first."""
    turn.hush()
    policy = turn.aircraft.settings.resume
    if turn.state.long_gone:
        policy = ResumePolicy.RESTART_LIST
    turn.set(long_gone=False, back_to=None)
    turn.record("resumed", policy=policy.value)
    if turn.state.run is None:
        closing.offer(turn)
    elif policy is ResumePolicy.REPEAT_LAST:
        _repeat_last(turn)
        _finish_or_go_on(turn)
    else:
        _restart(turn, whole=policy is ResumePolicy.RESTART_LIST)
        marks.reopen_stale(turn)
        flow.advance(turn)


def _repeat_last(turn: Turn) -> None:
    """Say the last completed item with its answer."""
    ticked = [(mark.at, i) for i, mark in enumerate(turn.run.marks) if _ticked(turn, i)]
    if ticked:
        _, index = max(ticked)
        answer = turn.run.marks[index].answer
        turn.say(wording.sentence(f"Last item: {turn.items[index].call}, {answer}"))


def _ticked(turn: Turn, index: int) -> bool:
    return turn.run.marks[index].status is Status.TICKED


def _restart(turn: Turn, *, whole: bool) -> None:
    """Items of the section in hand, or of the list, are asked again."""
    first, last = (0, len(turn.items)) if whole else _section(turn)
    for index in range(first, last):
        if turn.run.marks[index].status is not Status.PENDING:
            marks.reopen(turn, index, "restart after a hold")


def _section(turn: Turn) -> tuple[int, int]:
    at, index = 0, turn.state.item if turn.state.item is not None else len(turn.items) - 1
    for section in turn.checklist.sections:
        if index < at + len(section.items):
            return at, at + len(section.items)
        at += len(section.items)
    raise IndexError(index)


def _finish_or_go_on(turn: Turn) -> None:
    """As go_on, but a timed wait whose time has passed is done."""
    if _wait_over(turn):
        marks.reopen_stale(turn)
        finish_wait(turn)
    else:
        go_on(turn)


def take_back(turn: Turn) -> None:
    """Disregard of hold or stand by: as if it had not been said."""
    if turn.state.long_gone:
        resume(turn)
    else:
        go_on(turn)


def go_on(turn: Turn) -> None:
    """Reopen what went stale, then go on where the list now stands."""
    turn.set(back_to=None)
    if turn.state.run is None:
        closing.offer(turn)
        return
    marks.reopen_stale(turn)
    here, unwatched = turn.state.item, _limit_unwatched(turn)
    if here is not None and flow.next_index(turn) == here and not unwatched:
        flow.reask(turn)
    else:
        flow.advance(turn)


def _limit_unwatched(turn: Turn) -> bool:
    """Whether the item in hand has a time limit that does not run any more."""
    if turn.state.item is None or not isinstance(turn.item.task, Await):
        return False
    return turn.item.task.within is not None and turn.state.timer is None


def _wait_over(turn: Turn) -> bool:
    timer = turn.state.timer
    if timer is None or turn.state.item is None or not isinstance(turn.item.task, Wait):
        return False
    return timer.over or timer.ends <= turn.now


def finish_wait(turn: Turn) -> None:
    """A timed wait is over: time did what it had to do."""
    timer = turn.state.timer
    assert timer is not None
    seconds = f"{turn.now - timer.began:.1f}"
    if not timer.over:
        turn.say(wording.time_over(turn.item))
    answers.tick(turn, f"{seconds} s")
    turn.set(last=None)
    flow.advance(turn)


def came_back(turn: Turn) -> None:
    """After a crash: say where we stand and how long it took, and hold there."""
    event = turn.event
    assert isinstance(event, Resumed)
    turn.record("came back", gap=f"{event.gap:.1f}")
    where = wording.sentence(turn.checklist.title) if turn.state.run is not None else ""
    turn.set(mode=State.HOLDING, back_to=None, doubt=None, overriding=None, answer_due=None)
    turn.set(held_since=None)  # nobody looked meanwhile
    sensors.forget(turn)
    if event.gap > LONG_GAP:
        turn.set(long_gone=True)
    at = f" Item {turn.item.call}." if turn.state.item is not None else ""
    gap = say_duration(max(1, round(event.gap)))
    limit = _drop_passed_limit(turn)
    alerts.take_up(turn)
    turn.ask(f"Interrupted for {gap}. {where}{at}{limit} Say resume.")


def _drop_passed_limit(turn: Turn) -> str:
    """A time limit that passed while nobody looked: nothing is known about it."""
    timer = turn.state.timer
    if timer is None or timer.ends > turn.now or not isinstance(turn.item.task, Await):
        return ""
    turn.set(timer=None)
    turn.record("time limit not watched")
    return " Its time limit was not watched."
