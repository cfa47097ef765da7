"""When the built-in ear decides: early where it may, late where it must, and by which grammar.

The model is replaced by rows that are written out, one for each 40 ms, so that
every length of silence is known exactly; the decoder and the ear are real.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from callout.audio_block import AudioBlock
from callout.ear.acoustic import STEP_SECONDS
from callout.ear.built_in.ear import BuiltInEar
from callout.ear.built_in.judging import MEASURES, Confidence
from callout.ear.built_in.lag import Lag
from callout.ear.built_in.machine import BLANK, COLUMN
from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar, NumberSlot, Phrase

ROW = round(STEP_SECONDS * 16_000)
"""Samples that one row stands for."""

LAG = Lag(ahead=6, late=4)
"""A model that tells rather late: 0.24 s of look-ahead, 0.16 s until a phone shows."""
AHEAD, LATE = LAG.ahead, LAG.late

LOOK = AHEAD * STEP_SECONDS
"""So much later than it sounded a row comes (s)."""

# Certain of a good match, doubtful of a bad one: enough to test when, not how sure.
CONFIDENCE = Confidence(
    tuple({"constant": 4.0, "match": -4.0, "stray": -0.5}.get(name, 0.0) for name in MEASURES)
)


class WrittenModel:
    """A model that hears what was written: its rows, AHEAD late, whatever the sound is."""

    def __init__(self, rows: np.ndarray) -> None:
        self._rows = rows

    def stream(self) -> WrittenModel:
        return self

    def reset(self) -> None:
        self._given = 0
        self._samples = 0

    def push(self, samples: np.ndarray) -> np.ndarray:
        self._samples += len(samples)
        begin, self._given = self._given, max(0, self._samples // ROW - AHEAD)
        return self._rows[begin : self._given]

    def finish(self) -> np.ndarray:
        return self._rows[self._given : self._given + AHEAD]


def row(column: int, chance: float = 0.95) -> np.ndarray:
    rest = (1 - chance) / len(PHONES)
    chances = np.full(len(PHONES) + 1, rest, np.float32)
    chances[column] = chance
    return np.log(chances)


def quiet(seconds: float) -> list[np.ndarray]:
    return [row(BLANK)] * round(seconds / STEP_SECONDS)


def say(text: str) -> list[np.ndarray]:
    """Each phone one row, a blank after each."""
    phones = [phone for word in text.split() for phone in pronunciations(word)[0]]
    return [one for phone in phones for one in (row(COLUMN[phone]), row(BLANK))]


def sound_of(rows: list[np.ndarray], hum: float = 1e-4) -> np.ndarray:
    """Sound that is loud where words are, which is LATE rows before their phones show."""
    spoken = [bool(one.argmax() != BLANK) for one in rows[LATE - 1 :]] + [False] * (LATE - 1)
    level = np.maximum(np.convolve(spoken, [1, 1, 1], "same") > 0, 0) * 0.1 + hum
    noise = np.random.default_rng(4).normal(0, 1, len(rows) * ROW)
    return (noise * np.repeat(level, ROW)[: len(noise)]).astype(np.float32)


def hear(
    rows: list[np.ndarray], *grammars: Grammar, at: int = 0, hum: float = 1e-4
) -> list[tuple[float, object]]:
    """Feed blocks of 20 ms: (seconds fed, event); a second grammar comes at row `at`."""
    ear = BuiltInEar(WrittenModel(np.array(rows)), CONFIDENCE, LAG)
    ear.listen_for(grammars[0])
    found = []
    sound = sound_of(rows, hum)
    for place in range(len(rows) * ROW // 320):
        if len(grammars) > 1 and place * 320 >= at * ROW > (place - 1) * 320:
            ear.listen_for(grammars[1])
        samples = sound[place * 320 : place * 320 + 320]
        block = AudioBlock(samples, 16_000, place * 0.02)
        found += [(block.ends_at, event) for event in ear.hear(block)]
    return found


ANSWERS = Grammar(
    3,
    (Phrase("checked", "a"), Phrase("battery on", "b"), Phrase("battery off", "c")),
    (NumberSlot("value", Decimal(0), Decimal(400)),),
)


def test_a_complete_answer_is_taken_after_a_breath() -> None:
    """No fixed pause is waited for when nothing can follow: under 180 ms of rows here."""
    rows = quiet(0.4) + say("battery on")
    [(at, event)] = hear(rows + quiet(1.0), ANSWERS)

    assert isinstance(event, Heard)
    assert event.text == "battery on"
    assert event.grammar == 3
    assert at - LOOK - len(rows) * STEP_SECONDS < 0.18


def test_where_it_is_not_quiet_after_a_word_more_is_waited() -> None:
    """With noise as loud as the word a complete answer takes a quarter of a second longer."""
    rows = quiet(0.4) + say("battery on")
    [(at, event)] = hear(rows + quiet(1.0), ANSWERS, hum=0.1)

    assert event.text == "battery on"
    assert 0.2 < at - LOOK - len(rows) * STEP_SECONDS < 0.45


def test_a_number_that_may_go_on_waits() -> None:
    """ "two five" is not taken before a real pause: "two five zero" may come.

    In noise it is 0.55 s of rows, in quiet 0.6 s of sound, 0.4 s of which were
    heard before the rows came.
    """
    rows = quiet(0.4) + say("two five")
    [(at, event)] = hear(rows + quiet(1.0), ANSWERS)
    [(later, noisy)] = hear(rows + quiet(1.0), ANSWERS, hum=0.1)

    assert event.text == noisy.text == "two five"
    assert at - LOOK - len(rows) * STEP_SECONDS > 0.15
    assert later - LOOK - len(rows) * STEP_SECONDS > 0.45


def test_a_pause_within_a_number_does_not_cut_it() -> None:
    """ "two five", a third of a second, "zero" is 250, in noise and in quiet."""
    rows = quiet(0.4) + say("two five") + quiet(0.32) + say("zero") + quiet(1.0)

    for hum in (1e-4, 0.1):
        assert [event.text for _, event in hear(rows, ANSWERS, hum=hum)] == ["two five zero"]


def test_times_of_the_words_are_those_of_the_sound() -> None:
    """Began and ended are session times, to a row, with the model's lateness taken off."""
    spoken = say("checked")
    rows = quiet(1.0) + spoken + quiet(1.0)
    [(_, event)] = hear(rows, ANSWERS)

    late = LATE * STEP_SECONDS
    assert event.began == pytest.approx(1.0 - late, abs=2 * STEP_SECONDS)
    ended = 1.0 + len(spoken) * STEP_SECONDS - late
    assert event.ended == pytest.approx(ended, abs=2 * STEP_SECONDS)


