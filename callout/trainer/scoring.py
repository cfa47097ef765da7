"""What a drill came to: points, reaction times, false calls, and what mattered most.

Rule of this file: a function of the drill and its last state. A call counts when its
words began within its window; a pair counts when both were in time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from callout.trainer.model import Drill, Line, Speaker
from callout.trainer.state import DrillState, FalseCall, Mark, Reply, Standing, Told

HIT, LATE, MISSED, NOT_REACHED = "in time", "late", "missed", "not reached"


@dataclass(frozen=True, slots=True)
class Scored:
    """One call that was expected.

    Fields:
        at: when its window opened (drill seconds; None: it never did)
        outcome: one of the four words above
        reaction, within: s; source: where the window comes from
        points: what it brought, of what it is worth
    """

    line: str
    who: str
    wanted: str
    said: str
    at: float | None
    outcome: str
    reaction: float | None
    within: float
    source: str
    points: int
    of: int
    critical: bool
    coached: bool
    why: str


@dataclass(frozen=True, slots=True)
class Result:
    """A whole drill.

    Fields:
        percent: of the points, less what false calls cost, never below 0
        in_order: whether the calls that came came in the order they were asked for
        mattered: the one thing that mattered most, a sentence
        gauges, samples: what they showed, twice a second, as (drill seconds, values)
    """

    drill: str
    title: str
    roles: tuple[str, ...]
    coached: bool
    seed: int
    percent: int
    points: int
    of: int
    in_order: bool
    calls: tuple[Scored, ...]
    false_calls: tuple[FalseCall, ...]
    replies: tuple[Reply, ...]
    timeline: tuple[Told, ...]
    mattered: str
    seconds: float
    engine_state: str = "any"
    gauges: tuple[str, ...] = ()
    samples: tuple[tuple[float, tuple[float, ...]], ...] = ()

    @property
    def critical_missed(self) -> bool:
        """Whether a call was lost that matters most."""
        return any(one.critical and one.outcome != HIT for one in self.calls)

    @property
    def answered(self) -> int:
        """Questions answered right."""
        return sum(reply.good for reply in self.replies)


def result(drill: Drill, state: DrillState, gauges: tuple[str, ...] = ()) -> Result:
    """Score a drill that is over; `gauges` names what the samples are of."""
    calls = tuple(_scored(drill, state))
    of = sum(one.of for one in calls)
    lost = drill.false_call * len(state.false_calls)
    points = max(0, sum(one.points for one in calls) - lost)
    return Result(
        drill=drill.id,
        title=drill.title,
        roles=tuple(role.value for role in state.roles),
        coached=state.coached,
        seed=state.seed,
        percent=100 * points // of if of else 0,
        points=points,
        of=of,
        in_order=not any(call.kind == "too early" for call in state.false_calls),
        calls=calls,
        false_calls=state.false_calls,
        replies=state.replies,
        timeline=state.timeline,
        mattered=_mattered(calls, state.false_calls),
        seconds=round(state.t - state.began, 1),
        engine_state=drill.scene.engine_state,
        gauges=gauges,
        samples=tuple((at, tuple(round(one, 2) for one in shown)) for at, shown in state.samples),
    )


def own(scored: Result, drill: Drill, who: Speaker) -> Result:
    """What one of two people came to: his own calls, and false calls that may be his.

    A pair counts for neither when one of both was late; questions were answered together.
    """
    calls = tuple(one for one in scored.calls if one.who == who.value)
    false_calls = tuple(one for one in scored.false_calls if one.who in ("", who.value))
    of = sum(one.of for one in calls)
    points = max(0, sum(one.points for one in calls) - drill.false_call * len(false_calls))
    return replace(
        scored,
        roles=(who.value,),
        calls=calls,
        false_calls=false_calls,
        of=of,
        points=points,
        percent=100 * points // of if of else 0,
        in_order=not any(call.kind == "too early" for call in false_calls),
        mattered=_mattered(calls, false_calls),
    )


def _scored(drill: Drill, state: DrillState) -> Iterator[Scored]:
    pairs = list(zip(drill.lines, state.marks, strict=True))
    mine = [(line, mark) for line, mark in pairs if state.is_mine(line)]
    failed = {line.pair for line, mark in mine if line.pair and mark.standing is not Standing.HIT}
    for line, mark in mine:
        outcome = _outcome(mark)
        counts = outcome == HIT and line.pair not in failed
        yield _one(line, mark, outcome, line.points if counts else 0)


def _one(line: Line, mark: Mark, outcome: str, points: int) -> Scored:
    return Scored(
        line=line.id,
        who=line.who.value,
        wanted=line.words[0],
        said=mark.words,
        at=None if mark.opened is None else round(mark.opened, 2),
        outcome=outcome,
        reaction=mark.late if outcome == LATE else mark.reaction,
        within=line.within.seconds,
        source=line.within.source,
        points=points,
        of=line.points,
        critical=line.critical,
        coached=mark.coached,
        why=line.why,
    )


def _outcome(mark: Mark) -> str:
    if mark.standing is Standing.HIT:
        return HIT
    if mark.late is not None:
        return LATE
    return MISSED if mark.opened is not None else NOT_REACHED


def _mattered(calls: tuple[Scored, ...], false_calls: tuple[FalseCall, ...]) -> str:
    """A critical call first, then wrong words, then the dearest call, the earliest first."""
    lost = [one for one in calls if one.outcome != HIT]
    lost.sort(key=lambda one: (not one.critical, -one.of))
    if lost and lost[0].critical:
        return _told(lost[0])
    if false_calls:
        call = false_calls[0]
        return f"{call.words}: {call.kind}. {call.because}"
    if lost:
        return _told(lost[0])
    reactions = [one for one in calls if one.reaction is not None]
    slow = max(reactions, key=lambda one: (one.reaction or 0.0) / one.within, default=None)
    return f"Every call came in time. The slowest was: {slow.wanted}." if slow else ""


def _told(one: Scored) -> str:
    if one.outcome == LATE and one.reaction is not None:
        over = one.reaction - one.within
        what = f"{one.wanted} came {over:.1f} seconds late"
    elif one.outcome == NOT_REACHED:
        what = f"it never came to: {one.wanted}"
    else:
        what = f"{one.wanted} was missed"
    return f"{what[0].upper()}{what[1:]}. {one.why}".strip()
