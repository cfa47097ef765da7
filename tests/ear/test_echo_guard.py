"""An ear guarded against callout's own voice: what it passes on, and what it refuses.

The calls are callout's own voice, the pilot is eSpeak NG, the ear is the
built-in one; the loop is the one of `callout bench own-voice`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from spoken_words import spoken

from callout.audio_block import AudioBlock
from callout.benches.echo import Call, Echoed, calls, echoed
from callout.benches.echo_room import Loop
from callout.checklist.load import load
from callout.checklist.model import Aircraft
from callout.ear.built_in.ear import BuiltInEar, open_built_in
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.echo_words import sounds_like_part
from callout.engine.events import Heard, NotUnderstood
from callout.running.playback import Playback
from callout.running.recording_sets import RATE, Clip
from callout.voice.clips import CLIP_RATE
from callout.voice.hibari_voice import HibariVoice
from callout.voice.shape import shaped
from callout.words.phrases import Grammar

WRENLET = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed, wrong_answers: [open], killer: yes}
      - {call: battery master, answer: disconnected}
      - {call: tail rotor, answer: free to turn}
      - {call: fully closed, answer: fully closed}
      - {call: main rotor tie, answer: removed, killer: yes}
      - {call: fuel cap, answer: locked, killer: yes}
      - {call: cowling, answer: latched}
      - {call: pitch links, answer: secure}
"""
"""The fourth call is its own answer."""


class Listed:
    """An ear that keeps what it is given and understands what it is told to."""

    name, rate = "listed", RATE

    def __init__(self, events: Sequence[Heard | NotUnderstood] = ()) -> None:
        self.blocks: list[AudioBlock] = []
        self.events = list(events)

    def listen_for(self, grammar: Grammar) -> None:
        """It does not matter."""

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        assert isinstance(sound, AudioBlock)
        self.blocks.append(sound)
        due = [event for event in self.events if event.ended <= sound.ends_at]
        self.events = [event for event in self.events if event.ended > sound.ends_at]
        return due

    def close(self) -> None:
        """Nothing is held."""


def blocks(sound: np.ndarray, at: float = 0.0, size: int = 320) -> list[AudioBlock]:
    return [
        AudioBlock(sound[begin : begin + size], RATE, at + begin / RATE)
        for begin in range(0, len(sound), size)
    ]


def hiss(seconds: float, level: float = 0.0005) -> np.ndarray:
    return np.random.default_rng(5).normal(0, level, round(seconds * RATE)).astype(np.float32)


def test_while_callout_is_silent_every_block_goes_straight_through() -> None:
    ear = Listed()
    guard = OwnVoiceGuard(ear, Playback())
    given = blocks(hiss(1), at=7.0)
    for block in given:
        guard.hear(block)
    assert given == ear.blocks, "the same blocks, not copies, and none held back"


@pytest.mark.parametrize("size", [160, 320, 441])
def test_no_sample_is_lost_or_given_twice_when_callout_speaks(size: int) -> None:
    """Blocks of any size; the ear gets one stream without a gap, in which time goes on evenly."""
    ear, playback = Listed(), Playback()
    playback.lay(AudioBlock(hiss(0.7, 0.1), RATE), 1.0)
    guard = OwnVoiceGuard(ear, playback)
    sound = hiss(4)
    for block in blocks(sound, size=size):
        guard.hear(block)
    assert len(sound) == sum(len(block.samples) for block in ear.blocks)
    ends = 0.0
    for block in ear.blocks:
        assert pytest.approx(ends, abs=1e-4) == block.captured_at
        ends = block.ends_at


def test_a_gap_in_the_sound_is_passed_on_as_one() -> None:
    ear, playback = Listed(), Playback()
    playback.lay(AudioBlock(hiss(3, 0.1), RATE), 0.5)
    guard = OwnVoiceGuard(ear, playback)
    for block in (*blocks(hiss(1)), *blocks(hiss(1), at=5.0)):
        guard.hear(block)
    starts = [block.captured_at for block in ear.blocks]
    assert starts == sorted(starts)
    assert 1.0 == pytest.approx(max(b.ends_at for b in ear.blocks if b.captured_at < 4), abs=0.01)
    assert 5.0 == pytest.approx(min(start for start in starts if start > 4), abs=0.01)


def test_what_is_understood_while_nobody_is_near_is_refused() -> None:
    """Whatever the ear makes of the rest; and what is said before and after is believed."""
    playback = Playback()
    voice = hiss(1.0, 0.1)
    playback.lay(AudioBlock(voice, RATE), 2.0)
    playback.saying("Fuel lever?", 2.0, 3.0)
    said = [Heard("closed", 1.0, 1, at, at + 0.4) for at in (1.2, 2.3, 4.8)]
    guard = OwnVoiceGuard(Listed([*said, NotUnderstood("not sure", "", 0, 1, 2.4, 2.8)]), playback)
    caught = hiss(6)
    caught[2 * RATE : 3 * RATE] += voice * 0.5
    events = [event for block in blocks(caught) for event in guard.hear(block)]
    assert [said[0], said[2]] == events


