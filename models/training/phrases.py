"""The texts that synthetic voices are made to say.

Rule of this file: text only; the same seed gives the same texts. The words
are those of checklists and radiotelephony in general, the ten commands and
ten digits that the public sets hold, and common English words for coverage.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from models.training import near


def words_in(line: str) -> list[str]:
    """The words of a line."""
    return line.split()


COMMANDS = words_in("yes no up down left right on off stop go")
DIGITS = words_in("zero one two three four five six seven eight nine")
TEENS = words_in("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
TENS = words_in("twenty thirty forty fifty sixty seventy eighty ninety")
ALPHABET = words_in(
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar "
    "papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu"
)
UNITS = words_in(
    "percent degrees volts amps knots feet pounds gallons minutes seconds hundred thousand rpm "
    "bar psi litres quarts celsius inches"
)
ANSWERS = """check|checked|set|closed|open|on|off|removed|installed|secure|secured|latched|locked
closed and latched|clear|clear left|clear right|clear above|tail clear|rotor clear|area clear
full|empty|half|normal|normal range|in the green|green|amber|steady|rising|falling|stable|lit
light off|light out|lights off|no light|no leaks|no cracks|no play|none|no|yes|affirm|affirmative
negative|free|full and free|free and correct|in place|fastened|tight|safe|armed|disarmed|engaged
disengaged|connected|disconnected|charging|ready|fire guard ready|complete|checklist complete
standby|stand by|say again|disregard|abort|skip|skip item|go back|read back|repeat|continue
go ahead|help|hold|start|stop|next|back|defer|note|end note|where are we|time remaining
what is left|battery on|battery off|master on|master off|fuel on|fuel off|fuel valve open
starter on|starter off|throttle closed|throttle open|ground idle|flight idle|idle|cut off
cut off lever|shut down|cool down complete|friction on|friction off|brake on|brake off
pedals neutral|cyclic centred|cyclic neutral|collective down|full down|doors closed|doors removed
belts fastened|harness fastened|helmet on|headset on|radio on|radio off|avionics on|avionics off
strobe on|strobe off|beacon on|beacon off|altimeter set|squawk|squawk standby|wind|oil level good
oil pressure normal|oil temperature normal|exhaust temperature normal|rotor speed|gas generator
bus voltage|fuel quantity|extinguisher in hand|visually checked|clean|clean and dry|dry|wet
good|bad|light off heard|no light off|hot start|light up|up|down|left|right|correct|correction
confirm|acknowledge|roger|wilco|unable|monitor|press|release|released|arm|test|passed|failed
warning out|caution out|horn off|horn on|governor on|governor off|generator on|generator off
pump on|pump off|ignition on|ignition off|igniter on|anti ice off|heater off|drain closed|cap on
caps secure|cowling closed|covers removed|tie downs removed|blades free|inlet clear|exhaust clear
mast nut secure|safety wire intact|intact|undamaged|adjusted|released and clear|removed and stowed
stowed|not installed|not fitted|not cracked|both on|both off|all off|all on|one light out
go|no go|trim set|mixture rich|choke off|lever down|lever up|switch on|switch off|warm up complete
"""


def answers() -> list[str]:
    """Every checklist answer of the list above, in its order, once."""
    return list(dict.fromkeys(p for line in ANSWERS.split("\n") for p in line.split("|") if p))


def all_answers() -> list[str]:
    """Those and the ones that were added later, which `evaluate.py` lets nobody choose from."""
    return list(dict.fromkeys([*answers(), *near.listed(near.MORE_ANSWERS)]))


def number(rng: random.Random) -> str:
    """One number, in one of the ways in which numbers are said."""
    digits = [*DIGITS, "niner"]
    kind = rng.random()
    if kind < 0.5:
        said = " ".join(rng.choice(digits) for _ in range(rng.choice([2, 2, 3, 3, 3, 4, 4, 5])))
    elif kind < 0.65:
        said = " ".join(rng.choice(digits) for _ in range(rng.choice([1, 1, 2, 2, 3])))
        said += rng.choice([" point ", " decimal "])
        said += " ".join(rng.choice(digits) for _ in range(rng.choice([1, 1, 1, 2])))
    elif kind < 0.8:
        said = rng.choice([*TEENS, *TENS, f"{rng.choice(TENS)} {rng.choice(DIGITS[1:])}"])
    elif kind < 0.93:
        said = f"{rng.choice(DIGITS[1:])} hundred"
        if rng.random() < 0.7:
            said += rng.choice([" and ", " "])
            said += rng.choice([*DIGITS[1:], *TEENS, *TENS, f"{rng.choice(TENS)} five"])
    else:
        said = f"{rng.choice(DIGITS[1:])} thousand"
        if rng.random() < 0.5:
            said += f" {rng.choice(DIGITS[1:])} hundred"
    if rng.random() < 0.25:
        said += " " + rng.choice(UNITS)
    return said


def text(rng: random.Random, common: Sequence[str]) -> str:
    """One text to say; `common` are general words."""
    kind = rng.random()
    if kind < 0.17:
        return rng.choice(COMMANDS)
    if kind < 0.24:
        return rng.choice([*DIGITS, *DIGITS, "niner", *TEENS, *TENS])
    if kind < 0.36:
        return number(rng)
    if kind < 0.60:
        said = rng.choice(all_answers())
        if rng.random() < 0.12:
            said += " " + rng.choice(all_answers())
        return said
    if kind < 0.72:
        return near.beside(rng, all_answers())
    if kind < 0.87:
        return near.nearly(rng, all_answers())
    if kind < 0.90:
        return " ".join(rng.choice(ALPHABET) for _ in range(rng.choice([1, 2, 3])))
    return " ".join(rng.choice(common) for _ in range(rng.choice([1, 1, 2, 3, 4])))
