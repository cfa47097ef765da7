"""Two people train at two microphones, live: a whole drill through virtual sound devices.

Rule of this file: it is run by hand (`python tests/running/measure_two_microphones.py`),
for it takes the drill's own time. Each person answers at his own microphone when he is
told his words; what was heard of whom, and both scores, are printed. `--one` gives both
people one microphone.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
import time
from pathlib import Path

from virtual_sound import HEADSET, MICROPHONE, Program, SoundServer

from callout.benches.pilot import Pilot
from callout.benches.train import voice_of
from callout.checklist.load import load_all
from callout.trainer.load import drills_of
from callout.trainer.model import PEOPLE
from callout.trainer.store import PracticeBook

CALLOUT = str(Path(sys.executable).parent / "callout")
REEDLARK = str(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
SIDES = {"pilot": "left", "helper": "right"}
LONGEST = 300.0
"""Seconds after which a drill that did not end is given up."""

ALSA = """pcm.{name} {{ type pulse device {name}.monitor }}
"""


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--drill", default="spilled-fuel")
    arguments.add_argument("--one", action="store_true")
    wanted = arguments.parse_args()
    sinks = [MICROPHONE.replace("hangar_mic", name) for name in SIDES.values()]
    with tempfile.TemporaryDirectory() as folder, SoundServer(*sinks, HEADSET) as server:
        devices = "".join(ALSA.format(name=name) for name in SIDES.values())
        out = "pcm.ears { type pulse device headset }\n"
        (server.folder / ".asoundrc").write_text(devices + out, encoding="utf-8")
        book = Path(folder) / "book.db"
        sides = ["left"] if wanted.one else list(SIDES.values())
        listen = [word for side in sides for word in ("--listen", f"microphone:{side}")]
        words = [
            CALLOUT, "train", REEDLARK, "--role", "both", "--drill", wanted.drill, "--coach",
            *listen, "--speak", "loudspeaker:ears", "--headset", "--who", "kim", "--who", "robin",
            "--book", str(book), "--debrief", str(Path(folder) / "debrief.html"),
        ]  # fmt: skip
        pilot = Pilot(voice_of("hibari"))
        loaded = {one.drill.id: one.drill for one in drills_of(load_all(Path(REEDLARK)))}
        for line in loaded[wanted.drill].lines:
            if line.who in PEOPLE:
                pilot.say(line.words[0])  # made before it is wanted
        program = Program(words, server.environment)
        try:
            went_through(program, server, pilot, one=wanted.one)
        finally:
            program.close()
        print(*program.errors, sep="\n")
        for who in ("kim", "robin"):
            for entry in PracticeBook(book).entries(who, "Reedlark"):
                lost = [
                    one["wanted"] for one in entry.result["calls"] if one["outcome"] != "in time"
                ]
                print(f"{who} as {entry.roles}: {entry.percent} %, lost {lost}, "
                      f"false {entry.result['false_calls']}")  # fmt: skip


def went_through(program: Program, server: SoundServer, pilot: Pilot, *, one: bool) -> None:
    """Say what is told, each at his own microphone, until the drill is over."""
    shown, until = 0, time.monotonic() + LONGEST
    while time.monotonic() < until and program.process.poll() is None:
        lines = program.lines[shown:]
        shown += len(lines)
        for line in lines:
            print(line)
            told = re.search(r"callout +(Pilot|Helper), say: (.*)\.$", line)
            if told:
                who, words = told[1].lower(), told[2].lower()
                time.sleep(2.2)  # it is being said
                side = "left" if one else SIDES[who]
                server.play(pilot.say(words).samples, side).wait()
        time.sleep(0.05)


if __name__ == "__main__":
    main()
