"""Trainees by rule: one who is perfect, silent, late or wrong, typed or by voice.

Rule of this file: a trainee knows what a person would: the words of his own line, and
when it was called for. He speaks in recording time, so that a drill is tested like code.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.benches.pilot import Spoken
from callout.running.recording_sets import RATE
from callout.trainer.model import Line, Speaker
from callout.trainer.session import DrillSession
from callout.trainer.state import Mode

REACTION = 0.6
"""Seconds after which a practised person answers (common practice, no source)."""

TOO_LATE = 1.5
"""Seconds after the end of the window at which a late one speaks."""

REPEATS = 2
"""So often he says again what was not understood."""

BLOCK = 0.02
"""Seconds of one block of sound."""

ROOM = 0.002
"""Noise of the room (of full scale)."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a trainee behaves.

    Fields:
        silent: never speaks
        late: lines that he says after their window
        wrong: lines at which he says the drill's wrong words instead
        answers: whether he answers questions right
    """

    silent: bool = False
    late: frozenset[str] = frozenset()
    wrong: frozenset[str] = frozenset()
    answers: bool = True
    reaction: float = REACTION


PERFECT, SILENT = Manner(), Manner(silent=True)


@dataclass(frozen=True, slots=True)
class _Due:
    """What he will say: when (session time), for which line or question, words, as whom."""

    at: float
    name: str
    words: str
    who: Speaker


@dataclass
class Trainee:
    """Looks at the drill and says when it is his turn."""

    session: DrillSession
    manner: Manner = PERFECT
    said: set[str] = field(default_factory=set)
    _last: str = ""
    _refused: int = 0
    _refused_at: float = 0.0
    _repeats: int = 0

    def next(self) -> tuple[float, str, Speaker] | None:
        """When he will speak (session time), what, and as whom; None for nothing."""
        found = self._due()
        return None if found is None else (found.at, found.words, found.who)

    def spoke(self) -> None:
        """He has begun with what `next` gave."""
        found = self._due()
        assert found is not None
        self.said.add(found.name)
        self._repeats = self._repeats if found.name == self._last else 0
        self._last = found.name

    def _due(self) -> _Due | None:
        if self.manner.silent:
            return None
        self._say_again()
        state = self.session.state
        if state.mode is Mode.ASKING:
            return self._answer()
        if state.mode is not Mode.RUNNING:
            return None
        pairs = zip(self.session.drill.lines, state.marks, strict=False)
        due = [
            (max(state.skew + mark.opened + self._wait(line), self._refused_at), place)
            for place, (line, mark) in enumerate(pairs)
            if state.is_mine(line) and mark.opened is not None and line.id not in self.said
        ]
        if not due:
            return None
        at, place = min(due)
        line = self.session.drill.lines[place]
        return _Due(at, line.id, self._words(line), line.who)

    def _say_again(self) -> None:
        """Whoever hears that he was not understood says it again, in other words if there are any.

        At once nobody does: it would sound like the rest of what was not understood.
        """
        state = self.session.state
        refused = [one.at for one in state.timeline if one.kind == "not understood"]
        if len(refused) > self._refused:
            self._refused_at = refused[-1] + state.skew + self.manner.reaction
            if self._last and self._repeats < REPEATS:
                self.said.discard(self._last)
                self._repeats += 1
        self._refused = len(refused)

    def _wait(self, line: Line) -> float:
        late = line.id in self.manner.late
        return line.within.seconds + TOO_LATE if late else self.manner.reaction

    def _words(self, line: Line) -> str:
        if line.id in self.manner.wrong and line.wrong:
            return line.wrong[0].words[0]
        again = self._repeats if line.id == self._last else 0
        return line.words[again % len(line.words)]

    def _answer(self) -> _Due | None:
        state = self.session.state
        name = f"question {len(state.replies)}"
        if state.posed is None or state.due is None or name in self.said:
            return None
        wait = self.session.aircraft.settings.answer_time
        right = state.posed.right
        said = right if self.manner.answers else _another(state.posed.answers, right)
        at = state.skew + state.due - wait + self.manner.reaction
        return _Due(max(at, self._refused_at), name, said, state.roles[0])


def _another(answers: Sequence[str], right: str) -> str:
    return next(one for one in answers if one != right)


def silence(session: DrillSession, block: float = 0.1) -> Iterator[AudioBlock]:
    """Blocks of nothing until the drill is over."""
    size, at = round(block * RATE), 0
    while not session.ended:
        yield AudioBlock(np.zeros(size, np.float32), RATE, at * size / RATE)
        at += 1


class SpeakingTrainee:
    """The recording of a trainee, made while it is heard; `track` keeps it.

    Args:
        say: makes words into sound
        seed: of the room's noise
        who: only this person's words (None: whoever's)
    """

    def __init__(
        self, trainee: Trainee, say: Callable[[str], Spoken], seed: int = 0,
        who: Speaker | None = None,
    ) -> None:  # fmt: skip
        self._trainee = trainee
        self._say = say
        self._noise = np.random.default_rng(seed)
        self._who = who
        self.track: list[Samples] = []

    def blocks(self) -> Iterator[AudioBlock]:
        """Until the drill is over."""
        size, place, left = round(BLOCK * RATE), 0, np.zeros(0, np.float32)
        while not self._trainee.session.ended:
            if not len(left):
                left = self._due(place / RATE)
            samples = self._noise.normal(0.0, ROOM, size).astype(np.float32)
            samples[: len(left[:size])] += left[:size]
            left = left[size:]
            self.track.append(samples)
            yield AudioBlock(samples, RATE, place / RATE)
            place += size

    def _due(self, now: float) -> Samples:
        """The words that are due now, as sound; nothing if none are."""
        found = self._trainee.next()
        if found is None or found[0] > now or self._who not in (None, found[2]):
            return np.zeros(0, np.float32)
        self._trainee.spoke()
        return self._say(found[1]).samples
