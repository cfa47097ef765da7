"""Makes flying-day.opus: a pilot and a helper answer a whole flying day, by ear.

The people here only hear: they wait for the end of each call and answer it; now
and then one of them answers wrongly, asks again, holds the list, or somebody
talks in the background. The program under test listens to them while the
recording grows, so that answers fall where a person's would.

    python tests/session/make_recording.py --kokoro kokoro.onnx --styles voices/ \
        --noise noise.ogg --noise-start 0 --out tests/session/flying-day.opus

The voices are synthetic (Kokoro-82M, Apache-2.0), read through hibari-tts
(Apache-2.0); callout speaks with another. The noise is a CC0 recording.
"""

from __future__ import annotations

import argparse
import io
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soundfile
from kokoro_voices import RATE, SPEEDS, Voices

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.checklist.model import Aircraft, Ask, Await, Choose, Item, ReadValue, Who
from callout.ear.choose import make_ear
from callout.engine.events import Heard, SessionOpened
from callout.engine.rules import State
from callout.engine.session import Session
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor, Written
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere, prepared_words
from callout.running.recorded import Recorded
from callout.running.screen import Transcript

BLOCK = 320
SNR_DB = 20.0
CODED = 0.97
"""Opus at about 13 kbit a second: less bends the words."""

SPARE = ("am_fenrir", "af_nicole", "am_eric", "af_nova")
"""Further voices, asked when none of the others is clear."""

SURE = 0.9
"""An ear that is less sure than this of an answer makes another voice say it."""

VALUES = {
    "fuel-quantity": "six five",
    "battery-voltage": "two five point two",
    "exhaust-temperature": "three one zero",
    "gas-generator-speed": "six four",
    "oil-pressure": "three point two",
    "oil-temperature": "two eight",
    "rotor-speed": "one zero zero",
    "altimeter-setting": "one zero one three",
}
"""What the gauges show, by gauge; SPECIAL has the items where they show something else."""

SPECIAL = {
    "before-start/exhaust-temperature-before-start": "two one",
    "start/speed-for-fuel": "one eight",
    "start/speed-for-the-starter": "five two",
    "start/peak-exhaust-temperature": "six eight zero",
    "run-up/exhaust-temperature": "five nine zero",
    "run-up/battery-voltage": "two eight point one",
    "cool-down/cooler-exhaust": "four eight zero",
    "shutdown/exhaust-temperature-falling": "three one zero",
    "run-down/gas-generator": "zero",
    "run-down/exhaust-temperature-at-rest": "one four zero",
    "post-flight/fuel-remaining": "four one",
}

DETOURS = {
    "walk-round/fuel-lever": ("open", "say again"),
    "walk-round/fuel-by-the-dipstick": ("done", "three one"),
    "walk-round/cowling": ("@talk",),
    "walk-round/tail-rotor-blades": ("hold", "resume"),
    "before-start/pedals": ("why",),
    "before-start/battery-voltage": ("two three point one",),
    "run-up/governor": ("what is open",),
}
"""Said at an item before its answer; "@talk" is talk in the background."""

BACKGROUND = "and then we drove down to the coast and had fish and chips by the harbour"


