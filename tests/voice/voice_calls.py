"""Forty sentences of the kind callout says, invented, and a listener that is not ours.

No call holds words that only a sentence could tell apart (two and to, it and at).

Rule of this file: the listener is PocketSphinx with the model in its wheel. It
may hear any sequence of the words that occur in the calls, or one of the calls,
or what its general language model expects.
"""

from __future__ import annotations

import re

import numpy as np
import soxr

CALLS = (
    "Battery switch, on.",
    "Battery volts, read it.",
    "Two four point five volts.",
    "Fuel quantity, read it.",
    "Main rotor blades, tie down removed.",
    "Fuel cap, secure.",
    "Engine inlet, clear.",
    "Tail rotor, turning freely.",
    "Oil level, checked.",
    "Fire extinguisher, on board.",
    "Doors, closed.",
    "Seat belt, fastened.",
    "Collective, full down.",
    "Cyclic, centered.",
    "Pedals, neutral.",
    "Throttle, closed.",
    "Fuel valve, open.",
    "Boost pump, on.",
    "Rotor brake, off.",
    "Area clear, left, right, above.",
    "Starter, engage.",
    "Gas generator speed, read it.",
    "One five percent.",
    "Start fuel, on.",
    "Exhaust temperature, read it.",
    "Six niner zero degrees, limit six five zero.",
    "Seven two zero, never above seven zero zero.",
    "Starter, off.",
    "Oil pressure, read it.",
    "Three decimal eight bar.",
    "One zero four percent.",
    "Minus five degrees celsius.",
    "Altimeter, set.",
    "One zero one three.",
    "Transponder, standby.",
    "Cool down, two minutes.",
    "Three zero seconds remaining.",
    "Generator, off.",
    "Avionics, off.",
    "Before start checklist complete.",
)

HEARING_RATE = 16_000


def words(call: str) -> str:
    """Lower-case words of a call, without punctuation."""
    return " ".join(re.findall(r"[a-z]+", call.lower()))


class Listener:
    """PocketSphinx; it expects "words" of the calls, one of the "calls", or "anything"."""

    def __init__(self, expects: str = "words") -> None:
        from pocketsphinx import Decoder

        # one pass and few hypotheses (a third of the time), and each word costs something, since
        # a loop of words has no other reason not to hear a short one in every breath
        self._decoder = Decoder(
            samprate=HEARING_RATE,
            loglevel="FATAL",
            fwdflat=False,
            bestpath=False,
            maxhmmpf=2000,
            wip=1e-3,
        )
        vocabulary = sorted({word for call in CALLS for word in words(call).split()})
        missing = [word for word in vocabulary if self._decoder.lookup_word(word) is None]
        assert missing == []
        rules = {
            "words": f"( {' | '.join(vocabulary)} )+",
            "calls": " | ".join(map(words, CALLS)),
        }
        if expects in rules:
            jsgf = f"#JSGF V1.0; grammar g; public <g> = {rules[expects]};"
            self._decoder.add_jsgf_string("calls", jsgf)
            self._decoder.activate_search("calls")

    def hear(self, samples: np.ndarray, rate: int) -> str:
        """What it understands in mono sound, float -1 .. 1, shape [n]."""
        sound = soxr.resample(samples.astype(np.float32), rate, HEARING_RATE)
        # room noise before, in and after the words: digital silence upsets its running mean
        sound = np.concatenate((np.zeros(4800), sound, np.zeros(4800)))
        sound = sound + np.random.default_rng(0).normal(0, 0.0005, len(sound))
        self._decoder.start_utt()
        pcm = np.clip(sound * 32767, -32768, 32767).astype(np.int16)
        self._decoder.process_raw(pcm.tobytes(), full_utt=True)
        self._decoder.end_utt()
        hypothesis = self._decoder.hyp()
        return hypothesis.hypstr if hypothesis else ""
