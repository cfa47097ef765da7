"""A logbook on a server, in a session: written here first, and delivered as it goes.

Rule of this file: nothing waits for the server but the look at what other machines wrote,
before the first word. What happens is on this machine's disk before it is said, as ever;
a thread of its own brings it to the server, again and again until it is there.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import platformdirs

from callout.engine.events import Event, Lost, Restored
from callout.logbook.errors import LogbookError
from callout.logbook.places import Place, Server
from callout.logbook.store import Logbook
from callout.running.looking import fault, within

T = TypeVar("T")

PART = "logbook server"
"""What is lost, as the engine says it."""

EVERY, AGAIN = 1.0, 5.0
"""Seconds from one delivery to the next, and until a server that is gone is tried again."""

PATIENCE = 4.0
"""Seconds a server has for each answer: a session begins without it after that."""

LOOK = 4.0
"""Seconds of a look at the server, all in all, where a session is taken up: who does so may
sit in a running machine, and nothing is heard till then. Where one is opened it is the time
in which all that this machine wrote before has to be there."""

OPENING = 12.0
"""Seconds of a look, all in all, where a session is opened: the first one after an import
reads what all years counted."""

LAST = 10.0
"""Seconds at the end of a session for what is left."""


def own_file(server: Server) -> Path:
    """Where this machine keeps what it writes to a server, delivered or not."""
    digest = hashlib.sha256(server.key.encode()).hexdigest()[:16]
    return platformdirs.user_data_path("callout", appauthor=False) / "shared" / f"{digest}.db"


def is_own_file(place: Place) -> bool:
    """Whether a file is one that this machine keeps for a server."""
    return isinstance(place, Path) and place.absolute().parent == own_file(Server("")).parent


@contextmanager
def logbook_of(
    place: Place, aside: Callable[[str], None]
) -> Iterator[tuple[Logbook, Sharing | Alone]]:
    """The file to write to, and what brings it to a server if `place` is one."""
    if not isinstance(place, Server):
        with Logbook.open(place) as logbook:
            yield logbook, ALONE
        return
    with Logbook.open(own_file(place)) as logbook:
        sharing = Sharing(logbook.file, place, aside)
        try:
            yield logbook, sharing
        finally:
            sharing.stop()


class Alone:
    """A logbook of this machine's own: nothing is brought anywhere."""

    def look(
        self, read: Callable[[Logbook, int, str], T], logbook: Logbook, session: int,
        *, opens: bool = False,
    ) -> T:  # fmt: skip
        """What was written, by `read`."""
        del opens
        return read(logbook, session, "")

    def begin(self, tell: Callable[[Event], None]) -> None:
        """Nothing is to be done."""


ALONE = Alone()


class Sharing:
    """Brings one file to one server, on a thread of its own.

    Args:
        aside: told in sentences what is not there yet, where no session listens
        look, opening: seconds of a look at the server, as LOOK and OPENING
    """

    def __init__(
        self, own: Path, server: Server, aside: Callable[[str], None], look: float = LOOK,
        opening: float = OPENING,
    ) -> None:  # fmt: skip
        self._own, self._server, self._aside = own, server, aside
        self._look, self._opening = look, max(look, opening)
        self._tell: Callable[[Event], None] | None = None
        self._over = threading.Event()
        self._thread: threading.Thread | None = None
        self._left = ""

    def look(
        self, read: Callable[[Logbook, int, str], T], logbook: Logbook, session: int,
        *, opens: bool = False,
    ) -> T:  # fmt: skip
        """What all machines wrote, by `read`: (logbook, this session in it, this machine).

        `opens`: what is found is told to the session in its first event, so the sessions
        after it need not look beyond that.

        Where the server does not answer, or is slow, it is what this machine wrote, and "".
        """

        def see(tell: Callable[[T], bool]) -> None:
            self._see(read, session, tell, opens=opens)

        try:
            return within(self._opening if opens else self._look, see, self._server)
        except LogbookError as error:
            self._aside(
                f"{error} Squawks and counters are those that this machine knows; what it "
                f"writes is kept in {self._own} and delivered later."
            )
        return read(logbook, session, "")

    def _see(
        self, read: Callable[[Logbook, int, str], T], session: int, tell: Callable[[T], bool],
        *, opens: bool,
    ) -> None:  # fmt: skip
        """Deliver what is here, read, tell."""
        from callout.logbook.delivering import Delivery

        until = time.monotonic() + self._look
        with _server(self._server) as shared, Logbook.read(self._own) as own:
            delivery = Delivery(own, shared)
            delivery.deliver(lambda: time.monotonic() >= until)
            with shared.snapshot():
                upto = delivery.latest()
                found = read(shared, delivery.number_of(session) or 0, delivery.identity)
            if tell(found) and opens:
                delivery.looked(session, upto)

    def begin(self, tell: Callable[[Event], None]) -> None:
        """Deliver from now on; a server that is lost, and is there again, is told."""
        self._tell = tell
        self._thread = threading.Thread(target=self._run, name="delivering", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Deliver what is left, and say if something is."""
        self._over.set()
        if self._thread is not None:
            self._thread.join(LAST)
        elif not self._left:
            self._left = self._last()
        if self._left or (self._thread is not None and self._thread.is_alive()):
            self._aside(
                f"{self._left or 'The server of the logbook is slow.'} What was written is kept "
                f"in {self._own}; it is delivered with the next session, or by "
                f"`callout log deliver --logbook {self._server}`."
            )

    def _last(self) -> str:
        try:
            deliver(self._own, self._server)
        except LogbookError as error:
            return str(error)
        except Exception as error:
            return str(fault(error))
        return ""

    def _run(self) -> None:
        lost = False
        while True:
            try:
                self._deliver_while_it_answers(lost)
                return
            except Exception as error:  # whatever it is: the session goes on, and is told
                self._left = str(error if isinstance(error, LogbookError) else fault(error))
                if not lost and self._tell is not None and not self._over.is_set():
                    self._tell(Lost(PART, self._left))
                lost = True
            if self._over.wait(AGAIN):
                self._left = self._last()
                return

    def _deliver_while_it_answers(self, lost: bool) -> None:
        from callout.logbook.delivering import Delivery

        with _server(self._server) as shared, Logbook.read(self._own) as own:
            delivery = Delivery(own, shared)
            while True:
                last = self._over.is_set()
                delivery.deliver()
                if lost and self._tell is not None:
                    self._tell(Restored(PART))
                lost, self._left = False, ""
                if last:
                    return
                self._over.wait(EVERY)


def deliver(own: Path, server: Server) -> int:
    """Bring all that is not there yet; gives how many rows.  Raises LogbookError."""
    from callout.logbook.delivering import Delivery

    with _server(server) as shared, Logbook.read(own) as logbook:
        return Delivery(logbook, shared).deliver()


@contextmanager
def _server(server: Server) -> Iterator[Logbook]:
    from callout.logbook import server as servers

    logbook = Logbook(servers.open_to_write(server, PATIENCE), server, None)
    try:
        yield logbook
    finally:
        logbook.close()
