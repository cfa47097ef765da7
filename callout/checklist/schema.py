"""The shape of an aircraft file: which keys there are, and what each one takes.

Rule of this file: shape only. Every scalar arrives as the text that was typed
and goes through a checker of fields.py. What depends on another part of the
file (does this gauge exist?) is asked in checks.py.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from callout.checklist import fields
from callout.checklist.model import ListKind, ResumePolicy
from callout.checklist.units import UNITS

VERSION = 1
"""The language version that this program reads; the first key of every file."""

_TEXT: dict[str, Any] = {"type": ["string", "number", "boolean"]}
_NUMBER: dict[str, Any] = {
    "type": ["number", "string"],
    "pattern": r"^\s*[+-]?[0-9]+(\.[0-9]+)?\s*$",
}
# Patterns for editors let through a little more than fields.py takes, never less.
_TIME: dict[str, Any] = {"type": "string", "pattern": r"^\s*[0-9][\s\S]*[A-Za-z]\s*$"}
_Checks = tuple[BeforeValidator, WithJsonSchema]
_ONE_OR_MORE: dict[str, Any] = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT, "minItems": 1}]}


def _field(check: Callable[[object], Any], schema: dict[str, Any]) -> _Checks:
    return (BeforeValidator(check), WithJsonSchema(schema))


def _words(*words: str) -> _Checks:
    return _field(fields.one_of(words), {"enum": list(words)})


Text = Annotated[str, *_field(fields.text, _TEXT)]
Spoken = Annotated[str, *_field(fields.spoken, _TEXT)]
Call = Annotated[str, *_field(fields.call, _TEXT)]
Phrases = Annotated[list[str], *_field(fields.phrases, _ONE_OR_MORE)]
Id = Annotated[str, *_field(fields.identifier, {"type": "string", "pattern": "^[a-z][a-z0-9-]*$"})]
Ref = Annotated[str, *_field(fields.text, {"type": "string"})]
Number = Annotated[Decimal, *_field(fields.number, _NUMBER)]
Share = Annotated[float, *_field(fields.share, _NUMBER)]
Time = Annotated[float, *_field(fields.duration, _TIME)]
YesNo = Annotated[bool, *_field(fields.yes_or_no, {"enum": ["yes", "no", True, False]})]
Rate = Annotated[
    Decimal,
    *_field(fields.rate, {"type": "string", "pattern": r"^\s*[+0-9.]+\s+per\s+(second|s)\s*$"}),
]
Extent = Annotated[
    tuple[Decimal, Decimal],
    *_field(fields.extent, {"type": "string", "pattern": r"^\s*[-+0-9.]+\s+to\s+[-+0-9.]+\s*$"}),
]
Digits = Annotated[
    int, *_field(fields.whole(0, 4), {"enum": [0, 1, 2, 3, 4, "0", "1", "2", "3", "4"]})
]


class Entry(BaseModel):
    """Base of all parts: no key that is not named here."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def _doc(
    what: str, *examples: object, alias: str | None = None, min_length: int | None = None
) -> Any:  # noqa: ANN401 - pydantic's Field is typed so
    """An optional key with its description and examples for editors."""
    shown = list(examples) or None
    return Field(default=None, description=what, examples=shown, alias=alias, min_length=min_length)


def _must(
    what: str, *examples: object, alias: str | None = None, min_length: int | None = None
) -> Any:  # noqa: ANN401 - pydantic's Field is typed so
    """A key that must be there."""
    shown = list(examples) or None
    return Field(description=what, examples=shown, alias=alias, min_length=min_length)


_REMOVE = "In a file that is based on another: take this out."


class SourceEntry(Entry):
    """Where the limits come from."""

    handbook: Text = _must("The handbook that the limits are copied from.", "Flight manual FM-1")
    issue: Text | None = _doc("Its issue.", "2")
    date: Text | None = _doc("The date of that issue.", "2024-05-01")


class AircraftEntry(Entry):
    """What this file is for."""

    name: Text = _must("Name of the machine, as it is to be spoken.")
    revision: Text = _must("Revision of these lists.", "3")
    written_by: Text = _must("Who wrote these lists and answers for them.")
    limits_from: SourceEntry = _must("Where every limit in this file comes from.")
    notice: Text | None = _doc("Said before anything else.")


