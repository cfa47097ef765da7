"""The soak bench counts what it says: a tick by the ear is false, one by the keys is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.benches.soak import hangar, soak
from callout.benches.soak_figures import Soak
from callout.checklist.load import load
from callout.engine.events import Heard
from callout.running.recording_sets import Clip
from callout.words.phrases import Grammar

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
NOISE = [Clip("", "", np.full(16_000, 0.01, np.float32), 0)]


class Hears:
    """An ear that takes noise for the item's answer once a minute, or never."""

    name, rate = "hears", 16_000

    def __init__(self, wrong: bool) -> None:
        self._wrong = wrong
        self._grammar = Grammar(0)
        self._next = 60.0

    def listen_for(self, grammar: Grammar) -> None:
        self._grammar = grammar

    def hear(self, sound: AudioBlock):
        at = sound.ends_at
        answers = [p for p in self._grammar.phrases if p.means.startswith("answer:")]
        if not (self._wrong and answers and at > self._next):
            return ()
        self._next = at + 60.0
        return (Heard(answers[0].text, 1.0, self._grammar.serial, at - 0.1, at, self.name),)

    def close(self) -> None:
        """Nothing to give back."""


def soaked(folder: Path, wrong: bool) -> Soak:
    return soak(Hears(wrong), load(EXAMPLE), [], NOISE, folder, hours=0.1, seed=3, every=30.0)


def test_a_deaf_ear_ticks_nothing_while_the_pilot_goes_on(tmp_path: Path):
    result = soaked(tmp_path, wrong=False)
    assert {} == result.ticks
    assert 0 == result.total("other")
    assert result.total("typed") > 10
    assert abs(result.seconds - 360.0) < 1.0
    assert result.most("drift") < 1e-6
    assert 12 <= len(result.memory)


def test_what_an_ear_takes_for_answers_is_counted_by_kind(tmp_path: Path):
    result = soaked(tmp_path, wrong=True)
    assert sum(len(ticks) for ticks in result.ticks.values()) > 0
    assert set(result.ticks) <= {"ordinary", "killer"}
    assert result.total("other") >= sum(len(ticks) for ticks in result.ticks.values())


def test_the_same_seed_gives_the_same_sound():
    one, other = (hangar([], NOISE, np.random.default_rng(5)) for _ in range(2))
    for _ in range(5):
        np.testing.assert_array_equal(next(one), next(other))


def test_each_hour_has_figures_of_its_own():
    result = Soak()
    result.hour.typed, result.hour.late = 2, 0.5
    result.seconds = 3600.5
    result.hour.typed, result.hour.late = 3, 0.25
    assert [2, 3] == [hour.typed for hour in result.hours]
    assert (5, 0.5) == (result.total("typed"), result.most("late"))


def test_enough_ends_it_within_a_block(tmp_path: Path):
    looks = iter(range(10_000))
    told: list[float] = []
    ear = Hears(wrong=False)
    soak(
        ear, load(EXAMPLE), [], NOISE, tmp_path, hours=1.0, seed=3,
        told=lambda so_far: told.append(so_far.seconds), enough=lambda: next(looks) > 100,
    )  # fmt: skip
    assert 1 == len(told)
    assert told[0] < 60.0


def test_growth_is_from_the_first_third_to_the_last():
    grown = Soak(memory=[(float(at), 100.0 if at < 3 else 110.0) for at in range(9)])
    assert abs(grown.growth - 0.1) < 1e-9
