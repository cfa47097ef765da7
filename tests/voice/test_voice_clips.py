"""Clips: made once, kept whole, one level, no silence around them."""

import hashlib
import os
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from voice_clips_rig import SENTENCES, GoneVoice

from callout.audio_block import AudioBlock
from callout.voice import clip_file
from callout.voice.clips import CLIP_RATE, Clips, tidy
from callout.voice.espeak_voice import EspeakVoice
from callout.voice.hibari_voice import HibariVoice
from callout.voice.protocol import VoiceLost


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "clips"


def envelope(samples: np.ndarray) -> np.ndarray:
    """dB of each 10 ms, on its own terms: a moving mean of squares, not the code under test."""
    power = np.convolve(samples.astype(np.float64) ** 2, np.ones(240) / 240, "same")
    return 10 * np.log10(power[::240] + 1e-12)


@pytest.mark.parametrize("voice", [HibariVoice(), EspeakVoice()], ids=["hibari", "espeak"])
def test_all_clips_have_one_level_one_rate_and_no_silence_around_them(folder, voice):
    """-20 dBFS where it sounds (within 1 dB), peaks below -1 dBFS, sound from the start."""
    clips = Clips(voice, folder)
    for sentence in SENTENCES:
        clip = clips.get(sentence)
        levels = envelope(clip.samples)
        sounding = levels[levels > levels.max() - 30]

        assert clip.rate == CLIP_RATE
        assert 10 * np.log10(np.mean(10 ** (sounding / 10))) == pytest.approx(-20, abs=1.0)
        assert 20 * np.log10(np.abs(clip.samples).max()) <= -1.0
        assert levels[:3].max() > levels.max() - 50
        assert levels[-5:].max() > levels.max() - 50


def test_a_clip_is_made_once_and_then_read_from_disk_even_without_the_voice(folder):
    voice = EspeakVoice()
    first = Clips(voice, folder)
    made = [first.get(sentence) for sentence in SENTENCES]
    later = Clips(GoneVoice(voice.identity), folder)

    assert (4, 0) == (first.made, first.found)
    for sentence, clip in zip(SENTENCES, made, strict=True):
        np.testing.assert_array_equal(clip.samples, later.get(sentence).samples)
    assert (0, 4) == (later.made, later.found)


def test_another_voice_or_rate_never_gets_a_clip_of_this_one(folder):
    Clips(EspeakVoice(), folder).get("On.")
    for other in (
        Clips(EspeakVoice(words_a_minute=170), folder),
        Clips(EspeakVoice(), folder, rate=16_000),
    ):
        other.get("On.")

        assert (1, 0) == (other.made, other.found)


def test_a_lost_voice_is_a_loss_only_for_what_is_not_kept(folder):
    clips = Clips(GoneVoice("never heard"), folder)

    with pytest.raises(VoiceLost, match=r'No voice for "On\."'):
        clips.get("On.")


@pytest.mark.parametrize("harm", ["empty", "cut short", "one bit", "other data", "longer"])
def test_a_harmed_file_is_made_again(folder, harm):
    voice = HibariVoice()
    whole = Clips(voice, folder).get("On.")
    (path,) = folder.glob("*.clip")
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    harmed = {
        "empty": b"",
        "cut short": path.read_bytes()[:-2],
        "one bit": bytes(content),
        "other data": b"RIFF" + bytes(5000),
        "longer": path.read_bytes() + b"\0\0",
    }[harm]
    path.write_bytes(harmed)
    again = Clips(voice, folder)

    np.testing.assert_array_equal(whole.samples, again.get("On.").samples)
    assert (1, 0) == (again.made, again.found)
    assert clip_file.read(path) is not None


def test_a_folder_that_cannot_be_written_costs_no_sentence(tmp_path):
    (tmp_path / "file").write_text("in the way")
    clips = Clips(EspeakVoice(), tmp_path / "file")

    assert clips.get("On.").seconds > 0.1


WORKER = """
import hashlib, sys
from pathlib import Path
from callout.voice.clips import Clips
from callout.voice.hibari_voice import HibariVoice
clips = Clips(HibariVoice(), Path(sys.argv[1]))
digest = hashlib.sha256()
for number in "one two three four five six seven eight nine ten".split():
    digest.update(clips.get(f"Item {number}.").samples.tobytes())
print(digest.hexdigest())
"""


def test_processes_share_a_folder_without_harm(folder):
    """Three at once make the same ten sentences: the same sound everywhere, only whole files."""
    running = [
        subprocess.Popen(
            [sys.executable, "-c", WORKER, str(folder)], stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    said = [process.communicate(timeout=280)[0] for process in running]

    assert [0] * 3 == [process.returncode for process in running]
    assert 1 == len(set(said))
    assert 10 == len(list(folder.glob("*.clip")))
    assert all(clip_file.read(path) is not None for path in folder.glob("*.clip"))
    assert [] == [path for path in folder.iterdir() if path.suffix != ".clip"]


def test_tidying_removes_what_was_used_longest_ago(folder):
    clips = Clips(EspeakVoice(), folder)
    for age, sentence in enumerate(SENTENCES):
        known = {*folder.glob("*.clip")}
        clips.get(sentence)
        (newest,) = {*folder.glob("*.clip")} - known
        os.utime(newest, (1000 + age, 1000 + age))
    Clips(EspeakVoice(), folder).get(SENTENCES[0])  # in use again
    sizes = sorted((p.stat().st_mtime, p.stat().st_size) for p in folder.glob("*.clip"))

    assert 2 == tidy(folder, at_most=sizes[-1][1] + sizes[-2][1])
    kept = Clips(GoneVoice(EspeakVoice().identity), folder)
    kept.get(SENTENCES[0])
    kept.get(SENTENCES[3])
    with pytest.raises(VoiceLost):
        kept.get(SENTENCES[1])


def test_the_key_is_sha256_over_all_that_changes_the_sound():
    text = "hibari 1\n24000\ntrimmed\nOn."

    assert hashlib.sha256(text.encode()).hexdigest() == clip_file.key(
        "hibari 1", 24000, "trimmed", "On."
    )


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-2, 2, width=32), max_size=200), st.sampled_from([8000, 24_000]))
def test_what_is_written_is_what_is_read_to_a_16_bit_step(values, rate):
    block = AudioBlock(np.array(values, np.float32), rate)
    back = clip_file.decoded(clip_file.encoded(block))

    assert rate == back.rate
    np.testing.assert_allclose(
        np.clip(block.samples, -1, 32767 / 32768), back.samples, atol=0.5001 / 32768
    )
