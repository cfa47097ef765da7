"""The glance page and the phone of a run: put together, started, stopped; or not there at all.

Rule of this file: without --glance nothing of it is imported and nothing listens. What
the page shows was written down before; what is touched goes into the inbox like any
other thing that happens.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from callout.checklist.model import Aircraft, Who
from callout.engine.effects import Effect
from callout.engine.events import Event, Heard, Key, KeyMeaning, Lost, NotUnderstood, Reading
from callout.engine.events import Restored as RestoredEvent
from callout.engine.session import Session
from callout.engine.state import SessionState
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.clock import RealClock, SessionClock
from callout.running.conductor import Written
from callout.running.live import Inbox, Typed
from callout.running.outputs import OnlyTones
from callout.running.phone_output import ToPhone, lost_call
from callout.running.problems import CannotRunError
from callout.running.settings import PHONE, RunSettings
from callout.running.sources import Source, source

if TYPE_CHECKING:
    from callout.glance.hub import Hub
    from callout.glance.messages import Touch
    from callout.glance.seen import Seen
    from callout.glance.serving import Serving

TOUCHED = "touch"
"""The source of words that were touched or typed on a page."""

PAIR = {"pair": Who.PILOT, "pair helper": Who.HELPER}
"""Lines on the terminal that ask for a new code, and are no answer to anything."""

UNPAIR = "unpair"
"""The line that shuts every screen out."""


@dataclass(frozen=True, slots=True)
class Touched(Typed):
    """Words from a page, and what the page showed: which grammar, asked when."""

    serial: int
    asked_at: float

    def meant(self, event: Event, state: SessionState) -> Event:
        """The event as it was meant: late, if something else is asked by now."""
        if not isinstance(event, Heard | NotUnderstood):
            return event
        same = (self.serial, self.asked_at) == (state.grammar.serial, state.asked_at)
        began = event.began if same else min(event.began, self.asked_at)
        grammar = state.grammar.serial if same else -1
        return replace(event, source=TOUCHED, began=began, grammar=grammar)


class Onlooker(Protocol):
    """What is shown a session, step by step."""

    seen: Seen

    def put(self, seen: Seen) -> None:
        """The session after a step."""


@dataclass
class Shown(Written):
    """What was written down is shown: in this order, at every step.

    Fields:
        state_now: the session's state, after the step
        hub, also: take what is seen
    """

    state_now: Callable[[], SessionState] = SessionState
    hub: Hub | None = None
    also: Onlooker | None = None

    def append(self, event: Event, effects: tuple[Effect, ...], stamp: Stamp) -> None:
        """As Written does; shown even where the logbook fails, which is told of itself."""
        try:
            super().append(event, effects, stamp)
        finally:
            self._show(event, effects, stamp.now)

    def note(self, reading: Reading, now: float) -> None:
        """As Written does."""
        super().note(reading, now)
        self._show(reading, (), now)

    def _show(self, event: Event, effects: tuple[Effect, ...], now: float) -> None:
        from callout.glance.seen import after

        for one in (self.hub, self.also):
            if one is not None:
                one.put(after(one.seen, event, effects, self.state_now(), now))


class NoGlance:
    """A run without a page.

    Fields:
        output: where the phone's sound goes; None for no phone
        there: whether there is a page that could be touched
    """

    output: ToPhone | None = None
    there = False

    def begin(self, clock: SessionClock, words: OnlyTones | None) -> None:
        """Nothing begins."""

    def written(self, logbook: Logbook, number: int, session: Session) -> Written:
        """The logbook, shown to nobody."""
        del session
        return Written(logbook, number)

    def typed(self, line: str) -> bool:
        """Whether a line on the terminal was meant for this: never."""
        del line
        return False

    def source(self, settings: RunSettings, clock: SessionClock) -> Source:
        """Where the sound comes from that the ear hears."""
        assert settings.listen is not None
        return source(settings.listen, clock)

    def wait(self) -> float:
        """Nobody is waited for: 0 s."""
        return 0.0

    def stop(self) -> None:
        """Nothing was begun."""


def glancing_of(settings: RunSettings, aircraft: Aircraft, inbox: Inbox) -> NoGlance:
    """The page that the settings ask for, its address taken.  Raises CannotRunError."""
    if settings.glance is None:
        return NoGlance()
    try:
        return Glancing(settings, aircraft, inbox)
    except ImportError as missing:
        raise CannotRunError(
            f"The glance page needs the package {missing.name}; install it with: "
            'pip install "callout[glance]"'
        ) from missing


class Glancing(NoGlance):
    """A run with a page, and perhaps with a phone as its headset."""

    there = True

    def __init__(self, settings: RunSettings, aircraft: Aircraft, inbox: Inbox) -> None:
        from callout.glance.address import own_address
        from callout.glance.certificate import certified
        from callout.glance.gate import Gate
        from callout.glance.hub import Hub
        from callout.glance.pairing import Pairing
        from callout.glance.phone import Phone

        assert settings.glance is not None
        self._inbox = inbox
        self._clock: SessionClock = RealClock()
        host = settings.glance.host or own_address()
        self._certified = certified(settings.glance_folder, host)
        self._gate = Gate(host, settings.glance.port)
        self._host = host
        self.hub = Hub(aircraft, self._now)
        self.pairing = Pairing(time.monotonic)
        self.phone: Phone | None = None
        if PHONE in (settings.listen, settings.speak):
            self.phone = Phone(self._now, self._phone_lost, self._phone_back)
        self.output = ToPhone(self.phone) if settings.speak == PHONE and self.phone else None
        self._serving = self._site()

    def _site(self) -> Serving:
        import asyncio

        from callout.glance.address import named
        from callout.glance.guard import Guard
        from callout.glance.serving import Serving
        from callout.glance.site import site

        name = named(self._host, self._gate.port)
        self.address = f"https://{name}"
        app = site(self.hub, self.pairing, self.address, self._touched, self.phone)

        def began(loop: asyncio.AbstractEventLoop) -> None:
            self.hub.serve_on(loop)
            if self.phone is not None:
                self.phone.serve_on(loop)

        return Serving(Guard(app, name, self.pairing), self._gate, self._certified.context, began)

    def _now(self) -> float:
        return self._clock.now()

    def begin(self, clock: SessionClock, words: OnlyTones | None) -> None:
        """Serve from now on, and tell how to get there."""
        self._clock = clock
        if self.phone is not None and words is not None:
            lost_call(self.phone, words)
        self._serving.start()
        _tell(f"The glance page is at {self.address} in the local network.")
        _tell("Its certificate was made here; compare its SHA-256 when the phone asks:")
        _tell(f"  {self._certified.fingerprint}")
        self._invite(Who.PILOT)
        _tell('A further code comes with "pair" or "pair helper"; "unpair" shuts all screens out.')

    def _invite(self, role: Who) -> None:
        from callout.glance.codes import printed

        address = f"{self.address}/pair#{self.pairing.invite(role)}"
        if sys.stderr.isatty():
            _tell(printed(address))
        _tell(f"Scan or open, once and within five minutes ({role.value}): {address}")

    def written(self, logbook: Logbook, number: int, session: Session) -> Written:
        """The logbook; what it holds is shown."""
        return Shown(logbook, number, state_now=lambda: session.state, hub=self.hub)

    def typed(self, line: str) -> bool:
        """Whether a line on the terminal asked for a code, or shut everybody out."""
        words = " ".join(line.lower().split())
        if words == UNPAIR:
            self.pairing.forget()
            _tell('Every screen is shut out. A code comes when you type "pair".')
        elif words in PAIR:
            self._invite(PAIR[words])
        return words == UNPAIR or words in PAIR

    def source(self, settings: RunSettings, clock: SessionClock) -> Source:
        """The phone's sound, if it is the microphone."""
        if settings.listen == PHONE and self.phone is not None:
            return self.phone.blocks
        return super().source(settings, clock)

    def wait(self) -> float:
        """Until the phone is there, and how long that took (s); Ctrl-C ends it."""
        if self.phone is None:
            return 0.0
        began = self._now()
        _tell("Waiting for the phone: pair it, then press its button for the sound.")
        while not self.phone.there:
            time.sleep(0.1)
        return self._now() - began

    def stop(self) -> None:
        """Nobody is served any more."""
        self._serving.stop()

    def _touched(self, touch: Touch, role: Who) -> None:
        del role  # what each may send was looked at before
        self._inbox.put(Touched(touch.text, touch.serial, touch.asked_at))

    def _phone_lost(self, why: str) -> None:
        """Said, and the list parked: nobody hears the next call."""
        self._inbox.put(Lost("phone", why))
        self._inbox.put(Key(KeyMeaning.HOLD, self._now(), "phone lost"))

    def _phone_back(self) -> None:
        self._inbox.put(RestoredEvent("phone"))


def _tell(text: str) -> None:
    print(text, file=sys.stderr, flush=True)
