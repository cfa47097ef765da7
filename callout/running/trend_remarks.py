"""What has changed over sessions, found when one ends and said once when the next begins.

Rule of this file: it is worked out after the session, when nobody waits for a first
word, and written down in it; the next opening only reads what the latest few sessions
found and what was told since. What cannot be worked out is not said, and stops nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from callout.checklist.model import Aircraft
from callout.engine.effects import Record
from callout.engine.events import Clock
from callout.engine.trend_remarks import TOLD
from callout.logbook.codec import record_from
from callout.logbook.errors import LogbookError
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook
from callout.words.say_numbers import say_digits

if TYPE_CHECKING:
    from callout.reports.trends import Trends

FOUND = "trend found"
"""The fact that a session has shown a change, with the sentence that tells it."""

LATEST = 20
"""Sessions back in which a change was found and not told: it is news no longer than that."""

_OF_LATEST = f"""
SELECT e.data FROM entries e WHERE e.name IN ('{FOUND}', '{TOLD}') AND e.kind = 'fact'
    AND e.session IN (SELECT session FROM sessions WHERE aircraft = ? AND session < ?
        AND boot_id <> '{RECORDING}' ORDER BY session DESC LIMIT {LATEST})
ORDER BY e.seq
"""  # noqa: S608 - our own words


def find(logbook: Logbook, aircraft: Aircraft, session: int, stamp: Stamp) -> tuple[str, ...]:
    """What this session has shown first, written down in it; nothing of one from a recording."""
    if stamp.boot_id == RECORDING:
        return ()
    from callout.reports.trends import trends

    try:
        made = trends(logbook, aircraft.name, aircraft)
        new = tuple(_new(made)) if made.last == session else ()
        if new:
            facts = [Record(FOUND, "", (("said", text),)) for text in new]
            logbook.append(session, Clock(), facts, stamp)
    except LogbookError:
        return ()
    return new


def _new(made: Trends) -> Iterator[str]:
    """What the latest session showed first, as it will be spoken."""
    for one in made.series:
        change = one.lasting()
        if change is not None and one.sessions[change.found] == made.last:
            shorter, longer = ("shorter", "longer") if one.symbol == "s" else ("lower", "higher")
            which = longer if change.now > change.usual else shorter
            percent = say_digits(Decimal(round(abs(change.percent))))
            yield f"{one.name} is {percent} percent {which} than usual"


def to_tell(logbook: Logbook, aircraft: str, session: int) -> tuple[str, ...]:
    """What the latest sessions before this one found and none has told, oldest first."""
    left: dict[str, None] = {}
    for (data,) in logbook.select(_OF_LATEST, aircraft, session):
        fact = record_from(str(data))
        said = dict(fact.data)["said"]
        if fact.fact == TOLD:
            left.pop(said, None)
        else:
            left[said] = None
    return tuple(left)
