"""The first call of an abort, with the bundled voice: its first item is out within a second."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.engine import wording
from callout.engine.effects import Priority, Say, ToneKind
from callout.running.mouth import Mouth
from callout.voice.hibari_voice import HibariVoice
from callout.voice.tones import tone

EXAMPLE = load(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
RATE = 24_000
WARNING = Say(1, "Warning. Exhaust temperature eight one zero degrees.", Priority.WARNING, "heat")


class Voiced:
    """The bundled voice, without the cache of clips."""

    def __init__(self) -> None:
        self.voice = HibariVoice()

    def sentence(self, text: str) -> AudioBlock:
        return self.voice.synthesise(text)

    def tone(self, kind: ToneKind) -> AudioBlock:
        return tone(kind, RATE)


@dataclass
class Heard:
    """What sounds when, on the session's time."""

    begun: list[float] = field(default_factory=list)
    cuts: list[float] = field(default_factory=list)

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        self.begun.append(at)

    def cut(self, at: float) -> None:
        self.cuts.append(at)

    def close(self, at: float) -> None:
        self.cuts.append(at)


@pytest.fixture(scope="module")
def voice() -> Voiced:
    return Voiced()


def mouth(voice: Voiced, heard: Heard) -> Mouth:
    return Mouth(voice, heard, on_lost=pytest.fail)


def abort(number: int = 2) -> Say:
    first = next(EXAMPLE.list("hot-start").items())
    text = wording.abort_prompt("hot start", wording.prompt(EXAMPLE, first))
    return Say(number, text, Priority.ABORT, "prompt")


def sounding(clip: AudioBlock) -> tuple[float, float]:
    """When the clip is first and last louder than a fiftieth of its loudest (s)."""
    loud = np.flatnonzero(np.abs(clip.samples) > 0.02 * np.abs(clip.samples).max())
    return loud[0] / clip.rate, loud[-1] / clip.rate


def test_an_abort_cuts_a_warning_that_is_being_said_and_the_warning_is_said_after_it(voice):
    heard = Heard()
    one = mouth(voice, heard)
    one.say(WARNING, 10.0)
    one.say(abort(), 11.0)

    assert [10.0, 11.0] == heard.begun
    assert [11.0] == heard.cuts
    end = one.ends_at
    assert end is not None
    assert 2 == one.over(end)
    assert pytest.approx(end, abs=0.2) == heard.begun[-1]


def test_an_abort_goes_before_a_warning_that_waits(voice):
    heard = Heard()
    one = mouth(voice, heard)
    one.say(Say(1, "Fuel lever?", Priority.ABORT), 10.0)
    one.say(WARNING, 10.1)
    one.say(abort(3), 10.2)

    assert [1, 3, 1] == [one.over(one.ends_at or 0.0) for _ in range(3)]


def test_the_answer_to_the_first_item_cuts_its_call_and_drops_no_warning(voice):
    heard = Heard()
    one = mouth(voice, heard)
    one.say(WARNING, 10.0)
    one.say(abort(), 11.0)
    one.stop(11.5)

    assert [11.0, 11.5] == heard.cuts
    assert 11.5 == heard.begun[-1]
    assert 1 == one.over(one.ends_at or 0.0)


@pytest.mark.parametrize("fault", EXAMPLE.start_watch.faults, ids=lambda fault: fault.id)
def test_the_item_is_spoken_within_a_second_of_the_beginning(voice, fault):
    """Where the item begins: what sounds before it, by the voice, is the word abort."""
    prompt = wording.prompt(EXAMPLE, next(EXAMPLE.list(fault.abort).items()))
    text = wording.abort_prompt(fault.call, prompt)
    item = prompt.rstrip("?").lower()
    assert text.startswith(f"Abort, {item}. ")
    before = voice.sentence("Abort,").seconds
    whole = voice.sentence(f"Abort, {item}.").seconds - voice.sentence(f"{item}.").seconds
    silence = sounding(voice.sentence("Abort,"))[0]

    assert whole - silence < min(1.0, before)


def test_both_calls_of_every_fault_are_prepared_beforehand():
    known = set(wording.calls(EXAMPLE))

    for fault in EXAMPLE.start_watch.faults:
        prompt = wording.prompt(EXAMPLE, next(EXAMPLE.list(fault.abort).items()))
        assert wording.abort_prompt(fault.call, prompt) in known
        assert wording.abort_call(fault.call) in known
