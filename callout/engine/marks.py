"""What became of items: remembered, reopened, out of date; and the choices that decide them.

Rule of this file: in doubt an item is asked. Reopening a choice reopens what
hung on it, and a choice that was not made hides nothing.
"""

from __future__ import annotations

from callout.checklist.model import CheckList, Choose, ListKind
from callout.engine import wording
from callout.engine.state import EVERY_WAY, LastAct, Status
from callout.engine.turn import Turn


def remember(turn: Turn) -> None:
    """Keep what this utterance changes, for disregard and correction."""
    assert turn.state.item is not None
    index = turn.state.item
    turn.set(last=LastAct(turn.run.list_id, index, turn.run.marks[index]))


def reopen(turn: Turn, index: int, why: str) -> None:
    """An item no longer counts as ticked; nor does what followed from a choice."""
    item = turn.items[index]
    was = turn.run.marks[index]
    turn.mark(index, Status.PENDING)
    about = f"{turn.run.list_id}/{item.id}"
    said = was.answer or was.status.value
    turn.record("reopened", about, why=why, was=said, status=was.status.value)
    if turn.state.last is not None and turn.state.last.item == index:
        turn.set(last=None)  # it was of this list: opening a list forgets the last one's
    if isinstance(item.task, Choose):
        forget_choices(turn, (item.id,))
        _reopen_followers(turn, item.id)


def _reopen_followers(turn: Turn, choice: str) -> None:
    for index, item in enumerate(turn.items):
        follows = any(only.choice == choice for only in item.only_if)
        if follows and turn.run.marks[index].status is not Status.PENDING:
            reopen(turn, index, f"{choice} reopened")


def choose(turn: Turn, choice: str, option: str) -> None:
    """Keep a choice; EVERY_WAY for one that was left open."""
    forget_choices(turn, (choice,))
    turn.set(choices=(*turn.state.choices, (choice, option)))


def forget_choices(turn: Turn, choices: tuple[str, ...]) -> None:
    """They have to be made again."""
    turn.set(choices=tuple(pair for pair in turn.state.choices if pair[0] not in choices))


def leave_choice_open(turn: Turn) -> None:
    """The item in hand is passed without an answer: a choice then hides no item."""
    if isinstance(turn.item.task, Choose):
        choose(turn, turn.item.id, EVERY_WAY)


def prepare_choices(turn: Turn, checklist: CheckList) -> None:
    """A list opens: its own choices are made again; others that were never made hide nothing."""
    items = tuple(checklist.items())
    forget_choices(turn, tuple(one.id for one in items if isinstance(one.task, Choose)))
    own, made = {one.id for one in items}, {pair[0] for pair in turn.state.choices}
    used = dict.fromkeys(only.choice for one in items for only in one.only_if)
    for choice in used:
        if choice not in own and choice not in made:
            choose(turn, choice, EVERY_WAY)
            turn.record("choice not made", checklist.id, choice=choice)
    unmade = [c for c in used if dict(turn.state.choices).get(c) == EVERY_WAY]
    if unmade and checklist.kind is ListKind.NORMAL:
        calls = {one.id: one.call for each in turn.aircraft.lists for one in each.items()}
        names = ", ".join(calls.get(choice, choice) for choice in unmade)
        turn.say(wording.sentence(f"Not chosen: {names}. The items of every way are asked"))


def stale(turn: Turn, index: int) -> bool:
    """Whether a tick of the running list is out of date."""
    limit, mark = turn.items[index].stale_after, turn.run.marks[index]
    return mark.status is Status.TICKED and limit is not None and turn.now - mark.at > limit


def reopen_stale(turn: Turn) -> None:
    """Reopen ticks that are out of date, and say which."""
    for index in [i for i in range(len(turn.items)) if stale(turn, i)]:
        reopen(turn, index, "stale")
        turn.say(wording.sentence(f"{turn.items[index].call} is out of date"))
