"""Which benches a whole run has, with how much of everything, and what the README claims.

Rule of this file: a part a bench, in the order of the page. Sets of recordings that are not
in the repository (models/training/prepare.py and models/kept_voices.py make them) are looked
for in the folder that was given; where one is missing, its part says so or takes the few
recordings of tests/ear/recordings. A claim is the README's own words, which a test holds.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from callout.benches import all_rows as rows
from callout.benches.all_benches import Part

TOP = Path(__file__).resolve().parents[2]
RECORDINGS = TOP / "tests" / "ear" / "recordings"
TEN = ("yes", "no", "up", "down", "left", "right", "on", "off", "stop", "go")
SEED = 20261129
LONG = "left out of a quick run"

WORDS = {"clean": "97.5 % right clean", 10.0: "94.0 % at 10 dB", 5.0: "91.8 % at 5 dB",
         0.0: "85.4 % at 0 dB"}  # fmt: skip
ANSWERS = {10.0: "97 % at 10 dB", 0.0: "81 % at 0 dB"}
NOTHING = "ticked no item that asks for a word"
TALK = {"ordinary": NOTHING, "killer": NOTHING, "value": "two values were taken in 1.2 h"}
LINES = "up to a hundred lines a second"


@dataclass(frozen=True, slots=True)
class Given:
    """What a run has.

    Fields:
        aircraft: the example; sets: folder of sets, None if none was given
        phrases: a file with the ten words, one a line
        vosk: a Vosk model is installed; quick: fewer of everything
    """

    aircraft: Path
    phrases: Path
    sets: Path | None = None
    vosk: bool = False
    quick: bool = False

    def set(self, name: str, instead: str = "") -> str:
        """A set's list: from the folder, else one of the repository's, else ""."""
        found = self.sets / f"{name}.json" if self.sets else None
        if found is not None and found.is_file():
            return str(found)
        kept = RECORDINGS / f"{instead}.json"
        return str(kept) if instead and kept.is_file() else ""

    @property
    def ears(self) -> tuple[str, ...]:
        """Options: the built-in ear and those beside it."""
        names = ("built-in", "pocketsphinx", *(["vosk"] if self.vosk else []))
        return tuple(word for name in names for word in ("--ear", name))

    def many(self, full: float, few: float) -> str:
        """So many in a whole run, or in a quick one."""
        return f"{few if self.quick else full:g}"


def parts(given: Given) -> tuple[Part, ...]:
    """All of them."""
    return (*_ears(given), *_voice(given), *_engine(given))


def _lacks(*sets: str) -> str:
    return "" if all(sets) else "its recordings are not here; see models/README.md, and give --sets"


def _ears(given: Given) -> tuple[Part, ...]:
    words, noise = given.set("words-dev", "words"), given.set("heli-dev", "noise")
    answers, digits = given.set("answers-dev"), given.set("numbers-dev")
    talk, under = given.set("talk-dev", "talk"), given.set("noise-dev", "noise")
    long = LONG if given.quick else ""
    aircraft, most = str(given.aircraft), ("--most", given.many(0, 24))
    snrs, loud = ("--snr", "clean,10,5,0"), ("--noise", noise)
    return (
        Part("words", "Ten words, a closed set",
             ("hearing", *given.ears, "--speech", words, *loud, *snrs, *most,
              "--phrases", str(given.phrases)),
             rows.heard("ten words of people never heard", WORDS), _lacks(words, noise), 13),
        Part("answers", "Answers at their own items",
             ("answers", aircraft, *given.ears, "--speech", answers, *loud, "--snr", "10,0"),
             rows.heard("every answer of the example at its own item", ANSWERS),
             _lacks(answers, noise) or long, 22),
        Part("numbers", "Numbers of two to four digits",
             ("digits", *given.ears, "--speech", digits, *loud, "--snr", "clean,10",
              "--numbers", given.many(120, 20)),
             rows.heard("numbers, right as a whole", {}), _lacks(digits, noise), 3),
        Part("talk", "Talk that was meant for nobody",
             ("false-accepts", *given.ears, "--speech", talk, "--noise", under,
              "--snr", "10,5,20", "--aircraft", aircraft),
             rows.talk(TALK), _lacks(talk, under), 13),
        Part("first-word", "The first word after silence",
             ("first-word", *given.ears, "--speech", words, *loud, "--snr", "10",
              "--most", given.many(120, 9)),
             rows.heard("after 15 s of noise alone", {}), _lacks(words, noise), 5),
        Part("grammars", "Change of grammar",
             ("grammars", aircraft, "--rounds", given.many(5, 1)),
             rows.grammars, "", 1, timed=True),
    )  # fmt: skip


def _voice(given: Given) -> tuple[Part, ...]:
    noise, answers = given.set("heli-dev", "noise"), given.set("answers-dev")
    speech = ("--speech", answers) if answers else ()
    aircraft = str(given.aircraft)
    sound = "" if shutil.which("pulseaudio") else "PulseAudio is not here: callout doctor"
    long = LONG if given.quick else ""
    over = ("--pilot", answers) if answers else ()
    return (
        Part("turn", "A turn, the whole program between virtual sound devices",
             ("turn", aircraft, "--turns", given.many(20, 4), *speech),
             rows.turn, sound, 3, timed=True),
        Part("own-voice", "Its own voice",
             ("own-voice", aircraft, "--level", "0", "--delay", "50,200", *over), rows.own_voice,
             long, 20),
        Part("calls", "Its calls in noise",
             ("calls", aircraft, "--noise", noise, "--takes", "1"),
             rows.calls, _lacks(noise) or long, 7),
    )  # fmt: skip


def _engine(given: Given) -> tuple[Part, ...]:
    aircraft = str(given.aircraft)
    drill = ("--drill", "hot-start") if given.quick else ()
    return (
        Part("starts", "The watch over a start",
             ("starts", "--aircraft", aircraft, "--count", given.many(400, 20),
              "--seed", str(SEED)), rows.starts, "", 10),
        Part("limits", "Limits over time",
             ("limits", "--aircraft", aircraft, "--starts", given.many(600, 30),
              "--hours", given.many(1, 0.02)),
             rows.limits, "", 6, timed=True),
        Part("feed", "A gauge feed",
             ("feed", aircraft, "--minutes", given.many(60, 2)),
             rows.feed(LINES), "", 2, timed=True),
        Part("logbook", "The logbook",
             ("logbook", "--sessions", given.many(20_000, 200)),
             rows.logbook, "", 8, timed=True),
        Part("train", "Drills by voice",
             ("train", "--aircraft", aircraft, "--kind", "perfect",
              "--voice", "hibari", *drill), rows.train, "", 8),
    )  # fmt: skip
