"""Recordings as blocks: formats, rates, times, and files that are none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from callout.ear.from_file import blocks
from callout.ear.problems import NotARecording

TONE = 440.0


def tone(path: Path, rate: int, seconds: float, channels: int, **kind: str) -> Path:
    time = np.arange(round(rate * seconds)) / rate
    sound = 0.3 * np.sin(2 * np.pi * TONE * time)
    soundfile.write(path, np.stack([sound] * channels, axis=1), rate, **kind)
    return path


@pytest.mark.parametrize(
    ("name", "rate", "channels", "kind"),
    [
        ("a.wav", 8_000, 1, {}),
        ("a.wav", 16_000, 1, {"subtype": "FLOAT"}),
        ("a.wav", 44_100, 2, {"subtype": "PCM_24"}),
        ("a.flac", 22_050, 2, {}),
        ("a.ogg", 48_000, 1, {}),
        ("a.opus", 48_000, 1, {"format": "OGG", "subtype": "OPUS"}),
    ],
)
def test_every_format_becomes_the_same_tone_at_16_khz(
    tmp_path: Path, name: str, rate: int, channels: int, kind: dict[str, str]
):
    """The frequency is found with a Fourier transform; length within a block."""
    made = list(blocks(tone(tmp_path / name, rate, 2.5, channels, **kind), tail=0.5))

    sound = np.concatenate([block.samples for block in made])
    spectrum = np.abs(np.fft.rfft(sound[:32_000] * np.hanning(32_000)))
    assert TONE == pytest.approx(np.argmax(spectrum) / 2.0, abs=1.0)
    assert {16_000} == {block.rate for block in made}
    assert {320} == {len(block.samples) for block in made}
    assert 3.0 == pytest.approx(made[-1].ends_at, abs=0.021)
    assert 0.3 / np.sqrt(2) == pytest.approx(sound[:32_000].std(), rel=0.05)


def test_a_block_is_stamped_with_its_place(tmp_path: Path):
    made = list(blocks(tone(tmp_path / "a.wav", 16_000, 1.0, 1), tail=0.1))

    assert [place * 0.02 for place in range(55)] == pytest.approx([b.captured_at for b in made])
    assert not np.concatenate([block.samples for block in made])[16_000:].any()


@pytest.mark.parametrize(
    ("content", "says"),
    [(None, "no recording at"), (b"", "not a recording"), (b"say again" * 99, "WAV, FLAC, OGG")],
)
def test_what_is_no_recording_is_told(tmp_path: Path, content: bytes | None, says: str):
    path = tmp_path / "a.wav"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(NotARecording, match=says):
        list(blocks(path))


def test_a_folder_is_no_recording(tmp_path: Path):
    with pytest.raises(NotARecording, match="no recording at"):
        list(blocks(tmp_path))
