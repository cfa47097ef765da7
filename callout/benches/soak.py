"""Hours of a hangar in recording time: talk and noise without end, session after session.

Rule of this file: nobody speaks to the ear. What ticks an item by the pilot is typed, as
his keys would, so each tick that the ear makes is a false one. Engine, ear, logbook and
conductor are those of `callout run`; only the voice is left out (sentences take the time
of reading them), and time is the sound's.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.benches.soak_figures import Soak, resident_megabytes
from callout.benches.soak_pilot import Pilot
from callout.checklist.model import Aircraft, ListKind
from callout.ear.from_file import BLOCK
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood, SessionOpened
from callout.engine.session import Session
from callout.engine.state import SessionState, current
from callout.logbook.store import Logbook
from callout.running.asked import kind_of
from callout.running.clock import RecordingClock
from callout.running.conductor import SETTLED_RECORDED, Conductor, Written
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recorded import Recorded
from callout.running.recording_sets import RATE, Clip, mixed

LEVELS = (20.0, 10.0, 5.0)
"""Decibels of talk above the noise under it, one after another by chance."""

SHORTEST, LONGEST = 300.0, 2400.0
"""Seconds that a session lasts, by chance between these."""


class _Nobody:
    """A screen that nobody looks at."""

    def line(self, now: float, who: str, text: str) -> None:
        """One line."""


def hangar(
    talk: Sequence[Clip], noises: Sequence[Clip], chance: np.random.Generator
) -> Iterator[np.ndarray]:
    """Sound without end, in stretches: talk over noise at some level, noise alone, near silence."""
    for place in itertools.count():
        what = chance.random()
        if what < 0.6 and talk:
            clip = talk[int(chance.integers(len(talk)))]
            level = float(chance.choice(LEVELS))
            clip = Clip(clip.text, clip.speaker, clip.samples, place)
            yield mixed(clip, noises, level if noises else None)
        elif what < 0.9 and noises:
            noise = noises[int(chance.integers(len(noises)))].samples
            yield np.resize(noise, int(chance.uniform(5, 30) * RATE))
        else:
            length = int(chance.uniform(1, 15) * RATE)
            yield chance.normal(0.0, 1e-3, length).astype(np.float32)


def blocks(sound: Iterator[np.ndarray]) -> Iterator[np.ndarray]:
    """The same in blocks as a microphone gives them."""
    left = np.zeros(0, np.float32)
    for stretch in sound:
        left = np.concatenate([left, stretch])
        while len(left) >= BLOCK:
            yield left[:BLOCK]
            left = left[BLOCK:]


def soak(
    ear: Ear,
    aircraft: Aircraft,
    talk: Sequence[Clip],
    noises: Sequence[Clip],
    folder: Path,
    *,
    hours: float,
    seed: int = 1,
    every: float = 360.0,
    told: Callable[[Soak], None] = lambda so_far: None,
    enough: Callable[[], bool] = lambda: False,
) -> Soak:
    """Let it run for so many hours of sound, or till it is `enough`; `told` after each session."""
    chance = np.random.default_rng(seed)
    sound, result = blocks(hangar(talk, noises, chance)), Soak()
    with Logbook.open(folder / "log.db") as logbook:
        while result.seconds < 3600 * hours and not enough():
            length = float(chance.uniform(SHORTEST, LONGEST))
            length = min(length, 3600 * hours - result.seconds + BLOCK / RATE)
            _one(ear, aircraft, logbook, _until(sound, enough), length, every, chance, result)
            told(result)
    return result


def _until(sound: Iterator[np.ndarray], enough: Callable[[], bool]) -> Iterator[np.ndarray]:
    """The sound, until it is enough."""
    for block in sound:
        yield block
        if enough():
            return


def _one(
    ear: Ear, aircraft: Aircraft, logbook: Logbook, sound: Iterator[np.ndarray], length: float,
    every: float, chance: np.random.Generator, result: Soak,
) -> None:  # fmt: skip
    """One session of so many seconds, beginning at some list of the day."""
    clock, pilot = RecordingClock(), Pilot(aircraft, chance)
    normal = [one.id for one in aircraft.lists if one.kind is ListKind.NORMAL]
    lists = tuple(normal[int(chance.integers(len(normal))) :])
    number = logbook.begin(aircraft.name, aircraft.revision, "soak", "soak", clock.stamp(0.0))
    conductor = Conductor(
        Session(aircraft), Written(logbook, number, SETTLED_RECORDED), clock,
        Mouth(None, Nowhere(), lambda why: None), ear.listen_for, _Nobody(),
        at_once=lambda text: True,
    )  # fmt: skip
    pilot.conductor = conductor
    heard = _heard(conductor, pilot, aircraft, sound, length, every, result)
    watched = _Watched(ear, clock, result)
    recorded = Recorded(conductor, clock, watched, heard, [], [], pilot)
    recorded.run(SessionOpened(lists))
    logbook.finish(number, "ended", clock.stamp(clock.now()))
    result.hour.sessions += 1
    _count(aircraft, logbook, number, result)


def _heard(
    conductor: Conductor, pilot: Pilot, aircraft: Aircraft, sound: Iterator[np.ndarray],
    length: float, every: float, result: Soak,
) -> Iterator[AudioBlock]:  # fmt: skip
    """The sound of one session; each block is counted for what is asked while it sounds."""
    seconds = BLOCK / RATE
    for count in itertools.count():
        if count * seconds >= length or conductor.session.ended or pilot.at_a_loss:
            return
        block = next(sound, None)
        if block is None:
            return
        yield AudioBlock(block, RATE, count * seconds)
        hour = result.hour
        hour.drift = max(hour.drift, abs(conductor.clock.now() - (count + 1) * seconds))
        hour.seconds += seconds
        result.seconds += seconds
        kind = _kind(aircraft, conductor.session.state)
        result.asked[kind] = result.asked.get(kind, 0.0) + seconds
        if result.seconds >= every * len(result.memory):
            result.memory.append((result.seconds, resident_megabytes()))
            hour.memory = result.memory[-1][1]


class _Watched:
    """An ear, and how late each utterance comes.

    One ear hears session after session, each with a time of its own: what began in the one
    before is dropped, as a program that ended would not have heard it.
    """

    def __init__(self, ear: Ear, clock: RecordingClock, result: Soak) -> None:
        self.name, self.rate = ear.name, ear.rate
        self._ear, self._clock, self._result = ear, clock, result
        self.listen_for = ear.listen_for
        self.close = ear.close

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """As the ear does."""
        now, hour = self._clock.now(), self._result.hour
        events = [event for event in self._ear.hear(sound) if event.ended <= now]
        for event in events:
            hour.late = max(hour.late, now - event.ended)
        return events


def _kind(aircraft: Aircraft, state: SessionState) -> str:
    if state.run is None or state.item is None:
        return "none"
    kind = kind_of(current(aircraft, state)[1])
    return "none" if kind is None else kind.value


def _count(aircraft: Aircraft, logbook: Logbook, number: int, result: Soak) -> None:
    """What the log holds of one session."""
    began, hour = 0.0, result.hour
    for at, fact in logbook.facts(number):
        data = dict(fact.data)
        if fact.fact == "timer started":
            began = at
        if fact.fact != "ticked":
            continue
        if data.get("by") == "keys":
            hour.typed += 1
        elif data.get("by") == "Clock":
            with suppress(ValueError):
                hour.waits = max(hour.waits, abs(at - began - _length(aircraft, fact.about)))
        elif "words" in data:
            list_id, _, item_id = fact.about.partition("/")
            item = next(i for i in aircraft.list(list_id).items() if i.id == item_id)
            kind = kind_of(item)
            name = "other" if kind is None else kind.value
            hour.ticks += 1
            result.ticks.setdefault(name, []).append(f"{fact.about}: {data['words']}")
    for _, event in logbook.events(number):
        hour.other += isinstance(event, Heard) and event.source != "keys"


def _length(aircraft: Aircraft, about: str) -> float:
    """Seconds of a timed wait.  ValueError for another item."""
    list_id, _, item_id = about.partition("/")
    item = next(i for i in aircraft.list(list_id).items() if i.id == item_id)
    cool = aircraft.cool_down
    if cool is not None and cool.wait == about:
        raise ValueError("a cool-down begins before its wait does")
    return float(getattr(item.task, "seconds", "no wait"))
