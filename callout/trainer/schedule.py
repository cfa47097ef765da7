"""What to practise next: a known method of spaced repetition, per person and drill.

Rule of this file: everything is worked out from the practice book, so that nothing can
differ from what was practised. fsrs is imported here and only when it is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from callout.trainer.model import Drill
from callout.trainer.store import Entry

if TYPE_CHECKING:
    from fsrs import Rating

LONGEST = 180
"""Days after which any drill is due again (common practice, no source)."""

FAILED, HARD, GOOD = 60, 85, 100
"""Percent: below the first it counts as forgotten, below the second as hard, then as good."""


@dataclass(frozen=True, slots=True)
class Due:
    """How one drill in one role stands.

    Fields:
        due: when it should be practised again (None: never practised)
        recalled: how likely it is to be known now, 0 .. 1
        times, last: how often it was practised, and the last score
    """

    drill: str
    title: str
    roles: str
    due: datetime | None = None
    recalled: float = 0.0
    times: int = 0
    last: int | None = None


def standing(
    drills: Sequence[Drill], roles: str, entries: Iterable[Entry], now: datetime
) -> tuple[Due, ...]:
    """Every drill that has these roles, in the order of the course."""
    from fsrs import Card, Scheduler

    scheduler = Scheduler(enable_fuzzing=False, maximum_interval=LONGEST)
    done = [entry for entry in entries if entry.roles == roles]
    found = []
    for drill in drills:
        if not set(roles.split(", ")) <= {role.value for role in drill.roles}:
            continue
        mine = [entry for entry in done if entry.drill == drill.id]
        if not mine:
            found.append(Due(drill.id, drill.title, roles))
            continue
        card = Card(card_id=1, due=mine[0].at)
        for entry in mine:
            card, _ = scheduler.review_card(card, rating(entry), entry.at)
        known = scheduler.get_card_retrievability(card, now)
        found.append(
            Due(drill.id, drill.title, roles, card.due, known, len(mine), mine[-1].percent)
        )
    return tuple(found)


def rating(entry: Entry) -> Rating:
    """What a score says to the method.

    A critical call that was lost is a drill forgotten. One whose words were told first
    is never more than hard: nothing was recalled.
    """
    from fsrs import Rating

    if entry.critical_missed or entry.percent < FAILED:
        return Rating.Again
    if entry.coached or entry.percent < HARD:
        return Rating.Hard
    return Rating.Good if entry.percent < GOOD or not _quick(entry) else Rating.Easy


def _quick(entry: Entry) -> bool:
    """Whether every call came in the first half of its window."""
    calls = entry.result.get("calls", [])
    return bool(calls) and all(
        one["reaction"] is not None and one["reaction"] <= one["within"] / 2 for one in calls
    )


def next_of(found: Sequence[Due], now: datetime) -> Due | None:
    """What is due longest in proportion, else what is new, else what is due first."""
    due = [one for one in found if one.due is not None and one.due <= now]
    if due:
        return min(due, key=lambda one: one.recalled)
    new = [one for one in found if one.due is None]
    if new:
        return new[0]
    return min(found, key=lambda one: one.due or now, default=None)
