"""The shape of an aircraft file: which keys there are, and what each one takes.

Rule of this file: shape only. Every scalar arrives as the text that was typed
and goes through a checker of fields.py. What depends on another part of the
file (does this gauge exist?) is asked in checks.py.
"""

from __future__ import annotations

from typing import Annotated

from callout.checklist import fields
from callout.checklist.model import ListKind, ResumePolicy
from callout.checklist.schema_duties import (
    CoolDownEntry,
    CounterEntry,
    DueEntry,
    ResidualFireEntry,
    RunDownEntry,
)
from callout.checklist.schema_review import REASON, REVIEWED, OrderEntry, Reviewed
from callout.checklist.schema_watch import StartWatchEntry
from callout.checklist.shapes import (
    REMOVE,
    Call,
    Column,
    Digits,
    Entry,
    Extent,
    Id,
    Number,
    Phrases,
    Rate,
    Ref,
    Share,
    Spoken,
    Text,
    Time,
    TimeOrNo,
    YesNo,
    doc,
    must,
    shape,
    words,
)
from callout.checklist.units import FEED_UNITS, UNITS

VERSION = 1
"""The language version that this program reads; the first key of every file."""


class SourceEntry(Entry):
    """Where the limits come from."""

    handbook: Text = must("The handbook that the limits are copied from.", "Flight manual FM-1")
    issue: Text | None = doc("Its issue.", "2")
    date: Text | None = doc("The date of that issue.", "2024-05-01")


class AircraftEntry(Entry):
    """What this file is for."""

    name: Text = must("Name of the machine, as it is to be spoken.")
    revision: Text = must("Revision of these lists.", "3")
    written_by: Text = must("Who wrote these lists and answers for them.")
    limits_from: SourceEntry = must("Where every limit in this file comes from.")
    notice: Text | None = doc("Said before anything else.")
    reviewed: Reviewed | None = doc(REVIEWED, REASON)


class SettingsEntry(Entry):
    """How callout talks and waits."""

    decimal_word: Annotated[str, *words("point", "decimal")] | None = doc(
        "The word between whole and part of a number.", "point"
    )
    resume: Annotated[str, *words(*(policy.value for policy in ResumePolicy))] | None = doc(
        "Where `resume` goes after a hold.", "repeat last item"
    )
    answer_time: Time | None = doc("Silence after which an item is said again.", "12 s")
    look_time: Time | None = doc("An answer sooner than this is queried.", "1 s")
    certainty: Share | None = doc("How sure the ear must be, 0 to 1.", "0.5")
    killer_certainty: Share | None = doc("The same for killer items.", "0.7")
    reasons: Phrases | None = doc("What may be given as the reason of an override.", ["not fitted"])
    grounding_closes: list[Ref] | None = doc(
        "Lists that a squawk which grounds the aircraft closes; those of a start if not written.",
        ["start"],
    )
    record_session: YesNo | None = doc("The sound of every whole session is kept.", "no")


class OutsideEntry(Entry):
    """Below or above which something is due."""

    below: Number | None = doc("Lower than this.", "24.0")
    above: Number | None = doc("Higher than this.", "650")


class TransientEntry(Entry):
    """What is allowed for a short time."""

    above: Number = must("The limit that may be passed for a short time.", "650")
    for_: Time = must("For at most this long.", "5 s", alias="for")
    in_all: Time | None = doc(
        "And in all, while the engine state lasts, at most this long.", "10 s"
    )
    never_above: Number | None = doc("But never above this.", "720")


class LimitEntry(Entry):
    """Limits of a gauge in one engine state."""

    caution: OutsideEntry | None = doc("Outside this a caution is due.")
    never: OutsideEntry | None = doc("Outside this the limit is passed.")
    transient: TransientEntry | None = doc("What is allowed for a short time.")
    rise_at_most: Rate | None = doc("Greatest rate of rise, per second.", "40 per second")
    fall_at_most: Rate | None = doc("Greatest rate of fall, per second.", "5 per second")
    look_ahead: TimeOrNo | None = doc(
        "So long before a never limit would be passed, `rising fast` is said.", "0.5 s", "no"
    )
    source: Text | None = doc(
        "Where it comes from, if not from the handbook named above.", "Starter manual, page 3"
    )
    remove: YesNo | None = doc(REMOVE)


