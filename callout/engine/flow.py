"""Through a list: opening, the next item, closing.

Rule of this file: order never changes at run time. The next item is always the
first pending one of the list; deferred ones come back at a gate or at the end.
"""

from __future__ import annotations

from dataclasses import replace

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
from callout.engine import timers, wording
from callout.engine.rules import State
from callout.engine.state import Mark, Progress, Status, applies, open_items
from callout.engine.turn import Turn

OFFER_ANY = "Say open and the name of a list, or end session."


def open_session(turn: Turn) -> None:
    """Say what must be known first, then open the first list."""
    wanted = getattr(turn.event, "lists", ())
    normal = [c.id for c in turn.aircraft.lists if c.kind is ListKind.NORMAL]
    turn.set(plan=tuple(wanted or normal))
    aircraft = turn.aircraft
    turn.record("session opened", "", aircraft=aircraft.name, revision=aircraft.revision)
    if aircraft.notice:
        turn.say(wording.sentence(aircraft.notice))
    open_list(turn, turn.state.plan[0])


def unmet(turn: Turn, checklist: CheckList) -> tuple[Need, ...]:
    """Needs of a list that this session has not fulfilled."""
    return tuple(need for need in checklist.needs if not _met(turn, need))


def _met(turn: Turn, need: Need) -> bool:
    runs = [run for run in turn.state.closed if run.list_id == need.list_id]
    if not runs:
        return False
    if not need.item:
        return runs[-1].outcome == "complete"
    ids = [item.id for item in turn.aircraft.list(need.list_id).items()]
    mark = runs[-1].marks[ids.index(need.item)]
    return mark.status is Status.TICKED and not _stale(turn, need, mark)


def _stale(turn: Turn, need: Need, mark: Mark) -> bool:
    items = {item.id: item for item in turn.aircraft.list(need.list_id).items()}
    limit = items[need.item].stale_after
    return limit is not None and turn.now - mark.at > limit


def open_list(turn: Turn, list_id: str, *, forced: bool = False) -> None:
    """Open a list, or say what must be done first."""
    checklist = turn.aircraft.list(list_id)
    gated = checklist.kind is ListKind.NORMAL and not forced
    missing = unmet(turn, checklist) if gated else ()
    if missing:
        _refuse_to_open(turn, checklist, missing)
        return
    marks = tuple(Mark() for _ in checklist.items())
    plan = turn.state.plan
    turn.set(
        run=Progress(list_id, marks, turn.now, forced=forced),
        plan=tuple(one for one in plan if one != list_id),
        item=None,
        timer=None,
        wanted="",
        doubt=None,
        overriding=None,
        back_to=None,
        held_since=None,
    )
    turn.record("list opened", list_id, title=checklist.title)
    turn.say(wording.sentence(checklist.title))
    advance(turn)


def _refuse_to_open(turn: Turn, checklist: CheckList, missing: tuple[Need, ...]) -> None:
    turn.set(mode=State.READY, run=None, item=None, wanted=checklist.id)
    parts = [_need_name(turn, need) for need in missing]
    turn.record("list refused", checklist.id, first="; ".join(parts))
    turn.ask(
        wording.sentence(f"{checklist.title} not opened. First: {', '.join(parts)}")
        + " Say open and the name of a list, or override."
    )


def _need_name(turn: Turn, need: Need) -> str:
    checklist = turn.aircraft.list(need.list_id)
    if not need.item:
        return f"{checklist.title} complete"
    call = next(item.call for item in checklist.items() if item.id == need.item)
    return f"{call} in {checklist.title}"


def advance(turn: Turn) -> None:
    """Go to what is next in the running list, or to its end."""
    index = next_index(turn)
    if index is not None:
        begin_item(turn, index)
    elif open_items(turn.aircraft, turn.state):
        review(turn)
    else:
        close_list(turn)


def next_index(turn: Turn) -> int | None:
    """The first pending item, unless deferred ones come back before it."""
    marks = turn.run.marks
    here = [i for i, item in enumerate(turn.items) if applies(item, turn.state.choices)]
    pending = next((i for i in here if marks[i].status is Status.PENDING), None)
    deferred = [i for i in here if marks[i].status is Status.DEFERRED]
    if pending is None:
        return deferred[0] if deferred else None
    before = [i for i in deferred if i < pending]
    gate = turn.items[pending].gate
    return before[0] if gate and before else pending


