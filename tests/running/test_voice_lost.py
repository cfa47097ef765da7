"""The voice fails at the start or on the way: the list goes on as text, tones still sound."""

from __future__ import annotations

import os
import sys
import time
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import soundfile
from virtual_sound import Program

from callout.engine.effects import ToneKind
from callout.logbook.store import Logbook
from callout.voice.clips import CLIP_RATE
from callout.voice.tones import tone

WRENLET = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed}
      - {call: battery master, answer: disconnected}
      - {call: tail rotor, answer: free to turn}
"""

LINES = (
    ("Fuel lever?", "closed"),
    ("Battery master?", "disconnected"),
    ("Tail rotor?", "free to turn"),
)

PAUSE = 1.0
"""Seconds before an answer: an answer cuts what still sounds, the caution (0.74 s) too."""

BREAKS = """
import sys
from callout.voice.choose import VOICES
from callout.voice.espeak_voice import EspeakVoice
from callout.voice.protocol import VoiceLost

class Breaks(EspeakVoice):
    def synthesise(self, sentence):
        if sentence == "Battery master?":
            raise VoiceLost("The voice breaks has broken")
        return super().synthesise(sentence)

class Absent(EspeakVoice):
    def __init__(self):
        raise VoiceLost("The voice absent is not here")

VOICES["breaks"] = Breaks
VOICES["absent"] = Absent
from callout.cli.main import main
main(prog_name="callout")
"""
"""The real program with two voices more: one fails at the second item, one at once."""


def run(folder: Path, voice: str) -> Program:
    """One short look by typed lines, said into spoken.wav; returns the ended program."""
    aircraft = folder / "wrenlet.yaml"
    aircraft.write_text(WRENLET, encoding="utf-8")
    command = [
        *(sys.executable, "-c", BREAKS, "run", str(aircraft), "look", "--ear", "keys"),
        *("--voice", voice, "--speak", str(folder / "spoken.wav")),
        *("--logbook", str(folder / "log.db")),
    ]
    environment = os.environ | {"XDG_CACHE_HOME": str(folder), "HOME": str(folder)}
    with closing(Program(command, environment)) as program:
        for call, line in LINES:
            program.wait_for(call)
            time.sleep(PAUSE)
            program.type(line)
        program.wait_for("Session ended.")
        assert 0 == program.wait()
    return program


def lost(folder: Path) -> list[dict[str, str]]:
    with Logbook.read(folder / "log.db") as logbook:
        return [dict(fact.data) for _, fact in logbook.facts(1) if fact.fact == "lost"]


def places(sound: np.ndarray, kind: ToneKind) -> list[float]:
    """Where (s) a tone stands in the sound, by matched filter: correlation above 0.9."""
    wanted = tone(kind, CLIP_RATE).samples.astype(float)
    so_far = np.concatenate(([0.0], np.cumsum(sound**2)))
    energy = so_far[len(wanted) :] - so_far[: -len(wanted)]
    size = 1 << (len(sound) + len(wanted)).bit_length()
    spectrum = np.fft.rfft(sound, size) * np.conj(np.fft.rfft(wanted, size))
    match = np.fft.irfft(spectrum, size)[: len(energy)]
    alike = match / np.sqrt(np.maximum(energy, 1e-6) * np.sum(wanted**2))
    found = np.flatnonzero(alike > 0.9)
    firsts = found[np.diff(found, prepend=-CLIP_RATE) > CLIP_RATE // 20]
    return [float(first / CLIP_RATE) for first in firsts]


@pytest.mark.parametrize(
    ("voice", "why", "speaks"),
    [
        ("absent", "The voice absent is not here", False),
        ("breaks", "The voice breaks has broken", True),
    ],
)
def test_a_list_goes_on_as_text_and_tones(
    tmp_path: Path, voice: str, why: str, speaks: bool
) -> None:
    """Said on the screen, logged once; one caution, and every answer acknowledged."""
    program = run(tmp_path, voice)
    assert 1 == sum("Voice lost. Read the screen." in line for line in program.lines)
    assert any("Short look checklist complete." in line for line in program.lines)
    assert [] == program.errors
    (fact,) = lost(tmp_path)
    assert "voice" == fact["part"]
    assert fact["what"].startswith(why)
    sound, rate = soundfile.read(tmp_path / "spoken.wav")
    assert CLIP_RATE == rate
    assert 1 == len(places(sound, ToneKind.CAUTION))
    assert 3 == len(places(sound, ToneKind.HEARD))
    tones = sum(tone(kind, rate).seconds for kind in (ToneKind.CAUTION, *3 * [ToneKind.HEARD]))
    assert speaks == (np.count_nonzero(np.abs(sound) > 1e-3) / rate > tones)
