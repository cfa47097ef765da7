"""All drills by recordings: perfect, silent, late and wrong trainees, in several voices.

Rule of this file: the whole chain runs as in `--clock recording`, with the built-in ear;
only callout's own voice is left out, for nobody listens.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from callout.checklist.load import load_all
from callout.ear.choose import make_ear
from callout.running.bench_pilot import Pilot
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.train import conduct
from callout.running.train_choice import ROLES
from callout.running.train_trainees import PERFECT, SILENT, Manner, SpeakingTrainee, Trainee
from callout.trainer.load import LoadedDrill, drills_of
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


@dataclass(frozen=True, slots=True)
class Row:
    """One drill in one role and one voice.

    Fields:
        perfect, silent, late, wrong: percent of each trainee; all but the first are -1
            where only the perfect one was asked for
        lost: calls that the perfect one did not get across
        only_late: whether the late one lost exactly the late calls
        told: whether the wrong one was told each wrong call with its reason
    """

    drill: str
    roles: str
    voice: str
    perfect: int
    lost: tuple[str, ...]
    silent: int = -1
    late: int = -1
    only_late: bool = False
    wrong: int = -1
    told: bool = False


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
    mouth = Mouth(None, Nowhere(), lambda why: None)
    try:
        conduct(session, ear, sound.blocks(), _Quiet(), lambda result: None, mouth)
    finally:
        ear.close()
    return session.result


def run(
    aircraft: Path,
    voices: Sequence[str],
    only: Sequence[str],
    tell: Callable[[Row], None],
    *,
    perfect_only: bool = False,
) -> tuple[Row, ...]:
    """Every drill, in every single role, in every voice."""
    loaded = load_all(aircraft)
    drills = [one for one in drills_of(loaded) if not only or one.drill.id in only]
    rows = []
    for name in voices:
        pilot = Pilot(voice_of(name))
        for row in _rows(drills, name, pilot, perfect_only):
            tell(row)
            rows.append(row)
    return tuple(rows)


def _rows(
    drills: Sequence[LoadedDrill], voice: str, pilot: Pilot, perfect_only: bool
) -> Iterator[Row]:
    for loaded in drills:
        for role in ("pilot", "helper"):
            roles = ROLES[role]
            if set(roles) <= set(loaded.drill.roles):
                row = _perfect(loaded, role, voice, pilot)
                yield row if perfect_only else _others(row, loaded, pilot)


def _perfect(loaded: LoadedDrill, role: str, voice: str, pilot: Pilot) -> Row:
    perfect = practised(loaded, Practice(ROLES[role]), PERFECT, pilot)
    lost = tuple(one.wanted for one in perfect.calls if one.outcome != HIT)
    return Row(loaded.drill.id, role, voice, perfect.percent, lost)


def _others(row: Row, loaded: LoadedDrill, pilot: Pilot) -> Row:
    practice = Practice(ROLES[row.roles])
    mine = [line for line in loaded.drill.lines if line.who in practice.roles]
    silent = practised(loaded, practice, SILENT, pilot)
    lates = frozenset(line.id for line in mine[::3])
    late = practised(loaded, practice, Manner(late=lates), pilot)
    wrongs = frozenset(line.id for line in mine if line.wrong)
    wrong = practised(loaded, practice, Manner(wrong=wrongs), pilot)
    lost = {one.line for one in late.calls if one.outcome != HIT}
    told = all(call.because for call in wrong.false_calls)
    return replace(
        row,
        silent=silent.percent,
        late=late.percent,
        only_late=lost == set(lates),
        wrong=wrong.percent,
        told=told and len(wrong.false_calls) == len(wrongs),
    )
