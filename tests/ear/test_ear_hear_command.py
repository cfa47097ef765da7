"""`callout hear` as a person uses it: files, typed words, an aircraft's item, Ctrl-C."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile
from click.testing import CliRunner, Result
from ear_clips import RATE, clip, in_room

from callout.cli.hear import command

AIRCRAFT = Path(__file__).parents[2] / "checklists" / "test-stand.yaml"


def hear(*words: str, typed: str = "") -> Result:
    return CliRunner().invoke(command, list(words), input=typed)


def test_a_recording_is_shown_with_certainty_times_and_refusals(tmp_path: Path):
    """Two phrases count, the word between them does not."""
    sounds = [clip(text).samples for text in ("battery on", "territories", "fuel on")]
    soundfile.write(tmp_path / "a.flac", in_room(*sounds), RATE)

    result = hear(
        "--listen", str(tmp_path / "a.flac"), "--phrase", "battery on", "--phrase", "Fuel on"
    )

    lines = result.output.splitlines()
    assert 0 == result.exit_code, result.output
    assert "heard    'battery on', certainty 0." in lines[0]
    assert "refused  not " in lines[1]
    assert "heard    'fuel on', certainty 0." in lines[2]
    assert "2 understood, 1 refused" == lines[3]
    begins = [float(line.split()[0]) for line in lines[:3]]
    assert sorted(begins) == begins


def test_typed_words_are_judged_by_the_item_of_an_aircraft():
    result = hear("--ear", "keys", str(AIRCRAFT), *item(), typed="say again\nbanana\n")

    assert 0 == result.exit_code, result.output
    assert "heard    'say again', certainty 1.00" in result.output
    assert "refused  not in the grammar; nearest 'banana'" in result.output


def item() -> tuple[str]:
    from callout.checklist.load import load_all

    first = load_all(AIRCRAFT).aircraft.lists[0]
    return (f"{first.id}/{next(first.items()).id}",)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((str(AIRCRAFT), "nowhere/nothing"), "There is no list 'nowhere'"),
        (("nowhere.yaml", "a/b"), "nowhere.yaml"),
        (("--listen", "nowhere.wav"), "There is no recording at nowhere.wav."),
        (("--ear", "vosk", "--model", "nowhere"), "There is no model at nowhere"),
        ((str(AIRCRAFT),), "LIST/ITEM"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_status_2(words: tuple[str, ...], says: str):
    result = hear(*words)

    assert 2 == result.exit_code
    assert says in result.output
    assert "Traceback" not in result.output


def test_a_phrase_that_has_no_english_sound_is_named():
    result = hear("--phrase", "배터리", "--listen", "nowhere.wav")

    assert "Cannot be listened for, it has no English sound: 배터리" in result.output


def test_ctrl_c_ends_it_with_the_count_and_no_traceback():
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "callout", "hear", "--ear", "keys"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("abort\n")
    process.stdin.flush()
    assert "heard    'abort'" in process.stdout.readline()

    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=200)

    assert (0, "") == (process.returncode, err)
    assert out.endswith("1 understood, 0 refused\n")
