"""The built-in model as a stream: features against formulas, rows against their contract."""

import json
from pathlib import Path

import numpy as np
import pytest

from callout.ear import mel
from callout.ear.acoustic import STEP_SECONDS, AcousticModel

MODELS = Path(__file__).parents[2] / "models"


@pytest.fixture(scope="module")
def model() -> AcousticModel:
    return AcousticModel(MODELS)


def noise(seconds: float, seed: int = 1) -> np.ndarray:
    """White noise at -40 dB of full scale."""
    rng = np.random.default_rng(seed)
    return (0.01 * rng.standard_normal(int(seconds * mel.RATE))).astype(np.float32)


def test_a_tone_is_loudest_in_the_band_whose_centre_is_nearest() -> None:
    """Centres by mel = 2595 log10(1 + f / 700) (O'Shaughnessy 1987, from memory)."""
    edges = np.linspace(2595 * np.log10(1 + 60 / 700), 2595 * np.log10(1 + 7600 / 700), 66)
    centres = 700 * (10 ** (edges[1:-1] / 2595) - 1)
    for hertz in (500.0, 1000.0, 3000.0, 6000.0):
        time = np.arange(mel.RATE) / mel.RATE
        tone = (0.1 * np.sin(2 * np.pi * hertz * time)).astype(np.float32)
        rows = mel.MelStream().push(tone)
        # The first row has lost least to the running mean.
        expected = int(np.argmin(np.abs(centres - hertz)))
        assert abs(expected - int(np.argmax(rows[0, : mel.BANDS]))) <= 1


def test_plain_bands_have_equal_area() -> None:
    """Slaney's normalisation: filters of area one, here times the width of a bin (31.25 Hz)."""
    sums = mel.plain_bank().sum(axis=0) * mel.RATE / mel.FFT
    assert np.allclose(1.0, sums, atol=0.04)


def test_features_are_the_same_however_the_sound_is_cut() -> None:
    sound = noise(1.0)
    whole = mel.MelStream().push(sound)
    stream = mel.MelStream()
    cut = np.concatenate([stream.push(part) for part in np.split(sound, [7, 500, 9000, 9001])])
    assert np.allclose(whole, cut, atol=1e-4)


def test_rows_are_the_same_however_the_sound_is_cut(model: AcousticModel) -> None:
    sound = noise(2.0)
    whole = model.stream().push(sound)
    stream = model.stream()
    parts = np.split(sound, np.sort(np.random.default_rng(2).integers(0, len(sound), 12)))
    cut = np.concatenate([stream.push(part) for part in parts])
    assert whole.shape == cut.shape
    assert np.allclose(whole, cut, atol=2e-3)


def test_each_row_is_a_distribution_over_blank_and_phones(model: AcousticModel) -> None:
    rows = model.stream().push(noise(1.0))
    assert 40 == rows.shape[1] == len(model.outputs)
    assert np.allclose(1.0, np.exp(rows).sum(axis=1), atol=1e-3)


def test_the_phones_are_those_of_the_cmu_dictionary(model: AcousticModel) -> None:
    """The 39 phones of the CMU dictionary, from memory, in alphabetical order."""
    known = (
        "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH "
        "UW V W Y Z ZH"
    )
    assert ("", *known.split(" ")) == model.outputs


def test_rows_come_no_later_than_the_look_ahead_says(model: AcousticModel) -> None:
    seconds = 2.0
    rows = model.stream().push(noise(seconds))
    late = seconds - len(rows) * STEP_SECONDS
    assert model.look_ahead * STEP_SECONDS <= late
    assert late <= 0.3


def test_finishing_gives_a_row_for_all_that_was_heard(model: AcousticModel) -> None:
    stream = model.stream()
    rows = len(stream.push(noise(1.0))) + len(stream.finish())
    assert rows * STEP_SECONDS >= 1.0


def test_silence_and_noise_are_blank(model: AcousticModel) -> None:
    silence = np.zeros(3 * mel.RATE, np.float32)
    for sound in (silence, noise(3.0), 10 * noise(3.0)):
        rows = model.stream().push(sound)
        assert 0.98 <= float(np.mean(rows.argmax(axis=1) == 0))


def test_what_the_model_says_of_itself_fits_its_network(model: AcousticModel) -> None:
    about = json.loads((MODELS / "ear.json").read_text(encoding="utf-8"))
    state = np.zeros((1, about["state_size"]), np.float32)
    rows, after = model.run(np.zeros((8, mel.COLUMNS), np.float32), state)
    assert (2, 40) == rows.shape
    assert state.shape == after.shape
    size = sum(p.stat().st_size for p in (MODELS / "ear.onnx", MODELS / "ear.json"))
    assert size <= 10_000_000
