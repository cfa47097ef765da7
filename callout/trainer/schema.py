"""The shape of a drill file: which keys there are, and what each one takes.

Rule of this file: shape only, as in checklist/schema.py. Whether a gauge, an item
or a time is there is asked in load.py.
"""

from __future__ import annotations

from typing import Annotated, Any

from callout.checklist import fields
from callout.checklist.problems import did_you_mean, listed, quoted
from callout.checklist.shapes import (
    Entry,
    Id,
    Phrases,
    Ref,
    Refs,
    Text,
    Time,
    YesNo,
    doc,
    must,
    shape,
    words,
)
from callout.gauges.simulator import UNITS
from callout.trainer.scene import FACTS, MOST

VERSION = 1
"""The version of drill files that this program reads; the first key of each."""

_AMOUNT: dict[str, Any] = {"type": ["number", "string", "boolean"]}


def time_or_path(found: object) -> str:
    """A time such as "6 s", or the path of one in the aircraft file."""
    given = fields.text(found)
    if "/" not in given:
        fields.duration(given)
    return given


def number_or_path(found: object) -> str:
    """A number, or the path of one in the aircraft file."""
    given = fields.text(found)
    if "/" not in given:
        fields.number(given)
    return given


def amount(found: object) -> tuple[float, float]:
    """A number, a range "1 to 2", or yes or no as 1 or 0."""
    given = fields.text(found)
    if given in ("yes", "no"):
        return (1.0, 1.0) if given == "yes" else (0.0, 0.0)
    if " to " in given:
        low, high = fields.extent(given)
        return float(low), float(high)
    value = float(fields.number(given))
    return value, value


def setting(found: object) -> float:
    """Where a control goes: on, off, open, closed, or a number."""
    given = fields.text(found)
    named = {"on": 1.0, "open": 1.0, "off": 0.0, "closed": 0.0}
    if given in named:
        return named[given]
    try:
        return float(fields.number(given))
    except ValueError:
        raise ValueError(f"found {given!r}; expected on, off, open, closed or a number") from None


def moved(found: object) -> str:
    """The name of a control, of something of the day, or of a fault."""
    given = fields.text(found)
    if given not in MOST:
        near = did_you_mean(given, MOST)
        raise ValueError(f"found {quoted(given)}; expected {listed(MOST)}{near}")
    return given


Moved = Annotated[str, *shape(moved, {"enum": list(MOST)})]
Amount = Annotated[tuple[float, float], *shape(amount, _AMOUNT)]
Setting = Annotated[float, *shape(setting, _AMOUNT)]
TimeOrPath = Annotated[str, *shape(time_or_path, {"type": "string"})]
NumberOrPath = Annotated[str, *shape(number_or_path, _AMOUNT)]
Fact = Annotated[str, *words(*FACTS)]


class SceneEntry(Entry):
    """The machine and the day."""

    engine: Annotated[str, *words("cold", "idle")] | None = doc("How it stands.", "cold")
    engine_state: Id | None = doc("Whose limits hold.", "start")
    ground_power: YesNo | None = doc("Ground power is plugged in.", "yes")
    amounts: dict[Moved, Amount] | None = doc(
        "Temperature, battery and faults; a range is varied.", {"fuel-excess": "1.6 to 1.9"}
    )
    gauges: dict[Id, Annotated[str, *words(*UNITS)]] | None = doc(
        "Which gauge of the simulated engine one of the aircraft's is, where the names differ.",
        {"shaft-speed": "gas-generator-speed"},
    )
    lasts: Time | None = doc("Over after this long, whatever is left.", "4 min")


class WhenEntry(Entry):
    """What a gauge has to show."""

    gauge: Ref = must("Which gauge.", "exhaust-temperature")
    at_least: NumberOrPath | None = doc(
        "At least this: a number, or a path of the aircraft file.",
        "gauges/exhaust-temperature/limits/start/transient/above",
    )
    at_most: NumberOrPath | None = doc("At most this.", "150")
    for_: TimeOrPath | None = doc("For this long.", "2 s", alias="for")


class WrongEntry(Entry):
    """Words that are wrong here."""

    words: Phrases = must("The words.", ["come closer"])
    because: Text = must("What they would do.")


