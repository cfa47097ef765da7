"""The universal words: say again, stand by, hold, abort, help and their kin.

Rule of this file: each does the same in every state (invariant 8). None of
them ticks anything.
"""

from __future__ import annotations

from callout.checklist.model import Advise, ListKind, ResumePolicy, Wait
from callout.engine import answers, closing, correcting, flow, wording
from callout.engine.effects import ToneKind
from callout.engine.rules import State
from callout.engine.state import Status, applies
from callout.engine.turn import Turn


def say_again(turn: Turn) -> None:
    """The last sentence that wants an answer, from its beginning."""
    turn.hush()
    turn.ask(turn.state.prompt, again=True)


def name_of_place(turn: Turn) -> str:
    """What is in hand, by name."""
    if turn.state.run is None:
        return "between lists"
    if turn.state.item is None:
        return f"the end of {turn.checklist.title}"
    return turn.item.call


def stand_by(turn: Turn) -> None:
    """Silent until the answer or resume; the answer still counts."""
    mode = turn.state.mode
    turn.record("standing by")
    turn.hush()
    if mode not in (State.STANDING_BY, State.HOLDING):
        turn.set(back_to=mode)
    if mode is State.HOLDING:
        turn.set(back_to=base_state(turn))
    turn.set(mode=State.STANDING_BY, answer_due=None)
    turn.say(f"Standing by at {name_of_place(turn)}.")


def base_state(turn: Turn) -> State:
    """The state of what is in hand, whatever was being asked about it."""
    if turn.state.run is None:
        return State.READY
    if turn.state.item is None:
        return State.REVIEWING
    return flow.item_state(turn.item)


def leave_stand_by(turn: Turn) -> None:
    """Resume after stand by: the item is asked again."""
    turn.record("resumed")
    turn.hush()
    _refresh(turn)


def hold(turn: Turn) -> None:
    """Hold the list: "holding at ITEM" (FSF ALAR Briefing Note 1.5, as quoted)."""
    turn.record("held")
    turn.hush()
    turn.set(mode=State.HOLDING, back_to=None, doubt=None, overriding=None, answer_due=None)
    turn.say(f"Holding at {name_of_place(turn)}.")


def resume(turn: Turn) -> None:
    """Resume by the policy of the settings; stale ticks are reopened first."""
    turn.hush()
    policy = turn.aircraft.settings.resume
    turn.record("resumed", policy=policy.value)
    if turn.state.run is None:
        closing.offer(turn)
        return
    if policy is ResumePolicy.REPEAT_LAST:
        _repeat_last(turn)
    else:
        _restart(turn, whole=policy is ResumePolicy.RESTART_LIST)
    _refresh(turn)


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
            answers.reopen(turn, index, "restart after a hold")


def _section(turn: Turn) -> tuple[int, int]:
    at, index = 0, turn.state.item if turn.state.item is not None else len(turn.items) - 1
    for section in turn.checklist.sections:
        if index < at + len(section.items):
            return at, at + len(section.items)
        at += len(section.items)
    raise IndexError(index)


def _refresh(turn: Turn) -> None:
    """Reopen what went stale, then go on where the list now stands."""
    turn.set(back_to=None)
    if turn.state.run is None:
        closing.offer(turn)
        return
    for index, item in enumerate(turn.items):
        mark = turn.run.marks[index]
        stale = item.stale_after is not None and turn.now - mark.at > item.stale_after
        if mark.status is Status.TICKED and stale:
            answers.reopen(turn, index, "stale")
            turn.say(wording.sentence(f"{item.call} is out of date"))
    item_index = turn.state.item
    pending = flow.next_index(turn)
    if _wait_over(turn):
        finish_wait(turn)
    elif item_index is not None and pending == item_index:
        flow.reask(turn)
    else:
        flow.advance(turn)


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


def disregard(turn: Turn) -> None:
    """The last utterance is undone."""
    dialogue = (State.CONFIRMING, State.REASONING, State.CONFIRMING_OVERRIDE)
    silent = (State.STANDING_BY, State.HOLDING)
    turn.record("disregard")
    if turn.state.mode in dialogue + silent:
        turn.hush()
        flow.reask(turn)
    elif not correcting.back_to_last(turn, "disregard"):
        turn.hush()
        turn.say("Nothing to disregard.")
        flow.reask(turn)


def correction(turn: Turn) -> None:
    """`correction` alone: the last item is asked again."""
    if not correcting.back_to_last(turn, "correction"):
        turn.hush()
        turn.say("Nothing to correct.")
        flow.reask(turn)


def go_back(turn: Turn) -> None:
    """To the applying item before this one; its tick no longer counts.

    Advice is passed over: it would end by itself and lead straight back here.
    """
    assert turn.state.item is not None
    before = [
        i
        for i, item in enumerate(turn.items[: turn.state.item])
        if applies(item, turn.state.choices) and not isinstance(item.task, Advise)
    ]
    turn.hush()
    if not before:
        turn.say("This is the first item.")
        flow.reask(turn)
        return
    answers.reopen(turn, before[-1], "go back")
    flow.begin_item(turn, before[-1])


def abort(turn: Turn) -> None:
    """Stop the running list and open its abort procedure, at once."""
    if turn.state.run is None:
        turn.remark("No list is running.")
        return
    checklist = turn.checklist
    if checklist.kind is not ListKind.NORMAL:
        turn.hush()
        turn.say(f"{wording.sentence(checklist.title)}")
        flow.reask(turn)
        return
    _break_off(turn, checklist.abort)


def call_procedure(turn: Turn) -> None:
    """An abort or emergency procedure called by its name."""
    target = turn.input.argument
    if turn.state.run is not None and turn.run.list_id == target:
        turn.hush()
        flow.reask(turn)
        return
    _break_off(turn, target)


def _break_off(turn: Turn, target: str) -> None:
    turn.hush()
    turn.tone(ToneKind.WARNING)
    if turn.state.run is not None:
        title = turn.checklist.title
        closing.leave_list(turn, "aborted")
        turn.say(wording.sentence(f"{title} aborted"))
    turn.set(plan=(), last=None, back_to=None, doubt=None, overriding=None, wanted="")
    if target:
        flow.open_list(turn, target, forced=False)
    else:
        closing.offer(turn)


def open_next(turn: Turn) -> None:
    """The next list of the plan."""
    plan = turn.state.plan
    turn.hush()
    if plan:
        flow.open_list(turn, plan[0])
    else:
        closing.offer(turn)


def open_named(turn: Turn) -> None:
    """A list by its name."""
    turn.hush()
    flow.open_list(turn, turn.input.argument)


def end_session(turn: Turn) -> None:
    """The pilot ends it."""
    turn.hush()
    closing.end(turn, "ended by the pilot")
