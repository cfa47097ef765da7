"""A gauge feed in a session: on a thread of its own, or along a recording.

Rule of this file: it only carries. What a number is worth is decided in
gauges/feed; what follows from it is decided by the engine.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from callout.checklist.model import Gauge
from callout.engine.events import Event, Lost, Restored
from callout.gauges.feed.lines import Lines
from callout.gauges.feed.parsing import Row
from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.sources import MOMENT, chunks
from callout.gauges.feed.watch import FeedWatch
from callout.running.clock import SessionClock

RETRY = 2.0
"""Seconds between attempts to open a feed that was lost."""

SILENT, LINES_MISSED = 2.0, 3.5
"""Seconds without a line after which a feed is lost; of a slow one so many intervals."""

CLOSING = 2.0
"""Seconds in which a feed has to close."""

LONGEST_DAY = 24 * 3600.0
"""A file whose times begin later than this counts them from another day's beginning."""

Put = Callable[[Event], None]


class Feeding(threading.Thread):
    """Puts what a live feed gives into the inbox; a file comes at the pace of its own times.

    When no line comes it says so once; a port or a connection is tried again
    every RETRY seconds.

    Args:
        place: where the lines come from
        gauges: of the aircraft
        clock: session time
        put: takes each event, from this thread
    """

    def __init__(
        self, place: Place, gauges: Iterable[Gauge], clock: SessionClock, put: Put
    ) -> None:
        super().__init__(name="feeding", daemon=True)
        self._place = place
        self._clock = clock
        self._put = put
        self._watch = FeedWatch(gauges, paced=True, now=clock.now())
        self._over = threading.Event()
        self._heard_at = clock.now()
        self._interval = 0.0
        self._lost = False
        self._first: float | None = None
        self._opened = 0
        self._came_at = 0.0

    def stop(self) -> None:
        """Take no further line; returns when the feed is closed, or does not close in time."""
        self._over.set()
        if self.is_alive():
            self.join(CLOSING)

    def run(self) -> None:
        """Until stopped, or until a file or the standard input ends."""
        while not self._over.is_set():
            try:
                self._read()
                why = f"the feed from {self._place} has ended"
            except Exception as error:  # whatever it was, the list goes on without the feed
                why = str(error) or type(error).__name__
            if not self._over.is_set():
                self._lose(why)
            if not self._place.again:
                return
            self._over.wait(RETRY)

    def _read(self) -> None:
        lines = Lines()
        self._opened += 1
        # A serial port that is opened anew begins within a line, and its head is known.
        cut = self._place.way is Way.SERIAL and self._opened > 1
        self._came_at = self._clock.now()
        for chunk in chunks(self._place):
            if self._over.is_set():
                return
            now = self._clock.now()
            if chunk is None:
                self._quiet(now)
                continue
            if self._place.way is not Way.FILE:  # there the pieces wait for the times in them
                self._gap(now, self._came_at)
            self._came_at = now
            for line in lines.take(chunk):
                if not (cut and lines.number == 1):
                    self._line(lines.number, line)
        # What was on its way when a connection broke is cut: 72 would come as 7.
        for line in () if self._place.again else lines.end():
            self._line(lines.number, line)

    def _gap(self, now: float, since: float) -> None:
        """A machine that slept is woken by a line as soon as by the time: a gap all the same."""
        if now - since > self._patience:
            unread = self._watch.last_wrong if self._came_at > self._heard_at else ""
            self._lose(self._nothing(unread))

    def _nothing(self, unread: str) -> str:
        """Why it is lost; `unread` is what came all the same."""
        which = "nothing that can be read" if unread else "nothing"
        why = f"{which} has come from {self._place} for {self._patience:.0f} s"
        return f"{why}. {unread}" if unread else why

    def _line(self, number: int, line: bytes | None) -> None:
        row, events = self._watch.read(number, line)
        if row is not None:
            if self._place.way is Way.FILE:
                self._wait_for(row)
            now = self._clock.now()
            self._interval += 0.1 * (min(now - self._heard_at, 60.0) - self._interval)
            self._heard_at = now
            if self._lost:
                self._lost = False
                self._put(Restored("feed"))
            events = self._watch.row(row, now)
        elif self._clock.now() - self._heard_at > self._patience:
            self._lose(self._nothing(self._watch.last_wrong))
        for event in events:
            self._put(event)

    def _wait_for(self, row: Row) -> None:
        """A file's line comes when its time has come, counted from the first."""
        if row.time is None:
            return
        if self._first is None:
            self._first = self._clock.now() - row.time
        until = self._first + row.time
        while (wait := until - self._clock.now()) > 0 and not self._over.wait(min(wait, MOMENT)):
            if wait > MOMENT:
                self._quiet(self._clock.now())

    @property
    def _patience(self) -> float:
        return max(SILENT, LINES_MISSED * self._interval)

    def _quiet(self, now: float) -> None:
        events: list[Event] = []
        self._gap(now, self._heard_at)
        if not self._lost:
            self._watch.look(now, events)
        for event in events:
            self._put(event)

    def _lose(self, why: str) -> None:
        if not self._lost:
            self._lost = True
            self._put(Lost("feed", why))


class NoFeed:
    """A session without one."""

    def next_at(self) -> float | None:
        """Never."""
        return None

    def take(self) -> list[Event]:
        """Nothing."""
        return []

    def skip(self, until: float) -> None:
        """Nothing is there to be passed over."""


class RecordedFeed:
    """A feed from a file beside a recording: its times are the recording's.

    Args:
        file: CSV or JSON lines, each with a time
        gauges: of the aircraft
    """

    def __init__(self, file: Path, gauges: Iterable[Gauge]) -> None:
        self._watch = FeedWatch(gauges, paced=False)
        self._file = file
        self._zero: float | None = None
        self._at = 0.0
        self._rows = self._read()
        self._ahead: tuple[Row | None, list[Event]] | None = None
        self._advance()

    def next_at(self) -> float | None:
        """Session time (s) of the next line; None when there is none."""
        return None if self._ahead is None else self._at

    def take(self) -> list[Event]:
        """What the next line gives."""
        assert self._ahead is not None
        row, events = self._ahead
        if row is not None:
            events = self._watch.row(row, self._at)
        self._advance()
        return events

    def skip(self, until: float) -> None:
        """Pass over the lines up to this time (s): an earlier run took them."""
        while self._ahead is not None and self._at <= until:
            self.take()

    def _advance(self) -> None:
        self._ahead = next(self._rows, None)
        if self._ahead is not None and self._ahead[0] is not None:
            row = self._timed(self._ahead[0])
            self._ahead = (row, self._ahead[1])
            assert row.time is not None
            self._at = max(self._at, row.time)

    def _timed(self, row: Row) -> Row:
        """The row with its time as the recording's."""
        if row.time is None:
            raise FeedProblem(f'The feed {self._file} tells no "time" beside a recording.')
        if self._zero is None:
            self._zero = row.time if row.time > LONGEST_DAY else 0.0
        return row._replace(time=row.time - self._zero)

    def _read(self) -> Iterator[tuple[Row | None, list[Event]]]:
        """Lines with something in them, as they stand in the file."""
        for number, line in _lines(self._file):
            row, events = self._watch.read(number, line)
            if row is not None or events:
                yield row, events


def _lines(file: Path) -> Iterator[tuple[int, bytes | None]]:
    lines = Lines()
    for chunk in chunks(Place(Way.FILE, str(file))):
        for line in lines.take(chunk or b""):
            yield lines.number, line
    for line in lines.end():
        yield lines.number, line


Feed = NoFeed | RecordedFeed
