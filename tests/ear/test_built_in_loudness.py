"""How quiet it is after a word, with sound whose level is written out row by row."""

from __future__ import annotations

import numpy as np
import pytest

from callout.ear.built_in.lag import Lag
from callout.ear.built_in.loudness import ROW, Loudness, Quiet

LAG = Lag(ahead=4, late=2)
WORD_ENDS, NEWEST = 55, 63


def quiet_after(hum: float, word: float, after: float) -> Quiet:
    """Levels in dB of full scale: two seconds of hum, a word of five rows, what follows."""
    level = np.full(80, after)
    level[:51] = hum
    level[51 : WORD_ENDS + 1] = word
    sound = np.random.default_rng(6).normal(0, 1, 80 * ROW) * np.repeat(10 ** (level / 20), ROW)
    loudness = Loudness(LAG)
    loudness.hear(sound.astype(np.float32))
    # The rows of the model show a word `late` rows after it sounded.
    return loudness.after(51 + LAG.late, WORD_ENDS + LAG.late, NEWEST)


@pytest.mark.parametrize(
    ("hum", "word", "after", "expected"),
    [
        (-70, -20, -70, Quiet.SILENT),  # a still room
        (-70, -20, -34, Quiet.LOWER),  # the F of a "four" that follows
        (-70, -20, -45, Quiet.SILENT),  # breath
        (-30, -20, -30, Quiet.SILENT),  # a turbine, 10 dB under the word
        (-22, -20, -22, Quiet.NO),  # a turbine as loud as the word
        (-70, -20, -22, Quiet.NO),  # another word
    ],
)
def test_quiet_is_told_from_a_soft_next_word(
    hum: float, word: float, after: float, expected: Quiet
) -> None:
    """Silence is what is no more than the hum, or far below the word."""
    assert expected is quiet_after(hum, word, after)


def test_what_was_not_heard_yet_is_not_quiet() -> None:
    """No sound after the word is known: nothing is said about it."""
    loudness = Loudness(LAG)
    loudness.hear(np.full(40 * ROW, 0.1, np.float32))

    assert loudness.after(30, 40, 50) is Quiet.NO


@pytest.mark.parametrize(
    ("hum", "word", "beside", "expected"),
    [
        (-70, -20, -40, True),  # a soft word in a still room
        (-30, -20, -24, True),  # in a turbine's noise, louder than it
        (-30, -20, -29, False),  # no louder
        (-21, -19, -19, True),  # as loud as the answer, which hardly stands out itself
        (-21, -16, -19.5, False),
    ],
)
def test_what_is_no_louder_than_the_surroundings_is_nobodys(
    hum: float, word: float, beside: float, expected: bool
) -> None:
    """A sound of three rows long before a word of five, each shown `late` rows after it."""
    level = np.full(80, float(hum))
    level[41:44] = beside
    level[51:56] = word
    sound = np.random.default_rng(6).normal(0, 1, 80 * ROW) * np.repeat(10 ** (level / 20), ROW)
    loudness = Loudness(LAG)
    loudness.hear(sound.astype(np.float32))
    audible = loudness.audible(30, 34, (51 + LAG.late, 56 + LAG.late), 79)

    assert (34,) == audible.shape
    assert expected is bool(audible[42 + LAG.late - 30])
    assert audible[51 + LAG.late - 30 : 56 + LAG.late - 30].all()


def test_where_no_sound_is_known_anything_may_be_somebodys() -> None:
    assert Loudness(LAG).audible(0, 3, (1, 2), 5).all()
