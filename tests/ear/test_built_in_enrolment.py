"""A speaker's profile: what it learns, what it leaves alone, and a headset that changed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.signal import butter, lfilter

from callout.ear.built_in.adapter import learn
from callout.ear.built_in.headset import CHANGED, Listening
from callout.ear.built_in.judging import MEASURES, Confidence
from callout.ear.built_in.machine import BLANK, COLUMN
from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.ear.enrolment import Said, enrol, read, save

CONFIDENCE = Confidence(
    tuple({"constant": 3.0, "match": -3.0, "margin": 0.5}.get(name, 0.0) for name in MEASURES)
)
TEXTS = (
    "three", "thirty", "free", "thumb", "third", "trim", "check", "closed", "battery on",
    "fuel off", "thick", "throttle", "thread", "ten", "fin", "tin", "thin", "thaw", "four", "tour",
)  # fmt: skip


def rows_of(text: str, heard_for: dict[str, str], seed: int) -> np.ndarray:
    """Rows as a model gives them for a speaker whose phones sound like others."""
    random = np.random.default_rng(seed)
    phones = [phone for word in text.split() for phone in pronunciations(word)[0]]
    rows = [column(None, random)] * 4
    for phone in phones:
        rows += [column((phone, heard_for.get(phone)), random), column(None, random)]
    return np.array(rows + [column(None, random)] * 6, np.float32)


def column(phone: tuple[str, str | None] | None, random: np.random.Generator) -> np.ndarray:
    """Log-probabilities of one row, a little noisy."""
    chance = np.full(len(PHONES) + 1, 0.002)
    if phone is None:
        chance[BLANK] = 1.0
    elif phone[1] is None:
        chance[COLUMN[phone[0]]] = 1.0
    else:  # the speaker's sound falls on another phone, and a little on its own
        chance[COLUMN[phone[1]]], chance[COLUMN[phone[0]]] = 0.8, 0.2
    chance *= random.uniform(0.7, 1.3, len(chance))
    return np.log(chance / chance.sum())


def reading(heard_for: dict[str, str]) -> list[Said]:
    """Three rounds through the texts."""
    return [
        Said(text, rows_of(text, heard_for, place))
        for place, text in enumerate(text for _ in range(3) for text in TEXTS)
    ]


SILENCE = np.zeros(16_000, np.float32)


def test_a_speaker_whose_th_is_a_t_is_understood_better_after_enrolment() -> None:
    """ "thin" that sounded like "tin" is told from it once his TH is known."""
    profile = enrol("lisp", reading({"TH": "T"}), SILENCE, CONFIDENCE, 0.5)

    assert profile.adapter is not None
    assert profile.after.right > profile.before.right
    assert profile.after.sure >= profile.before.sure


def test_a_speaker_who_is_understood_is_left_alone() -> None:
    """Where nothing is wrong nothing is corrected."""
    profile = enrol("clear", reading({}), SILENCE, CONFIDENCE, 0.5)

    assert profile.before.right == profile.before.n
    assert profile.after.right == profile.after.n


def test_a_tight_ridge_changes_nearly_nothing() -> None:
    """The penalty holds the correction near doing nothing."""
    examples = [(one.rows, one.text) for one in reading({"TH": "T"})]
    rows = examples[0][0]

    tight, loose = learn(examples, 1e6)(rows), learn(examples, 3.0)(rows)

    assert float(np.abs(np.exp(tight) - np.exp(rows)).max()) < 0.02
    assert float(np.abs(np.exp(loose) - np.exp(rows)).max()) > 0.05
    assert np.exp(loose).sum(axis=1) == pytest.approx(np.ones(len(rows)), abs=1e-4)


def test_a_profile_comes_back_from_disk_as_it_was(tmp_path: Path) -> None:
    """What is written is what is read, to the rounding of the file."""
    profile = enrol("lisp", reading({"TH": "T"}), SILENCE, CONFIDENCE, 0.5)
    save(profile, tmp_path / "profiles" / "lisp.json")
    back = read(tmp_path / "profiles" / "lisp.json")

    assert (profile.name, profile.before, profile.after) == (back.name, back.before, back.after)
    assert profile.offset == pytest.approx(back.offset, abs=1e-4)
    rows = reading({})[0].rows
    assert profile.adapter is not None
    assert back.adapter is not None
    assert profile.adapter(rows) == pytest.approx(back.adapter(rows), abs=2e-2)


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"callout_profile": 9}', "\x00"])
def test_a_broken_profile_is_told_in_a_sentence(tmp_path: Path, text: str) -> None:
    """A damaged file is named; it is never half used."""
    path = tmp_path / "p.json"
    path.write_text(text)

    with pytest.raises(ValueError, match=r"The profile .* cannot be used"):
        read(path)


def test_too_little_is_told() -> None:
    """Three words are no enrolment."""
    with pytest.raises(ValueError, match="at least 8"):
        enrol("short", reading({})[:3], SILENCE, CONFIDENCE, 0.5)


def talk(seed: int, seconds: float = 20.0) -> np.ndarray:
    """Bursts of coloured sound with pauses: the level and spectrum of speech, no words."""
    random = np.random.default_rng(seed)
    count = round(seconds * 16_000)
    sound = lfilter([1.0], [1.0, -0.9], random.normal(0, 0.05, count))
    bursts = (np.sin(2 * np.pi * 1.3 * np.arange(count) / 16_000 + seed) > 0).astype(float)
    return (sound * bursts + random.normal(0, 5e-4, count)).astype(np.float32)


def colour(sound: np.ndarray):
    listening = Listening()
    for begin in range(0, len(sound), 5000):
        listening.hear(sound[begin : begin + 5000])
    return listening.colour()


def test_the_same_headset_is_known_again_in_other_talk() -> None:
    """Other words through the same microphone are no other headset."""
    apart = colour(talk(1)).apart(colour(talk(2)))

    assert apart < CHANGED / 2


def test_another_headset_is_noticed() -> None:
    """A telephone band (300 to 3400 Hz, ITU-T G.712 from memory) sounds like another headset."""
    band = butter(4, [300, 3400], "bandpass", fs=16_000)
    other = lfilter(*band, talk(2)).astype(np.float32)
    hiss = np.random.default_rng(0).normal(0, 5e-4, len(other)).astype(np.float32)

    assert colour(talk(1)).apart(colour(other + hiss)) > CHANGED


def test_an_engine_that_runs_is_no_other_headset() -> None:
    """A steady hum under the talk hides bands; it does not change the rest."""
    time = np.arange(20 * 16_000) / 16_000
    hum = sum(0.02 * np.sin(2 * np.pi * 90 * n * time) for n in range(1, 6)).astype(np.float32)

    assert colour(talk(1)).apart(colour(talk(2) + hum)) < CHANGED


def test_before_enough_was_heard_nothing_is_said() -> None:
    """Two seconds are not enough to judge a headset by."""
    assert colour(talk(1, 2.0)) is None
