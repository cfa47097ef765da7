"""What a session remembers, as one frozen value.

Rule of this file: values and small questions about them. Nothing is decided
here; `turn.py` makes the next value out of the last.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from enum import Enum

from callout.checklist.model import Aircraft, CheckList, GoTo, Item
from callout.engine.duties_state import Duties
from callout.engine.limit_memory import Memory
from callout.engine.rules import State
from callout.engine.squawk_state import Squawks
from callout.engine.watch_state import WAITING, Watch
from callout.words.phrases import Grammar


class Status(Enum):
    """What became of an item."""

    PENDING = "pending"
    TICKED = "ticked"
    DEFERRED = "deferred"
    SKIPPED = "skipped"
    OVERRIDDEN = "overridden"


@dataclass(frozen=True, slots=True)
class Mark:
    """Status of one item, when it came about (s) and what was said."""

    status: Status = Status.PENDING
    at: float = 0.0
    answer: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """One list being run or already closed.

    Fields:
        list_id: which
        marks: one per item, in the list's order
        opened_at: session time (s)
        outcome: "" while it runs, then "complete", "not complete", "aborted" or "left"
        forced: its gate was overridden, so it is never called complete
    """

    list_id: str
    marks: tuple[Mark, ...]
    opened_at: float
    outcome: str = ""
    forced: bool = False


@dataclass(frozen=True, slots=True)
class Doubt:
    """Values a number may have meant, most likely first, and the words heard."""

    values: tuple[Decimal, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Overriding:
    """An override on its way: of an item, or (item None) of a list's needs."""

    list_id: str
    item: int | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LastAct:
    """The last utterance that changed an item, for disregard and correction."""

    list_id: str
    item: int
    before: Mark


@dataclass(frozen=True, slots=True)
class Timer:
    """A timed wait, or the time limit of a condition, in session seconds.

    Fields:
        began, ends: session time
        marks: seconds remaining still to be said, longest first
        over: it has run out and that was said
    """

    began: float
    ends: float
    marks: tuple[float, ...] = ()
    over: bool = False


@dataclass(frozen=True, slots=True)
class Alert:
    """A warning (grave) or caution whose cause was there when last looked at.

    Fields:
        key: the cause, such as "exhaust-temperature/NEVER"
        text: what is said
        raised_at: session time (s)
        of_item: about the item in hand: the next answer to an item answers it too
        say: number of the Say that carries it now; None while it is not being said
        began: when that began to sound, as far as is known (s); None while it waits
        said: how often it was said to its end
        due: when it is to be said again (s); None: not again
        answered: the pilot acknowledged it
        ended: its cause has ended, but it was not said to its end yet
    """

    key: str
    text: str
    grave: bool
    raised_at: float
    of_item: bool = False
    say: int | None = None
    began: float | None = None
    said: int = 0
    due: float | None = None
    answered: bool = False
    ended: bool = False


EVERY_WAY = ""
"""The option of a choice that was not made: items of all its options apply."""


