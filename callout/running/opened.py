"""The first event of a session in real time: its lists, and what past sessions counted.

Rule of this file: the past comes from the logbook; a session in recording time
has none, so that one recording gives one log.
"""

from __future__ import annotations

from datetime import datetime, tzinfo

from callout.checklist.content import counting, digests
from callout.checklist.model import Aircraft
from callout.engine.events import Resumed, SessionOpened
from callout.logbook.history import Past, others_since, past
from callout.logbook.lists_flown import flown
from callout.logbook.origins import SHARED, Origins
from callout.logbook.squawks import told
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.sharing import ALONE, Alone, Sharing
from callout.running.trend_remarks import to_tell


def session_opened(
    lists: tuple[str, ...],
    aircraft: Aircraft,
    logbook: Logbook,
    session: int,
    now: Stamp,
    pilot: str = "",
    *,
    recorded: bool = False,
    sharing: Sharing | Alone = ALONE,
) -> SessionOpened:
    """The event that opens session number `session` at `now`."""
    before, open_, run = sharing.look(
        lambda book, own, by: _known(book, own, by, aircraft, now), logbook, session, opens=True
    )
    return SessionOpened(
        lists,
        before.tallies,
        before.run_downs,
        before.clock_set_back,
        open_,
        pilot,
        recorded,
        digests(aircraft),
        run,
        before.dues,
        wall_clock(now),
        to_tell(logbook, aircraft.name, session),
        counting(aircraft),
    )


def came_back(
    gap: float,
    aircraft: Aircraft,
    logbook: Logbook,
    session: int,
    now: Stamp,
    recorded: float = 0.0,
    sharing: Sharing | Alone = ALONE,
) -> Resumed:
    """The event with which session number `session` is taken up at `now`."""
    other = sharing.look(
        lambda book, own, _: others_since(book, aircraft, own, now), logbook, session
    )
    if other is None:
        return Resumed(gap, recorded)
    return Resumed(gap, recorded, True, other.tallies, other.dues)


_Open = tuple[tuple[str, str, str, str, int, str, str, bool, bool], ...]


def _known(
    logbook: Logbook, session: int, machine: str, aircraft: Aircraft, now: Stamp
) -> tuple[Past, _Open, tuple[tuple[str, str], ...]]:
    """What was counted, which squawks are open, and which lists were run before.

    On a server a squawk goes by the name that `machine` has for it: what is said of it is
    written in its file, and only what it recorded itself can be played from there.
    """
    open_ = told(logbook, aircraft.name, now)
    if machine:
        origins = Origins(logbook)
        names = [origins.theirs(machine, one[0]) for one in open_]
        open_ = tuple(
            (name, *one[1:8], one[8] and not name.startswith(SHARED))
            for name, one in zip(names, open_, strict=True)
        )
    before = past(logbook, aircraft, session, now)
    return before, open_, flown(logbook, aircraft.name, session)


def wall_clock(now: Stamp, zone: tzinfo | None = None) -> float:
    """Local time at session second 0, in seconds from day 0, by the stamp of a moment.

    The zone is the machine's own unless another is given.
    """
    local = datetime.fromisoformat(now.wall).astimezone(zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    of_day = (local.replace(tzinfo=None) - midnight.replace(tzinfo=None)).total_seconds()
    return local.toordinal() * 86_400.0 + of_day - now.now
