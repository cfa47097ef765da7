"""Tones are few, short, told apart early, and do not click: measured on their samples.

The figures are those of MIL-STD-1472E 5.3.4.3.1 (at most four), 5.3.4.3.3 (known
in the first 0.5 s), 5.3.6.5 (at least 0.5 s) and 5.3.4.1 (200 .. 5000 Hz), as
quoted in the project's reading of a scan, and 500 .. 3000 Hz, from memory; pulses
as in IEC 60601-1-8 (three, and five as three and two; as quoted in lecture notes;
lengths, gaps, rise, pitch and harmonics from memory).
"""

from itertools import pairwise

import numpy as np
import pytest
from scipy.signal import hilbert

from callout.engine.effects import ToneKind
from callout.voice.tones import tone

RATE = 24_000

ALERTS = [ToneKind.CAUTION, ToneKind.WARNING]


def envelope(samples: np.ndarray) -> np.ndarray:
    """Of the sound, over about 4 ms: Hilbert's, smoothed."""
    n = RATE // 250
    return np.convolve(np.abs(hilbert(samples)), np.ones(n) / n, mode="same")


def pulses(samples: np.ndarray, part: float = 0.05) -> list[tuple[int, int]]:
    """(first, last) sample of each stretch louder than this part of the loudest."""
    loud = envelope(samples)
    on = np.concatenate(([False], loud > part * loud.max(), [False]))
    edges = np.flatnonzero(on[1:] != on[:-1])
    pairs = zip(edges[::2], edges[1::2], strict=True)
    return [(int(a), int(b)) for a, b in pairs if b - a > RATE // 100]


def spectrum(samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(Hz, strength)."""
    size = 1 << 16
    return np.fft.rfftfreq(size, 1 / RATE), np.abs(
        np.fft.rfft(samples * np.hanning(len(samples)), size)
    )


def peaks(samples: np.ndarray) -> list[tuple[float, float]]:
    """(Hz, dB below the strongest) of what stands out by less than 25 dB from the strongest."""
    hertz, strength = spectrum(samples)
    level = 20 * np.log10(strength / strength.max() + 1e-9)
    top = np.flatnonzero(
        (level[1:-1] > -25) & (level[1:-1] >= level[:-2]) & (level[1:-1] > level[2:])
    )
    return [(float(hertz[i + 1]), float(level[i + 1])) for i in top]


def pitches(kind: ToneKind) -> list[float]:
    samples = tone(kind, RATE).samples
    return [peaks(samples[a:b])[0][0] for a, b in pulses(samples)]


def lengths_and_gaps(kind: ToneKind) -> tuple[list[float], list[float]]:
    """Seconds of each pulse and of each gap, by a twentieth of the loudest."""
    found = pulses(tone(kind, RATE).samples)
    return (
        [(b - a) / RATE for a, b in found],
        [(later[0] - earlier[1]) / RATE for earlier, later in pairwise(found)],
    )


def test_there_are_at_most_four():
    assert len(ToneKind) <= 4


@pytest.mark.parametrize("kind", ToneKind)
def test_a_tone_begins_at_once(kind: ToneKind):
    """Within 15 ms of its first sample: what acknowledges must do so within a tenth of a second."""
    first, _ = pulses(tone(kind, RATE).samples)[0]
    assert first / RATE <= 0.015


@pytest.mark.parametrize("kind", ToneKind)
def test_its_pitch_lies_where_a_signal_is_heard_best(kind: ToneKind):
    assert all(500 <= pitch <= 3000 for pitch in pitches(kind))


@pytest.mark.parametrize("kind", ALERTS)
def test_an_alert_has_a_low_pitch_and_four_harmonics_no_fainter_than_15_db(kind: ToneKind):
    samples = tone(kind, RATE).samples
    for first, last in pulses(samples):
        found = peaks(samples[first:last])
        pitch = found[0][0]
        harmonics = [hertz for hertz, level in found if level >= -15 and 300 <= hertz <= 4000]
        assert 150 <= pitch <= 1000
        assert 4 <= len(harmonics)
        for number, hertz in enumerate(harmonics, start=1):
            assert hertz == pytest.approx(number * pitch, rel=0.02)


def test_caution_is_three_pulses_of_one_pitch():
    lengths, gaps = lengths_and_gaps(ToneKind.CAUTION)
    assert 3 == len(lengths)
    assert max(pitches(ToneKind.CAUTION)) - min(pitches(ToneKind.CAUTION)) < 5
    assert all(0.125 <= seconds <= 0.250 for seconds in lengths)
    assert all(0.125 <= seconds <= 0.250 for seconds in gaps)


def test_warning_is_five_pulses_as_three_and_two():
    lengths, gaps = lengths_and_gaps(ToneKind.WARNING)
    assert 5 == len(lengths)
    assert 2 == int(np.argmax(gaps))
    assert all(0.075 <= seconds <= 0.200 for seconds in lengths)
    short = [gap for number, gap in enumerate(gaps) if number != 2]
    assert all(0.050 <= seconds <= 0.125 for seconds in short)
    assert gaps[2] == pytest.approx(2 * np.mean(short) + np.mean(lengths), abs=0.02)


@pytest.mark.parametrize("kind", ALERTS)
def test_a_pulse_of_an_alert_rises_in_a_tenth_to_two_fifths_of_its_length(kind: ToneKind):
    """From 10 to 90 % of its loudest."""
    samples = tone(kind, RATE).samples
    for first, last in pulses(samples, 0.02):
        loud = np.convolve(np.abs(hilbert(samples)), np.ones(80) / 80, mode="same")[first:last]
        steady = np.median(loud)
        ten, ninety = (int(np.argmax(loud > part * steady)) for part in (0.1, 0.9))
        assert 0.1 <= (ninety - ten) / (last - first) <= 0.4


@pytest.mark.parametrize("kind", ALERTS)
def test_alerts_last_half_a_second(kind: ToneKind):
    assert 0.5 <= tone(kind, RATE).seconds < 1.0


def test_the_tone_for_heard_is_over_in_a_tenth_of_a_second():
    assert tone(ToneKind.HEARD, RATE).seconds <= 0.1


def test_not_understood_falls_and_no_other_tone_does():
    falling = {kind for kind in ToneKind if pitches(kind)[-1] < 0.9 * pitches(kind)[0]}
    assert {ToneKind.NOT_UNDERSTOOD} == falling


@pytest.mark.parametrize("kind", ToneKind)
@pytest.mark.parametrize("rate", [16_000, 24_000, 48_000])
def test_no_clipping_and_no_click(kind: ToneKind, rate: int):
    """Nothing outside full scale; less than a thousandth of the energy outside 200 .. 5000 Hz."""
    samples = tone(kind, rate).samples
    power = np.abs(np.fft.rfft(samples)) ** 2
    frequency = np.fft.rfftfreq(len(samples), 1 / rate)
    outside = power[(frequency < 200) | (frequency > 5000)].sum() / power.sum()

    assert np.abs(samples).max() < 0.9
    assert np.abs(samples[[0, -1]]).max() < 0.001
    assert outside < 0.001


def test_a_warning_is_louder_than_a_caution_and_both_louder_than_speech():
    def level(kind: ToneKind) -> float:
        samples = tone(kind, RATE).samples
        first, last = pulses(samples)[0]
        quarter = (last - first) // 4
        middle = samples[first + quarter : last - quarter]
        return 10 * np.log10(np.mean(middle**2))

    assert level(ToneKind.WARNING) == pytest.approx(-14, abs=0.3)
    assert level(ToneKind.CAUTION) == pytest.approx(-17, abs=0.3)
