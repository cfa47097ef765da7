"""The shape of the watch over a start.

Rule of this file: as schema.py, whose part it is: shape only.
"""

from __future__ import annotations

from callout.checklist.shapes import (
    REMOVE,
    Entry,
    Id,
    Number,
    Phrases,
    Rate,
    Ref,
    Refs,
    Spoken,
    Time,
    YesNo,
    doc,
    must,
)


class SignEntry(Entry):
    """What shows it: the tick of an item, words, or a gauge."""

    item: Ref | None = doc("The tick of this item, as list/item.", "start/starter")
    said: Phrases | None = doc("Words said while it counts.", ["light off"])
    gauge: Ref | None = doc("Which gauge shows it.", "gas-generator-speed")
    at_least: Number | None = doc("It shows at least this.", "50")
    at_most: Number | None = doc("It shows at most this.", "20")
    for_: Time | None = doc("For so long without a break.", "3 s", alias="for")
    rises: Rate | None = doc("It rises at least so fast.", "80 per second")
    falls: Rate | None = doc("It falls at least so fast.", "200 per second")
    rises_less_than: Rate | None = doc("It rises more slowly than this.", "0.2 per second")
    over: Time | None = doc("Time over which the slope is taken.", "1 s")
    heads_for: Number | None = doc("At its present slope it reaches this ...", "800")
    ahead: Time | None = doc("... within so long.", "1 s")
    limits: YesNo | None = doc("It passes a never-exceed or transient limit of its own.", "yes")


class PhaseEntry(Entry):
    """One part of the start."""

    call: Spoken | None = doc("Its spoken name; without it, its key with spaces.", "light off")
    until: list[SignEntry] = must("What ends it: any one of these.", min_length=1)
    within: Time | None = doc("Time allowed for it.", "10 s")
    missed: Id | None = doc("The fault that it is when that time is up.", "no-light-off")
    remove: YesNo | None = doc(REMOVE)


class FaultEntry(Entry):
    """What can go wrong in a start."""

    call: Spoken | None = doc("Its spoken name; without it, its key with spaces.", "hot start")
    abort: Ref = must("The list that opens at once.", "hot-start")
    during: list[Id] | None = doc("Phases in which it is looked for.", ["light-off"], min_length=1)
    when: list[SignEntry] | None = doc("What shows it: any one of these.", min_length=1)
    longest: Time | None = doc("Those phases together may take so long.", "45 s")
    stops: list[SignEntry] | None = doc("What ends that time: any one of these.", min_length=1)
    remove: YesNo | None = doc(REMOVE)


class StartWatchEntry(Entry):
    """The watch over a start."""

    watches: Ref = must("The list that it watches.", "start")
    begins: list[SignEntry] = must("What says that the starter is on: any one.", min_length=1)
    bare_numbers: Ref | None = doc(
        "The gauge of a number that is said without a name.", "gas-generator-speed"
    )
    logged: Refs | None = doc(
        "Further gauges whose lowest and highest are written down.", ["battery-voltage"]
    )
    phases: dict[Id, PhaseEntry] = must("The parts of the start, in order.", min_length=1)
    faults: dict[Id, FaultEntry] = must("What can go wrong, the gravest first.", min_length=1)
    remove: YesNo | None = doc(REMOVE)
