"""Words that a review knows: answers that say nothing, verbs, states, controls, people.

Rule of this file: data, and small questions about words; English of the trade
(common practice, no source, where nothing else is said). A word that is not
here is never found fault with.
"""

from __future__ import annotations


def words_of(text: str) -> frozenset[str]:
    """The words of a text as a set."""
    return frozenset(text.split())


EMPTY = words_of(
    "check checked checks set done ok okay good fine normal complete completed confirmed "
    "verified verify performed inspected examined tested reviewed accomplished noted "
    "satisfactory acceptable serviceable correct proper"
)
"""Answers that tell that somebody acted, not what is there (Degani & Wiener J1/A4; AC 120-71B
5.4, as quoted: "may not be very informative")."""
EMPTY_PHRASES = frozenset(
    ("as required", "as needed", "as necessary", "as desired", "if required", "all good")
)
"""An operator's procedures (as quoted): "As Required" is not a valid answer."""
_FILLING = words_of("and all is are it has been both")
IN_RANGE = frozenset(
    (
        *("in the green", "green", "in limits", "within limits", "in range", "within range"),
        *("in the arc", "in the green arc", "normal range", "sufficient", "enough", "adequate"),
        *("as expected", "okay", "ok", "normal", "checked", "good", "up", "high enough"),
    )
)
"""Said of a gauge, they are not its value (Degani & Wiener J1/A4)."""

NOT = words_of("not never cannot can't don't isn't aren't without")

VERBS = words_of(
    "verify ensure confirm inspect examine remove install turn move pull push apply "
    "disconnect connect engage disengage tighten adjust look make select activate deactivate "
    "stow fasten unlock switch arm disarm put take press hold monitor observe listen wait "
    "climb"
)
"""A call that begins with one of these is an order; the noun comes after it."""
TWO_SIDED = words_of("check set open close test secure clear read lock release drain")
"""Verbs that may be part of a noun ("check valve"); they are, before one of these:"""
NOUN_TAILS = words_of(
    "valve valves nut nuts screw screws point list engine bolt bolts lever line lines rod rods "
    "button pin pins plug plugs cock cap wire ring rings panel lamp light lights run clip "
    "band tank hole holes switch switches hose pump port vent cell stand bench"
)
ADVERBS = words_of("off on out")
"""After "switch", what makes it an order rather than a thing."""

STATES = words_of(
    "applied closed open opened on off removed fitted locked unlocked latched connected "
    "disconnected engaged disengaged armed safe isolated running stopped fastened released tight "
    "secured stowed extended retracted clear free intact full empty charged charging dark"
)
"""What a thing can be: it belongs in the answer."""

SIDES = words_of(
    "above below around under over behind beside ahead up down left right fore aft front rear "
    "back inside outside top bottom near far full free hot cold quiet even clear bright"
)
"""Words that "and" may join without making two things of one."""
NAMES_OF_ONE = frozenset(("nuts and bolts", "weight and balance", "push and pull"))

PUMP = frozenset(("boost pump", "fuel pump", "electric fuel pump", "auxiliary fuel pump"))
FUEL = frozenset(
    (
        *("fuel lever", "fuel valve", "fuel cock", "fuel cutoff", "fuel cut off", "fuel shut off"),
        *("condition lever", "gas valve", "fuel shutoff"),
    )
)
BATTERY = frozenset(("battery", "battery master", "battery switch", "master switch"))
STANDSTILL = frozenset(
    ("main rotor", "rotor", "rotor blades", "gas generator", "propeller", "blades")
)
OFF = words_of("off stopped closed isolated disconnected cut")
STANDS = frozenset(("standing still", "stopped", "at rest", "still", "stands still", "standstill"))

CONTROLS = (
    *("fuel lever", "throttle", "twist grip", "cyclic", "collective", "pedals", "stick"),
    *("mixture", "starter", "ignition", "magneto", "boost pump", "condition lever", "seat belt"),
    *("choke", "harness", "primer", "governor", "avionics", "radio"),
)
"""What only he can reach who sits inside."""
INSIDE = words_of("cabin cockpit inside seat")

PEOPLE = ("people", "person", "bystander", "spectator", "area", "propeller clear", "fire guard")
"""What changes by itself while nobody looks (Helicopter Flying Handbook ch. 8, as reproduced)."""
AREA = ("area", "people", "bystander", "spectator", "everybody", "persons", "clear prop")
GUARD = ("extinguisher", "fire guard", "fire bottle")
RUNS = (
    *("start", "run up", "runup", "take off", "takeoff", "landing", "cool down", "taxi", "hover"),
    *("ground run", "idle", "test run", "flight"),
)
STANDS_TITLES = (
    "before start",
    "before flight",
    "pre flight",
    "preflight",
    "walk",
    "post",
    "after flight",
)

DIGITS = words_of("zero one two three four five six seven eight nine niner ten hundred")


def says_nothing(answer: str) -> bool:
    """Whether an answer tells no state at all."""
    words = [word for word in answer.split() if word not in _FILLING]
    return answer in EMPTY_PHRASES or (bool(words) and all(word in EMPTY for word in words))


def begins_with_verb(call: str) -> bool:
    """Whether a call is an order instead of a thing."""
    first, *rest = call.split()
    following = rest[0] if rest else ""
    if first == "switch":
        return following in ADVERBS
    return first in VERBS | TWO_SIDED and bool(rest) and following not in NOUN_TAILS


def given_away(call: str) -> str:
    """The state that a call already tells, at its end; "" for none."""
    *front, last = call.split()
    return last if front and last in STATES else ""


def two_things(call: str) -> bool:
    """Whether "and" or "or" joins two things in a call."""
    if call in NAMES_OF_ONE:
        return False
    words = call.split()
    for at, word in enumerate(words[1:-1], start=1):
        sides = {words[at - 1], words[at + 1]} <= SIDES
        if word in ("and", "or") and not sides:
            return True
    return False


def negation(text: str) -> str:
    """The negating word of a text, or ""."""
    return next((word for word in text.split() if word in NOT), "")


def names(call: str, things: frozenset[str]) -> bool:
    """Whether the call names one of these things and nothing longer ("battery cover" does not)."""
    return call in things or any(call.endswith(f" {thing}") for thing in things)


def speaks_of(call: str, things: tuple[str, ...]) -> bool:
    """Whether one of these words, or words that begin so, stands in the call."""
    padded = f" {call}"
    return any(f" {thing}" in padded for thing in things)
