"""A pilot who does not answer: asked once, twice, then the list is parked, and says so.

The real program in recording time, through the built-in ear, on a recording in
which nobody speaks: silence never advances, whatever warning stands meanwhile.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from test_voice_lost import places

from callout.engine.alerts import REPEAT_AFTER
from callout.engine.effects import ToneKind
from callout.engine.events import Clock, SpeechEnded
from callout.logbook.store import Logbook
from callout.voice.clips import CLIP_RATE

WRENLET = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
settings: {answer_time: 6 s}
gauges:
  speed: {unit: "%", range: 0 to 110}
lists:
  asked:
    title: short look
    items:
      - {call: fuel lever, answer: closed, killer: yes}
      - {call: tail rotor, answer: free}
  missed:
    title: start
    items:
      - {call: speed, await: {gauge: speed, at_least: 20, within: 10 s}}
      - {call: tail rotor, answer: free}
"""

SECONDS = 20.0
"""Of the recording; after it the session goes on in silence for three minutes more."""


@pytest.fixture(scope="module")
def quiet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hangar in which nobody speaks: a little noise."""
    path = tmp_path_factory.mktemp("quiet") / "nobody.wav"
    noise = np.random.default_rng(5).normal(0.0, 0.002, round(SECONDS * 16_000))
    soundfile.write(path, noise, 16_000)
    return path


def run(folder: Path, recording: Path, listed: str) -> tuple[str, list[tuple[str, str]]]:
    """Transcript, and facts as (what, about)."""
    aircraft = folder / "wrenlet.yaml"
    aircraft.write_text(WRENLET, encoding="utf-8")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "callout", "run", str(aircraft), listed),
            *("--clock", "recording", "--listen", str(recording)),
            *("--speak", str(folder / "spoken.wav"), "--voice", "espeak"),
            *("--logbook", str(folder / "log.db")),
        ],
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert (0, "") == (done.returncode, done.stderr)
    with Logbook.read(folder / "log.db") as logbook:
        facts = [(fact.fact, fact.about) for _, fact in logbook.facts(1)]
        events = {type(event) for _, event in logbook.events(1)}
    assert {Clock, SpeechEnded} < events
    return done.stdout, facts


def test_silence_is_asked_twice_then_parked_and_nothing_is_ticked(quiet: Path, tmp_path: Path):
    transcript, facts = run(tmp_path, quiet, "asked")

    assert 2 == transcript.count("Fuel lever?")
    assert 1 == transcript.count("No answer. Standing by.")
    assert transcript.rindex("Fuel lever?") < transcript.index("No answer. Standing by.")
    assert ["no answer", "no answer", "parked"] == [
        what for what, about in facts if about == "asked/fuel-lever" and what != "asked"
    ][:3]
    assert "ticked" not in [what for what, _ in facts]
    assert "Tail rotor" not in transcript


def test_with_a_warning_standing_silence_still_parks_the_list_and_the_warning_goes_on(
    quiet: Path, tmp_path: Path
):
    transcript, facts = run(tmp_path, quiet, "missed")
    whats = [what for what, _ in facts]
    warning = "Speed not reached in one zero seconds."
    parked_at = transcript.index("No answer. Standing by.")

    assert 1 == whats.count("time missed")
    assert 2 == whats[whats.index("time missed") :].count("no answer")
    assert 1 == whats.count("parked")
    assert "ticked" not in whats
    assert "Tail rotor" not in transcript
    assert 2 <= transcript[:parked_at].count(warning)
    assert 10 <= transcript[parked_at:].count(warning)
    assert ("warnings not answered", "") in facts
    _sounds_as_often_as_it_is_shown(tmp_path, transcript, warning)


def _sounds_as_often_as_it_is_shown(folder: Path, transcript: str, warning: str) -> None:
    """Its tone, found in what was said by matched filter, a pause apart at least."""
    sound, rate = soundfile.read(folder / "spoken.wav")
    assert CLIP_RATE == rate
    found = places(sound, ToneKind.WARNING)

    assert abs(transcript.count(warning) - len(found)) <= 1  # the end may cut the last
    assert float(np.diff(found).min()) > REPEAT_AFTER
