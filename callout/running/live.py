"""A session in real time: one inbox, one loop, one thread that owns the session.

Rule of this file: other threads only put things into the inbox. The loop waits
on it until the session's next deadline and does nothing else meanwhile.
"""

from __future__ import annotations

import queue
import sys
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from callout.audio_block import AudioBlock
from callout.ear.protocol import Ear
from callout.engine.events import Event, Heard, Lost, Noted, NotUnderstood, Restored, Stopped
from callout.engine.rules import State
from callout.engine.state import SessionState
from callout.running.clock import SessionClock, boot_seconds
from callout.running.conductor import Conductor
from callout.running.moments import UNMARKED, Comings, Moments, Unmarked
from callout.words.phrases import Grammar

LONGEST_WAIT = 1.0
"""Seconds after which the loop looks at the clock again, whatever it waits for: a
suspended machine wakes up with deadlines that have passed."""


SWITCH = 0.001
"""Seconds for which one thread may keep the others waiting: sound comes every 5 ms."""

CLOSING = 2.0
"""Seconds in which a microphone has to close; one that is gone may never do it."""

RETRY = 2.0
"""Seconds between attempts to open a microphone that was lost."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A line from the keyboard."""

    line: str

    def meant(self, event: Event, state: SessionState) -> Event:
        """What the line comes to: it answers what is asked when it is taken."""
        del state
        return event


@dataclass(frozen=True, slots=True)
class InputClosed:
    """No further line will be typed."""


@dataclass(frozen=True, slots=True)
class Ended:
    """The system ends the program: the session stays as it is."""


Inbox = queue.SimpleQueue[Event | Typed | InputClosed | Ended]


class Listening(threading.Thread):
    """Feeds an ear on a thread of its own and puts what it understood into the inbox.

    When the sound stops it says so once, and tries again every RETRY seconds.

    Args:
        open_blocks: opens the microphone: sound as it comes, ends or raises when
            there is no more; None where none came for a while
        moments: takes the marks of what was heard
        tap: is given every block before the ear
    """

    def __init__(
        self,
        ear: Ear,
        open_blocks: Callable[[], Iterable[AudioBlock | None]],
        inbox: Inbox,
        moments: Moments = UNMARKED,
        tap: Callable[[AudioBlock], None] = lambda block: None,
    ) -> None:
        super().__init__(name="listening", daemon=True)
        self._tap = tap
        self._ear = ear
        self._open_blocks = open_blocks
        self._inbox = inbox
        self._grammars: queue.SimpleQueue[Grammar] = queue.SimpleQueue()
        self._over = threading.Event()
        self._lost = False  # as the session was last told
        self._moments = moments
        self._comings = Comings()

    def listen_for(self, grammar: Grammar) -> None:
        """From the next block on, this is what counts; safe from any thread."""
        self._grammars.put(grammar)

    def stop(self) -> None:
        """Take no further block; returns when the sound is closed, or does not close in time."""
        self._over.set()
        if self.is_alive():
            self.join(CLOSING)

    def run(self) -> None:
        """Until stopped."""
        while not self._over.is_set():
            try:
                self._listen()
                why = "no more sound comes from it"
            except Exception as error:  # whatever it was, the list goes on by the keys
                why = str(error) or type(error).__name__
            if not self._lost and not self._over.is_set():
                self._inbox.put(Lost("microphone", why))
                self._lost = True
            self._over.wait(RETRY)
        self._ear.close()

    def _listen(self) -> None:
        """Until the sound ends; it is still lost if none came at all."""
        for block in self._open_blocks():
            if self._over.is_set():
                break
            self._take_grammars()
            if block is None:
                continue
            if self._lost:
                self._inbox.put(Restored("microphone"))
                self._lost = False
            self._comings.came(block.ends_at)
            self._tap(block)
            events = self._ear.hear(block)
            for event in events:
                heard_at = boot_seconds()
                self._inbox.put(event)
                self._mark(event, heard_at)

    def _mark(self, event: Heard | NotUnderstood, heard_at: float) -> None:
        if isinstance(self._moments, Unmarked):
            return
        text = event.text if isinstance(event, Heard) else ""
        self._moments.mark(
            "heard",
            heard_at,
            text=text,
            ended=event.ended,
            came=self._comings.last,
            comings=self._comings.told(),
        )

    def _take_grammars(self) -> None:
        latest = None
        while not self._grammars.empty():
            latest = self._grammars.get()
        if latest is not None:
            self._ear.listen_for(latest)


