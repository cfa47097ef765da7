"""The shape of what is counted and timed beside the lists: duty, cool-down, run-down.

Rule of this file: as schema.py, whose parts these are: shape only.
"""

from __future__ import annotations

from callout.checklist.shapes import (
    REMOVE,
    Amount,
    Day,
    Days,
    Entry,
    Id,
    Months,
    Number,
    Phrases,
    Ref,
    Refs,
    Sessions,
    Spoken,
    Time,
    YesNo,
    doc,
    must,
)


class ShownEntry(Entry):
    """What a gauge shows."""

    gauge: Ref = must("Which gauge.", "starter-light")
    at_least: Number | None = doc("It goes on while it shows at least this.", "1")
    at_most: Number | None = doc("It goes on while it shows at most this.")


class SecondsEntry(Entry):
    """Time from the tick of one item to the tick of another."""

    from_: Refs = must(
        "The item whose tick begins it, as list/item.", "start/starter", alias="from"
    )
    to: Refs = must("The items whose tick ends it.", ["start/starter-released"])
    shown_by: ShownEntry | None = doc("What a gauge shows while it goes on.")


class GivesBackEntry(Entry):
    """What gives counts back one by one."""

    every: Time = must("One is given back for so long.", "15 min")
    state: Id = must("In this engine state.", "running")


class CounterEntry(Entry):
    """Something counted from one session to the next."""

    call: Spoken | None = doc("Its spoken name; without it, its key with spaces.", "start attempts")
    counts: Refs | None = doc("The item whose tick counts one, as list/item.", "start/starter")
    seconds: SecondsEntry | None = doc("In place of `counts`: its turns and their seconds count.")
    most: Number | None = doc("Greatest count before a rest is due.", "3")
    between: Time | None = doc("Rest after each.", "1 min")
    rest: Time | None = doc("A rest this long sets it back.", "20 min")
    each_at_most: Time | None = doc("With `seconds`: the longest at a time.", "20 s")
    total_at_most: Time | None = doc("With `seconds`: the longest in all.", "25 h")
    reset_by: Refs | None = doc("The item whose tick sets it back, as list/item.")
    gives_back: GivesBackEntry | None = doc("What gives counts back one by one.")
    formerly: list[Id] | None = doc("Keys that it had before, so that its past is found.")
    remove: YesNo | None = doc(REMOVE)


class DueEntry(Entry):
    """Something that has to be done again and again, or by a date."""

    call: Spoken | None = doc("Its spoken name; without it, its key with spaces.", "oil change")
    counter: Ref | None = doc("The counter that it goes by.", "engine-time")
    every: Amount | None = doc("So many, or so many hours, from one time to the next.", "50 h")
    warn: Amount | None = doc("It is said from so much before.", "5 h")
    date: Day | None = doc("By this date, until it is done for the first time.", "2027-03-31")
    months: Months | None = doc("After it was done: again after so many months.", "12")
    days: Days | None = doc("After it was done: again after so many days.", "90")
    warn_days: Days | None = doc("It is said from so many days before.", "30")
    said_at: Refs = must("Lists at whose opening it is said.", "walk-round")
    closes: Refs | None = doc("Lists that do not open while it is overdue.", "start")
    done_by: Refs | None = doc("Items whose tick says that it was done, as list/item.")
    formerly: list[Id] | None = doc("Keys that it had before, so that its past is found.")
    remove: YesNo | None = doc(REMOVE)


class ValuesEntry(Entry):
    """A range of a gauge."""

    at_least: Number | None = doc("At least this.", "58")
    at_most: Number | None = doc("At most this.", "67")


class CoolDownEntry(Entry):
    """The cool-down before fuel-off."""

    wait: Ref = must("The timed wait that gives its length and marks.", "cool-down/idle-wait")
    blocks: Refs = must("Items that wait until it is done.", "shutdown/fuel-lever")
    starts: Refs | None = doc("Items whose tick starts it.", "after-landing/twist-grip")
    idle: dict[Id, ValuesEntry] | None = doc(
        "Gauges that must be in these ranges: it counts from when they last were not.",
        {"gas-generator-speed": {"at_most": "70"}},
    )
    power_raised: Phrases | None = doc("Words that start it again.", ["power raised"])
    lists: list[Id] | None = doc("Lists in which the gauges may start it.", ["cool-down"])
    remove: YesNo | None = doc(REMOVE)


class StandstillEntry(Entry):
    """What a gauge shows at standstill."""

    gauge: Ref = must("Which gauge.", "gas-generator-speed")
    at_most: Number = must("It stands still at this or less.", "0")


class RunDownEntry(Entry):
    """The time from fuel-off to standstill."""

    starts: Refs = must("The item whose tick is fuel-off.", "shutdown/fuel-lever")
    standstill: StandstillEntry | None = doc("What a gauge shows at standstill.")
    ends: Refs | None = doc("Items whose tick says standstill.", "run-down/gas-generator")
    said: Phrases | None = doc("Words that say standstill at any time.", ["generator stopped"])
    shorter_by: Number | None = doc("Percent below the usual time that are said.", "20")
    sessions: Sessions | None = doc("Past sessions needed to compare with.", "5")
    remove: YesNo | None = doc(REMOVE)


class ResidualFireEntry(Entry):
    """The watch for a fire that goes on after fuel-off."""

    starts: Refs = must("The item whose tick is fuel-off.", "shutdown/fuel-lever")
    gauge: Ref = must("Which gauge is watched.", "exhaust-temperature")
    opens: Ref = must("The emergency list that opens.", "residual-fire")
    above: Number | None = doc("A value above this shows a fire.", "450")
    rises_by: Number | None = doc("So does one that rose by this from the lowest.", "40")
    settled_after: Time | None = doc("How long the value may still be high.", "30 s")
    within: Time | None = doc("How long it is watched.", "30 min")
    remove: YesNo | None = doc(REMOVE)
