"""`callout preview`: a list read through, with its time, and as a table."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import soundfile
from click.testing import CliRunner

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.cli.main import main
from callout.running.previewing import BETWEEN, to_file
from callout.voice.clips import CLIP_RATE
from callout.writing.preview import Length, Sentence, length, paper, sentences

SECOND = AudioBlock(np.full(CLIP_RATE, 0.1, np.float32), CLIP_RATE)
STAND = Path(__file__).parents[2] / "checklists" / "test-stand.yaml"


def _run(*options: str):
    return CliRunner().invoke(main, ["preview", str(STAND), *options])


def test_everything_is_said_as_in_a_session():
    aircraft = load(STAND)
    said = [one.text for one in sentences(aircraft, [aircraft.list("run")])]

    assert [
        "Run.",
        "Exhaust temperature at idle?",
        "Idle run. One minute.",
        "Run finished, stopping.",
        "Run checklist complete.",
    ] == said


def test_the_time_is_speech_and_answers_and_waits():
    said = [
        Sentence("a", "One."),
        Sentence("a", "Two?", "two", asks=True),
        Sentence("a", "Three. One minute.", waits=60.0),
    ]

    assert Length(6.0, 2.5, 60.0) == length(said, lambda text: 2.0, 2.5)
    assert "1 min 8 s (spoken 6 s, answers 2 s, timed waits 1 min)" == str(
        length(said, lambda text: 2.0, 2.0)
    )


def test_to_a_sound_file_with_a_pause_for_each_answer(tmp_path):
    """Lengths against soundfile's own reading of the file."""
    said = [Sentence("a", "One."), Sentence("a", "Two?", asks=True), Sentence("a", "Three.")]
    to_file(said, lambda text: SECOND, 2.0, tmp_path / "said.wav")
    file = soundfile.info(tmp_path / "said.wav")

    assert 3 * 1.0 + 2 * BETWEEN + 2.0 == round(file.frames / file.samplerate, 2)


def test_the_command_writes_sound_and_tells_each_list(tmp_path):
    shown = _run("prepare", "run", "--to", str(tmp_path / "said.wav"))
    told = re.findall(r"^(.*): (?:\d+ min )?(?:\d+ s )?\(spoken", shown.output, re.M)

    assert 0 == shown.exit_code
    assert ["prepare", "run", "all of it"] == told
    assert soundfile.info(tmp_path / "said.wav").duration > 10


def test_the_table_has_calls_answers_and_what_counts():
    shown = _run("prepare", "--table").output

    assert "stand bolts" in shown
    assert "tight, or all tight" in shown
    assert "KILLER" in shown
    assert "This is an example. The engine is invented" in shown


def test_paper_carries_notice_and_caution_and_escapes_words():
    aircraft = load(STAND)
    page = paper(aircraft, aircraft.lists, {"prepare": "<1 min>"})

    assert "The engine is invented and so are all its numbers." in page
    assert "own handbook rules" in page.replace("&#39;", "'")
    assert "&lt;1 min&gt;" in page
    assert "<script" not in page


def test_an_unknown_list_is_a_sentence():
    shown = _run("prepar")

    assert 2 == shown.exit_code
    assert "There is no list 'prepar'; the file has prepare, start" in shown.output
