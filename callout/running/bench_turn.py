"""Turns of a session measured from outside: word end to next call, barge-in, processor, memory.

Rule of this file: the program measured is `callout run` itself, in a process of
its own, between a virtual microphone and a virtual headset. What sounded when is
taken from recordings of these two; the program's own marks only part the way
between.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from callout.running.bench_devices import HEADSET_RATE, MIC_RATE, Recording, Room, Server
from callout.running.bench_marks import Marks, NothingCameError
from callout.running.bench_pilot import Pilot, Spoken, lag
from callout.running.bench_process import Usage, memory, processor_seconds
from callout.running.clock import boot_seconds
from callout.voice.mixer import CUT_FADE

AUDIBLE = 0.001
"""Level (of full scale, -60 dB) at which the headset sounds; without a call it holds zeros."""
TONE = 0.1
"""What is shorter (s) is a tone and no call."""
PATIENCE = 25.0
"""Seconds in which the program has to do what is waited for."""
THINKING = (0.5, 1.5)
"""Seconds between a call's end and the pilot's answer."""
HEARD_WITHIN = 2.5
"""Seconds after a word in which it is understood or refused."""
WAITING = 6.0
"""Seconds over which the processor is watched while nobody speaks."""
WRONG = "checked"
"""What no item takes for an answer: callout then says a long sentence, to be cut short."""
LIVES = ("asking",)
STEPS = ("capture", "ear waits", "ear computes", "hand-over", "engine", "logbook",
         "clip ready", "handed to device", "device")  # fmt: skip
"""Where the time of a turn goes: to the block that holds the end of the word; to the block with
which the ear decides; its computing; to the thread that owns the session; the decision; the
commit; until the call's clip is there; until the device asks for it; until it sounds.
"""


@dataclass(frozen=True, slots=True)
class Turn:
    """One answer.

    Fields:
        text: what was said
        kind: "answer" after the call, "barge-in" into it, "wrong" (refused by the list)
        gap: from the end of the word to the first sample of the next call (s)
        steps: where that time went (s), in order
        stopped: from the word's being accepted to the silence of what was being said (s)
    """

    text: str
    kind: str
    gap: float
    steps: dict[str, float]
    stopped: float | None = None


@dataclass
class Measured:
    """Everything that was found in one run of the bench."""

    turns: list[Turn] = field(default_factory=list)
    refused: int = 0
    starts: list[float] = field(default_factory=list)
    waiting: list[float] = field(default_factory=list)
    usage: Usage | None = None


class Bench:
    """Runs rounds of `callout run` until enough turns were measured."""

    def __init__(
        self, aircraft: Path, lists: tuple[str, ...], pilot: Pilot, server: Server
    ) -> None:
        self._command = [sys.executable, "-m", "callout", "run", str(aircraft), *lists]
        self._pilot = pilot
        self._server = server
        self._room = Room(server)
        self._mic = Recording(server, "bench_mic", MIC_RATE)
        self._headset = Recording(server, "bench_headset", HEADSET_RATE)
        self._random = random.Random(4)  # noqa: S311 - the same pauses every time
        self._rounds = 0
        self.devices: list[float] = []
        self.measured = Measured()

    def prepare(self) -> None:
        """Let a session make the clips it needs, so that what is measured is warm."""
        clips = self._server.folder / "cache" / "callout" / "clips"
        with _Round(self) as one:
            one.opened()
            count, since = -1, time.monotonic()
            while time.monotonic() - since < 2.0:
                now = len(list(clips.glob("*.clip")))
                if now != count:
                    count, since = now, time.monotonic()
                time.sleep(0.1)

    def run(self, turns: int, told: Callable[[int], None]) -> Measured:
        """Measure so many answers after the call, and half as many into it."""
        while len(self._of("answer")) < turns:
            before = len(self.measured.turns)
            with _Round(self) as one:
                self.measured.starts.append(one.opened())
                one.wait_and_watch()
                one.answer_all(turns, told)
                self.measured.usage = memory(one.process.pid)
            if len(self.measured.turns) == before:
                raise NothingCameError("No answer was understood in a whole round of the bench.")
        return self.measured

    def _of(self, kind: str) -> list[Turn]:
        return [turn for turn in self.measured.turns if turn.kind == kind]


class _Round:
    """One session of `callout run`, from its start until nothing more can be answered."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        bench._rounds += 1
        folder = bench._server.folder
        marks = folder / f"moments-{bench._rounds}.jsonl"
        marks.touch()
        devices = ["--headset", "--listen", "microphone:pulse", "--speak", "loudspeaker:pulse"]
        files = ["--logbook", str(folder / "log.db"), "--new", "--moments", str(marks)]
        self._began = boot_seconds()
        bench._mic.forget()
        bench._headset.forget()
        self.process = subprocess.Popen(
            [*bench._command, *devices, *files],
            env=bench._server.environment,
            stdin=subprocess.PIPE,
            stdout=(folder / f"said-{bench._rounds}.txt").open("w"),
            stderr=subprocess.STDOUT,
        )
        self.marks = Marks(marks, self.process)

    def __enter__(self) -> _Round:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.send_signal(signal.SIGTERM)
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(5)
        self.process.kill()
        self.process.wait()

    def opened(self) -> float:
        """Seconds from the start of the program to its first sound."""
        self.marks.wait(lambda mark: mark["what"] == "out" and mark["seconds"] > TONE, PATIENCE)
        time.sleep(0.5)
        sounded = self._bench._headset.onset(self._began, AUDIBLE)
        if sounded is None:
            raise NothingCameError("The headset stayed silent.")
        return sounded - self._began

    def wait_and_watch(self) -> None:
        """Say nothing for a while after the first call and see what the processor does."""
        self._prompt_over()
        time.sleep(0.7)
        used, began = processor_seconds(self.process.pid), time.monotonic()
        time.sleep(WAITING)
        spent = processor_seconds(self.process.pid) - used
        self._bench.measured.waiting.append(spent / (time.monotonic() - began))

    def answer_all(self, turns: int, told: Callable[[int], None]) -> None:
        """Answer items until enough, or until an item is no question: every second one cut in."""
        bench, measured = self._bench, self._bench.measured
        while len(bench._of("answer")) < turns:
            text = self._wanted()
            if not text:
                return
            if len(measured.turns) % 3 == 1:
                self._turn(WRONG, "wrong")
                self._turn(self._wanted(), "barge-in")
            else:
                self._turn(text, "answer")
            told(len(bench._of("answer")))

    def _prompt_over(self) -> dict[str, Any]:
        """The newest step, once the question of the item in hand was said to its end."""
        step = self.marks.newest("step")
        while step is None or (step["prompt"] is not None and step["mode"] in LIVES):
            self.marks.wait(lambda mark: mark["what"] == "step", PATIENCE)
            step = self.marks.newest("step")
        return step

    def _wanted(self) -> str:
        """What answers the item in hand; "" for an item that nobody can answer here."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until and self.process.poll() is None:
            step = self.marks.newest("step")
            if step is not None and step["mode"] in LIVES and step["item"] >= 0:
                return str(step["answers"][0]) if step["answers"] else ""
            if step is not None and step["mode"] not in ("ready", "closed", "advising"):
                return ""
            with suppress(NothingCameError):
                self.marks.wait(lambda mark: mark["what"] == "step", 3.0)
        return ""

    def _turn(self, text: str, kind: str) -> None:
        """Say it, and again if it was not understood; measure what followed."""
        if not text:
            return
        said = self._bench._pilot.say(text)
        for _ in range(3):
            if kind == "barge-in":
                self._into_the_call()
            else:
                self._prompt_over()
                time.sleep(self._bench._random.uniform(*THINKING))
            if self._measure(said, kind):
                return
            self._bench.measured.refused += 1
        # Three times not understood: typed, so that the round goes on.
        assert self.process.stdin is not None
        place = self.marks.place
        self.process.stdin.write(text.encode() + b"\n")
        self.process.stdin.flush()
        self.marks.wait(_is_heard_step, PATIENCE, place)

    def _into_the_call(self) -> None:
        """Wait until the call that is being said has gone on for a moment."""
        out = self.marks.newest("out")
        if out is not None:
            time.sleep(max(0.0, out["at"] + 0.4 - boot_seconds()))

    def _measure(self, said: Spoken, kind: str) -> bool:
        """Play the words and follow them through; False if they were not understood."""
        began, place = boot_seconds(), self.marks.place
        self._bench._room.say(said.samples)

        def understood(mark: dict[str, Any]) -> bool:
            text = mark.get("text", "")
            return mark["what"] == "heard" and (
                bool(text) if kind == "wrong" else text == said.text
            )

        def next_call(mark: dict[str, Any]) -> Any:  # noqa: ANN401 - truth is enough
            return mark["what"] == "out" and mark["seconds"] > TONE and mark["at"] >= step["began"]

        try:
            heard = self.marks.wait(understood, said.seconds + HEARD_WITHIN, place)
            after = self.marks.place_of(heard)
            step = self.marks.wait(_is_heard_step, PATIENCE, after)
            out = self.marks.wait(next_call, PATIENCE, after)
        except NothingCameError:
            return False
        time.sleep(0.25)
        turn = self._followed(said, kind, began, (heard, step, out))
        if turn is not None:
            self._bench.measured.turns.append(turn)
        return turn is not None

    def _followed(
        self, said: Spoken, kind: str, began: float, way: tuple[dict[str, Any], ...]
    ) -> Turn | None:
        heard, step, out = way
        sound, begins = self._bench._mic.since(began)
        word_end = begins + (lag(sound, said.samples) + said.end) / MIC_RATE
        since, until = step["began"], out["at"]
        ready = self.marks.last(_is_call, since, until)
        first = self.marks.first(lambda mark: mark["what"] == "out", since)
        if ready is None or first is None:
            return None
        device = self._device(kind, first)
        if device is None:
            return None
        sounded = out["at"] + ready.get("silence", 0.0) + device
        steps = self._steps(word_end, heard, step, ready, out, sounded)
        stopped = first["at"] + device + CUT_FADE - heard["at"] if kind == "barge-in" else None
        return Turn(said.text, kind, sounded - word_end, steps, stopped)

    def _device(self, kind: str, first: dict[str, Any]) -> float | None:
        """From the device's being given a sample to its sounding.

        After silence it is heard when that was; in the middle of a call it is what it
        was after silence.
        """
        devices = self._bench.devices
        if kind != "barge-in":
            sounded = self._bench._headset.onset(first["at"] - 0.01, AUDIBLE)
            if sounded is None:
                return None
            devices.append(sounded - first["at"])
            return devices[-1]
        return float(np.median(devices)) if devices else None

    def _steps(
        self, word_end: float, heard: dict[str, Any], step: dict[str, Any],
        ready: dict[str, Any], out: dict[str, Any], sounded: float,
    ) -> dict[str, float]:  # fmt: skip
        clock = self.marks.newest("clock")
        assert clock is not None
        zero = clock["at"] - clock["session"]
        came = [at for ends_at, at in heard["comings"] if ends_at + zero >= word_end]
        moments = [
            word_end, min(came, default=heard["came"]), heard["came"], heard["at"], step["began"],
            step["decided"], step["written"], ready["at"], out["at"], sounded,
        ]  # fmt: skip
        return dict(zip(STEPS, np.diff(moments).tolist(), strict=True))


def _is_call(mark: dict[str, Any]) -> bool:
    return bool(mark["what"] == "ready" and mark["seconds"] > TONE)


def _is_heard_step(mark: dict[str, Any]) -> bool:
    return mark["what"] == "step" and mark["event"] in ("Heard", "NotUnderstood")
