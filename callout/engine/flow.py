"""Through a list: opening, the next item, closing.

Rule of this file: order never changes at run time. The next item is always the
first pending one of the list; deferred ones come back at a gate or at the end.
"""

from __future__ import annotations

from callout.checklist.model import (
    Advise,
    Await,
    CheckList,
    GoTo,
    Item,
    ListKind,
    Need,
    Wait,
)
from callout.engine import (
    closing,
    cooldown,
    counters_session,
    duties,
    marks,
    news,
    squawk_reading,
    timers,
    trend_remarks,
    wording,
)
from callout.engine.rules import State
from callout.engine.state import Mark, Progress, Status, applies, left_out, open_items
from callout.engine.turn import Turn


def open_session(turn: Turn) -> None:
    """Say what must be known first, then open the first list."""
    wanted = getattr(turn.event, "lists", ())
    normal = [c.id for c in turn.aircraft.lists if c.kind is ListKind.NORMAL]
    turn.set(plan=tuple(wanted or normal))
    aircraft = turn.aircraft
    turn.record("session opened", "", aircraft=aircraft.name, revision=aircraft.revision)
    duties.recall(turn)
    if aircraft.notice:
        turn.say(wording.sentence(aircraft.notice))
    squawk_reading.recall(turn)
    news.recall(turn)
    trend_remarks.tell(turn)
    if turn.state.plan:
        open_list(turn, turn.state.plan[0])
    else:
        closing.offer(turn)


def unmet(turn: Turn, checklist: CheckList) -> tuple[Need, ...]:
    """Needs of a list that this session has not fulfilled."""
    return tuple(need for need in checklist.needs if not _met(turn, need))


def gate(turn: Turn, missing: tuple[Need, ...]) -> tuple[str, ...]:
    """The killer items among them, by name: a gate, which opens by their answers alone."""
    named = [need for need in missing if need.item]
    return tuple(
        item.call
        for need in named
        for item in turn.aircraft.list(need.list_id).items()
        if item.id == need.item and item.killer
    )


def _met(turn: Turn, need: Need) -> bool:
    runs = [run for run in turn.state.closed if run.list_id == need.list_id]
    if not runs:
        return False
    if not need.item:
        return runs[-1].outcome == "complete"
    pairs = zip(turn.aircraft.list(need.list_id).items(), runs[-1].marks, strict=True)
    item, mark = next((item, mark) for item, mark in pairs if item.id == need.item)
    if left_out(item, turn.state.choices):
        return True
    fresh = item.stale_after is None or turn.now - mark.at <= item.stale_after
    return mark.status is Status.TICKED and fresh


def open_list(turn: Turn, list_id: str, *, forced: bool = False) -> None:
    """Open a list, or say what must be done first."""
    checklist = turn.aircraft.list(list_id)
    gated = checklist.kind is ListKind.NORMAL and not forced
    duties.follow(turn)
    missing = unmet(turn, checklist) if gated else ()
    resting = counters_session.refuse(turn, checklist) if gated else ""
    grounded = squawk_reading.refuse(turn, checklist) if gated else ""
    if missing or resting or grounded:
        _refuse_to_open(turn, checklist, missing, " ".join(filter(None, (grounded, resting))))
        return
    blank = tuple(Mark() for _ in checklist.items())
    plan = turn.state.plan
    turn.set(
        run=Progress(list_id, blank, turn.now, forced=forced),
        plan=tuple(one for one in plan if one != list_id),
        item=None,
        timer=None,
        wanted="",
        doubt=None,
        overriding=None,
        back_to=None,
        held_since=None,
        last=None,
        aside=None,
    )
    turn.record("list opened", list_id, title=checklist.title)
    if not turn.lead:
        turn.say(wording.sentence(checklist.title))
        news.tell(turn, checklist)
    if gated:
        counters_session.remind(turn, checklist)
    marks.prepare_choices(turn, checklist)
    if next_index(turn) is None:
        turn.say("No item applies.")
    advance(turn)


def _refuse_to_open(
    turn: Turn, checklist: CheckList, missing: tuple[Need, ...], resting: str
) -> None:
    """Say what must be done first, what has to rest first, and what grounds the aircraft."""
    turn.set(mode=State.READY, run=None, item=None, wanted=checklist.id)
    parts = [_need_name(turn, need) for need in missing]
    turn.record("list refused", checklist.id, first="; ".join(parts), duty=resting)
    first = wording.sentence(f"First: {', '.join(parts)}") if parts else ""
    said = [wording.sentence(f"{checklist.title} not opened"), first, resting]
    or_override = "" if gate(turn, missing) else ", or override"
    said.append(f"Say open and the name of a list{or_override}.")
    turn.ask(" ".join(part for part in said if part))


