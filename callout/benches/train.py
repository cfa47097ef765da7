"""All drills by recordings: perfect, silent, late and wrong trainees, in several voices.

Rule of this file: the whole chain runs as in `--clock recording`, with the built-in ear;
only callout's own sentences are hurried through, for nobody listens. What a trainee has
to come to is worked out from the drill, never from what was heard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.benches.pilot import Pilot
from callout.benches.trainees import PERFECT, SILENT, Manner, SpeakingTrainee, Trainee
from callout.checklist.load import load_all
from callout.ear.choose import make_ear
from callout.engine.effects import ToneKind
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recording_sets import RATE
from callout.running.train import conduct
from callout.running.train_choice import ROLES
from callout.trainer.load import LoadedDrill, drills_of
from callout.trainer.model import Drill, Line
from callout.trainer.scoring import HIT, Result
from callout.trainer.session import DrillSession, Practice
from callout.voice.espeak_voice import EspeakVoice
from callout.voice.hibari_voice import HibariVoice
from callout.voice.protocol import Synthesiser

HIBARI = "hibari"

VOICES = (HIBARI, "en-us+f2", "en-us+m3")
"""The bundled voice, and two of eSpeak NG by its own names."""

PACE = 110
"""Words a minute of eSpeak's voices: clear and unhurried."""

KINDS = ("perfect", "silent", "late", "wrong")
"""What a trainee can be here."""

A_WORD = 0.12
"""Seconds that a word of callout's takes here."""

NOBODY = "nobody"
"""The voice of one who is silent."""

EVERY = 3
"""Each so many calls of his own a late trainee is late with one."""


@dataclass(frozen=True, slots=True)
class Case:
    """One drill in one role, one voice and one manner."""

    drill: str
    role: str
    voice: str
    kind: str


@dataclass(frozen=True, slots=True)
class Row:
    """What one case came to.

    Fields:
        percent, wanted: of the points: what it came to and what it has to come to
        wrong: every difference in words; none where it is right
    """

    drill: str
    role: str
    voice: str
    kind: str
    percent: int
    wanted: int
    wrong: tuple[str, ...]


class _Hurried:
    """Callout's own voice: silence that lasts a third of what reading takes."""

    def sentence(self, text: str) -> AudioBlock:
        """As long as its words ask for."""
        return self._silence(A_WORD * len(text.split()))

    def tone(self, kind: ToneKind) -> AudioBlock:
        """As long as a tone."""
        del kind
        return self._silence(A_WORD)

    @staticmethod
    def _silence(seconds: float) -> AudioBlock:
        return AudioBlock(np.zeros(round(seconds * RATE), np.float32), RATE, 0.0)


class _Quiet:
    """A screen that nobody reads."""

    def line(self, now: float, who: str, text: str) -> None:
        """Nothing is shown."""


def voice_of(name: str) -> Synthesiser:
    """The voice of a trainee.  Raises VoiceLost."""
    return HibariVoice() if name == HIBARI else EspeakVoice(name, PACE)


def practised(loaded: LoadedDrill, practice: Practice, manner: Manner, pilot: Pilot) -> Result:
    """One drill by a trainee's voice through the built-in ear."""
    session = DrillSession(loaded.drill, loaded.aircraft.aircraft, practice)
    ear = make_ear("built-in")
    sound = SpeakingTrainee(Trainee(session, manner), pilot.say)
    mouth = Mouth(_Hurried(), Nowhere(), lambda why: None)
    try:
        conduct(session, ear, sound.blocks(), _Quiet(), lambda result: None, mouth)
    finally:
        ear.close()
    return session.result


def run(
    aircraft: Path, voices: Sequence[str], only: Sequence[str], kinds: Sequence[str],
    tell: Callable[[Row], None], jobs: int = 1,
) -> tuple[Row, ...]:  # fmt: skip
    """Every drill, in every single role, in every voice and manner; the silent one once."""
    drills = [one.drill for one in _drills(aircraft).values() if not only or one.drill.id in only]
    cases = list(_cases(drills, voices, kinds))
    rows = []
    if jobs > 1:
        with ProcessPoolExecutor(jobs) as pool:
            for row in pool.map(partial(one, aircraft), cases):
                tell(row)
                rows.append(row)
        return tuple(rows)
    for case in cases:
        rows.append(one(aircraft, case))
        tell(rows[-1])
    return tuple(rows)


def _cases(drills: Sequence[Drill], voices: Sequence[str], kinds: Sequence[str]) -> Iterator[Case]:
    for kind in kinds:
        for voice in voices if kind != "silent" else (NOBODY,):
            for drill in drills:
                for role in ("pilot", "helper"):
                    if set(ROLES[role]) <= set(drill.roles):
                        yield Case(drill.id, role, voice, kind)


@cache
def _drills(aircraft: Path) -> dict[str, LoadedDrill]:
    return {one.drill.id: one for one in drills_of(load_all(aircraft))}


@cache
def _pilot(voice: str) -> Pilot:
    """One voice speaks all of a run's words, each of them once."""
    return Pilot(None if voice == NOBODY else voice_of(voice))


def one(aircraft: Path, case: Case) -> Row:
    """Go through one case and judge it."""
    loaded = _drills(aircraft)[case.drill]
    if case.kind != "perfect":  # questions are answered alike by all: once is enough
        loaded = replace(loaded, drill=replace(loaded.drill, questions=()))
    roles = ROLES[case.role]
    mine = [line for line in loaded.drill.lines if line.who in roles]
    manner = manner_of(mine, case.kind)
    result = practised(loaded, Practice(roles), manner, _pilot(case.voice))
    wanted = expected(loaded.drill, mine, manner)
    wrong = tuple(differences(mine, manner, result, wanted))
    return Row(case.drill, case.role, case.voice, case.kind, result.percent, wanted, wrong)


def manner_of(mine: Sequence[Line], kind: str) -> Manner:
    """How a trainee of this kind behaves with these lines of his own."""
    if kind == "late":
        return Manner(late=frozenset(line.id for line in mine[::EVERY]))
    if kind == "wrong":
        return Manner(wrong=frozenset(line.id for line in mine if line.wrong))
    return SILENT if kind == "silent" else PERFECT


def expected(drill: Drill, mine: Sequence[Line], manner: Manner) -> int:
    """The percent that this manner has to come to, by the drill alone."""
    of = sum(line.points for line in mine)
    lost = sum(line.points for line in mine if _lost(line, manner))
    lost += drill.false_call * len(manner.wrong)
    return 100 * max(0, of - lost) // of


def _lost(line: Line, manner: Manner) -> bool:
    return manner.silent or line.id in manner.late or line.id in manner.wrong


def differences(mine: Sequence[Line], manner: Manner, result: Result, wanted: int) -> Iterator[str]:
    """Every difference from what has to come of it, in words."""
    lines = {line.id: line for line in mine}
    for call in result.calls:
        lost = _lost(lines[call.line], manner)
        if lost == (call.outcome == HIT):
            yield f"{call.wanted}: {call.outcome}"
    refused = {
        (lines[name].wrong[0].words[0], lines[name].wrong[0].because) for name in manner.wrong
    }
    told = {(call.words, call.because) for call in result.false_calls}
    yield from (f"not told of: {words}" for words, _ in sorted(refused - told))
    yield from (f"told of: {words} ({because})" for words, because in sorted(told - refused))
    if result.percent != wanted:
        yield f"{result.percent} % instead of {wanted} %"