class Keyboard(threading.Thread):
    """Puts typed lines into the inbox."""

    def __init__(self, lines: Iterable[str], inbox: Inbox) -> None:
        super().__init__(name="keyboard", daemon=True)
        self._lines = lines
        self._inbox = inbox

    def run(self) -> None:
        """Until the input ends."""
        try:
            for line in self._lines:
                self._inbox.put(Typed(line))
        except (OSError, ValueError):
            # A terminal that was closed: the same as its end.
            pass
        self._inbox.put(InputClosed())


@dataclass
class Live:
    """The loop of a live session.

    Fields:
        keys: the ear for typed lines
        by_keys_only: there is no microphone, so the session stops with its input
        aside: told each typed line first; True for one that is no answer to anything
        elsewhere: answers may also come from elsewhere, so the session outlasts its input
    """

    conductor: Conductor
    clock: SessionClock
    inbox: Inbox
    keys: Ear
    by_keys_only: bool
    aside: Callable[[str], bool] = lambda line: False
    elsewhere: bool = False
    _closed: bool = field(default=False, init=False)

    def run(self, first: Event | None) -> None:
        """Until the session is over and its last sentence said."""
        sys.setswitchinterval(SWITCH)
        if first is not None:
            self.conductor.handle(first)
        while not self.conductor.session.ended:
            while not self.conductor.session.ended and self.conductor.pass_time():
                pass
            self._take(self._wait())
        self._speak_out()

    def stop(self, why: str) -> None:
        """End the session; from any thread, and from a signal's handler."""
        self.inbox.put(Stopped(why))

    def leave(self) -> None:
        """Let `run` raise LeftError; from any thread, and from a signal's handler."""
        self.inbox.put(Ended())

    def _wait(self) -> Event | Typed | InputClosed | Ended | None:
        due = self.conductor.next_due()
        wait = LONGEST_WAIT if due is None else min(max(0.0, due - self.clock.now()), LONGEST_WAIT)
        try:
            return self.inbox.get(timeout=wait)
        except queue.Empty:
            return None

    def _take(self, thing: Event | Typed | InputClosed | Ended | None) -> None:
        if thing is None or self.conductor.session.ended:
            return
        if isinstance(thing, Ended):
            raise LeftError
        if type(thing) is Typed and self.aside(thing.line):
            return
        if isinstance(thing, Typed):
            state = self.conductor.session.state
            self.keys.listen_for(state.grammar)
            for event in self.keys.hear(thing.line):
                self.conductor.handle(self._noted(thing.line, thing.meant(event, state)))
        elif isinstance(thing, InputClosed):
            self._closed = True
            self._stop_if_mute()
        else:
            self.conductor.handle(thing)
            if isinstance(thing, Lost | Restored) and thing.part == "microphone":
                self.by_keys_only = isinstance(thing, Lost)
                self._stop_if_mute()

    def _noted(self, line: str, event: Event) -> Event:
        """A line that counts for nothing, typed while a squawk is recorded, belongs to it."""
        mode = getattr(self.conductor.session.state, "mode", None)
        words = isinstance(event, NotUnderstood)
        return Noted(line, self.keys.name) if words and mode is State.SQUAWKING else event

    def _stop_if_mute(self) -> None:
        """Nobody can answer any more: the session stops where it is and can be taken up."""
        if self.elsewhere:
            return
        if self._closed and self.by_keys_only and not self.conductor.session.ended:
            raise NoInputError

    def _speak_out(self) -> None:
        while (end := self.conductor.mouth.ends_at) is not None:
            wait = max(0.0, end - self.clock.now())
            try:
                thing = self.inbox.get(timeout=wait)
            except queue.Empty:
                self.conductor.mouth.over(self.clock.now())
            else:
                if isinstance(thing, Stopped | Ended):  # asked again: enough was said
                    return


class LeftError(Exception):
    """The program is to end at once; the session stays unfinished in the logbook."""


class NoInputError(LeftError):
    """Neither microphone nor keyboard is left; the session stays unfinished in the logbook."""
