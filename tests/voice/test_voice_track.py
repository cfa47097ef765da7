"""The sound file of a session in recording time: exact places, cuts, the same bytes."""

import hashlib
import tracemalloc
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.audio_block import AudioBlock
from callout.voice.protocol import VoiceLost
from callout.voice.track import CUT_FADE, FORMATS, Track

RATE = 8000


def ones(seconds: float, height: float = 0.5) -> AudioBlock:
    return AudioBlock(np.full(round(seconds * RATE), height, np.float32), RATE)


def content(path: Path) -> np.ndarray:
    """Samples by the standard library, not by what wrote them; shape [n], full scale 1."""
    with wave.open(str(path)) as file:
        assert (1, 2, RATE) == (file.getnchannels(), file.getsampwidth(), file.getframerate())
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32768


def test_a_block_lies_at_its_time_and_all_else_is_silence(tmp_path):
    track = Track(tmp_path / "out.wav", RATE)
    track.lay(ones(0.5), 2.25)
    track.lay(ones(0.25, -0.25), 3.0)
    track.close(4.0)

    expected = np.zeros(4 * RATE)
    expected[18_000:22_000] = 0.5
    expected[24_000:26_000] = -0.25
    np.testing.assert_allclose(content(tmp_path / "out.wav"), expected, atol=1 / 32768)


def test_sounds_that_overlap_are_both_heard_and_never_wrap_round(tmp_path):
    track = Track(tmp_path / "out.wav", RATE)
    track.lay(ones(1.0, 0.75), 0.0)
    track.lay(ones(0.5, 0.75), 0.25)
    track.close(1.0)

    heard = content(tmp_path / "out.wav")
    assert heard[3000] == pytest.approx(1.0, abs=0.001)
    assert heard[7000] == pytest.approx(0.75, abs=0.001)


def test_a_cut_silences_what_comes_after_it_within_five_milliseconds(tmp_path):
    track = Track(tmp_path / "out.wav", RATE)
    track.lay(ones(2.0), 1.0)
    track.cut(1.5)
    track.close(4.0)

    heard = content(tmp_path / "out.wav")
    fade = round(CUT_FADE * RATE)
    assert np.all(heard[8000:12_000] == 0.5)
    assert np.all(np.diff(heard[11_999 : 12_000 + fade]) <= 0)
    assert not heard[12_000 + fade :].any()
    assert len(heard) == 4 * RATE


def test_the_last_sound_is_heard_to_its_end(tmp_path):
    track = Track(tmp_path / "out.wav", RATE)
    track.lay(ones(1.0), 0.5)
    track.close(1.0)

    assert len(content(tmp_path / "out.wav")) == 1.5 * RATE


def test_what_is_written_is_not_unwritten(tmp_path):
    """A sound for a time that is gone starts at the earliest that is not."""
    track = Track(tmp_path / "out.wav", RATE)
    track.cut(2.0)
    track.lay(ones(0.5), 1.0)
    track.close(3.0)

    heard = content(tmp_path / "out.wav")
    assert np.all(heard[16_000:20_000] == 0.5)
    assert not heard[:16_000].any()


@pytest.mark.parametrize("ending", [".wav", ".flac"])
def test_the_same_session_gives_the_same_bytes(tmp_path, ending):
    digests = set()
    for name in ("one", "two"):
        track = Track(tmp_path / f"{name}{ending}", RATE)
        track.lay(ones(1.0), 0.3)
        track.cut(0.9)
        track.lay(AudioBlock(ones(0.5).samples, 11_025), 2.0)
        track.close(5.0)
        digests.add(hashlib.sha256((tmp_path / f"{name}{ending}").read_bytes()).hexdigest())

    assert 1 == len(digests)


@pytest.mark.parametrize("ending", FORMATS)
def test_each_format_is_what_its_ending_says(tmp_path, ending):
    path = tmp_path / f"out{ending}"
    track = Track(path, RATE)
    track.lay(ones(1.0), 1.0)
    track.close(3.0)

    info = soundfile.info(path)
    assert FORMATS[ending] == (info.format, info.subtype)
    assert 3.0 == pytest.approx(info.duration)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["lay", "cut"]), st.integers(0, 400), st.integers(1, 900)),
        max_size=12,
    )
)
def test_any_order_of_lays_and_cuts_gives_what_a_whole_array_would(tmp_path_factory, steps):
    """Against a plain model that keeps everything in memory."""
    path = tmp_path_factory.mktemp("track") / "out.wav"
    track, model, now = Track(path, RATE), np.zeros(20_000), 0
    fade = round(CUT_FADE * RATE)
    for kind, later, length in steps:
        now += later
        if kind == "lay":
            track.lay(AudioBlock(np.full(length, 0.01, np.float32), RATE), now / RATE)
            model[now : now + length] += 0.01
        else:
            track.cut(now / RATE)
            model[now : now + fade] *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(fade) + 0.5) / fade)
            model[now + fade :] = 0
    track.close(2.0)

    np.testing.assert_allclose(content(path), model[: 2 * RATE], atol=2 / 32768)


def test_an_hour_is_not_kept_in_memory(tmp_path):
    tracemalloc.start()
    track = Track(tmp_path / "out.flac", RATE)
    for minutes in range(0, 60, 10):
        track.lay(ones(2.0), 60.0 * minutes)
    track.close(3600)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert peak < 2_000_000  # an hour would be 115 MB


def test_an_unknown_ending_is_refused_with_those_there_are(tmp_path):
    with pytest.raises(VoiceLost, match=r"out\.mp3: its name must end in one of \.wav, \.flac"):
        Track(tmp_path / "out.mp3", RATE)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(VoiceLost, match=r"Cannot write sound to .*nowhere"):
        Track(tmp_path / "nowhere" / "out.wav", RATE)


def test_a_full_disk_is_a_sentence(tmp_path):
    """/dev/full takes no byte."""
    path = tmp_path / "out.wav"
    path.symlink_to("/dev/full")

    with pytest.raises(VoiceLost, match=r"Cannot write sound to .*out\.wav"):
        _write_an_hour(path)


def _write_an_hour(path: Path) -> None:
    track = Track(path, RATE)
    track.lay(ones(2.0), 3600.0)
    track.close(3602.0)
