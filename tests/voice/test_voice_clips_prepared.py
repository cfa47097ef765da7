"""Clips prepared while there is time: in the order of need, by a voice that is waited for."""

import threading
import time

import numpy as np
import pytest
from voice_clips_rig import SENTENCES, GoneVoice

from callout.audio_block import AudioBlock
from callout.voice.clips import Clips
from callout.voice.espeak_voice import EspeakVoice
from callout.voice.protocol import VoiceLost


class GatedVoice:
    """Notes what it is asked for and says a beep when it is let."""

    name = identity = "gated"

    def __init__(self) -> None:
        self.asked = []
        self.gate = threading.Semaphore(0)
        self.busy = threading.Event()

    def synthesise(self, sentence: str) -> AudioBlock:
        self.asked.append(sentence)
        self.busy.set()
        assert self.gate.acquire(timeout=60)
        beep = 0.1 * np.sin(np.arange(4000) / 4)
        return AudioBlock(beep.astype(np.float32), 16_000)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "clips"


def test_a_prepared_clip_is_returned_without_the_voice(folder):
    clips = Clips(EspeakVoice(), folder)
    clips.prepare(SENTENCES)
    assert clips.wait(60)
    clips.close()
    for sentence in SENTENCES:
        clips.get(sentence)

    assert (4, 0) == (clips.made, clips.found)


def test_sentences_are_prepared_in_order_and_a_sentence_needed_now_goes_first(folder):
    voice = GatedVoice()
    clips = Clips(voice, folder)
    clips.prepare(["one", "two", "three", "two"])
    assert voice.busy.wait(60)
    asking = threading.Thread(target=clips.get, args=("now",))
    asking.start()
    until = time.monotonic() + 60
    while not clips._urgent and time.monotonic() < until:
        time.sleep(0.001)
    for _ in range(4):
        voice.gate.release()
    asking.join(60)

    assert clips.wait(60)
    clips.close()
    assert ["one", "now", "two", "three"] == voice.asked


def test_a_voice_of_which_nothing_had_to_be_asked_is_awake_all_the_same(folder):
    """Its model loads while there is time, not when a value has to be read back."""
    first, voice = GatedVoice(), GatedVoice()
    first.gate.release(3)
    Clips(first, folder).get("one")
    clips = Clips(voice, folder)
    clips.prepare(["one"])

    assert voice.busy.wait(60)
    voice.gate.release()
    clips.close()
    assert ["Ready."] == voice.asked
    assert 1 == clips.found


def test_a_voice_may_take_longer_to_wake_than_to_speak(folder):
    """The bundled one has its tables written on a new machine; once it spoke it is held to time."""
    voice, came = GatedVoice(), []
    clips = Clips(voice, folder, longest=0.1, waking=60)
    asking = threading.Thread(target=lambda: came.append(clips.get("one")))
    asking.start()
    assert voice.busy.wait(60)
    asking.join(0.5)
    assert not came
    voice.gate.release()
    asking.join(60)

    assert 1 == len(came)
    with pytest.raises(VoiceLost, match=r"no sentence came for 0\.1 seconds"):
        clips.get("two")
    voice.gate.release()


def test_a_new_order_of_need_replaces_the_old_one(folder):
    voice = GatedVoice()
    clips = Clips(voice, folder)
    clips.prepare(["one", "two", "three"])
    assert voice.busy.wait(60)
    clips.prepare(["four", "one"])
    for _ in range(2):
        voice.gate.release()

    assert clips.wait(60)
    clips.close()
    assert ["one", "four"] == voice.asked


def test_preparing_gives_up_on_a_lost_voice_and_tells_why(folder):
    clips = Clips(GoneVoice("gone"), folder)
    clips.prepare([f"sentence {n}" for n in range(100)])

    assert clips.wait(60)
    clips.close()
    assert 'No voice for "sentence 2"' == clips.failure


def test_memory_is_bounded_and_what_is_needed_first_stays(folder):
    """Preparing a long day does not push out its beginning; the rest waits on disk."""
    clips = Clips(EspeakVoice(), folder, memory_seconds=3.0)
    day = [f"Item number {n}." for n in range(20)]
    clips.prepare(day)
    assert clips.wait(60)
    clips.close()

    assert clips._seconds <= 3.0
    clips.get(day[0])
    assert (20, 0) == (clips.made, clips.found)
    clips.get(day[-1])
    assert (20, 1) == (clips.made, clips.found)
    assert clips._seconds <= 3.0
