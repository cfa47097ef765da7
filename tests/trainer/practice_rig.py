"""Drills run in recording time by trainees who type, or speak in clips that were made once.

Rule of this file: the real drill engine, conductor, loop and simulator; only the voice is
left out, so that sentences take the time of reading them.
"""

import json
from functools import lru_cache
from pathlib import Path

import soundfile

from callout.benches.pilot import Pilot
from callout.benches.trainees import PERFECT, Trainee, silence
from callout.checklist.load import load_all
from callout.engine.events import Heard
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recording_sets import RATE
from callout.running.train import conduct
from callout.trainer.load import drills_of
from callout.trainer.model import Speaker
from callout.trainer.session import DrillSession, Practice
from callout.words.phrases import Grammar

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
PILOT, HELPER = Speaker.PILOT, Speaker.HELPER


class TypedEar:
    """An ear that hears what a trainee types: no sound is needed."""

    name, rate = "keys", RATE

    def __init__(self, trainee):
        self._trainee = trainee
        self._grammar = Grammar(0)

    def listen_for(self, grammar):
        """From now on, this is what counts."""
        self._grammar = grammar

    def hear(self, sound):
        """What is typed before the block ends."""
        found = self._trainee.next()
        if isinstance(sound, str) or found is None or found[0] > sound.ends_at:
            return ()
        self._trainee.spoke()
        at, text, who = max(found[0], sound.captured_at), found[1], found[2]
        source = f"keys:{who.value}"
        return (Heard(text, 1.0, self._grammar.serial, at, at, source),)

    def close(self):
        """Nothing to give back."""


@lru_cache
def drills():
    return {one.drill.id: one for one in drills_of(load_all(REEDLARK))}


class Lines:
    def __init__(self):
        self.said = []

    def line(self, now, who, text):
        self.said.append((now, who, text))


def practise(loaded, roles, manner=PERFECT, *, coached=False, seed=0, keep=None, screen=None):
    session = DrillSession(
        loaded.drill, loaded.aircraft.aircraft, Practice(roles, coached=coached, seed=seed)
    )
    mouth = Mouth(None, Nowhere(), lambda why: None)
    ear = TypedEar(Trainee(session, manner))
    kept = keep if keep is not None else lambda result: None
    conduct(session, ear, silence(session), screen or Lines(), kept, mouth)
    return session


def kept_voice(name):
    """A trainee's voice: clips that eSpeak NG said once (110 words a minute).

    It says its words a little differently in every process; this "fire in the exhaust" is
    understood or not by where the ear's steps fall on it.
    """
    folder = Path(__file__).parent / "clips"
    sound, rate = soundfile.read(folder / "words.flac", dtype="float32")
    assert rate == RATE
    kept, begin = {}, 0
    for text, voice, samples in json.loads((folder / "words.json").read_text(encoding="utf-8")):
        if voice == name:
            kept[text] = sound[begin : begin + samples]
        begin += samples
    return Pilot(None, kept)
