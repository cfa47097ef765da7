"""Counters, cool-down, run-down and residual fire: what the file says, and what is wrong in it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from checklist_files import EXAMPLES, HEAD, loaded, marked, problems, write
from click.testing import CliRunner

from callout.checklist.duties import CoolDown, Counter, GivesBack, ResidualFire, RunDown
from callout.checklist.load import load
from callout.checklist.model import Ask, Band, Condition
from callout.cli.main import main

LISTS = """
engine_states: [running]
gauges:
  speed: {unit: "%", range: 0 to 110}
  heat: {unit: degC, range: 0 to 900}
lists:
  start: {items: [{call: starter, answer: on}, {call: released, answer: off}]}
  cool: {items: [{call: idle, answer: set idle}, {id: rest, call: cool down, wait: 2 min}]}
  shut: {items: [{call: lever, answer: closed}, {call: rotor, answer: standing}]}
  burning: {kind: emergency, items: [{call: starter, answer: turning}]}
"""


def test_every_key_of_a_counter(tmp_path):
    text = """
counters:
  tries:
    call: start tries
    seconds:
      from: start/starter
      to: [start/released, shut/lever]
      shown_by: {gauge: speed, at_least: 1}
    most: 3
    between: 1 min
    rest: 20 min
    each_at_most: 20 s
    total_at_most: 5 min
    reset_by: [cool/idle]
    gives_back: {every: 15 min, state: running}
  cycles: {counts: [shut/lever, burning/starter]}
"""
    tries = Counter(
        "tries",
        "start tries",
        ("start/starter",),
        Decimal(3),
        1200.0,
        ("cool/idle",),
        ends=("start/released", "shut/lever"),
        between=60.0,
        each=20.0,
        total=300.0,
        gives_back=GivesBack(900.0, "running"),
        shown=Condition("speed", Band(Decimal(1))),
    )
    cycles = Counter("cycles", "cycles", ("shut/lever", "burning/starter"))

    assert (tries, cycles) == loaded(tmp_path, HEAD + text + LISTS).counters


def test_every_key_of_the_others(tmp_path):
    text = """
cool_down:
  wait: cool/rest
  blocks: shut/lever
  starts: cool/idle
  idle: {speed: {at_most: 70}, heat: {at_least: 100, at_most: 560}}
  power_raised: [power raised, up again]
  lists: [cool, start]
run_down:
  starts: shut/lever
  standstill: {gauge: speed, at_most: 0}
  ends: shut/rotor
  said: rotor stands
  shorter_by: 25
  sessions: 8
residual_fire:
  starts: [shut/lever]
  gauge: heat
  opens: burning
  above: 450
  rises_by: 60
  settled_after: 1 min
  within: 20 min
"""
    aircraft = loaded(tmp_path, HEAD + text + LISTS)
    idle = (
        Condition("speed", Band(at_most=Decimal(70))),
        Condition("heat", Band(Decimal(100), Decimal(560))),
    )
    standstill = Condition("speed", Band(at_most=Decimal(0)))

    assert aircraft.cool_down == CoolDown(
        "cool/rest",
        ("shut/lever",),
        ("cool/idle",),
        idle,
        ("power raised", "up again"),
        ("cool", "start"),
    )
    assert aircraft.run_down == RunDown(
        ("shut/lever",), standstill, ("shut/rotor",), ("rotor stands",), Decimal(25), 8
    )
    assert aircraft.residual_fire == ResidualFire(
        ("shut/lever",), "heat", "burning", Decimal(450), Decimal(60), 60.0, 1200.0
    )


def test_what_is_not_written_keeps_its_default(tmp_path):
    text = """
