"""A practice is written down as it goes: that it began, each call, and what it came to.

Rule of this file: what is written comes from the drill's state and result; nothing is
scored here. A drill that is killed leaves what was written, and the next one says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from callout.logbook.errors import LogbookError
from callout.running.train_choice import roles_text
from callout.trainer.load import LoadedDrill
from callout.trainer.model import Speaker
from callout.trainer.scoring import Result, own
from callout.trainer.session import DrillSession
from callout.trainer.state import DrillState, Mode, Standing
from callout.trainer.store import CutShort, PracticeBook

Calls = tuple[int, int, int]


class BookKeeper:
    """Writes one drill into the book, for each person who trains.

    Args:
        people: one name for all roles, or one for each role
    """

    def __init__(self, book: PracticeBook, people: Sequence[str], loaded: LoadedDrill) -> None:
        self._book = book
        self._people = tuple(people)
        self._loaded = loaded
        self._attempts: tuple[int, ...] = ()
        self._written: tuple[Calls, ...] = ()
        self._over = False

    def goes_on(self, session: DrillSession) -> None:
        """Write what is new of the drill.  Raises LogbookError, once: it is not tried again."""
        if session.state.mode is Mode.CLOSED or self._over:
            return
        try:
            self._write(session.state)
        except LogbookError:
            self._over = True
            raise

    def _write(self, state: DrillState) -> None:
        calls = tuple(self._calls(state, roles) for roles in self._roles(state))
        if not self._attempts:
            self._attempts = tuple(self._begin(state, calls))
        elif calls != self._written or state.broken:
            now = datetime.now(UTC)
            for attempt, came in zip(self._attempts, calls, strict=True):
                self._book.scored(attempt, came, now, ended=state.broken)
        self._written, self._over = calls, state.broken

    def practised(self, result: Result) -> None:
        """Write what the drill came to.  Raises LogbookError."""
        now, loaded = datetime.now(UTC), self._loaded
        for place, who in enumerate(self._people):
            theirs = result
            if len(self._people) > 1:
                theirs = own(result, loaded.drill, Speaker(result.roles[place]))
            aircraft, attempt = loaded.aircraft, self._attempts[place] if self._attempts else 0
            self._book.add(who, aircraft.aircraft, aircraft.fingerprint, theirs, now, attempt)
        self._over = True

    def _roles(self, state: DrillState) -> tuple[tuple[Speaker, ...], ...]:
        """Whose calls are whose: all of one person, or one role each."""
        return (state.roles,) if len(self._people) == 1 else tuple((one,) for one in state.roles)

    def _calls(self, state: DrillState, roles: Sequence[Speaker]) -> Calls:
        """How many calls of these roles are over, in time, and in the whole drill."""
        pairs = zip(self._loaded.drill.lines, state.marks, strict=True)
        marks = [mark for line, mark in pairs if line.who in roles]
        in_time = sum(mark.standing is Standing.HIT for mark in marks)
        return sum(mark.over for mark in marks), in_time, len(marks)

    def _begin(self, state: DrillState, calls: Sequence[Calls]) -> Iterator[int]:
        now, loaded = datetime.now(UTC), self._loaded
        for who, roles, (_, _, of) in zip(self._people, self._roles(state), calls, strict=True):
            yield self._book.begin(
                who, loaded.aircraft.aircraft, loaded.drill, roles_text(roles), of, now
            )


def told(cut: CutShort) -> str:
    """A drill that was cut short, in a sentence."""
    return (
        f"{cut.title} ({cut.roles}) was cut short after {cut.calls} of {cut.of} calls, "
        f"{cut.in_time} of them in time. It is not counted."
    )


BROKE_OFF = "The last drill broke off. It is not counted, and a drill begins anew."


def broke_off(book: PracticeBook, who: str, aircraft: str) -> str:
    """What the last drill of a person had come to when it broke off; "" where it did not."""
    last = book.last_attempt(who, aircraft)
    return told(last) if last is not None and not last.ended and last.calls else ""
