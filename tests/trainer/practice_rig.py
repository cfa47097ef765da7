"""Drills run in recording time by typed trainees.

Rule of this file: the real drill engine, conductor, loop and simulator; only the voice is
left out, so that sentences take the time of reading them.
"""

from functools import lru_cache
from pathlib import Path

from callout.checklist.load import load_all
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.train import conduct
from callout.running.train_trainees import PERFECT, Trainee, TypedEar, silence
from callout.trainer.load import drills_of
from callout.trainer.model import Speaker
from callout.trainer.session import DrillSession, Practice

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
PILOT, HELPER = Speaker.PILOT, Speaker.HELPER


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