cool_down: {wait: cool/rest, blocks: [shut/lever]}
run_down: {starts: shut/lever, ends: shut/rotor}
residual_fire: {starts: shut/lever, gauge: heat, opens: burning, above: 450}
"""
    aircraft = loaded(tmp_path, HEAD + text + LISTS)

    assert aircraft.cool_down == CoolDown("cool/rest", ("shut/lever",), lists=("cool", "shut"))
    assert aircraft.run_down == RunDown(("shut/lever",), ends=("shut/rotor",))
    fire = ResidualFire(("shut/lever",), "heat", "burning", Decimal(450))
    assert fire == aircraft.residual_fire
    assert loaded(tmp_path, HEAD + LISTS).cool_down is None


C = "counters:\n  tries: "
WRONG = {
    "neither of two": (
        "counters:\n  §tries: {most: 3}",
        'counter "tries" has neither of "counts" and "seconds"',
    ),
    "both of two": (
        "counters:\n  §tries: {counts: shut/rotor, seconds: {from: shut/rotor, to: shut/lever}}",
        'counter "tries" has both of "counts" and "seconds"; expected one of them',
    ),
    "no gauge shows it": (
        C + "{seconds: {from: start/starter, to: shut/lever, shown_by: {gauge: §lamp}}}",
        'there is no gauge "lamp"',
    ),
    "it shows nothing": (
        C + "{seconds: {from: start/starter, to: shut/lever, shown_by: §{gauge: speed}}}",
        'nothing is written here; expected "at_least" or "at_most"',
    ),
    "no such item": (C + "{counts: §start/stater}", 'there is no item in list "start" named'),
    "no item at all": (C + "{counts: §start}", 'found "start"; expected list/item'),
    "begins and ends": (
        C + "{seconds: {from: shut/lever, to: §shut/lever}}",
        '"shut/lever" begins and ends it; expected another item here',
    ),
    "a rest for nothing": (
        C + "{counts: shut/lever, §rest: 20 min}",
        '"rest" without "most" or "total_at_most"; expected it beside this',
    ),
    "a time of a count": (
        C + "{counts: shut/lever, §each_at_most: 20 s}",
        '"each_at_most" without "seconds"; expected it beside this',
    ),
    "no such state": (
        C + "{counts: shut/lever, most: 3, gives_back: {every: 1 min, state: §flying}}",
        'there is no engine state "flying"',
    ),
    "the same twice": (
        C + "{counts: §[shut/lever, shut/lever]}",
        '"shut/lever" stands here twice; expected each name once',
    ),
    "no wait": (
        "cool_down: {wait: §cool/idle, blocks: shut/lever}",
        'item "cool/idle" is of another kind; expected a timed wait',
    ),
    "blocks a wait": (
        "cool_down: {wait: cool/rest, blocks: §cool/rest}",
        'item "cool/rest" is of another kind; expected one that is asked and answered',
    ),
    "no such list": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, lists: [§coal]}",
        'there is no list "coal"; did you mean "cool"?',
    ),
    "an empty band": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, idle: {speed: §{}}}",
        'nothing is written here; expected "at_least" or "at_most"',
    ),
    "no such gauge": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, idle: {§sped: {at_most: 70}}}",
        'there is no gauge "sped"; did you mean "speed"?',
    ),
    "beyond the gauge": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, idle: {speed: {at_most: §200}}}",
        "200 % is nothing that speed can show; expected 0 to 110",
    ),
    "words taken": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, power_raised: §abort}",
        '"abort" means "abort" at any time; expected other words',
    ),
    "words that open a list": (
        "run_down: {starts: shut/lever, said: §burning}",
        '"burning" opens list "burning"; expected other words here',
    ),
    "no standstill": (
        "§run_down: {starts: shut/lever}",
        'nothing tells standstill; expected "standstill", "ends" or "said"',
    ),
    "too few to compare with": (
        "run_down: {starts: shut/lever, ends: shut/rotor, sessions: §1}",
        'found "1"; expected a whole number 2 to 99',
    ),
    "no sign of fire": (
        "§residual_fire: {starts: shut/lever, gauge: heat, opens: burning}",
        'nothing shows a fire; expected "above" or "rises_by"',
    ),
    "opens a normal list": (
        "residual_fire: {starts: shut/lever, gauge: heat, above: 450, opens: §cool}",
        'list "cool" is of kind normal; expected one of kind emergency or abort',
    ),
    "an unknown key": (
        "cool_down: {wait: cool/rest, blocks: shut/lever, §start: cool/idle}",
        'unknown key "start" in cool_down; did you mean "starts"?',
    ),
}


@pytest.mark.parametrize(("text", "message"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_told_at_its_place(tmp_path, text, message):
    whole, line, column = marked(HEAD + text + LISTS)
    found = problems(tmp_path, whole)

    assert 1 == len(found), found
    assert found[0].startswith(f"aircraft.yaml:{line}:{column}: ")
    assert message in found[0]


def test_another_file_changes_them_and_takes_them_out(tmp_path):
    base = """
counters: {tries: {seconds: {from: start/starter, to: start/released}, most: 3}}
cool_down: {wait: cool/rest, blocks: shut/lever, idle: {speed: {at_most: 70}}}
run_down: {starts: shut/lever, ends: shut/rotor}
"""
    write(tmp_path, HEAD + base + LISTS, "base.yaml")
    top = (
        "callout: 1\nbased_on: base.yaml\naircraft: {name: Other}\n"
        "counters: {tries: {most: 5}}\n"
        "cool_down: {idle: {speed: {at_most: 75}}}\nrun_down: {remove: yes}\n"
    )
    aircraft = load(write(tmp_path, top))

    assert Decimal(5) == aircraft.counters[0].most
    assert aircraft.cool_down is not None
    assert Decimal(75) == aircraft.cool_down.idle[0].band.at_most
    assert aircraft.run_down is None


def test_a_file_of_its_own_removes_nothing(tmp_path):
    text = "run_down: {starts: shut/lever, ends: shut/rotor, remove: yes}"

    assert any('found "remove"' in one for one in problems(tmp_path, HEAD + text + LISTS))


def test_the_check_prints_them_for_comparison_with_the_handbook():
    done = CliRunner().invoke(main, ["check", str(EXAMPLES / "reedlark.yaml")])

    assert 0 == done.exit_code
    for line in (
        "at most 45 s at a time, rest 1 min after each, at most 3, then rest 20 min",
        "Counter starts on one charge: counts start/starter, at most 4, one given back by 15 min",
        "of running, set back by post-flight/battery-charger",
        "Cool-down: cool-down/idle-wait before shutdown/fuel-lever",
        "Run-down: from shutdown/fuel-lever to gas generator speed at most 0 %",
        "Residual fire: exhaust temperature above 450 degC after 1 min or 60 degC above its lowest",
    ):
        assert line in done.stdout


def test_wherever_the_example_lets_the_starter_go_its_turn_ends():
    """A list that is added later must not leave the starter's seconds running."""
    reedlark = load(EXAMPLES / "reedlark.yaml")
    attempts = next(one for one in reedlark.counters if one.id == "start-attempts")
    said: dict[str, set[str]] = {"released": set(), "engaged": set(), "turning": set()}
    for one in reedlark.lists:
        for item in one.items():
            answer = item.task.answers[0] if isinstance(item.task, Ask) else ""
            if item.call == "starter" and answer in said:
                said[answer].add(f"{one.id}/{item.id}")

    assert said["released"] <= set(attempts.ends)
    assert said["engaged"] | said["turning"] == set(attempts.counts)