class BothEntry(Entry):
    """An item that needs both people."""

    pilot: Phrases = must("What the pilot says.")
    helper: Phrases = must("What the helper says.")


class LineEntry(Entry):
    """One thing that is said, by whose key stands here."""

    id: Id | None = doc("Its name, where another line comes after it.", "guard-ready")
    situation: Text | None = doc("SAID BY callout: what is seen and heard.")
    gauges: Text | None = doc("SAID BY callout: gauges read aloud; {gauge} is its value.")
    pilot: Phrases | None = doc("SAID BY the pilot: the words that count.", ["fuel lever closed"])
    helper: Phrases | None = doc("SAID BY the helper: the words that count.", ["ready"])
    both: BothEntry | None = doc("SAID BY both, each with words of his own.")
    say: Text | None = doc("How callout says it when it plays that person.")
    item: Ref | None = doc("The item (list/item) that it answers; its `why` serves.", "start/area")
    after: Refs | None = doc("Lines that must be over first; else the one before it.")
    delay: TimeOrPath | None = doc("So long after them: a time or a path, as within.", "3 s")
    when: WhenEntry | None = doc("And when a gauge shows this.")
    while_: dict[Fact, YesNo] | None = doc(
        "And while this is true of the machine.", {"flame": "yes"}, alias="while"
    )
    within: TimeOrPath | None = doc(
        "The time for it: a path of the aircraft file, or a time.", "settings/answer_time"
    )
    points: Annotated[int, *shape(fields.whole(1, 9), {"type": ["integer", "string"]})] | None = (
        doc("What it is worth.", "1")
    )
    critical: YesNo | None = doc("A miss of it is what matters most.", "yes")
    why: Text | None = doc("The reason.")
    wrong: list[WrongEntry] | None = doc("Words that are refused by name.")
    does: dict[Moved, Setting] | None = doc("The controls it moves.", {"fuel": "closed"})
    signal: Id | None = doc("The hand signal that it is about.", "stop")


class QuestionEntry(Entry):
    """One question, made from the aircraft file."""

    why: Ref | None = doc("Ask for the reason of this item.", "start/fuel-speed")
    next: Ref | None = doc("Ask what follows this item.", "hot-start/fuel-lever")
    see: Ref | None = doc("Ask how this gauge's highest value stands to its limits.")


class DrillEntry(Entry):
    """A whole drill."""

    drill: Annotated[
        int, *shape(fields.whole(VERSION, VERSION), {"enum": [VERSION, str(VERSION)]})
    ] = must("Version of drill files; the first key.", VERSION)
    aircraft: Text = must("The aircraft file it is for, from this file's folder.", "../ours.yaml")
    title: Text = must("Its spoken title.", "hot start")
    about: Text = must("What is practised, in one sentence.")
    order: Annotated[int, *shape(fields.whole(1, 99), {"type": ["integer", "string"]})] | None = (
        doc("Its place in the course.", "3")
    )
    roles: list[Annotated[str, *words("pilot", "helper")]] = must(
        "Whom a trainee can be.", ["helper"], min_length=1
    )
    cautions: list[Text] | None = doc("Shown before it and printed.")
    scene: SceneEntry | None = doc("The machine and the day.")
    lines: list[LineEntry] = must("What is said, in order.", min_length=1)
    questions: list[QuestionEntry] | None = doc("What is asked after it.")
    debrief: Text | None = doc("Said at the end.")
    false_call: Annotated[int, *shape(fields.whole(0, 9), _AMOUNT)] | None = doc(
        "Points that a call costs which nothing asked for.", "1"
    )


SPEAKERS = ("situation", "gauges", "pilot", "helper", "both")
"""The keys of a line that say whose it is; one of them stands in each."""


def json_schema() -> dict[str, Any]:
    """The schema of a drill file (draft 2020-12), for editors."""
    from callout.checklist.export import tidy

    schema = DrillEntry.model_json_schema(by_alias=True)
    tidy(schema)
    schema["$defs"]["LineEntry"]["oneOf"] = [{"required": [key]} for key in SPEAKERS]
    schema["$defs"]["QuestionEntry"]["oneOf"] = [
        {"required": [key]} for key in ("why", "next", "see")
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Drill file of callout",
    }