@pytest.mark.parametrize("text", ["banana", "checked the battery", "unchecked", "the battery"])
def test_what_is_not_in_the_grammar_is_refused(text: str) -> None:
    """Other words, and answers inside other talk, are never accepted."""
    [(_, event)] = hear(quiet(0.4) + say(text) + quiet(1.0), ANSWERS)

    assert isinstance(event, NotUnderstood)


def test_a_click_is_nothing() -> None:
    """One row of a sound is no utterance at all."""
    assert hear([*quiet(0.4), row(COLUMN["K"]), *quiet(1.0)], ANSWERS) == []


def test_a_word_spoken_while_the_grammar_changes_answers_the_old_one() -> None:
    """Its serial is that of the grammar which counted when the word began."""
    rows = quiet(0.4) + say("checked") + quiet(1.2) + say("checked") + quiet(1.0)
    newer = Grammar(4, ANSWERS.phrases)
    events = [event for _, event in hear(rows, ANSWERS, newer, at=13)]

    assert [event.grammar for event in events] == [3, 4]


def test_endless_talk_is_refused_once_and_then_heard_again() -> None:
    """Twelve seconds without a pause are one refusal; the next word is understood."""
    talk = say("banana") * 30
    rows = quiet(0.4) + talk + quiet(1.0) + say("checked") + quiet(1.0)
    events = [event for _, event in hear(rows, ANSWERS)]

    assert [type(event) for event in events] == [NotUnderstood, Heard]


def test_sound_after_a_gap_is_a_new_stream() -> None:
    """What was being said when the sound broke off is not joined to what comes later."""
    ear = BuiltInEar(
        WrittenModel(np.array(quiet(0.4) + say("battery") + quiet(3.0))), CONFIDENCE, LAG
    )
    ear.listen_for(ANSWERS)
    events = list(ear.hear(AudioBlock(np.zeros(ROW * 20, np.float32), 16_000, 0.0)))
    events += ear.hear(AudioBlock(np.zeros(ROW, np.float32), 16_000, 30.0))

    assert [type(event) for event in events] == [NotUnderstood]
    assert events[0].ended < 1.0


def test_blocks_of_any_size_give_the_same_events() -> None:
    """20 ms or half a second at a time: the same words at the same times."""
    rows = quiet(0.4) + say("checked") + quiet(1.0) + say("two five") + quiet(1.2)
    expected = [event for _, event in hear(rows, ANSWERS)]
    ear = BuiltInEar(WrittenModel(np.array(rows)), CONFIDENCE, LAG)
    ear.listen_for(ANSWERS)
    actual = []
    sound = sound_of(rows)
    for begin in range(0, len(sound), 8000):
        actual += ear.hear(AudioBlock(sound[begin : begin + 8000], 16_000, begin / 16_000))

    assert expected == actual


def test_typed_words_are_not_for_this_ear() -> None:
    """A line of text is nothing that could be heard."""
    ear = BuiltInEar(WrittenModel(np.array(quiet(1.0))), CONFIDENCE, LAG)

    assert list(ear.hear("checked")) == []
