"""A list answered by voice through a phone's browser, and what the phone says understood.

Real Chromium with a recording for a microphone, its sound into a virtual headset; in
between callout's own page, its streams, the built-in ear and the bundled voice.
"""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path

import jiwer
import numpy as np
import pytest
import soundfile
from glance_rig import REEDLARK, Run, opened, page, running
from playwright.sync_api import expect, sync_playwright
from pocketsphinx import Decoder
from spoken_words import spoken

sys.path.insert(0, str(Path(__file__).parents[1] / "running"))

from test_devices import stretches
from virtual_sound import HEADSET, RATE, Recorder, SoundServer, room

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, ReadValue
from callout.engine import wording
from callout.logbook.store import Logbook
from callout.voice.hibari_voice import HibariVoice

pytestmark = [
    pytest.mark.devices,
    pytest.mark.alone,
    pytest.mark.timeout(600),
    # Real time: other work on the machine can starve the sound server itself.
    pytest.mark.flaky(reruns=2),
]

ANSWERS = (
    ("in position", "en-us", 120),
    ("all clear", "en-us+f3", 120),
    ("free to turn", "en-us+m1", 140),
    ("calm", "en-us+m1", 140),
    ("fastened", "en-us+m3", 120),
    ("full and free", "en-us+f2", 130),
    ("full and free", "en-us+f2", 130),
    ("fully closed", "en-us+f2", 130),
    ("own battery", "en-us+m1", 140),
    ("connected", "en-us+f2", 110),
    ("two five point one", "en-us+f2", 130),
    ("all burning", "en-us+m1", 150),
    ("two zero", "en-us+f2", 130),
)
"""Answers of the list before start, each with the synthetic voice and pace in which it is heard
well; callout speaks with another."""

TICKED = [
    "in position",
    "all clear",
    "free to turn",
    "from ahead",
    "fastened",
    "full and free",
    "full and free",
    "fully closed",
    "battery",
    "connected",
    "25.1",
    "all burning",
    "20",
]
"""What they are in the logbook: "calm" is another word for the wind from ahead."""

COUNT = int(os.environ.get("CALLOUT_PHONE_ANSWERS", "3"))
"""How many answers are given, for each takes 5 s of real time; the whole list has 13."""

OUT = "Out of contact: the list is parked"

STARTING = 0.8
"""Seconds from the opening of the microphone to the first word, about."""

THINKING = 2.5
"""Seconds from the end of a call to its answer: what a busy machine takes to hear one and to begin
the next call passes meanwhile."""

LEFT_OUT = ("ground power plug", "ground power voltage")
"""Items that do not apply with the aircraft's own battery."""


def before_start(folder: Path) -> Path:
    """The example aircraft; only what its list before start needs first is left out."""
    text = REEDLARK.read_text(encoding="utf-8")
    gated, free = "  before-start:\n    needs: [walk-round]\n", "  before-start:\n"
    assert gated in text
    path = folder / "reedlark.yaml"
    path.write_text(text.replace(gated, free), encoding="utf-8")
    return path


def calls(aircraft: Aircraft) -> list[list[str]]:
    """What is said before each answer is due, and after the last one."""
    checklist = aircraft.list("before-start")
    items = list(checklist.items())
    found = [[wording.sentence(aircraft.notice), wording.sentence(checklist.title)]]
    for index, item in enumerate(items):
        if item.call in LEFT_OUT:
            continue
        if where := wording.place(checklist, index):
            found[-1].append(where)
        found[-1].append(wording.prompt(aircraft, item))
        read = item.task.gauge if isinstance(item.task, ReadValue) else ""
        values = {"battery-voltage": "Two five point one volts.",
                  "exhaust-temperature": "Two zero degrees."}  # fmt: skip
        found.append([values[read]] if read else [])
    found[-1].append(wording.complete(checklist))
    return found


def speech(text: str, voice: str, pace: int) -> np.ndarray:
    return spoken(text, voice, pace) * 0.5


def recording(path: Path, said: list[list[str]]) -> None:
    """Every answer after its call has been made, in a quiet room."""
    voice = HibariVoice()
    parts = [np.zeros(round(STARTING * RATE))]
    for before, said_now in zip(said, ANSWERS, strict=False):
        seconds = sum(voice.synthesise(call).seconds + 0.2 for call in before)
        parts += [np.zeros(round((seconds + THINKING) * RATE)), speech(*said_now)]
    parts.append(np.zeros(RATE * 60))
    sound = np.concatenate(parts)
    sound += room(len(sound) / RATE)[: len(sound)]
    soundfile.write(path, sound.astype(np.float32), RATE, subtype="PCM_16")