class SettingsEntry(Entry):
    """How callout talks and waits."""

    decimal_word: Annotated[str, *_words("point", "decimal")] | None = _doc(
        "The word between whole and part of a number.", "point"
    )
    resume: Annotated[str, *_words(*(policy.value for policy in ResumePolicy))] | None = _doc(
        "Where `resume` goes after a hold.", "repeat last item"
    )
    answer_time: Time | None = _doc("Silence after which an item is said again.", "12 s")
    look_time: Time | None = _doc("An answer sooner than this is queried.", "1 s")
    certainty: Share | None = _doc("How sure the ear must be, 0 to 1.", "0.5")
    killer_certainty: Share | None = _doc("The same for killer items.", "0.7")
    reasons: Phrases | None = _doc(
        "What may be given as the reason of an override.", ["not fitted"]
    )


class OutsideEntry(Entry):
    """Below or above which something is due."""

    below: Number | None = _doc("Lower than this.", "24.0")
    above: Number | None = _doc("Higher than this.", "650")


class TransientEntry(Entry):
    """What is allowed for a short time."""

    above: Number = _must("The limit that may be passed for a short time.", "650")
    for_: Time = _must("For at most this long.", "5 s", alias="for")
    never_above: Number | None = _doc("But never above this.", "720")


class LimitEntry(Entry):
    """Limits of a gauge in one engine state."""

    caution: OutsideEntry | None = _doc("Outside this a caution is due.")
    never: OutsideEntry | None = _doc("Outside this the limit is passed.")
    transient: TransientEntry | None = _doc("What is allowed for a short time.")
    rise_at_most: Rate | None = _doc("Greatest rate of rise, per second.", "40 per second")
    remove: YesNo | None = _doc(_REMOVE)


class GaugeEntry(Entry):
    """One instrument."""

    call: Spoken | None = _doc(
        "Its spoken name; without it, its key with spaces.", "battery voltage"
    )
    also: Phrases | None = _doc("Further spoken names.", ["voltage"])
    unit: Annotated[str, *_words(*UNITS)] = _must("Its unit.", "V", "%", "degC")
    range: Extent = _must("All that it can show.", "0 to 35")
    decimals: Digits | None = _doc("Digits read after the point.", "1")
    limits: dict[Id, LimitEntry] | None = _doc('By engine state; "any" for always.')
    remove: YesNo | None = _doc(_REMOVE)


class CounterEntry(Entry):
    """Something counted from one session to the next."""

    call: Spoken | None = _doc(
        "Its spoken name; without it, its key with spaces.", "start attempts"
    )
    counts: Ref = _must("The item whose tick counts, as list/item.", "start/starter")
    most: Number | None = _doc("Greatest count before a rest is due.", "3")
    rest: Time | None = _doc("A rest this long sets it back.", "20 min")
    reset_by: Ref | None = _doc("The item whose tick sets it back, as list/item.")
    remove: YesNo | None = _doc(_REMOVE)


class AwaitEntry(Entry):
    """A gauge that has to come into a band."""

    gauge: Ref = _must("Which gauge.", "gas-generator-speed")
    at_least: Number | None = _doc("Until it shows at least this.", "58")
    at_most: Number | None = _doc("Until it shows at most this.", "200")
    for_: Time | None = _doc("Held for this long.", "3 s", alias="for")
    within: Time | None = _doc("Time allowed for it.", "30 s")
    missed: Ref | None = _doc("The list that opens when that time is up.", "hung-start")


