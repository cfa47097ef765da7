"""Recordings of a running session: kept in the logbook, played from it.

Rule of this file: it carries out the engine's Keep and decides nothing. Pieces are
written after the effects of an event, never before: a recording delays no call.
"""

from __future__ import annotations

from contextlib import suppress

import numpy as np

from callout.audio_block import AudioBlock
from callout.engine.effects import Keep
from callout.engine.state import SessionState
from callout.logbook import squawks
from callout.logbook.clip_sound import OPUS, NoSoundError, joined
from callout.logbook.errors import LogbookError
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.clock import SessionClock
from callout.running.keeping import PATIENCE, Keeper

LOUD = 0.1
"""Root mean square a recording is played with: -20 dBFS, as loud as callout speaks (common
practice, no source)."""

PEAK = 0.9


class Kept:
    """The recordings of one session."""

    def __init__(self, keeper: Keeper, logbook: Logbook, session: int, clock: SessionClock) -> None:
        self.keeper = keeper
        self._clock = clock
        self._logbook = logbook
        self._session = session

    def obey(self, keep: Keep) -> None:
        """Begin, end, or drop a squawk's recording."""
        if keep.drop:
            self.keeper.forget(keep.squawk)
            self._dropped(keep.squawk)
        elif keep.until is not None:
            self.keeper.end(keep.squawk, keep.until)
        else:
            self.begin(keep.squawk, keep.since)

    def begin(self, name: str, since: float) -> None:
        """Record from then on, or from where an earlier run of this session had come to."""
        kept_to = None
        with suppress(LogbookError):  # the next event finds out as well, and says so
            kept_to = squawks.kept_to(self._logbook, self._session, name)
        self.keeper.begin(name, since if kept_to is None else max(since, kept_to + 1e-4))

    def left_by_kill(self, state: SessionState) -> float:
        """Seconds on the disk of the squawk that was recorded when the program was killed.

        What a kill left of one that was taken back is removed.
        """
        squawks.drop_taken_back(self._logbook, self._session)
        recording = state.squawks.recording
        if recording is None:
            return 0.0
        to = squawks.kept_to(self._logbook, self._session, recording.squawk.key)
        return 0.0 if to is None else max(0.0, to - recording.began)

    def begin_session(self, now: float) -> None:
        """Record everything from now on."""
        kept_to = squawks.kept_to(self._logbook, self._session, squawks.SESSION)
        since = now if kept_to is None else max(now, kept_to)
        self.keeper.begin(squawks.SESSION, since, OPUS)

    def lose(self) -> None:
        """There is nothing to write to any more: no sound is kept waiting for it."""
        self.keeper.forget_all()

    def _dropped(self, name: str) -> None:
        with suppress(LogbookError):  # the next event finds out as well, and says so
            squawks.drop(self._logbook, self._session, name)

    def write(self, now: float, stamp: Stamp, *, rest: bool) -> None:
        """Write what is ready.  Raises LogbookError."""
        for name, pieces in self.keeper.ready(now, rest=rest).items():
            squawks.keep(self._logbook, self._session, name, pieces, stamp)

    def recording(self, key: str) -> AudioBlock | None:
        """A squawk's recording, as loud as speech; None if there is none that can be played."""
        now = self._clock.now()
        try:
            self.write(now + PATIENCE + 1.0, self._clock.stamp(now), rest=False)
            found = squawks.squawk(self._logbook, key if "." in key else f"{self._session}.{key}")
            pieces = squawks.pieces(self._logbook, found.session, str(found.number))
            block = joined(pieces, found.until)
        except (LogbookError, NoSoundError):
            return None
        return None if block is None else _as_loud_as_speech(block)


def _as_loud_as_speech(block: AudioBlock) -> AudioBlock:
    loud = float(np.sqrt(np.mean(np.square(block.samples, dtype=np.float64))))
    peak = float(np.max(np.abs(block.samples)))
    if not loud or not peak:
        return block
    gain = min(LOUD / loud, PEAK / peak)
    return AudioBlock((block.samples * gain).astype(np.float32), block.rate)
