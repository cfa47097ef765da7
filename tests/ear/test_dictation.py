"""Recordings written down by a real engine: Vosk with the Korean model of a package.

The speech is Korean, too, a clip that is kept. faster-whisper and its models are too large
for a test: tests/ear/measure_dictation.py tries them. Vosk adds chance to the sound, so
only that it wrote Korean words is asked for.
"""

from __future__ import annotations

import sys
import unicodedata
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from ear_signals import korean, korean_model

from callout.audio_block import AudioBlock
from callout.cli.main import main
from callout.ear.dictation import VOSK, WHISPER, dictation, engine_of
from callout.ear.problems import EarProblem
from callout.engine.effects import Record
from callout.engine.events import Clock, SessionOpened
from callout.logbook.clip_sound import FLAC, RATE, piece
from callout.logbook.squawks import keep, told
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

SENTENCE = "오늘 날씨가 좋아요"


def stamp(now: float) -> Stamp:
    return Stamp(now, f"2031-05-04T09:30:{now:06.3f}Z", now, "boot")


def korean_words(text: str) -> bool:
    letters = [sign for sign in text if not sign.isspace()]
    return bool(letters) and all(unicodedata.name(sign).startswith("HANGUL") for sign in letters)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A logbook with a squawk that somebody spoke, and one in which nobody said a word."""
    path, silence = tmp_path / "log.db", np.zeros(2 * RATE, np.float32)
    with Logbook.open(path) as logbook:
        number = logbook.begin("Rig", "1", "rig.yaml", "f", stamp(0.0))
        facts = [Record("squawk opened", "w/c", (("squawk", n), ("where", "nose"),
                                                 ("called", "Cap"))) for n in "12"]  # fmt: skip
        logbook.append(number, SessionOpened(), facts, stamp(0.0))
        logbook.append(number, Clock(), (), stamp(9.0))
        for name, sound in (("1", korean(SENTENCE) * 0.5), ("2", silence)):
            starts = range(0, len(sound), RATE)
            parts = [AudioBlock(sound[at : at + RATE], RATE, at / RATE) for at in starts]
            keep(logbook, number, name, [piece(FLAC, one) for one in parts], stamp(9.0))
        logbook.finish(number, "ended", stamp(9.5))
    return path


def test_an_open_squawk_is_written_down_and_called_unverified_wherever_it_stands(book, tmp_path):
    words = ["--logbook", str(book)]
    done = CliRunner().invoke(
        main, ["squawk", "transcribe", "--model", str(korean_model()), *words]
    )  # fmt: skip
    assert 0 == done.exit_code, done.output
    spoken, silent = done.stdout.splitlines()
    written = spoken.removeprefix("1.1 (unverified, written down by a machine): ")
    assert korean_words(written)
    assert "1.2 (unverified, written down by a machine): nothing understood" == silent

    shown = CliRunner().invoke(main, ["squawk", "show", "1.1", *words]).stdout
    assert f"Text: (unverified, written down by a machine) {written}" in shown
    assert f"written down by a machine, unverified, {written}, by Vosk, model" in shown
    CliRunner().invoke(main, ["report", "1", "--out", str(tmp_path / "page.html"), *words])
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert f"Unverified, written down by a machine: {written}" in page
    with Logbook.read(book) as logbook:
        assert [(written, "unverified"), ("", "")] == [
            one[5:7] for one in told(logbook, "Rig", stamp(59.0))
        ]


def test_what_a_folder_holds_says_which_engine_it_is_for(tmp_path: Path):
    assert VOSK == engine_of(korean_model())
    for name in ("model.bin", "config.json", "tokenizer.json"):
        assert "" == engine_of(tmp_path)
        (tmp_path / name).write_bytes(b"")
    assert WHISPER == engine_of(tmp_path)


def test_what_is_missing_is_said_with_the_line_that_gets_it(tmp_path: Path, monkeypatch):
    model = tmp_path / "models" / "tiny"
    model.mkdir(parents=True)
    with pytest.raises(EarProblem, match=r"there is none in .*callout model fetch"):
        dictation(None, tmp_path / "models")
    with pytest.raises(EarProblem, match="tiny is no model for dictation: expected a folder"):
        dictation(Path("tiny"), tmp_path / "models")
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (model / name).write_bytes(b"")
    monkeypatch.setitem(sys.modules, "faster_whisper", None)
    with pytest.raises(EarProblem, match=r"not installed: pip install 'callout\[dictation\]'"):
        dictation(None, tmp_path / "models")
    (tmp_path / "models" / "korean").symlink_to(korean_model())
    with pytest.raises(EarProblem, match="several models, say which one with --model: korean, tin"):
        dictation(None, tmp_path / "models")
