"""Every part of the language becomes exactly the value that model.py names."""

from __future__ import annotations

from decimal import Decimal

import pytest
from checklist_files import HEAD, loaded

from callout.checklist.duties import Counter
from callout.checklist.model import (
    Advise,
    Aircraft,
    Ask,
    Await,
    Band,
    CheckList,
    Choose,
    Condition,
    Gauge,
    GoTo,
    Item,
    Limit,
    ListKind,
    Need,
    OnlyIf,
    Option,
    ReadValue,
    ResumePolicy,
    Section,
    Settings,
    Source,
    Transient,
    Wait,
    Who,
)

GAUGES = """
engine_states: [start]
gauges:
  volts:
    call: battery voltage
    also: voltage
    unit: V
    range: 0 to 35.5
    decimals: 1
    limits:
      any:
        never: {above: 30.0}
      start:
        caution: {below: 15.0, above: 29}
        transient: {above: 29.5, for: 1.5 s, never_above: 29.9}
        rise_at_most: 2.5 per second
  oil-temperature: {unit: degC, range: -40 to 150}
"""
REST = "lists: {first: {items: [{say: hello}]}, no-fire: {kind: abort, items: [{say: out}]}}"

ITEMS = {
    "{call: fuel lever, answer: Closed}": Item("fuel-lever", "fuel lever", Ask(("closed",))),
    "{call: 'Fuel lever, left', answers: [closed, fully-closed], wrong_answers: open}": Item(
        "fuel-lever-left", "Fuel lever, left", Ask(("closed", "fully closed"), ("open",))
    ),
    "{call: volts, read: volts}": Item("volts", "volts", ReadValue("volts", Band())),
    "{id: v, call: volts, read: volts, at_least: 24.60, at_most: 29}": Item(
        "v", "volts", ReadValue("volts", Band(Decimal("24.60"), Decimal(29)))
    ),
    "{call: cool down, wait: 2 min, marks: [10 s, 1 min]}": Item(
        "cool-down", "cool down", Wait(120.0, (60.0, 10.0))
    ),
    "{call: rest, wait: 1 min 30 s}": Item("rest", "rest", Wait(90.0)),
    "{call: charge, await: {gauge: volts, at_least: 27}}": Item(
        "charge", "charge", Await(Condition("volts", Band(Decimal(27))))
    ),
    (
        "{call: charge, await: "
        "{gauge: volts, at_most: 27, for: 5 s, within: 20 s, missed: no-fire}}"
    ): Item(
        "charge",
        "charge",
        Await(Condition("volts", Band(None, Decimal(27)), 5.0), 20.0, "no-fire"),
    ),
    "{say: 'Hands off, please.'}": Item("hands-off-please", "Hands off, please.", Advise()),
    "{call: power, choose: {own: [own battery], cart: [cart, ground cart]}}": Item(
        "power",
        "power",
        Choose((Option("own", ("own battery",)), Option("cart", ("cart", "ground cart")))),
    ),
    "{call: that was all, go_to: no-fire}": Item("that-was-all", "that was all", GoTo("no-fire")),
}


@pytest.mark.parametrize(("text", "item"), ITEMS.items())
def test_every_kind_of_item(tmp_path, text, item):
    lists = f"lists:\n  first: {{items: [{text}]}}\n  no-fire: {{kind: abort, items: [{{say: x}}]}}"

    aircraft = loaded(tmp_path, HEAD + GAUGES + lists)

    assert (item,) == tuple(aircraft.list("first").items())


def test_everything_an_item_can_say_about_itself(tmp_path):
    text = """
lists:
  first:
    items:
      - {call: power, choose: {own: own battery, cart: ground cart}}
      - call: plug
        answer: connected
        who: helper
        where: left side
        why: Because.
        killer: yes
        look_time: 2 s
        stale_after: 30 min
        gate: yes
        only_if: {power: cart}
"""
    item = tuple(loaded(tmp_path, HEAD + text).list("first").items())[1]

    assert (
        Item(
            id="plug",
            call="plug",
            task=Ask(("connected",)),
            who=Who.HELPER,
            where="left side",
            why="Because.",
            killer=True,
            look_time=2.0,
            stale_after=1800.0,
            gate=True,
            only_if=(OnlyIf("power", "cart"),),
        )
        == item
    )


