"""Every sentence made before it is needed, and kept.

Rule of this file: a sentence is made at most once for each voice, rate and
shaping. It is looked for in memory, then on disk, then asked of the voice. A
cache that cannot be written costs time, never a sentence.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict, deque
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.spelling import MAKING
from callout.voice import clip_file
from callout.voice.protocol import Synthesiser, VoiceLost
from callout.voice.shape import ACTIVE_LEVEL, shaped

CLIP_RATE = 24_000
"""Hz of every clip; hibari's own rate, so that the bundled voice is never resampled."""

MEMORY_SECONDS = 600.0
"""Sound kept in memory (s), 29 MB at CLIP_RATE: all calls of a flying day."""

DISK_BYTES = 256_000_000
"""Size above which `tidy` removes the clips used longest ago."""

PREPARE_AT_MOST = 1000
"""Sentences that wait to be prepared; what comes after is made when asked for."""

LONGEST = 20.0
"""Seconds for which a sentence is waited for; then the voice hangs and is lost: whoever waits
is the session. Ten times what the slowest one took at its first sentence on a busy machine
(common practice, no source)."""

WAKING = MAKING
"""Seconds more for a voice's first sentence: it loads, and on a new machine the bundled one first
has its tables written, which may take so long."""

_FAILURES = 3  # in a row, after which preparing stops: the voice is lost, not one sentence

_SHAPING = f"trimmed, level {ACTIVE_LEVEL:g}, 1"  # change the last number when shape.py changes


