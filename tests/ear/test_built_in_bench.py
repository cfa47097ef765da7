"""What the benches count, against published intervals and sets written to disk."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from callout.audio_block import AudioBlock
from callout.benches.digits import numbers, trimmed
from callout.benches.figures import Outcome, Result, calibration_error, figures, wilson
from callout.benches.hearing import Meter, Setting, closed_set, hear_all
from callout.cli.bench import command
from callout.running.recording_sets import RATE, Clip, SetError, mixed, pad, read_set
from callout.running.speech_level import speech_power
from callout.words.phrases import Grammar


@pytest.mark.parametrize(
    ("hits", "n", "low", "high"),
    [
        # Newcombe 1998, Statistics in Medicine 17:857-872, table I, method 3 (from memory)
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_intervals_are_those_of_wilson(hits: int, n: int, low: float, high: float) -> None:
    """The interval beside every figure is the published one."""
    assert (low, high) == pytest.approx(wilson(hits, n), abs=5e-5)


def outcome(said: str, result: Result, speaker: str = "a", certainty: float = 0.9) -> Outcome:
    return Outcome("ear", 10.0, "on", said, result, speaker, certainty)


def test_refusals_and_mistakes_are_counted_apart() -> None:
    """A refused word is no mistake, and a mistake is no refusal."""
    row = figures(
        [
            outcome("on", Result.CORRECT),
            outcome("off", Result.WRONG, "b"),
            outcome("on", Result.REJECTED, "b"),
            outcome("", Result.REJECTED, "b"),
        ]
    )

    assert (4, 1, 2, 1) == (row.n, row.correct, row.rejected, row.wrong)
    assert 2 == row.nearest
    assert ((("on", "off"), 1),) == row.confusions
    assert (0.0, 0.0, 0.5) == row.speakers


def test_calibration_error_is_the_gap_between_certainty_and_truth() -> None:
    """Certain at 0.85 and right seven times in ten: off by 0.15 (Guo et al. 2017, eq. 5)."""
    sure = [(0.85, place < 7) for place in range(10)]

    assert 0.15 == pytest.approx(calibration_error(sure))
    assert 0.0 == pytest.approx(calibration_error([(1.0, True), (0.0, False)]))


def write_set(folder: Path, texts: list[str], seconds: float = 0.5) -> Path:
    """A set whose recordings are tones of different height."""
    sounds, entries = [], []
    for place, text in enumerate(texts):
        time = np.arange(round(seconds * RATE)) / RATE
        sounds.append((0.3 * np.sin(2 * np.pi * (300 + 100 * place) * time)).astype(np.float32))
        entries.append({"text": text, "samples": len(time), "speaker": f"s{place % 2}"})
    soundfile.write(folder / "set.flac", np.concatenate(sounds), RATE)
    (folder / "set.json").write_text(json.dumps(entries))
    return folder / "set.json"


def test_a_set_is_cut_where_its_list_says(tmp_path: Path) -> None:
    """Each recording gets its own samples, text and speaker."""
    clips = read_set(write_set(tmp_path, ["Battery ON.", "off"]))

    assert ["battery on", "off"] == [clip.text for clip in clips]
    assert ["s0", "s1"] == [clip.speaker for clip in clips]
    spectrum = np.abs(np.fft.rfft(clips[1].samples))
    assert 400 == pytest.approx(spectrum.argmax() * 2, abs=4)


@pytest.mark.parametrize(
    ("listed", "problem"),
    [
        ("{}", "is no list of recordings"),
        ("[]", "is no list of recordings"),
        ("not json", "cannot be read as a set's list"),
        ('[{"text": "on", "samples": 9999999}]', "lists more samples"),
    ],
)
def test_a_set_that_is_wrong_is_told_in_a_sentence(
    tmp_path: Path, listed: str, problem: str
) -> None:
    """What is wrong with a list of recordings is said, with the file's name."""
    path = write_set(tmp_path, ["on"])
    path.write_text(listed)

    with pytest.raises(SetError, match=problem):
        read_set(path)


def test_noise_is_mixed_at_the_ratio_asked_for() -> None:
    """10 dB means ten times the noise's power where there is speech."""
    random = np.random.default_rng(1)
    speech = np.zeros(RATE, np.float32)
    speech[4000:9000] = random.normal(0, 0.1, 5000)
    clip = pad(Clip("on", "a", speech, 3), 0.5, 0.5)
    noise = Clip("", "", random.normal(0, 0.3, 5 * RATE).astype(np.float32), 0)

    hum = mixed(clip, [noise], 10.0) - clip.samples

    ratio = speech_power(clip.samples) / float((hum**2).mean())
    assert 10.0 == pytest.approx(10 * np.log10(ratio), abs=0.1)