class ItemEntry(Entry):
    """One line of a list.  What it is, is told by the one kind key that it has."""

    id: Id | None = _doc("Its name in this list; without it, made from the call.", "fuel-lever")
    call: Call | None = _doc("What is read aloud, noun first.", "fuel lever")
    answer: Spoken | None = _doc("KIND ask and answer: the one answer that counts.", "closed")
    answers: Phrases | None = _doc(
        "KIND ask and answer: the answers that count, the first is printed.",
        ["closed", "fully closed"],
    )
    wrong_answers: Phrases | None = _doc("Likely wrong answers, refused by name.", ["open"])
    read: Ref | None = _doc("KIND read a value: which gauge.", "battery-voltage")
    at_least: Number | None = _doc("With `read`: the value must be at least this.", "24.0")
    at_most: Number | None = _doc("With `read`: the value must be at most this.", "29.0")
    wait: Time | None = _doc("KIND timed wait: how long.", "2 min")
    marks: list[Time] | None = _doc(
        "With `wait`: times remaining that are said.", ["1 min", "10 s"]
    )
    await_: AwaitEntry | None = _doc("KIND await a condition.", alias="await")
    say: Text | None = _doc("KIND advice: said, needs no answer.")
    choose: dict[Id, Phrases] | None = _doc(
        "KIND choice: name of each way to go, and the words that choose it.",
        {"battery": "own battery", "ground-power": "ground power"},
    )
    go_to: Ref | None = _doc("KIND go to: leave this list and open that one.", "shutdown")
    who: Annotated[str, *_words("pilot", "helper")] | None = _doc(
        "Who does and answers it.", "helper"
    )
    where: Spoken | None = _doc("Station of the walk-round.", "left side")
    why: Text | None = _doc("The reason, spoken when asked for.")
    killer: YesNo | None = _doc("Never passed by one utterance other than its own answer.", "yes")
    look_time: Time | None = _doc("An answer sooner than this is queried.", "2 s")
    stale_after: Time | None = _doc("After this long the tick no longer counts.", "30 min")
    gate: YesNo | None = _doc("Deferred items of this list come back before this one.", "yes")
    only_if: dict[Id, Id] | None = _doc(
        "Applies only if that choice took that way.", {"power": "battery"}
    )
    after: Ref | None = _doc("In a file based on another: stands after this item.", "fuel-lever")
    before: Ref | None = _doc("In a file based on another: stands before this item.")
    remove: YesNo | None = _doc(_REMOVE)


class SectionEntry(Entry):
    """A part of a list, announced by its name."""

    name: Spoken = _must("Its spoken name.", "nose")
    where: Spoken | None = _doc("Station of all its items.", "nose")
    items: list[ItemEntry] | None = _doc("Its items, in order.", min_length=1)


class ListEntry(Entry):
    """One list."""

    title: Spoken | None = _doc(
        "Its spoken title; without it, its key with spaces.", "before start"
    )
    also: Phrases | None = _doc("Further spoken titles.")
    kind: Annotated[str, *_words(*(kind.value for kind in ListKind))] | None = _doc(
        "Normal lists run in order; abort lists break in; emergency lists open at any time.",
        "normal",
    )
    engine_state: Id | None = _doc("Which limits hold while it runs.", "start")
    abort: Ref | None = _doc("The list that `abort` opens while this one runs.", "start-abort")
    aborts: list[Ref] | None = _doc("Further abort lists that can be called.", ["hot-start"])
    needs: list[Ref] | None = _doc(
        "Lists or items (list/item) that must be done first.", ["before-start/area"]
    )
    items: list[ItemEntry] | None = _doc("Its items, in order.", min_length=1)
    sections: list[SectionEntry] | None = _doc("Its items in named parts.", min_length=1)
    after: Ref | None = _doc("In a file based on another: stands after this list.")
    remove: YesNo | None = _doc(_REMOVE)


class FileEntry(Entry):
    """A whole file."""

    callout: Annotated[
        int, *_field(fields.whole(VERSION, VERSION), {"enum": [VERSION, str(VERSION)]})
    ] = _must("Version of the language; the first key of the file.", VERSION)
    based_on: Text | None = _doc("The file that this one differs from.", "other-aircraft.yaml")
    aircraft: AircraftEntry | None = _doc("What this file is for.")
    settings: SettingsEntry | None = _doc("How callout talks and waits.")
    engine_states: list[Id] | None = _doc(
        "States of the engine in which different limits hold.", ["start", "running"]
    )
    gauges: dict[Id, GaugeEntry] | None = _doc("The instruments.")
    counters: dict[Id, CounterEntry] | None = _doc("What is counted from session to session.")
    lists: dict[Id, ListEntry] | None = _doc("The lists, in the order of a flying day.")


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
