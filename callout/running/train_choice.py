"""Which drill, with what help, on which day: what a person did before decides.

Rule of this file: a choice is a value; nothing is run here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from callout.checklist.problems import did_you_mean, listed
from callout.running.problems import CannotRunError
from callout.trainer.load import LoadedDrill
from callout.trainer.model import Speaker
from callout.trainer.schedule import Due, next_of, standing
from callout.trainer.session import Practice
from callout.trainer.store import Entry

ROLES: dict[str, tuple[Speaker, ...]] = {
    "helper": (Speaker.HELPER,),
    "pilot": (Speaker.PILOT,),
    "both": (Speaker.PILOT, Speaker.HELPER),
}
"""What --role may be."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for.

    Fields:
        drill: its name; "" for whatever is due
        coached: whether the words are told first; None: the first time, they are
        day: of the ranges of a drill; None: another one each time
    """

    roles: tuple[Speaker, ...]
    drill: str = ""
    coached: bool | None = None
    day: int | None = None


def roles_text(roles: Sequence[Speaker]) -> str:
    """How the book names these roles."""
    return ", ".join(role.value for role in roles)


def stands(
    drills: Sequence[LoadedDrill], roles: Sequence[Speaker], entries: Sequence[Entry], now: datetime
) -> tuple[Due, ...]:
    """How every drill of these roles stands."""
    return standing([one.drill for one in drills], roles_text(roles), entries, now)


def choose(
    drills: Sequence[LoadedDrill], wanted: Wanted, books: Sequence[Sequence[Entry]], now: datetime
) -> tuple[LoadedDrill, Practice]:
    """The drill and how it is practised.  Raises CannotRunError.

    Args:
        drills: of the aircraft
        wanted: what was asked for
        books: what was practised before: by the one person of all roles, or by each role's
        now: what is due then
    """
    if not drills:
        raise CannotRunError(
            "This aircraft has no drills: put drill files into drills/NAME beside its file, "
            "or name a folder with --drills."
        )
    picked = _named(drills, wanted) if wanted.drill else _due(drills, wanted, books, now)
    before = [
        sum(one.drill == picked.drill.id and one.roles == roles_text(roles) for one in entries)
        for roles, entries in _of_each(wanted, books)
    ]
    coached = not all(before) if wanted.coached is None else wanted.coached
    day = max(before) if wanted.day is None else wanted.day
    return picked, Practice(wanted.roles, coached, day)


def _of_each(
    wanted: Wanted, books: Sequence[Sequence[Entry]]
) -> Iterator[tuple[tuple[Speaker, ...], Sequence[Entry]]]:
    """Roles with what was practised of them: all of one person, or one role each."""
    each = [(one,) for one in wanted.roles] if len(books) > 1 else [wanted.roles]
    return zip(each, books, strict=True)


def _named(drills: Sequence[LoadedDrill], wanted: Wanted) -> LoadedDrill:
    known = [one.drill.id for one in drills]
    for one in drills:
        if one.drill.id == wanted.drill:
            if not set(wanted.roles) <= set(one.drill.roles):
                has = listed((role.value for role in one.drill.roles), "and")
                raise CannotRunError(f"{wanted.drill} is a drill for {has} only.")
            return one
    near = did_you_mean(wanted.drill, known) or f"; there are {', '.join(known)}"
    raise CannotRunError(f'There is no drill "{wanted.drill}"{near}')


def _due(
    drills: Sequence[LoadedDrill], wanted: Wanted, books: Sequence[Sequence[Entry]], now: datetime
) -> LoadedDrill:
    able = [one for one in drills if set(wanted.roles) <= set(one.drill.roles)]
    each = (stands(able, roles, entries, now) for roles, entries in _of_each(wanted, books))
    # Drill by drill, in the order of the course: what is new to one of them is new.
    found = next_of([due for some in zip(*each, strict=True) for due in some], now)
    if found is None:
        raise CannotRunError(f"No drill of this aircraft has the role {roles_text(wanted.roles)}.")
    return next(one for one in drills if one.drill.id == found.drill)