def test_gauges_with_limits_in_every_engine_state(tmp_path):
    gauges = loaded(tmp_path, HEAD + GAUGES + REST).gauges

    assert (
        Gauge(
            id="volts",
            call="battery voltage",
            unit="V",
            unit_words=("volts", "volt"),
            possible=Band(Decimal(0), Decimal("35.5")),
            decimals=1,
            also=("voltage",),
            limits=(
                Limit("any", never=Band(None, Decimal("30.0"))),
                Limit(
                    "start",
                    caution=Band(Decimal("15.0"), Decimal(29)),
                    transient=Transient(Decimal("29.5"), 1.5, Decimal("29.9")),
                    rate_at_most=Decimal("2.5"),
                ),
            ),
        ),
        Gauge(
            id="oil-temperature",
            call="oil temperature",
            unit="degC",
            unit_words=("degrees", "degrees celsius", "celsius"),
            possible=Band(Decimal(-40), Decimal(150)),
        ),
    ) == gauges


def test_a_whole_file(tmp_path):
    text = """callout: 1
aircraft:
  name: Bench
  revision: 3b
  written_by: Somebody
  limits_from: {handbook: Manual, issue: 0123, date: 2024-05-01}
  notice: Invented.
settings:
  decimal_word: decimal
  resume: restart list
  answer_time: 20 s
  look_time: 1 s
  certainty: 0.4
  killer_certainty: 0.9
  reasons: [not fitted, broken]
counters:
  tries: {counts: first/lever, most: 3, rest: 20 min, reset_by: second/rest}
lists:
  first:
    title: the first one
    also: [one]
    engine_state: start
    abort: stop
    aborts: [stop]
    sections:
      - {name: left, where: left side, items: [{call: lever, answer: closed}]}
      - {name: right, items: [{call: lamp, answer: dark, where: right side}]}
  second:
    needs: [first, first/lever]
    items: [{call: rest, wait: 1 h}]
  stop: {kind: abort, items: [{say: stop}]}
  fire: {kind: emergency, items: [{say: out}]}
engine_states: [start]
"""
    lever = Item("lever", "lever", Ask(("closed",)), where="left side")
    lamp = Item("lamp", "lamp", Ask(("dark",)), where="right side")

    assert Aircraft(
        name="Bench",
        revision="3b",
        written_by="Somebody",
        limits_from=Source("Manual", "0123", "2024-05-01"),
        notice="Invented.",
        settings=Settings(
            decimal_word="decimal",
            resume=ResumePolicy.RESTART_LIST,
            answer_time=20.0,
            look_time=1.0,
            certainty=0.4,
            killer_certainty=0.9,
            reasons=("not fitted", "broken"),
        ),
        counters=(
            Counter("tries", "tries", ("first/lever",), Decimal(3), 1200.0, ("second/rest",)),
        ),
        lists=(
            CheckList(
                id="first",
                title="the first one",
                also=("one",),
                engine_state="start",
                abort="stop",
                aborts=("stop",),
                sections=(Section("left", (lever,)), Section("right", (lamp,))),
            ),
            CheckList(
                id="second",
                title="second",
                needs=(Need("first"), Need("first", "lever")),
                sections=(Section("", (Item("rest", "rest", Wait(3600.0)),)),),
            ),
            CheckList(
                id="stop",
                title="stop",
                kind=ListKind.ABORT,
                sections=(Section("", (Item("stop", "stop", Advise()),)),),
            ),
            CheckList(
                id="fire",
                title="fire",
                kind=ListKind.EMERGENCY,
                sections=(Section("", (Item("out", "out", Advise()),)),),
            ),
        ),
    ) == loaded(tmp_path, text)


def test_what_is_not_written_keeps_the_defaults_of_the_model(tmp_path):
    aircraft = loaded(tmp_path, HEAD + "lists: {first: {items: [{say: hello}]}}")

    assert Settings() == aircraft.settings
    assert aircraft.gauges + aircraft.counters == ()
    assert aircraft.notice == ""


@pytest.mark.parametrize(
    "word", ["ON", "on", "off", "no", "yes", "1:30", "0123", "null", "~", "1e3", "0x1F", ".5"]
)
def test_words_that_yaml_would_change_stay_words(tmp_path, word):
    """`yaml.safe_load` turns these into True, False, 90, 83, None, 1000.0, 31 and 0.5."""
    text = HEAD.replace('revision: "1"', f"revision: {word}")

    aircraft = loaded(tmp_path, text + "lists: {first: {items: [{say: hello}]}}")

    assert word == aircraft.revision


@pytest.mark.parametrize(("word", "answer"), [("ON", "on"), ("off", "off"), ("null", "null")])
def test_an_answer_that_yaml_would_change_is_an_answer(tmp_path, word, answer):
    text = f"lists: {{first: {{items: [{{call: lamp, answer: {word}}}]}}}}"

    assert Ask((answer,)) == next(loaded(tmp_path, HEAD + text).list("first").items()).task
