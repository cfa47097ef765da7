"""Turns of a session measured from outside: word end to next call, barge-in, processor, memory.

Rule of this file: the program measured is `callout run` itself, in a process of
its own, between a virtual microphone and a virtual headset. What sounded when is
taken from recordings of these two; the program's own marks only part the way
between.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

from callout.benches.devices import HEADSET_RATE, MIC_RATE, Recording, Room, Server
from callout.benches.marks import NothingCameError
from callout.benches.pilot import Pilot
from callout.benches.process import memory
from callout.benches.turn_found import Measured, Turn
from callout.benches.turn_round import Round
from callout.checklist.model import Aircraft


class Bench:
    """Runs rounds of `callout run` until enough turns were measured."""

    def __init__(
        self, aircraft: Path, known: Aircraft, lists: tuple[str, ...], pilot: Pilot, server: Server
    ) -> None:
        self.command = [sys.executable, "-m", "callout", "run", str(aircraft), *lists]
        self.known = known
        self.pilot = pilot
        self.server = server
        self.room = Room(server)
        self.mic = Recording(server, "bench_mic", MIC_RATE)
        self.headset = Recording(server, "bench_headset", HEADSET_RATE)
        self.random = random.Random(4)  # noqa: S311 - the same pauses every time
        self.rounds = 0
        self.devices: list[float] = []
        self.measured = Measured()

    def prepare(self) -> None:
        """Let a session make the clips it needs, so that what is measured is warm."""
        clips = self.server.folder / "cache" / "callout" / "clips"
        with Round(self) as one:
            one.opened()
            count, since = -1, time.monotonic()
            while time.monotonic() - since < 2.0:
                now = len(list(clips.glob("*.clip")))
                if now != count:
                    count, since = now, time.monotonic()
                time.sleep(0.1)

    def run(self, turns: int, told: Callable[[int], None]) -> Measured:
        """Measure so many answers after the call, and half as many into it."""
        while len(self.of("answer")) < turns:
            before = len(self.measured.turns)
            with Round(self) as one:
                self.measured.starts.append(one.opened())
                one.wait_and_watch()
                one.answer_all(turns, told)
                self.measured.usage = memory(one.process.pid)
            if len(self.measured.turns) == before:
                raise NothingCameError("No answer was understood in a whole round of the bench.")
        return self.measured

    def of(self, kind: str) -> list[Turn]:
        """Turns of one kind so far."""
        return [turn for turn in self.measured.turns if turn.kind == kind]