def default_folder() -> Path:
    """Where clips are kept when nothing else is said: the user's cache folder."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("callout", appauthor=False)) / "clips"


class Clips:
    """Sentences as sound, ready to play; safe to call from several threads.

    Args:
        synthesiser: asked one sentence at a time, never by two threads at once
        folder: where clips are kept; made when missing
        rate: Hz of what `get` returns
        memory_seconds: sound kept in memory (s)
        longest: seconds for which a sentence is waited for
        waking: seconds more as long as the voice has made none

    Fields:
        made, found: how many sentences the voice made, and how many came from disk;
            when all that was prepared came from disk, the voice makes one to be awake
        failure: why a sentence could not be prepared, for people ("" while all is well);
            preparing stops after three failures in a row
    """

    def __init__(
        self,
        synthesiser: Synthesiser,
        folder: Path,
        rate: int = CLIP_RATE,
        memory_seconds: float = MEMORY_SECONDS,
        longest: float = LONGEST,
        waking: float = WAKING,
    ) -> None:
        self.made = 0
        self.found = 0
        self.failure = ""
        self._voice = synthesiser
        self._folder = folder
        self._rate = rate
        self._most_seconds = memory_seconds
        self._longest = longest
        self._waking = waking
        self._hangs = False
        self._memory: OrderedDict[str, np.ndarray] = OrderedDict()  # 16-bit, half of float32
        self._seconds = 0.0
        self._wanted: deque[str] = deque()
        self._urgent = 0  # callers of get() waiting; the preparing thread lets them go first
        self._changed = threading.Condition()  # guards all of the above
        self._one_at_a_time = threading.Lock()  # held while the voice works
        self._worker: threading.Thread | None = None
        self._closed = False

    def get(self, sentence: str) -> AudioBlock:
        """The sentence, trimmed and at one level.

        Raises VoiceLost if it cannot be made, or is not made in time; from then on, at once.
        """
        with self._changed:
            kept = self._kept(sentence)
            if kept is not None:
                return kept
            self._urgent += 1
        try:
            return self._in_time(sentence)
        finally:
            with self._changed:
                self._urgent -= 1
                self._changed.notify_all()

    def _in_time(self, sentence: str) -> AudioBlock:
        """Made on a thread of its own, so that a voice that hangs is all that hangs."""
        made: list[AudioBlock | Exception] = []

        def make() -> None:
            try:
                made.append(self._fetch(sentence))
            except Exception as problem:  # told to whoever waits
                made.append(problem)

        longest = self._longest if self.made else self._longest + self._waking
        if not self._hangs:
            thread = threading.Thread(target=make, name="sentence", daemon=True)
            thread.start()
            thread.join(longest)
        if not made:
            self._hangs = True
            raise VoiceLost(f"The voice hangs: no sentence came for {longest:g} seconds.")
        if isinstance(made[0], Exception):
            raise made[0]
        return made[0]

    def at_once(self, sentence: str) -> bool:
        """Whether the sentence is in memory."""
        with self._changed:
            return sentence in self._memory

    def prepare(self, sentences: Iterable[str]) -> None:
        """Make these in the background, in this order; replaces what still waited."""
        with self._changed:
            self._wanted = deque(dict.fromkeys(sentences))
            while len(self._wanted) > PREPARE_AT_MOST:
                self._wanted.pop()
            self._changed.notify_all()
            if self._worker is None and not self._closed:
                self._worker = threading.Thread(target=self._work, name="clips", daemon=True)
                self._worker.start()

    def wait(self, timeout: float) -> bool:
        """Until all that was asked of `prepare` is done; False when `timeout` (s) passes first."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._wanted, timeout)

    def close(self) -> None:
        """Stop preparing; the sentence being made is finished first."""
        with self._changed:
            self._closed = True
            self._wanted.clear()
            self._changed.notify_all()
        if self._worker is not None and not self._hangs:
            self._worker.join(timeout=10)

    def _work(self) -> None:
        failed_in_a_row = 0
        while (sentence := self._next()) is not None:
            try:
                self._fetch(sentence, only_if_room=True)
                failed_in_a_row = 0
            except VoiceLost as lost:
                failed_in_a_row += 1
                self._failed(str(lost), stop=failed_in_a_row >= _FAILURES)
            with self._changed:
                if self._wanted and self._wanted[0] == sentence:
                    self._wanted.popleft()
                awake = self._wanted or self.made or self.failure or self._closed
                self._changed.notify_all()
            if not awake:
                self._wake()

    def _wake(self) -> None:
        """Let a voice that nothing was asked of load, so that the first sentence is not late."""
        with self._one_at_a_time:
            try:
                self._voice.synthesise("Ready.")
                self.made += 1
            except VoiceLost as lost:
                self._failed(str(lost), stop=False)

    def _next(self) -> str | None:
        """The next sentence to prepare, left in the queue until it is done; None: closed."""
        with self._changed:
            self._changed.wait_for(lambda: self._closed or (self._wanted and not self._urgent))
            return None if self._closed else self._wanted[0]

    def _failed(self, why: str, stop: bool) -> None:
        with self._changed:
            self.failure = why
            if stop:
                self._wanted.clear()

    def _kept(self, sentence: str) -> AudioBlock | None:
        kept = self._memory.get(sentence)
        if kept is None:
            return None
        self._memory.move_to_end(sentence)
        return AudioBlock(clip_file.from_pcm16(kept), self._rate)

    def _fetch(self, sentence: str, only_if_room: bool = False) -> AudioBlock:
        """From memory, disk or the voice; kept in memory (`only_if_room`: if nothing must go)."""
        with self._one_at_a_time:
            with self._changed:
                kept = self._kept(sentence)
            if kept is not None:
                return kept
            clip = self._from_disk(sentence) or self._from_voice(sentence)
            self._keep(sentence, clip, only_if_room)
            return clip

    def _from_disk(self, sentence: str) -> AudioBlock | None:
        path = self._path(sentence)
        clip = clip_file.read(path)
        if clip is not None:
            self.found += 1
            with suppress(OSError):
                path.touch()  # so that `tidy` knows it is in use
        return clip

    def _from_voice(self, sentence: str) -> AudioBlock:
        content = clip_file.encoded(shaped(self._voice.synthesise(sentence), self._rate))
        self.made += 1
        with suppress(OSError):  # no cache, no harm: it is made again next time
            clip_file.write(self._path(sentence), content)
        clip = clip_file.decoded(content)  # the same samples as when it comes from disk
        assert clip is not None
        return clip

    def _keep(self, sentence: str, clip: AudioBlock, only_if_room: bool) -> None:
        with self._changed:
            if only_if_room and self._seconds + clip.seconds > self._most_seconds:
                return
            self._memory[sentence] = clip_file.pcm16(clip.samples)
            self._seconds += clip.seconds
            while self._seconds > self._most_seconds and len(self._memory) > 1:
                _, oldest = self._memory.popitem(last=False)
                self._seconds -= len(oldest) / self._rate

    def _path(self, sentence: str) -> Path:
        name = clip_file.key(self._voice.identity, self._rate, _SHAPING, sentence)
        return self._folder / f"{name}.clip"


def tidy(folder: Path, at_most: int = DISK_BYTES) -> int:
    """Remove clips used longest ago until `at_most` bytes remain, and parts older than a day.

    Returns how many files were removed. Files that another process removes first do not matter.
    """
    removed = 0
    clips: list[tuple[float, int, Path]] = []
    for path in folder.glob("*"):
        with suppress(OSError):
            status = path.stat()
            if path.suffix == ".clip":
                clips.append((status.st_mtime, status.st_size, path))
            elif path.suffix == ".part" and status.st_mtime < time.time() - 86_400:
                path.unlink()
                removed += 1
    total = sum(size for _, size, _ in clips)
    for _, size, path in sorted(clips):
        if total <= at_most:
            break
        with suppress(OSError):
            path.unlink()
            removed += 1
        total -= size
    return removed