@dataclass(frozen=True)  # without slots: `changed` copies its dictionary in one go
class SessionState:
    """All of it.  See the field comments."""

    mode: State = State.CLOSED
    now: float = 0.0
    #: lists still to run, in order
    plan: tuple[str, ...] = ()
    run: Progress | None = None
    #: index of the item in hand
    item: int | None = None
    closed: tuple[Progress, ...] = ()
    #: (choice item id, option id or EVERY_WAY), latest last
    choices: tuple[tuple[str, str], ...] = ()
    #: the sentence an answer is due to; "say again" says it
    prompt: str = ""
    #: number of the Say that carries the prompt; None once it was said
    prompt_say: int | None = None
    asked_at: float = 0.0
    prompt_ended_at: float | None = None
    #: how often the prompt was said without an answer
    times_asked: int = 0
    answer_due: float | None = None
    #: how often words were not understood since the prompt
    misheard: int = 0
    timer: Timer | None = None
    #: a timed item that a correction went back from, and its timer, which runs on
    aside: tuple[int, Timer] | None = None
    #: since when the awaited condition has held
    held_since: float | None = None
    #: the program was away so long that the list must be started again
    long_gone: bool = False
    doubt: Doubt | None = None
    overriding: Overriding | None = None
    #: the state that stand by or hold interrupted
    back_to: State | None = None
    last: LastAct | None = None
    #: the answer to the item in hand came too quickly and was queried
    queried: bool = False
    #: warnings and cautions that stand, in the order they were raised
    alerts: tuple[Alert, ...] = ()
    #: what the limits remember of each gauge, by its id
    seen: Mapping[str, Memory] = field(default_factory=dict)
    #: a warning among them is not answered, so that "roger" counts
    warned: bool = False
    next_say: int = 1
    grammar: Grammar = field(default_factory=lambda: Grammar(0))
    #: the list whose needs are not met and that was asked for
    wanted: str = ""
    #: counts, cool-down and run-down
    duties: Duties = field(default_factory=Duties)
    #: the watch over the start that runs or was run last
    watch: Watch | None = None
    #: its phase while it runs, of which the grammar is made
    watched: int = WAITING
    #: what of them may be said at any time ("power", "standstill")
    beside: tuple[str, ...] = ()

    #: squawks that are open, and the one being recorded
    squawks: Squawks = field(default_factory=Squawks)
    #: lists of the flying day that were changed since they were last run, not told yet
    news: tuple[str, ...] = ()

    @property
    def passed(self) -> frozenset[str]:
        """Keys of the alerts that stand, a limit's as "gauge/limit"."""
        return frozenset(alert.key for alert in self.alerts if not alert.ended)


_NAMES = frozenset(one.name for one in fields(SessionState))


def changed(state: SessionState, changes: Mapping[str, object]) -> SessionState:
    """The state with some fields changed: dataclasses.replace in a fraction of the time.

    A fast feed changes the state some hundred times a second, and replaying an
    hour of it has to be quick.
    """
    if not changes.keys() <= _NAMES:
        raise TypeError(f"The state has no {', '.join(sorted(changes.keys() - _NAMES))}.")
    new = object.__new__(SessionState)
    new.__dict__.update(state.__dict__)
    new.__dict__.update(changes)
    return new


def current(aircraft: Aircraft, state: SessionState) -> tuple[CheckList, Item]:
    """The list and item in hand; only in states that have one."""
    assert state.run is not None
    assert state.item is not None
    checklist = aircraft.list(state.run.list_id)
    return checklist, tuple(checklist.items())[state.item]


def engine_state(aircraft: Aircraft, state: SessionState) -> str:
    """Which limits apply: those of the running list; between lists, of the last one.

    An engine does not stop when a list is closed.
    """
    run = state.run or (state.closed[-1] if state.closed else None)
    return aircraft.list(run.list_id).engine_state if run is not None else "any"


def applies(item: Item, choices: tuple[tuple[str, str], ...]) -> bool:
    """Whether the choices made so far leave the item in the list.

    A choice that was left open leaves every item in, and leads out of no list.
    """
    made = dict(choices)
    undecided = () if isinstance(item.task, GoTo) else (EVERY_WAY,)
    return all(made.get(only.choice) in (only.option, *undecided) for only in item.only_if)


def left_out(item: Item, choices: tuple[tuple[str, str], ...]) -> bool:
    """Whether a choice that was made leaves the item out; one still to be made does not."""
    made = dict(choices)
    return any(
        made.get(only.choice, only.option) not in (only.option, EVERY_WAY) for only in item.only_if
    )


def open_items(aircraft: Aircraft, state: SessionState) -> tuple[Item, ...]:
    """Items of the running list that apply and are neither ticked nor overridden."""
    if state.run is None:
        return ()
    items = tuple(aircraft.list(state.run.list_id).items())
    settled = (Status.TICKED, Status.OVERRIDDEN)
    return tuple(
        item
        for item, mark in zip(items, state.run.marks, strict=True)
        if applies(item, state.choices) and mark.status not in settled
    )
