"""Who speaks when: four priorities, one voice; what is cut comes again, what is stale does not.

CS-25 AMC on several aurals, as quoted: one at a time, the current one finishes first
unless the more urgent would be late, an interrupted one may repeat. MIL-STD-411F
5.3.6, as quoted: a voice warning always starts at its beginning.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from callout.audio_block import AudioBlock
from callout.engine.effects import Priority, Say, ToneKind
from callout.running.mouth import PAUSE, READING_SECONDS_PER_WORD, Mouth
from callout.voice.protocol import VoiceLost

W, C, P, R = Priority.WARNING, Priority.CAUTION, Priority.PROCEDURE, Priority.REMARK

RATE = 8000
SENTENCE, TONE = 1.0, 0.5


@dataclass
class Stage:
    """A voice whose sentences take a second and whose tones take half; and where it sounds."""

    sounds: list[tuple[str, float, float]] = field(default_factory=list)
    _next: str = ""

    def sentence(self, text: str) -> AudioBlock:
        self._next = text
        return AudioBlock(np.zeros(round(SENTENCE * RATE), np.float32), RATE)

    def tone(self, kind: ToneKind) -> AudioBlock:
        self._next = f"<{kind.value}>"
        return AudioBlock(np.zeros(round(TONE * RATE), np.float32), RATE)

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        assert at >= now
        assert not self.sounds or at >= self.sounds[-1][2], "two voices at a time"
        self.sounds.append((self._next, at, at + clip.seconds))

    def cut(self, at: float) -> None:
        kept = [(text, a, min(b, at)) for text, a, b in self.sounds if a < at]
        self.sounds = kept

    def close(self, at: float) -> None:
        """Nothing is open."""

    def whole(self) -> list[str]:
        """What was said to its end, in order, without tones."""
        full = [(t, b - a) for t, a, b in self.sounds if not t.startswith("<")]
        return [text for text, seconds in full if seconds > SENTENCE - 1e-6]


def stage() -> tuple[Stage, Mouth]:
    heard = Stage()
    return heard, Mouth(heard, heard, lambda why: None)


def play_out(mouth: Mouth, until: float = 60.0) -> list[int]:
    """Let everything be said; the numbers of what was said to its end."""
    done = []
    while (end := mouth.ends_at) is not None and end <= until:
        number = mouth.over(end)
        assert number is not None
        done.append(number)
    return done


def test_what_waits_is_said_in_the_order_of_its_urgency():
    heard, mouth = stage()
    mouth.say(Say(1, "one", P), 0.0)
    for number, level in ((2, R), (3, P), (4, C), (5, R), (6, P), (7, C)):
        mouth.say(Say(number, str(number), level), 0.1)

    assert [1, 4, 7, 3, 6, 2, 5] == play_out(mouth)
    assert ["one", "4", "7", "3", "6", "2", "5"] == heard.whole()


CUTS = {(W, C), (W, P), (W, R), (C, R)}


@pytest.mark.parametrize("new", [W, C, P, R])
@pytest.mark.parametrize("old", [W, C, P, R])
def test_a_warning_cuts_what_is_less_and_a_caution_cuts_a_remark(new: Priority, old: Priority):
    heard, mouth = stage()
    mouth.say(Say(1, "old", old), 0.0)
    mouth.say(Say(2, "new", new), 0.4)
    order = play_out(mouth)

    cut = (new, old) in CUTS
    assert cut is (0.4 == heard.sounds[0][2])
    assert ([2, 1] if cut else [1, 2]) == order
    assert (["new", "old"] if cut else ["old", "new"]) == heard.whole()


def test_a_warning_that_is_patient_waits_for_the_end_and_comes_before_the_rest():
    _, mouth = stage()
    mouth.say(Say(1, "call", P), 0.0)
    mouth.say(Say(2, "next call", P), 0.0)
    mouth.say(Say(3, "again", W, patient=True), 0.4)

    assert [1, 3, 2] == play_out(mouth)


def test_what_was_cut_twice_is_said_once_more_and_whole():
    heard, mouth = stage()
    mouth.say(Say(1, "call", P), 0.0)
    mouth.say(Say(2, "hot", W), 0.4)
    mouth.over(1.4)
    mouth.say(Say(3, "low", W), 1.8)

    assert [3, 1] == play_out(mouth)
    assert ["hot", "low", "call"] == heard.whole()


def test_a_caution_is_not_lost_when_an_answer_stops_the_call_before_it():
    heard, mouth = stage()
    mouth.say(Say(1, "call", P), 0.0)
    mouth.say(Say(2, "caution", C), 0.2)
    mouth.say(Say(3, "remark", R), 0.2)
    mouth.stop(0.3)
    mouth.say(Say(4, "next call", P), 0.3)

    assert [2, 4] == play_out(mouth)
    assert ("call", 0.0, 0.3) == heard.sounds[0]


@pytest.mark.parametrize("level", [W, C])
def test_an_answer_does_not_cut_an_alert_that_is_being_said(level: Priority):
    heard, mouth = stage()
    mouth.say(Say(1, "alert", level), 0.0)
    mouth.stop(0.3)

    assert [1] == play_out(mouth)
    assert ["alert"] == heard.whole()


def test_a_call_that_was_cut_is_dropped_when_its_item_is_answered_meanwhile():
    heard, mouth = stage()
    mouth.say(Say(1, "old call", P, about="prompt"), 0.0)
    mouth.say(Say(2, "hot", W), 0.4)
    mouth.stop(0.9)
    mouth.say(Say(3, "new call", P, about="prompt"), 0.9)

    assert [2, 3] == play_out(mouth)
    assert ["hot", "new call"] == heard.whole()


def test_of_two_about_the_same_the_newer_is_said():
    _, mouth = stage()
    mouth.say(Say(1, "hot", W), 0.0)
    mouth.say(Say(2, "old call", P, about="prompt"), 0.1)
    mouth.say(Say(3, "other", P), 0.2)
    mouth.say(Say(4, "new call", P, about="prompt"), 0.3)

    assert [1, 3, 4] == play_out(mouth)


def test_a_call_that_is_cut_when_a_newer_one_waits_is_stale():
    _, mouth = stage()
    mouth.say(Say(1, "old call", P, about="prompt"), 0.0)
    mouth.say(Say(2, "new call", P, about="prompt"), 0.1)
    mouth.say(Say(3, "hot", W), 0.4)

    assert [3, 2] == play_out(mouth)


def test_two_alerts_about_nothing_in_particular_are_both_said():
    _, mouth = stage()
    mouth.say(Say(1, "hot", W), 0.0)
    mouth.say(Say(2, "one", C), 0.1)
    mouth.say(Say(3, "two", C), 0.1)

    assert [1, 2, 3] == play_out(mouth)


@pytest.mark.parametrize(("fresh", "said"), [(2.0, [1, 2]), (0.9, [1]), (None, [1, 2])])
def test_a_remark_that_would_come_too_late_is_dropped(fresh: float | None, said: list[int]):
    _, mouth = stage()
    mouth.say(Say(1, "hot", W), 0.0)
    mouth.say(Say(2, "not understood", R, fresh=fresh), 0.1)

    assert said == play_out(mouth)


def test_a_remark_that_was_cut_counts_its_age_from_when_it_was_made():
    _, mouth = stage()
    mouth.say(Say(1, "remark", R, fresh=1.5), 0.0)
    mouth.say(Say(2, "hot", W), 0.8)

    assert [2] == play_out(mouth)


def test_what_comes_after_a_stale_one_is_said_at_once():
    heard, mouth = stage()
    mouth.say(Say(1, "hot", W), 0.0)
    mouth.say(Say(2, "stale", P, fresh=0.1), 0.1)
    mouth.say(Say(3, "call", P), 0.1)
    play_out(mouth)

    assert ("call", SENTENCE + PAUSE, 2 * SENTENCE + PAUSE) == heard.sounds[-1]


def test_the_tone_of_an_alert_sounds_right_before_its_words_whenever_these_are_said():
    """Two senses for an alert: a tone that was swallowed by a call would leave only words."""
    heard, mouth = stage()
    mouth.say(Say(1, "call", P), 0.0)
    mouth.say(Say(2, "caution", C, tone=ToneKind.CAUTION), 0.2)
    mouth.say(Say(3, "warning", W, tone=ToneKind.WARNING), 0.4)
    play_out(mouth)

    expected = ["call", "<warning>", "warning", "<caution>", "caution", "call"]
    assert expected == [text for text, _, _ in heard.sounds]
    assert [0.4, 0.9] == [at for text, at, _ in heard.sounds if "warning" in text]


def test_an_alert_that_is_cut_within_its_tone_begins_with_its_tone_again():
    heard, mouth = stage()
    mouth.say(Say(1, "caution", C, tone=ToneKind.CAUTION), 0.0)
    mouth.say(Say(2, "warning", W, tone=ToneKind.WARNING), 0.3)
    play_out(mouth)

    expected = ["<caution>", "<warning>", "warning", "<caution>", "caution"]
    assert expected == [text for text, _, _ in heard.sounds]


@pytest.mark.parametrize(("waiting_only", "rest"), [(False, [3]), (True, [1, 3])])
def test_one_subject_is_dropped_and_nothing_else(waiting_only: bool, rest: list[int]):
    _, mouth = stage()
    mouth.say(Say(1, "hot", W, about="heat"), 0.0)
    mouth.say(Say(2, "still hot", C, about="heat"), 0.1)
    mouth.say(Say(3, "call", P, about="prompt"), 0.1)
    mouth.stop(0.5, "heat", waiting_only=waiting_only)

    assert rest == play_out(mouth)


class Mute(Stage):
    """Tones alone are left."""

    def sentence(self, text: str) -> AudioBlock:
        raise VoiceLost("The voice is gone.")


def test_without_a_voice_an_alert_sounds_its_tone_and_takes_the_time_of_reading():
    heard = Mute()
    mouth = Mouth(heard, heard, lambda why: None)
    mouth.say(Say(1, "one two three four", W, tone=ToneKind.WARNING), 0.0)

    assert [("<warning>", 0.0, TONE)] == heard.sounds
    assert mouth.ends_at == pytest.approx(TONE + 4 * READING_SECONDS_PER_WORD)


def test_without_any_sound_an_alert_takes_the_time_of_reading():
    mouth = Mouth(None, Stage(), lambda why: None)
    mouth.say(Say(1, "one two three four", W, tone=ToneKind.WARNING), 0.0)

    assert mouth.ends_at == pytest.approx(4 * READING_SECONDS_PER_WORD)
    assert [1] == play_out(mouth)
