"""Turns measured in recording time: what the chain waits for, the same in every run.

Rule of this file: the whole chain runs as in `--clock recording`: ear, engine,
logbook, prepared speech. Computing takes no time there, so what is measured is
the sound that the ear must hear after a word, and nothing of the machine.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.benches.marks import NothingCameError
from callout.benches.pilot import Pilot, Spoken
from callout.benches.turn_found import THINKING, TONE, Measured, Turn
from callout.checklist.model import Aircraft
from callout.ear.capture import BLOCK_SECONDS
from callout.ear.choose import make_ear
from callout.engine.events import Heard, SessionOpened
from callout.engine.rules import State
from callout.engine.session import Session
from callout.logbook.store import Logbook
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor, Written
from callout.running.mouth import Mouth
from callout.running.outputs import OnlyTones, words_or_tones
from callout.running.recorded import Recorded
from callout.running.recording_sets import RATE

LEVEL = 0.002
"""Noise of the room (of full scale), as through the devices."""


class _Starts:
    """An output that only remembers when each sentence began."""

    def __init__(self) -> None:
        self.calls: list[float] = []

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """A clip begins at `at`."""
        if clip.seconds > TONE:
            self.calls.append(at)

    def cut(self, at: float) -> None:
        """Nothing sounds."""

    def close(self, at: float) -> None:
        """Nothing is open."""


class _Quiet:
    """A screen that nobody reads."""

    def line(self, now: float, who: str, text: str) -> None:
        """Nothing is shown."""


def run_in_recording_time(
    known: Aircraft, lists: tuple[str, ...], pilot: Pilot, turns: int,
    clips: Path, told: Callable[[int], None],
) -> Measured:  # fmt: skip
    """Measure so many answers; a session that is over before begins again."""
    measured = Measured()
    words = words_or_tones("bundled", clips)
    try:
        while len(measured.turns) < turns:
            before = len(measured.turns)
            with tempfile.TemporaryDirectory() as folder:
                _session(known, lists, pilot, turns, words, Path(folder), measured, told)
            if len(measured.turns) == before:
                raise NothingCameError("No answer was understood in a whole session of the bench.")
    finally:
        words.close()
    return measured


def _session(
    known: Aircraft, lists: tuple[str, ...], pilot: Pilot, turns: int,
    words: OnlyTones, folder: Path, measured: Measured, told: Callable[[int], None],
) -> None:  # fmt: skip
    clock, ear, starts = RecordingClock(), make_ear("built-in"), _Starts()
    with Logbook.open(folder / "log.db") as logbook:
        number = logbook.begin(known.name, known.revision, "bench", "bench", clock.stamp(0.0))
        conductor = Conductor(
            Session(known),
            Written(logbook, number),
            clock,
            Mouth(words, starts, lambda why: None),
            ear.listen_for,
            _Quiet(),
            at_once=lambda text: True,
        )
        sound = _Answers(conductor, pilot, starts, turns, measured, told)
        try:
            Recorded(conductor, clock, ear, sound.blocks(), [], []).run(SessionOpened(lists))
        finally:
            ear.close()


class _Answers:
    """The recording, made while it is heard: a room, and an answer after each call."""

    def __init__(
        self, conductor: Conductor, pilot: Pilot, starts: _Starts, turns: int,
        measured: Measured, told: Callable[[int], None],
    ) -> None:  # fmt: skip
        self._conductor = conductor
        self._pilot = pilot
        self._starts = starts
        self._turns = turns
        self._measured = measured
        self._told = told
        seed = len(measured.turns)
        self._random = random.Random(seed)  # noqa: S311 - the same pauses in every run
        self._noise = np.random.default_rng(seed)
        self._said: Spoken | None = None
        self._begins = 0
        self._item: tuple[str, int | None] = ("", None)
        self._tries = 0

    def blocks(self) -> Iterator[AudioBlock]:
        """Until enough was measured, or until an item is no question."""
        size, place = round(BLOCK_SECONDS * RATE), 0
        while len(self._measured.turns) < self._turns and self._go_on(place):
            samples = self._noise.normal(0.0, LEVEL, size).astype(np.float32)
            if self._said is not None:
                first = place - self._begins
                said = self._said.samples[max(0, first) : max(0, first + size)]
                samples[size - len(said) if first < 0 else 0 :][: len(said)] += said
            yield AudioBlock(samples, RATE, place / RATE)
            place += size

    def _go_on(self, place: int) -> bool:
        """Begin an answer when one is due, and look what became of the last; False: enough."""
        state = self._conductor.session.state
        if self._said is not None:
            self._look(place)
            return True
        if state.mode not in (State.ASKING, State.READY, State.CLOSED, State.ADVISING):
            return False
        if state.mode is not State.ASKING or state.prompt_say is not None:
            return place < 600 * RATE
        answers = [p.text for p in state.grammar.phrases if p.means.startswith("answer:")]
        if not answers:
            return False
        self._said = self._pilot.say(answers[0])
        self._begins = place + round(self._random.uniform(*THINKING) * RATE)
        self._item = self._hand()
        return True

    def _hand(self) -> tuple[str, int | None]:
        state = self._conductor.session.state
        return (state.run.list_id if state.run else "", state.item)

    def _look(self, place: int) -> None:
        """Whether a call has begun since the word: the next item's, or a refusal."""
        assert self._said is not None
        word_end = (self._begins + self._said.end) / RATE
        calls = [at for at in self._starts.calls if at >= self._begins / RATE]
        late = place / RATE > word_end + 5.0
        if not calls and not late:
            return
        if calls and self._hand() != self._item:
            gap = calls[0] - word_end
            self._measured.turns.append(Turn(self._said.text, "answer", gap, {"ear waits": gap}))
            self._told(len(self._measured.turns))
            self._tries = 0
        else:
            self._measured.refused[self._said.text] += 1
            self._tries += 1
            if self._tries >= 3:
                self._type(place / RATE)
        self._said = None

    def _type(self, now: float) -> None:
        """Three times not understood: given by the keys, so that the session goes on."""
        assert self._said is not None
        serial = self._conductor.session.state.grammar.serial
        self._conductor.handle(Heard(self._said.text, 1.0, serial, now, now, "keys"))
        self._tries = 0