@dataclass
class People:
    """Who answers: they hear the calls, and speak into the microphone."""

    aircraft: Aircraft
    voices: Voices
    noise: np.ndarray
    conductor: Conductor
    pilots: tuple[str, ...]
    helper: str
    ear: str
    rng: random.Random
    kept: list[np.ndarray] = field(default_factory=list)
    said: list[tuple[float, str, str]] = field(default_factory=list)
    detours: dict[str, list[str]] = field(default_factory=dict)
    _speech: np.ndarray = field(default_factory=lambda: np.zeros(0, np.float32))
    _asked: object = None

    def __post_init__(self) -> None:
        self.detours = {at: list(words) for at, words in DETOURS.items()}

    def blocks(self) -> Iterator[AudioBlock]:
        """The microphone, 20 ms at a time, until a second after the session's end."""
        number, left = 0, 50
        while left:
            left -= self.conductor.session.ended
            self._decide(number * BLOCK / RATE)
            sound, self._speech = self._speech[:BLOCK], self._speech[BLOCK:]
            block = self.noise[np.arange(number * BLOCK, (number + 1) * BLOCK) % len(self.noise)]
            block = block + np.pad(sound, (0, BLOCK - len(sound)))
            self.kept.append(block.astype(np.float32))
            yield AudioBlock(self.kept[-1], RATE, number * BLOCK / RATE)
            number += 1

    def _decide(self, now: float) -> None:
        state = self.conductor.session.state
        waiting = state.prompt_ended_at is not None and state.mode is not State.TIMING
        held = state.mode is State.HOLDING
        mark = (state.prompt_ended_at, state.mode, state.next_say)
        if len(self._speech) or mark == self._asked or not (waiting or held):
            return
        if self.conductor.mouth.ends_at is not None:
            return
        self._asked = mark
        text, voice = self._clear(*self._answer())
        pause = self._look() + self.rng.uniform(0.8, 1.2)
        sound = self.voices.say(text.removeprefix("@"), voice)
        level = 0.35 if text.startswith("@") else 1.0
        self._speech = np.concatenate([np.zeros(int(pause * RATE), np.float32), level * sound])
        self.said.append((now + pause, voice, text))

    def _clear(self, text: str, voice: str) -> tuple[str, str]:
        """The voice that is understood best after the codec, if the first is not quite."""
        if text.startswith("@"):
            return text, voice
        sure = {}
        everyone = tuple(dict.fromkeys((voice, *self.pilots, self.helper, *SPARE)))
        others = (f"{one}/{speed}" for speed in SPEEDS[1:] for one in everyone)
        for one in (*everyone, *others):
            sure[one] = self._certainty(text, one)
            if sure[one] >= SURE:
                break
        best = max(sure, key=lambda one: sure[one])
        print(f"          {best} {text!r}: {sure[best]:.2f} of {len(sure)}")
        return text, best

    def _certainty(self, text: str, voice: str) -> float:
        """How sure an ear is of the text in this voice, noise and codec included."""
        quiet = np.zeros(RATE, np.float32)
        sound = np.concatenate([quiet, self.voices.say(text, voice), quiet])
        sound = (sound + self.noise[: len(sound)]).astype(np.float32)
        coded = io.BytesIO()
        soundfile.write(coded, sound, RATE, format="OGG", subtype="OPUS", compression_level=CODED)
        coded.seek(0)
        sound = soundfile.read(coded, dtype="float32")[0]
        judge = make_ear(self.ear)
        grammar = self.conductor.session.state.grammar
        judge.listen_for(grammar)
        for at in range(0, len(sound) - BLOCK, BLOCK):
            for event in judge.hear(AudioBlock(sound[at : at + BLOCK], RATE, at / RATE)):
                if isinstance(event, Heard) and event.text == text:
                    return event.certainty
        return 0.0

    def _look(self) -> float:
        """Seconds the item in hand wants a person to look before the answer."""
        state = self.conductor.session.state
        if state.run is None or state.item is None:
            return 0.0
        return tuple(self.aircraft.list(state.run.list_id).items())[state.item].look_time

    def _answer(self) -> tuple[str, str]:
        state = self.conductor.session.state
        place = len(state.closed) % len(self.pilots)
        pilot = self.pilots[place]
        if state.mode is State.HOLDING:
            return "resume", pilot
        if state.run is None or state.item is None:
            return "proceed", pilot
        item = tuple(self.aircraft.list(state.run.list_id).items())[state.item]
        at = f"{state.run.list_id}/{item.id}"
        if self.detours.get(at):
            words = self.detours[at].pop(0)
            if words == "@talk":
                return f"@{BACKGROUND}", "bm_fable"
            return words, pilot
        if state.mode is State.CONFIRMING:
            return "affirm", pilot
        return right_answer(item, at), self.helper if item.who is Who.HELPER else pilot


def right_answer(item: Item, at: str) -> str:
    """What a person who looks at a healthy machine says."""
    task = item.task
    if isinstance(task, Ask):
        return task.answers[0]
    if isinstance(task, Choose):
        return task.options[0].answers[0]
    assert isinstance(task, ReadValue | Await)
    gauge = task.gauge if isinstance(task, ReadValue) else task.condition.gauge
    return SPECIAL.get(at, VALUES[gauge])


def main() -> None:
    """Run the flying day once and keep what the microphone heard."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kokoro", type=Path, required=True)
    options.add_argument("--styles", type=Path, required=True)
    options.add_argument("--noise", type=Path, required=True)
    options.add_argument("--noise-start", type=int, default=0)
    options.add_argument("--noise-samples", type=int, default=RATE * 20)
    options.add_argument("--aircraft", type=Path, default=Path("checklists/reedlark.yaml"))
    options.add_argument("--lists", nargs="*", default=[])
    options.add_argument("--pilots", nargs="+", default=["am_michael", "af_bella", "am_puck"])
    options.add_argument("--helper", default="af_sarah")
    options.add_argument("--ear", default="built-in")
    options.add_argument("--seed", type=int, default=5)
    options.add_argument("--clips", type=Path, default=Path(".cache/clips"))
    options.add_argument("--out", type=Path, required=True)
    chosen = options.parse_args()

    aircraft = load(chosen.aircraft)
    noise = soundfile.read(chosen.noise, dtype="float32")[0]
    noise = noise[chosen.noise_start : chosen.noise_start + chosen.noise_samples]
    noise = noise * (0.1 * 10 ** (-SNR_DB / 20) / np.sqrt(np.mean(noise**2)))
    ear = make_ear(chosen.ear)
    clock = RecordingClock()
    words = prepared_words("bundled", chosen.clips)
    mouth = Mouth(words, Nowhere(), print)
    conductor = Conductor(
        Session(aircraft), Written(None, 0), clock, mouth, ear.listen_for, Transcript(sys.stdout)
    )
    voices = Voices(chosen.kokoro, chosen.styles)
    people = People(
        aircraft,
        voices,
        noise,
        conductor,
        tuple(chosen.pilots),
        chosen.helper,
        chosen.ear,
        random.Random(chosen.seed),
    )
    Recorded(conductor, clock, ear, people.blocks(), [], []).run(SessionOpened(tuple(chosen.lists)))
    sound = np.concatenate(people.kept)
    soundfile.write(chosen.out, sound, RATE, format="OGG", subtype="OPUS", compression_level=CODED)
    for at, voice, text in people.said:
        print(f"{at:8.2f} {voice:12} {text}")
    print(f"{len(sound) / RATE:.0f} s, {chosen.out.stat().st_size} bytes", chosen.out)


if __name__ == "__main__":
    main()