@pytest.mark.parametrize(
    ("heard", "said", "part"),
    [
        ("closed", "Fuel lever, closed?", True),
        ("own battery", "Electrical power: own battery, or ground power?", True),
        ("clothes", "Fuel lever, closed?", True),
        ("close", "Fuel lever, closed?", True),
        ("opened", "Fuel lever, open?", True),
        ("abort", "Say resume, hold, or abort.", True),
        ("closed", "Fuel lever?", False),
        ("removed", "Main rotor tie?", False),
        ("free to turn", "Tail rotor blades?", False),
        ("abort", "Oil pressure?", False),
        ("", "Fuel lever?", False),
    ],
)
def test_words_sound_like_a_part_of_a_sentence(heard: str, said: str, part: bool) -> None:
    assert part is sounds_like_part(heard, said)


@pytest.fixture(scope="module")
def ear() -> BuiltInEar:
    return open_built_in()


@pytest.fixture(scope="module")
def voice() -> Callable[[str], AudioBlock]:
    made = HibariVoice()
    return lambda text: shaped(made.synthesise(text), CLIP_RATE)


@pytest.fixture(scope="module")
def wrenlet(tmp_path_factory: pytest.TempPathFactory) -> Aircraft:
    path: Path = tmp_path_factory.mktemp("wrenlet") / "wrenlet.yaml"
    path.write_text(WRENLET, encoding="utf-8")
    return load(path)


@pytest.fixture(scope="module")
def plain(wrenlet: Aircraft, voice: Callable[[str], AudioBlock]) -> list[Call]:
    return calls(wrenlet, voice, worst=False)


def heard(result: Echoed) -> list[tuple[str, str]]:
    return [*result.ticked, *result.other]


def test_an_unguarded_ear_takes_a_call_for_its_answer(ear: BuiltInEar, plain: list[Call]) -> None:
    """The negative control: without the guard this loop does what must not happen."""
    result = echoed(ear, plain, Loop(0.0, 0.05), guarded=False)
    assert [("Fully closed?", "fully closed")] == result.ticked


@pytest.mark.parametrize(
    ("loop", "afresh"),
    [
        (Loop(0.0, 0.05), False),
        (Loop(-10.0, 0.2), False),
        (Loop(6.0, 0.1), True),
    ],
)
def test_none_of_its_own_calls_is_heard(
    ear: BuiltInEar, plain: list[Call], loop: Loop, afresh: bool
) -> None:
    assert [] == heard(echoed(ear, plain, loop, afresh=afresh))


def test_nor_when_a_call_ends_in_its_own_answer(
    ear: BuiltInEar, wrenlet: Aircraft, voice: Callable[[str], AudioBlock]
) -> None:
    worst = calls(wrenlet, voice, worst=True)
    assert "Fuel lever, closed?" in [call.text for call in worst]
    assert [] == heard(echoed(ear, worst, Loop(0.0, 0.05)))


def test_a_pilot_who_speaks_over_a_call_is_heard(ear: BuiltInEar, plain: list[Call]) -> None:
    """His answers at the echo's own level; the ear half knows this voice without an echo."""
    pilot = [_spoken(text, place) for place, text in enumerate(ANSWERS)]
    alone = echoed(ear, plain, Loop(-80.0, 0.05), pilot)
    over = echoed(ear, plain, Loop(0.0, 0.05), pilot)
    assert alone.understood >= 4
    assert over.understood >= 3, heard(over)
    assert [] == over.ticked


def test_who_answers_the_first_call_of_all_is_heard_or_asked_again(
    ear: BuiltInEar, plain: list[Call]
) -> None:
    """Never silent, though nothing was known of the room when the call began."""
    pilot = [_spoken(text, place) for place, text in enumerate(ANSWERS)]
    result = echoed(ear, plain, Loop(0.0, 0.05), pilot, afresh=True, after=True)
    assert len(plain) == result.spoken
    assert 0 == result.passed_over, result
    assert [] == heard(result)


ANSWERS = ("closed", "disconnected", "removed", "free to turn")
"""Said over the calls, one after another (each is made to count at the call it meets)."""


def _spoken(text: str, place: int) -> Clip:
    return Clip(text, "espeak", spoken(text), place)


def test_a_loop_gives_the_same_result_every_time(ear: BuiltInEar, plain: list[Call]) -> None:
    loop = Loop(0.0, 0.1)
    assert echoed(ear, plain[:4], loop) == echoed(ear, plain[:4], loop)