def _need_name(turn: Turn, need: Need) -> str:
    checklist = turn.aircraft.list(need.list_id)
    if not need.item:
        return f"{checklist.title} complete"
    call = next(item.call for item in checklist.items() if item.id == need.item)
    return f"{call} in {checklist.title}"


def advance(turn: Turn) -> None:
    """Go to what is next in the running list, or to its end.

    At its end no tick may be out of date; before it, only an interruption asks.
    """
    index = next_index(turn)
    if index is None or isinstance(turn.items[index].task, GoTo):
        marks.reopen_stale(turn)
        index = next_index(turn)
    if index is not None:
        begin_item(turn, index)
    elif open_items(turn.aircraft, turn.state):
        closing.review(turn)
    else:
        closing.close_list(turn)


def next_index(turn: Turn) -> int | None:
    """The first pending item, unless deferred ones come back before it."""
    became = turn.run.marks
    here = [i for i, item in enumerate(turn.items) if applies(item, turn.state.choices)]
    pending = next((i for i in here if became[i].status is Status.PENDING), None)
    deferred = [i for i in here if became[i].status is Status.DEFERRED]
    if pending is None:
        return deferred[0] if deferred else None
    before = [i for i in deferred if i < pending]
    item = turn.items[pending]
    gate = item.gate or isinstance(item.task, GoTo)  # leaving the list is its end
    return before[0] if gate and before else pending


def begin_item(turn: Turn, index: int) -> None:
    """Take an item in hand and read it aloud."""
    where, aside = wording.place(turn.checklist, index), turn.state.aside
    turn.set(item=index, timer=None, doubt=None, overriding=None, queried=False, held_since=None)
    turn.set(aside=None)
    if turn.run.marks[index].status is Status.DEFERRED:
        turn.say("Deferred item.")
    elif where:
        turn.say(where)
    squawk_reading.read_here(turn)
    turn.record("asked")
    if isinstance(turn.item.task, GoTo):
        _go_to(turn, turn.item.task)
    elif aside is not None and aside[0] == index:
        turn.set(timer=aside[1])
        cooldown.start_wait(turn)
        reask(turn)
    else:
        turn.set(mode=item_state(turn.item))
        _start_timer(turn)
        cooldown.call_wait(turn)
        turn.ask(cooldown.wait_prompt(turn) or wording.prompt(turn.aircraft, turn.item))


def _start_timer(turn: Turn) -> None:
    task = turn.item.task
    if isinstance(task, Wait):
        duties.follow(turn)
        if not cooldown.start_wait(turn):
            turn.set(timer=timers.start(turn.now, task.seconds, task.marks))
        turn.record("timer started", seconds=f"{task.seconds:g}")
    if isinstance(task, Await) and task.within is not None:
        turn.set(timer=timers.start(turn.now, task.within))


def item_state(item: Item) -> State:
    """The state in which an item is dealt with."""
    by_task = {Wait: State.TIMING, Await: State.AWAITING, Advise: State.ADVISING}
    return by_task.get(type(item.task), State.ASKING)


def _go_to(turn: Turn, task: GoTo) -> None:
    assert turn.state.item is not None
    turn.say(wording.prompt(turn.aircraft, turn.item))
    turn.mark(turn.state.item, Status.TICKED, "went on")
    turn.record("ticked", answer="went on", target=task.list_id)
    closing.leave_for_another(turn)
    open_list(turn, task.list_id)


def reask(turn: Turn) -> None:
    """Back to what is in hand, said again; timers go on."""
    turn.set(doubt=None, overriding=None, back_to=None)
    if turn.state.run is None:
        closing.offer(turn)
    elif turn.state.item is None:
        closing.review(turn)
    else:
        turn.set(mode=item_state(turn.item))
        _ask_again(turn)


def _ask_again(turn: Turn) -> None:
    timer = turn.state.timer
    if isinstance(turn.item.task, Wait) and timer is not None:
        left = timers.remaining(timer, turn.now)
        if left > 0:  # else its end is due in this very moment
            turn.ask(wording.time_left(round(left)))
    else:
        turn.ask(wording.prompt(turn.aircraft, turn.item))


def name_of_place(turn: Turn) -> str:
    """What is in hand, by name."""
    if turn.state.run is None:
        return "between lists"
    if turn.state.item is None:
        return f"the end of {turn.checklist.title}"
    return turn.item.call
