"""One session of `callout run` in a bench: started, answered, watched, ended.

Rule of this file: what sounded when is taken from recordings of the two virtual
devices; the program's own marks only part the way between.
"""

from __future__ import annotations

import signal
import subprocess
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from callout.benches.devices import MIC_RATE
from callout.benches.marks import Marks, NothingCameError
from callout.benches.pilot import Spoken, lag
from callout.benches.process import processor_seconds
from callout.benches.turn_found import STEPS, THINKING, TONE, Turn
from callout.benches.turn_lists import answer
from callout.running.clock import boot_seconds
from callout.voice.mixer import CUT_FADE

if TYPE_CHECKING:
    from callout.benches.turn import Bench

AUDIBLE = 0.001
"""Level (of full scale, -60 dB) at which the headset sounds; without a call it holds zeros."""
PATIENCE = 90.0
"""Seconds in which the program has to do what is waited for."""
HEARD_WITHIN = 2.5
"""Seconds after a word in which it is understood or refused."""
WAITING = 6.0
"""Seconds over which the processor is watched while nobody speaks."""
WRONG = "checked"
"""What no item takes for an answer: callout then says a long sentence, to be cut short."""
LIVES = ("asking",)
"""States in which an item is a question."""


class Round:
    """One session of `callout run`, from its start until nothing more can be answered."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        bench.rounds += 1
        folder = bench.server.folder
        marks = folder / f"moments-{bench.rounds}.jsonl"
        marks.touch()
        devices = ["--headset", "--listen", "microphone:pulse", "--speak", "loudspeaker:pulse"]
        files = ["--logbook", str(folder / "log.db"), "--new", "--moments", str(marks)]
        self._began = boot_seconds()
        bench.mic.forget()
        bench.headset.forget()
        self._transcript = (folder / f"said-{bench.rounds}.txt").open("w+")
        self.process = subprocess.Popen(
            [*bench.command, *devices, *files],
            env=bench.server.environment,
            stdin=subprocess.PIPE,
            stdout=self._transcript,
            stderr=subprocess.STDOUT,
        )
        self.marks = Marks(marks, self.process, Path(self._transcript.name))

    def __enter__(self) -> Round:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.send_signal(signal.SIGTERM)
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(5)
        self.process.kill()
        self.process.wait()
        if self.process.stdin is not None:
            self.process.stdin.close()
        closed = self.marks.newest("closed") or {"ran_out": 0}
        self._bench.measured.ran_out += closed["ran_out"]
        self.marks.close()
        self._transcript.close()

    def opened(self) -> float:
        """Seconds from the start of the program to its first sound."""
        self.marks.wait(lambda mark: mark["what"] == "out" and mark["seconds"] > TONE, PATIENCE)
        time.sleep(0.5)
        sounded = self._bench.headset.onset(self._began, AUDIBLE)
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
        while len(bench.of("answer")) < turns:
            text, kind = self._wanted()
            if not text:
                return
            if kind == "answer" and len(measured.turns) % 3 == 1:
                self._turn(WRONG, "wrong")
                self._turn(self._wanted()[0], "barge-in")
            else:
                self._turn(text, kind)
            told(len(bench.of("answer")))

    def _prompt_over(self) -> dict[str, Any]:
        """The newest step, once the question of the item in hand was said to its end."""
        step = self.marks.newest("step")
        while step is None or (step["prompt"] is not None and step["mode"] in LIVES):
            self.marks.wait(lambda mark: mark["what"] == "step", PATIENCE)
            step = self.marks.newest("step")
        return step

    def _wanted(self) -> tuple[str, str]:
        """What answers the item in hand and its kind; "" for one that nobody can answer here."""
        share = self._bench.random.uniform(0.2, 0.8)
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until and self.process.poll() is None:
            step = self.marks.newest("step")
            if step is not None and step["mode"] in LIVES and step["item"] >= 0:
                return answer(self._bench.known, step["list"], step["item"], share)
            if step is not None and step["mode"] not in ("ready", "closed", "advising"):
                break
            with suppress(NothingCameError):
                self.marks.wait(lambda mark: mark["what"] == "step", 3.0)
        return "", ""

    def _turn(self, text: str, kind: str) -> None:
        """Say it, and again if it was not understood; measure what followed."""
        if not text:
            return
        said = self._bench.pilot.say(text)
        for _ in range(3):
            if kind == "barge-in":
                self._into_the_call()
            else:
                self._prompt_over()
                time.sleep(self._bench.random.uniform(*THINKING))
            if self._measure(said, kind):
                return
            self._bench.measured.refused[text] += 1
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
        self._bench.room.say(said.samples)

        def understood(mark: dict[str, Any]) -> Any:  # noqa: ANN401 - truth is enough
            return mark["what"] == "heard" and mark["text"]

        def next_call(mark: dict[str, Any]) -> Any:  # noqa: ANN401 - truth is enough
            return mark["what"] == "out" and mark["seconds"] > TONE and mark["at"] >= step["began"]

        try:
            heard = self.marks.wait(understood, said.seconds + HEARD_WITHIN, place)
            after = self.marks.place_of(heard)
            step = self.marks.wait(_is_heard_step, PATIENCE, after)
            out = self.marks.wait(next_call, PATIENCE, after)
        except NothingCameError:
            return False
        if "quick answer" in step["facts"] and kind != "barge-in":
            return True  # queried once, as it should be, and no turn to measure
        if kind != "wrong" and not {"ticked", "quick answer"} & set(step["facts"]):
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
        sound, begins = self._bench.mic.since(began)
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
            sounded = self._bench.headset.onset(first["at"] - 0.01, AUDIBLE)
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