def begin_item(turn: Turn, index: int) -> None:
    """Take an item in hand and read it aloud."""
    where = wording.place(turn.checklist, index)
    turn.set(item=index, timer=None, doubt=None, overriding=None, queried=False, held_since=None)
    if turn.run.marks[index].status is Status.DEFERRED:
        turn.say("Deferred item.")
    elif where:
        turn.say(where)
    task = turn.item.task
    turn.record("asked")
    if isinstance(task, GoTo):
        _go_to(turn, task)
        return
    turn.set(mode=item_state(turn.item))
    if isinstance(task, Wait):
        turn.set(timer=timers.start(turn.now, task.seconds, task.marks))
        turn.record("timer started", seconds=f"{task.seconds:g}")
    if isinstance(task, Await) and task.within is not None:
        turn.set(timer=timers.start(turn.now, task.within))
    turn.ask(wording.prompt(turn.aircraft, turn.item))


def item_state(item: Item) -> State:
    """The state in which an item is dealt with."""
    by_task = {Wait: State.TIMING, Await: State.AWAITING, Advise: State.ADVISING}
    return by_task.get(type(item.task), State.ASKING)


def _go_to(turn: Turn, task: GoTo) -> None:
    assert turn.state.item is not None
    turn.say(wording.prompt(turn.aircraft, turn.item))
    turn.mark(turn.state.item, Status.TICKED, "went on")
    turn.record("ticked", answer="went on", target=task.list_id)
    leave_list(turn, "left" if open_items(turn.aircraft, turn.state) else "complete")
    open_list(turn, task.list_id)


def reask(turn: Turn) -> None:
    """Back to what is in hand, said again; timers go on."""
    turn.set(doubt=None, overriding=None, back_to=None)
    if turn.state.run is None:
        offer(turn)
    elif turn.state.item is None:
        review(turn)
    else:
        turn.set(mode=item_state(turn.item))
        timer = turn.state.timer
        if isinstance(turn.item.task, Wait) and timer is not None:
            left = timers.remaining(timer, turn.now)
            turn.ask(wording.time_left(round(left)))
        else:
            turn.ask(wording.prompt(turn.aircraft, turn.item))


def review(turn: Turn) -> None:
    """The end was reached with items open: say which."""
    left = open_items(turn.aircraft, turn.state)
    turn.set(mode=State.REVIEWING, item=None, timer=None)
    turn.ask(wording.not_complete(turn.checklist, left, ()) + " Say go back, or proceed.")


def overridden(turn: Turn) -> tuple[Item, ...]:
    """Items of the running list that were overridden."""
    pairs = zip(turn.items, turn.run.marks, strict=True)
    return tuple(item for item, mark in pairs if mark.status is Status.OVERRIDDEN)


def close_list(turn: Turn) -> None:
    """The completion call, or the names of what is open; then what is next."""
    left, forced = open_items(turn.aircraft, turn.state), overridden(turn)
    whole = not left and not forced and not turn.run.forced
    checklist = turn.checklist
    outcome = "complete" if whole else "not complete"
    turn.set(item=None)
    leave_list(turn, outcome)
    turn.say(
        wording.complete(checklist) if whole else wording.not_complete(checklist, left, forced)
    )
    if checklist.kind is ListKind.NORMAL and not turn.state.plan:
        end(turn, "all lists done")
    else:
        offer(turn)


def leave_list(turn: Turn, outcome: str) -> None:
    """File the running list under its outcome, open items by name."""
    left = open_items(turn.aircraft, turn.state)
    data = {"open": "; ".join(item.id for item in left)} if left else {}
    forced = overridden(turn)
    if forced:
        data["overridden"] = "; ".join(item.id for item in forced)
    turn.record(f"list {outcome}", turn.run.list_id, **data)
    closed = (*turn.state.closed, replace(turn.run, outcome=outcome))
    turn.set(closed=closed, run=None, item=None, timer=None, held_since=None)


def offer(turn: Turn) -> None:
    """Between lists: name the next one."""
    turn.set(mode=State.READY, item=None)
    plan = turn.state.plan
    turn.ask(wording.next_list(turn.aircraft.list(plan[0])) if plan else OFFER_ANY)


def end(turn: Turn, why: str) -> None:
    """The session is over."""
    turn.record("session ended", "", why=why)
    turn.say("Session ended.")
    turn.set(mode=State.ENDED, answer_due=None, timer=None)