class FeedEntry(Entry):
    """How a gauge's readings come in by a feed."""

    column: Column | None = doc("Its name in the feed; without it, its key.", "egt")
    unit: Annotated[str, *words(*FEED_UNITS)] | None = doc(
        "What the feed gives it in; without it, the gauge's own unit.", "degF"
    )
    changes_at_most: Rate | None = doc("The fastest that it can really change.", "400 per second")
    stuck_after: Time | None = doc(
        "One and the same value for so long, while others move, is a stuck sensor.", "5 s"
    )
    silent_after: Time | None = doc("So long without a value is a silent sensor.", "1 s")


class GaugeEntry(Entry):
    """One instrument."""

    call: Spoken | None = doc(
        "Its spoken name; without it, its key with spaces.", "battery voltage"
    )
    also: Phrases | None = doc("Further spoken names.", ["voltage"])
    unit: Annotated[str, *words(*UNITS)] = must("Its unit.", "V", "%", "degC")
    range: Extent = must("All that it can show.", "0 to 35")
    decimals: Digits | None = doc("Digits read after the point.", "1")
    limits: dict[Id, LimitEntry] | None = doc('By engine state; "any" for always.')
    feed: FeedEntry | None = doc("How its readings come in by a feed.")
    jitter: Number | None = doc(
        "How far its readings jump about by themselves; a hundredth of its range if not written.",
        "5",
    )
    reviewed: Reviewed | None = doc(REVIEWED, REASON)
    remove: YesNo | None = doc(REMOVE)


class AwaitEntry(Entry):
    """A gauge that has to come into a band."""

    gauge: Ref = must("Which gauge.", "gas-generator-speed")
    at_least: Number | None = doc("Until it shows at least this.", "58")
    at_most: Number | None = doc("Until it shows at most this.", "200")
    for_: Time | None = doc("Held for this long.", "3 s", alias="for")
    within: Time | None = doc("Time allowed for it.", "30 s")
    missed: Ref | None = doc("The list that opens when that time is up.", "hung-start")
    or_said: Phrases | None = doc("Words that answer it in place of a value.", ["light off"])


class ItemEntry(Entry):
    """One line of a list.  What it is, is told by the one kind key that it has."""

    id: Id | None = doc("Its name in this list; without it, made from the call.", "fuel-lever")
    call: Call | None = doc("What is read aloud, noun first.", "fuel lever")
    answer: Spoken | None = doc("KIND ask and answer: the one answer that counts.", "closed")
    answers: Phrases | None = doc(
        "KIND ask and answer: the answers that count, the first is printed.",
        ["closed", "fully closed"],
    )
    wrong_answers: Phrases | None = doc("Likely wrong answers, refused by name.", ["open"])
    read: Ref | None = doc("KIND read a value: which gauge.", "battery-voltage")
    at_least: Number | None = doc("With `read`: the value must be at least this.", "24.0")
    at_most: Number | None = doc("With `read`: the value must be at most this.", "29.0")
    wait: Time | None = doc("KIND timed wait: how long.", "2 min")
    marks: list[Time] | None = doc("With `wait`: times remaining that are said.", ["1 min", "10 s"])
    await_: AwaitEntry | None = doc("KIND await a condition.", alias="await")
    say: Text | None = doc("KIND advice: said, needs no answer.")
    choose: dict[Id, Phrases] | None = doc(
        "KIND choice: name of each way to go, and the words that choose it.",
        {"battery": "own battery", "ground-power": "ground power"},
    )
    go_to: Ref | None = doc("KIND go to: leave this list and open that one.", "shutdown")
    who: Annotated[str, *words("pilot", "helper")] | None = doc(
        "Who does and answers it.", "helper"
    )
    where: Spoken | None = doc("Station of the walk-round.", "left side")
    why: Text | None = doc("The reason, spoken when asked for.")
    killer: YesNo | None = doc("Never passed by one utterance other than its own answer.", "yes")
    look_time: Time | None = doc("An answer sooner than this is queried.", "2 s")
    stale_after: Time | None = doc("After this long the tick no longer counts.", "30 min")
    gate: YesNo | None = doc("Deferred items of this list come back before this one.", "yes")
    only_if: dict[Id, Id] | None = doc(
        "Applies only if that choice took that way.", {"power": "battery"}
    )
    after: Ref | None = doc("In a file based on another: stands after this item.", "fuel-lever")
    before: Ref | None = doc("In a file based on another: stands before this item.")
    reviewed: Reviewed | None = doc(REVIEWED, REASON)
    remove: YesNo | None = doc(REMOVE)