def understood(sound: np.ndarray, vocabulary: set[str]) -> str:
    """What PocketSphinx hears, if any sequence of these words may come."""
    decoder = Decoder(samprate=RATE, loglevel="FATAL", wip=1e-3)
    known = sorted(word for word in vocabulary if decoder.lookup_word(word) is not None)
    decoder.add_jsgf_string("g", f"#JSGF V1.0; grammar g; public <g> = ( {' | '.join(known)} )+;")
    decoder.activate_search("g")
    noisy = np.concatenate((np.zeros(RATE // 4), sound, np.zeros(RATE // 4)))
    noisy = noisy + room(len(noisy) / RATE, level=0.0005)[: len(noisy)]
    decoder.start_utt()
    decoder.process_raw((noisy.clip(-1, 1) * 32767).astype(np.int16).tobytes(), full_utt=True)
    decoder.end_utt()
    hypothesis = decoder.hyp()
    return hypothesis.hypstr if hypothesis else ""


def all_first_in_line() -> None:
    """The program and what will start the browser: neither is to be starved for half a second."""
    for children in Path("/proc/self/task").glob("*/children"):
        for pid in children.read_text().split():
            with suppress(OSError):  # not allowed, or gone
                if os.sched_getscheduler(int(pid)) == os.SCHED_OTHER:
                    os.sched_setscheduler(int(pid), os.SCHED_RR, os.sched_param(10))


def words(text: str) -> list[str]:
    return re.findall(r"[a-z']+", text.lower())


def test_a_list_is_answered_through_a_phone_and_what_it_says_is_understood(tmp_path):
    path = before_start(tmp_path)
    said = calls(load_all(path).aircraft)[: COUNT + 1]
    recording(tmp_path / "pilot.wav", said)
    ends = ("before-start", "--listen", "phone", "--speak", "phone", "--headset")
    arguments = (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={tmp_path / 'pilot.wav'}%noloop",
    )
    with (
        SoundServer(HEADSET) as server,
        running(*ends, aircraft=path) as run,
        sync_playwright() as playwright,
    ):
        all_first_in_line()
        recorder = Recorder(server)
        sound = {**server.environment, "PULSE_SERVER": server.address}
        loud = {"env": sound, "ignore_default_args": ["--mute-audio"]}
        screen = page(opened(playwright, *arguments, **loud), run.code())
        screen.click("#sound")
        run.wait_for(said[-1][-1], timeout=50 + 12 * COUNT)
        recorder.wait_until_said(len(recorder.sound()) - RATE, quiet=2.0)
        heard = recorder.sound()
        recorder.close()
        ticked = ticks(run.folder / "logbook.db")
    assert TICKED[:COUNT] == ticked
    wanted = words(" ".join(" ".join(part) for part in said))
    sentences = [one for one in stretches(heard) if len(one) > 0.3 * RATE]
    distract = "fuel lever closed rotor tie removed intact percent never above warning caution"
    found = " ".join(understood(one, {*wanted, *distract.split()}) for one in sentences)
    assert jiwer.wer(" ".join(wanted), found) <= 0.3, found


def ticks(path: Path) -> list[str]:
    """Answers as they stand in the logbook."""
    with Logbook.read(path) as logbook:
        facts = [fact for _, fact in logbook.facts(1) if fact.fact == "ticked"]
    return [dict(fact.data)["answer"] for fact in facts]


def test_a_short_silence_heals_and_a_long_one_is_told_on_both_sides(tmp_path):
    """The program stands still, which to the phone is the same as a radio that is gone."""
    ends = ("walk-round", "--ear", "keys", "--listen", "phone", "--speak", "none")
    fake = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
    with running(*ends) as run, sync_playwright() as playwright:
        all_first_in_line()
        screen = page(opened(playwright, *fake), run.code())
        screen.click("#sound")
        run.wait_for("Fuel lever?")
        working = "Stop using this phone as microphone and earpiece"
        expect(screen.locator("#sound")).to_have_text(working)
        stand_still(run, 0.2)  # and what a busy machine adds, within half a second
        screen.wait_for_timeout(1000)
        assert [] == [line for line in run.lines if "lost" in line]
        stand_still(run, 1.5, lambda: expect(screen.locator("#sound")).to_have_text(OUT))
        for line in ("Phone lost.", "Holding at fuel lever.", "Phone works again."):
            run.wait_for(line)
        expect(screen.locator("#sound")).to_have_text(working)
        screen.locator('button[data-say="resume"]').click()
        run.wait_until(lambda: 2 == len([line for line in run.lines if "Fuel lever?" in line]))


def stand_still(run: Run, seconds: float, meanwhile=lambda: None) -> None:
    os.kill(run.process.pid, signal.SIGSTOP)
    try:
        time.sleep(seconds)
        meanwhile()
    finally:
        os.kill(run.process.pid, signal.SIGCONT)
