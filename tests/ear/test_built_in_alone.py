""" "Not closed" is not "closed": an answer counts only when it is all that was said.

The voice is hibari's, whose samples are the same every time; the first tests write the model's
rows themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soxr
from test_built_in_ear import hear, quiet, say

from callout.benches.false_accepts import ticks
from callout.benches.hearing import Meter, listen
from callout.checklist.load import load
from callout.ear.built_in.alone import alone
from callout.ear.built_in.machine import BLANK, COLUMN, NOISE
from callout.ear.built_in.pronunciations import pronunciations
from callout.ear.choose import make_ear
from callout.ear.protocol import Ear
from callout.engine.events import Heard
from callout.running.asked import Asked, Kind, asked
from callout.running.recording_sets import RATE, Clip, mixed, pad
from callout.voice.hibari_voice import HibariVoice
from callout.words.phrases import EXPECTED, Grammar, Phrase
from callout.words.understand import understand

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
ANSWER = Grammar(1, (Phrase("closed", "a", 0.2, EXPECTED, alone=True), Phrase("abort", "b", 0.0)))
BESIDE = ("not {}", "is not {}", "un{}", "will be {}", "{} yet no", "{} in a moment")


@pytest.mark.parametrize("frame", BESIDE)
def test_a_word_beside_an_answer_makes_it_none(frame: str) -> None:
    """However little certainty is asked for."""
    rows = quiet(0.4) + say(frame.format("closed")) + quiet(1.0)

    assert not [event for _, event in hear(rows, ANSWER) if isinstance(event, Heard)]


@pytest.mark.parametrize(
    ("loud", "expected"),
    [
        ((), True),  # a turbine: the model shows sounds, and they are no louder than it
        ((0,), False),  # one of them is somebody's
        ((0, 2), False),
        ((6,), True),  # of the answer itself
    ],
)
def test_sounds_beside_an_answer_are_a_word_if_one_is_loud_enough(
    loud: tuple[int, ...], expected: bool
) -> None:
    """ "No closed": N and OW are beside the answer, which begins at row 4."""
    rows = np.array(say("no closed"), np.float32)
    phones = [COLUMN[phone] for phone in pronunciations("closed")[0]]
    columns = np.array([NOISE] * 4 + [c for phone in phones for c in (phone, BLANK)], np.int32)
    audible = np.isin(np.arange(len(rows)), loud)

    assert expected is alone(rows, columns, 4, audible)


@pytest.mark.parametrize(
    ("between", "loud", "expected"), [(3, 1, True), (4, 1, False), (4, 0, True)]
)
def test_a_loud_sound_well_before_an_answer_is_another_word(
    between: int, loud: int, expected: bool
) -> None:
    """One row of sound is none in itself; so long before the answer it begins something."""
    rows = np.array([*say("oh")[:1], *quiet(between * 0.04), *say("closed")], np.float32)
    begins = 1 + between
    columns = np.where(np.arange(len(rows)) < begins, NOISE, rows.argmax(axis=1)).astype(np.int32)

    assert expected is alone(rows, columns, begins, np.full(len(rows), bool(loud)))


def test_the_answer_by_itself_counts() -> None:
    [(_, event)] = hear(quiet(0.4) + say("closed") + quiet(1.0), ANSWER)

    assert "closed" == event.text


def test_a_command_may_have_words_around_it() -> None:
    """Who shouts more than "abort" is not asked to say it again."""
    rows = quiet(0.4) + say("go abort") + quiet(1.0)

    assert ["abort"] == [e.text for _, e in hear(rows, ANSWER) if isinstance(e, Heard)]


@cache
def said(text: str) -> Clip:
    block = HibariVoice().synthesise(text)
    return pad(Clip(text, "hibari", soxr.resample(block.samples, block.rate, RATE), 7), 0.5, 1.2)


@pytest.fixture(scope="module")
def ear() -> Iterator[Ear]:
    made = make_ear("built-in")
    yield made
    made.close()


def item(answer: str) -> Asked:
    """The first killer item of the example that this answers."""
    return next(one for one in asked(load(REEDLARK), Kind.KILLER) if ticks(one, answer))


def ticked(ear: Ear, one: Asked, text: str, at: float) -> list[str]:
    ear.listen_for(one.grammar)
    events = [event for _, event in listen(ear, mixed(said(text), [], None), at, Meter())]
    return [e.text for e in events if isinstance(e, Heard) and ticks(one, e.text)]


@pytest.mark.parametrize("answer", ["closed", "removed", "all clear"])
def test_a_killer_item_is_ticked_by_its_answer_and_by_no_longer_words_that_end_in_it(
    ear: Ear, answer: str
) -> None:
    """Spoken: its own answer ticks it; what means the opposite, or something else, never does."""
    one = item(answer)
    others = [f"{word} {answer}" for word in ("not", "is not", "not yet", "partly", "should be")]

    assert [answer] == ticked(ear, one, answer, 0.0)
    for place, text in enumerate(others, start=1):
        assert understand(one.grammar, text) is None
        assert [] == ticked(ear, one, text, 100.0 * place), text
