"""Tones are few, short, told apart early, and do not click.

The figures are those of MIL-STD-1472E 5.3.4.3.1 (at most four), 5.3.4.3.3 (known
in the first 0.5 s), 5.3.6.5 (at least 0.5 s) and 5.3.4.1 (200 .. 5000 Hz), as
quoted in the project's reading of a scan; pulses as in IEC 60601-1-8 (three,
and five as three and two; as quoted in lecture notes).
"""

from itertools import combinations, pairwise

import numpy as np
import pytest

from callout.engine.effects import ToneKind
from callout.voice.tones import tone

RATE = 24_000


def pulses(samples: np.ndarray) -> list[tuple[int, int]]:
    """(first, last) sample of each stretch in which a 4 ms frame is within 26 dB of the loudest."""
    step = RATE // 250
    frames = np.abs(samples[: len(samples) // step * step]).reshape(-1, step).max(axis=1)
    on = np.concatenate(([False], frames > frames.max() / 20, [False]))
    edges = np.flatnonzero(on[1:] != on[:-1])
    return [(int(a) * step, int(b) * step) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def pitch(samples: np.ndarray) -> float:
    """Hz of the strongest component."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 1 << 16))
    return float(np.argmax(spectrum) * RATE / (1 << 16))


def pattern(kind: ToneKind, seconds: float) -> list[int]:
    """Pitch of each pulse that begins in the first `seconds`, to 50 Hz."""
    samples = tone(kind, RATE).samples
    starts = [(a, b) for a, b in pulses(samples) if a < seconds * RATE]
    return [round(pitch(samples[a:b]) / 50) * 50 for a, b in starts]


def test_there_are_at_most_four():
    assert len(ToneKind) <= 4


def test_each_is_known_from_its_first_half_second():
    patterns = {kind: pattern(kind, 0.5) for kind in ToneKind}

    assert {
        ToneKind.HEARD: [1200],
        ToneKind.NOT_UNDERSTOOD: [600, 400],
        ToneKind.CAUTION: [800, 800],
        ToneKind.WARNING: [1000, 1000, 1000],
    } == patterns
    for one, other in combinations(patterns.values(), 2):
        assert one != other


def test_caution_is_three_pulses_and_warning_five_as_three_and_two():
    assert 3 == len(pattern(ToneKind.CAUTION, 9))
    found = pulses(tone(ToneKind.WARNING, RATE).samples)
    gaps = [later[0] - earlier[1] for earlier, later in pairwise(found)]
    assert 5 == len(found)
    assert 2 == int(np.argmax(gaps))


@pytest.mark.parametrize("kind", [ToneKind.CAUTION, ToneKind.WARNING])
def test_alerts_last_half_a_second(kind):
    assert 0.5 <= tone(kind, RATE).seconds < 1.0


def test_the_tone_for_heard_is_over_in_a_tenth_of_a_second():
    assert tone(ToneKind.HEARD, RATE).seconds <= 0.1


@pytest.mark.parametrize("kind", ToneKind)
@pytest.mark.parametrize("rate", [16_000, 24_000, 48_000])
def test_no_clipping_and_no_click(kind, rate):
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
        middle = samples[first + 400 : last - 400]
        return 10 * np.log10(np.mean(middle**2))

    assert level(ToneKind.WARNING) == pytest.approx(-14, abs=0.3)
    assert level(ToneKind.CAUTION) == pytest.approx(-17, abs=0.3)
