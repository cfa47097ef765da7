"""One view of a session on the terminal, redrawn in place, instead of lines.

Rule of this file: it shows what was written down and decides nothing. It draws on
a thread of its own from values that never change, below what stands on the terminal
already, and leaves its last picture there.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING

from callout.checklist.load import Loaded
from callout.checklist.model import Aircraft
from callout.engine.session import Session
from callout.glance.seen import Seen
from callout.glance.view import glance
from callout.running.clock import SessionClock
from callout.running.conductor import Screen, Written
from callout.running.glancing import Shown
from callout.running.problems import CannotRunError
from callout.running.screen import clock_text
from callout.running.settings import RunSettings
from callout.running.terminal_keys import Echo

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

KEPT = 6
"""Lines of what was said and answered that stay in sight."""

TIMES_A_SECOND = 4
"""How often it is redrawn: a second that runs is seen to run."""


class NoView:
    """A run without a view: its lines go to a screen as they come.

    Fields:
        screen: where lines go
        echo: takes what is typed; None where the terminal shows it by itself
    """

    def __init__(self, screen: Screen) -> None:
        self.screen = screen
        self.echo: Echo | None = None

    def watching(self, written: Written, session: Session) -> Written:
        """The logbook as it is."""
        del session
        return written

    def begin(self) -> None:
        """Nothing begins."""

    def stop(self) -> None:
        """Nothing was begun."""


def view_of(settings: RunSettings, loaded: Loaded, clock: SessionClock, screen: Screen) -> NoView:
    """The view that the settings ask for.  Raises CannotRunError."""
    return TerminalView(loaded.aircraft, clock.now) if settings.view else NoView(screen)


class TerminalView(NoView):
    """A screen for a run: its lines, what is seen of the session, what is typed.

    Args:
        aircraft: whose session it is
        now: session time (s)
        console: where it is drawn; the program's own terminal if None

    Raises CannotRunError where the output is no terminal.
    """

    def __init__(
        self, aircraft: Aircraft, now: Callable[[], float], console: Console | None = None
    ) -> None:
        from rich.console import Console
        from rich.live import Live

        super().__init__(self)
        self.echo = self.type
        self._console = console or Console()
        if not self._console.is_terminal:
            raise CannotRunError("--view needs a terminal; without it every line is printed.")
        self._aircraft = aircraft
        self._now = now
        self._lines: deque[str] = deque(maxlen=KEPT)
        self._typed = ""
        self._guard = threading.Lock()
        self.seen = Seen()
        self._live = Live(
            console=self._console,
            get_renderable=self.drawn,
            refresh_per_second=TIMES_A_SECOND,
            redirect_stdout=False,
            redirect_stderr=False,
        )

    def watching(self, written: Written, session: Session) -> Written:
        """The logbook, what it holds shown here too."""
        if isinstance(written, Shown):
            written.also = self
            return written
        assert written.logbook is not None
        return Shown(written.logbook, written.session, state_now=lambda: session.state, also=self)

    def begin(self) -> None:
        """Take the terminal."""
        self._live.start()

    def stop(self) -> None:
        """Give the terminal back."""
        self._live.stop()

    def put(self, seen: Seen) -> None:
        """The session after a step."""
        self.seen = seen

    def line(self, now: float, who: str, text: str) -> None:
        """One line said by `who` at session time `now` (s)."""
        with self._guard:
            self._lines.append(f"{clock_text(now)}  {who:<8} {text}")

    def type(self, text: str) -> None:
        """What a key does to the line that is being typed."""
        with self._guard:
            for sign in text.replace("\b \b", "\x7f"):
                if sign == "\n":
                    self._typed = ""
                elif sign == "\x7f":
                    self._typed = self._typed[:-1]
                else:
                    self._typed += sign

    def drawn(self) -> RenderableType:
        """What is on the terminal now."""
        from callout.glance.terminal import drawn

        with self._guard:
            lines, typed = tuple(self._lines), self._typed
        return drawn(glance(self._aircraft, self.seen, self._now()), lines, typed)