class Listening:
    """Notes what it hears and understands nothing."""

    def __init__(self) -> None:
        self.name, self.rate = "listening", RATE
        self.heard: list[np.ndarray] = []

    def listen_for(self, grammar: Grammar) -> None:
        pass

    def hear(self, sound: AudioBlock | str) -> tuple[()]:
        assert isinstance(sound, AudioBlock)
        self.heard.append(sound.samples)
        return ()

    def close(self) -> None:
        pass


def test_the_level_of_the_whole_recording_counts_its_silence_too() -> None:
    """One second of speech in four, and 0.27 s that P.56 adds (hangover, envelope): 5.0 dB."""
    random = np.random.default_rng(1)
    speech = np.zeros(4 * RATE, np.float32)
    speech[RATE : 2 * RATE] = random.normal(0, 0.1, RATE)
    noise = Clip("", "", random.normal(0, 0.3, 5 * RATE).astype(np.float32), 0)
    hum = []

    for whole in (False, True):
        ear, setting = Listening(), Setting((10.0,), whole=whole)
        clip, grammar = Clip("on", "a", speech, 3), closed_set(["on"], 0.0)
        list(hear_all([ear], [clip], [noise], grammar, setting, Meter()))
        alone = np.concatenate(ear.heard)[: RATE // 2]
        hum.append(float((alone**2).mean()))

    assert 5.0 == pytest.approx(10 * np.log10(hum[0] / hum[1]), abs=0.1)


def test_every_ear_hears_the_same_samples() -> None:
    """The same clip in the same condition is mixed the same way each time."""
    random = np.random.default_rng(2)
    clip = Clip("on", "a", random.normal(0, 0.1, RATE).astype(np.float32), 7)
    noises = [Clip("", "", random.normal(0, 0.1, RATE).astype(np.float32), n) for n in range(5)]

    assert np.array_equal(mixed(clip, noises, 5.0), mixed(clip, noises, 5.0))


def test_digits_of_one_speaker_are_joined_to_numbers() -> None:
    """Two to four digits, one speaker each, no silence left between words cut from tones."""
    random = np.random.default_rng(3)
    words = ["one", "two", "three", "four", "five"]
    clips = [
        Clip(word, speaker, random.normal(0, 0.1, 4000).astype(np.float32), place)
        for speaker in "ab"
        for place, word in enumerate(words)
    ]

    made = numbers(clips, 20)

    assert 20 == len(made)
    assert {2, 3, 4} == {len(clip.text.split()) for clip in made}
    assert {"a", "b"} == {clip.speaker for clip in made}
    assert [clip.text for clip in made] == [clip.text for clip in numbers(clips, 20)]


def test_silence_around_a_digit_is_cut_off() -> None:
    """Only a frame or two of the quiet ends stays."""
    sound = np.zeros(RATE, np.float32)
    sound[6400:9600] = 0.2

    assert len(trimmed(sound)) == pytest.approx(3200 + 4 * 320, abs=640)


def test_a_bench_needs_noise_for_a_ratio(tmp_path: Path) -> None:
    """Without a set of noises a ratio is refused in a sentence."""
    speech = write_set(tmp_path, ["on"])

    result = CliRunner().invoke(command, ["hearing", "--speech", str(speech), "--snr", "10"])

    assert 2 == result.exit_code
    assert "--noise SET.json" in result.output


def test_an_unknown_ear_is_told_with_those_that_there_are(tmp_path: Path) -> None:
    """The names of all ears are given, no traceback."""
    speech = write_set(tmp_path, ["on"])

    result = CliRunner().invoke(command, ["hearing", "--speech", str(speech), "--ear", "third"])

    assert 1 == result.exit_code
    assert "pocketsphinx" in result.output


def test_two_ears_are_shown_side_by_side(tmp_path: Path) -> None:
    """One JSON object a line, for each ear and condition, with the keys that are promised."""
    speech = write_set(tmp_path, ["on", "off"])

    result = CliRunner().invoke(
        command,
        ["hearing", "--speech", str(speech), "--ear", "pocketsphinx", "--snr", "clean", "--json"],
    )

    rows = [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]
    assert [("pocketsphinx", "clean", 2)] == [(r["ear"], r["snr"], r["n"]) for r in rows]
    assert 2 == sum(rows[0][key] for key in ("correct", "rejected", "wrong"))
