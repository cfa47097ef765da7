"""What the tests of feeds in a session share: an aircraft, and sessions that are broken off.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.checklist.model import Aircraft
from callout.ear.keys_ear import KeysEar
from callout.engine.events import Heard, NotUnderstood, SessionOpened
from callout.engine.session import Session
from callout.logbook.store import Logbook
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor, Written
from callout.running.feeding import RecordedFeed
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recorded import Recorded
from callout.running.screen import Transcript
from callout.words.phrases import Grammar

AIRCRAFT = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
engine_states: [start]
gauges:
  exhaust-temperature:
    unit: degC
    range: -40 to 1000
    limits: {start: {caution: {above: 500}, never: {above: 570}}}
  gas-generator-speed: {unit: "%", range: 0 to 115}
lists:
  start:
    engine_state: start
    items:
      - {call: gas generator speed, await: {gauge: gas-generator-speed, at_least: 15, for: 1 s}}
      - {call: fuel lever, answer: open}
      - {call: starter, answer: released}
  after:
    items:
      - {call: generator, answer: switched in}
"""

SAID = ((12.0, "open"), (21.0, "released"), (23.5, "proceed"), (27.0, "switched in"))
"""(seconds, what the pilot says)."""


def aircraft(folder: Path) -> Path:
    file = folder / "rig.yaml"
    file.write_text(AIRCRAFT, encoding="utf-8")
    return file


class Killed(Exception):  # noqa: N818 - stands for SIGKILL
    """The program ends here, whatever it was doing."""


class WordsAt:
    """The keys ear, with words that are typed at times of the recording."""

    name = "keys"
    rate = 100

    def __init__(self, clock: RecordingClock) -> None:
        self._clock = clock
        self._keys = KeysEar(clock.now)

    def listen_for(self, grammar: Grammar) -> None:
        self._keys.listen_for(grammar)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        assert isinstance(sound, AudioBlock)
        found: list[Heard | NotUnderstood] = []
        for at, words in SAID:
            if sound.captured_at < at <= sound.ends_at:
                found += self._keys.hear(words)
        return found

    def close(self) -> None:
        pass


def silence(seconds: float, until: float) -> Iterator[AudioBlock]:
    """A recording in blocks of a quarter of a second; raises Killed at `until` (s)."""
    for n in range(round(seconds * 4)):
        if n / 4 >= until:
            raise Killed
        yield AudioBlock(np.zeros(25, np.float32), 100, n / 4)


def run(
    plane: Aircraft, feed: Path, logbook: Path, *, until: float = 1e9, settled: float = 1.0
) -> None:
    """One run over the recording; taken up where an earlier one was killed.  Raises Killed."""
    clock = RecordingClock()
    with Logbook.open(logbook) as book:
        row = book.unfinished(fingerprint="rig")
        began = clock.stamp(0.0)
        number = row.session if row else book.begin("Test rig", "1", "rig.yaml", "rig", began)
        past = book.events(number) if row else []
        mouth, ear = Mouth(None, Nowhere(), lambda why: None), WordsAt(clock)
        written = Written(book, number, settled)
        screen = Transcript(io.StringIO())
        conductor = Conductor(Session(plane), written, clock, mouth, ear.listen_for, screen)
        readings = RecordedFeed(feed, plane.gauges)
        blocks = silence(30.0, until)
        Recorded(conductor, clock, ear, blocks, past, [], readings).run(SessionOpened())
        book.finish(number, "ended", clock.stamp(clock.now()))


def plane(folder: Path) -> Aircraft:
    return load(aircraft(folder))
