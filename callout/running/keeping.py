"""Sound that is kept: of a squawk, or of a whole session, in pieces as it comes.

Rule of this file: `hear` is called by the thread that has the microphone, copies
nothing but references and leaves; all else is the session's thread's. What is
asked for with a moment that is past is taken out of the last seconds, because a
word is understood after it was said.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from callout.audio_block import AudioBlock
from callout.logbook.clip_sound import FLAC, OPUS, Piece, piece

LAST = 4.0
"""Seconds of sound that are remembered, whether they are asked for or not."""

PIECE = {FLAC: 1.0, OPUS: 10.0}
"""Length of a piece (s): what a kill can take of a recording."""

GAP = 0.1
"""Sound that comes so much later (s) than the last ended begins a new piece."""

PATIENCE = 2.0
"""Seconds after its end in which a recording waits for its last sound."""


@dataclass
class _Wanted:
    form: str
    since: float
    until: float | None = None
    waiting: list[AudioBlock] = field(default_factory=list)
    whole: bool = False
    """Its last sound has come."""

    def take(self, block: AudioBlock) -> None:
        """A block, if it belongs to it."""
        if self.until is not None and block.ends_at > self.until + 1e-6:
            self.whole = True
        elif block.ends_at > self.since:
            self.waiting.append(block)

    def stretches(self, *, rest: bool) -> Iterator[AudioBlock]:
        """What is long enough, or followed by a gap; with `rest`, all there is."""
        while self.waiting:
            count = self._next(rest=rest)
            if not count:
                return
            blocks, self.waiting = self.waiting[:count], self.waiting[count:]
            samples = np.concatenate([block.samples for block in blocks])
            yield AudioBlock(samples, blocks[0].rate, blocks[0].captured_at)

    def over(self, now: float) -> bool:
        """Whether nothing more comes of it."""
        late = self.until is not None and now - self.until > PATIENCE
        return self.whole or late

    def _next(self, *, rest: bool) -> int:
        """How many blocks make the next piece; 0 where it has to wait."""
        began = self.waiting[0].captured_at
        for at, block in enumerate(self.waiting):
            if at and block.captured_at - self.waiting[at - 1].ends_at > GAP:
                return at
            if block.ends_at - began >= PIECE[self.form] - 1e-6:
                return at + 1
        return len(self.waiting) if rest else 0


class Keeper:
    """Takes the microphone's blocks and gives pieces of what was asked for.

    Args:
        any_sound: there is a microphone or a recording at all

    `fault` says what kept a piece from being made, if something did.
    """

    def __init__(self, *, any_sound: bool = True) -> None:
        self.any_sound = any_sound
        self.fault = ""
        self._lock = threading.Lock()
        self._last: deque[AudioBlock] = deque()
        self._wanted: dict[str, _Wanted] = {}
        self._making: deque[tuple[str, Future[Piece]]] = deque()
        self._maker: ThreadPoolExecutor | None = None

    def hear(self, block: AudioBlock) -> None:
        """A block, in order; from the thread that listens."""
        with self._lock:
            self._last.append(block)
            while self._last and self._last[0].ends_at < block.ends_at - LAST:
                self._last.popleft()
            for wanted in self._wanted.values():
                wanted.take(block)

    def begin(self, name: str, since: float, form: str = FLAC) -> None:
        """Keep what sounds from session time `since` (s) on."""
        with self._lock:
            wanted = _Wanted(form, since)
            for block in self._last:
                wanted.take(block)
            self._wanted[name] = wanted

    def end(self, name: str, until: float) -> None:
        """Keep nothing that ends after `until` (s)."""
        with self._lock:
            if name in self._wanted:
                self._wanted[name].until = until

    def forget(self, name: str) -> None:
        """Nothing of it is wanted any more."""
        with self._lock:
            self._wanted.pop(name, None)

    def forget_all(self) -> None:
        """Nothing of anything is wanted any more."""
        with self._lock:
            self._wanted.clear()
        self._making.clear()

    def ready(self, now: float, *, rest: bool = False) -> dict[str, list[Piece]]:
        """Pieces that can be written, by name; with `rest`, whatever there is of all."""
        for name, wanted in list(self._wanted.items()):
            with self._lock:
                over = rest or wanted.over(now)
                stretches = list(wanted.stretches(rest=over))
                if over and wanted.until is not None:
                    self._wanted.pop(name, None)
            for stretch in stretches:
                self._making.append((name, self._make(wanted.form, stretch)))
        found: dict[str, list[Piece]] = {}
        while self._making and (rest or self._making[0][1].done()):
            name, made = self._making.popleft()
            try:
                found.setdefault(name, []).append(made.result())
            except Exception as error:  # an encoder's: no recording is worth a session
                self.fault = f"A piece of a recording could not be made ({error})."
        return found

    def _make(self, form: str, stretch: AudioBlock) -> Future[Piece]:
        """The piece: at once, or by a thread of its own where that takes long (Opus)."""
        if form == OPUS:
            if self._maker is None:
                self._maker = ThreadPoolExecutor(1, "recording")
            return self._maker.submit(piece, form, stretch)
        made: Future[Piece] = Future()
        try:
            made.set_result(piece(form, stretch))
        except Exception as error:
            made.set_exception(error)
        return made

    def close(self) -> None:
        """No more is made."""
        if self._maker is not None:
            self._maker.shutdown()