class SectionEntry(Entry):
    """A part of a list, announced by its name."""

    name: Spoken = must("Its spoken name.", "nose")
    where: Spoken | None = doc("Station of all its items.", "nose")
    items: list[ItemEntry] | None = doc("Its items, in order.", min_length=1)


class ListEntry(Entry):
    """One list."""

    title: Spoken | None = doc("Its spoken title; without it, its key with spaces.", "before start")
    also: Phrases | None = doc("Further spoken titles.")
    kind: Annotated[str, *words(*(kind.value for kind in ListKind))] | None = doc(
        "Normal lists run in order; abort lists break in; emergency lists open at any time.",
        "normal",
    )
    engine_state: Id | None = doc("Which limits hold while it runs.", "start")
    abort: Ref | None = doc("The list that `abort` opens while this one runs.", "start-abort")
    aborts: list[Ref] | None = doc("Further abort lists that can be called.", ["hot-start"])
    needs: list[Ref] | None = doc(
        "Lists or items (list/item) that must be done first.", ["before-start/area"]
    )
    items: list[ItemEntry] | None = doc("Its items, in order.", min_length=1)
    sections: list[SectionEntry] | None = doc("Its items in named parts.", min_length=1)
    after: Ref | None = doc("In a file based on another: stands after this list.")
    reviewed: Reviewed | None = doc(REVIEWED, REASON)
    remove: YesNo | None = doc(REMOVE)


class FileEntry(Entry):
    """A whole file."""

    callout: Annotated[
        int, *shape(fields.whole(VERSION, VERSION), {"enum": [VERSION, str(VERSION)]})
    ] = must("Version of the language; the first key of the file.", VERSION)
    based_on: Text | None = doc("The file that this one differs from.", "other-aircraft.yaml")
    aircraft: AircraftEntry | None = doc("What this file is for.")
    settings: SettingsEntry | None = doc("How callout talks and waits.")
    engine_states: list[Id] | None = doc(
        "States of the engine in which different limits hold.", ["start", "running"]
    )
    reactions: dict[Id, Time] | None = doc(
        "Times in which people must react, by name; practice measures against them.",
        {"stop": "4 s"},
    )
    gauges: dict[Id, GaugeEntry] | None = doc("The instruments.")
    counters: dict[Id, CounterEntry] | None = doc("What is counted from session to session.")
    due: dict[Id, DueEntry] | None = doc("What has to be done again and again, or by a date.")
    cool_down: CoolDownEntry | None = doc("The cool-down before fuel-off.")
    run_down: RunDownEntry | None = doc("The time from fuel-off to standstill.")
    residual_fire: ResidualFireEntry | None = doc("The watch for a fire after fuel-off.")
    start_watch: StartWatchEntry | None = doc("The watch over a start.")
    order: list[OrderEntry] | None = doc(
        "Orders that `callout review` holds the lists against.", min_length=1
    )
    lists: dict[Id, ListEntry] | None = doc("The lists, in the order of a flying day.")


KINDS: dict[str, tuple[str, ...]] = {
    "answer": ("wrong_answers",),
    "answers": ("wrong_answers",),
    "read": ("at_least", "at_most"),
    "wait": ("marks",),
    "await": (),
    "say": (),
    "choose": (),
    "go_to": (),
}
"""The keys that say what an item is, each with the keys that belong to it alone."""
