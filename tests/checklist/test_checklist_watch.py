"""The watch over a start in the language: what it becomes, what a second file changes.

Wrong watches stand among the variants of test_checklist_broken.py.
"""

from __future__ import annotations

from decimal import Decimal

from checklist_files import EXAMPLES, problems, write
from click.testing import CliRunner

from callout.checklist.load import load
from callout.checklist.model import Aircraft, Await, Band
from callout.checklist.start_watch import GaugeSign, ItemSign, SaidSign, StartWatch
from callout.cli.main import main

WATCH = """
start_watch:
  watches: go
  begins: [{item: go/starter}]
  bare_numbers: speed
  logged: [volts]
  phases:
    fuel-speed:
      until: [{gauge: speed, at_least: 17, for: 0.2 s}]
      within: 15 s
      missed: slow
    light:
      until:
        - {gauge: heat, at_least: 200, rises: 60 per second, over: 0.4 s}
        - said: [light off, it is lit]
  faults:
    slow: {call: slow rotation, abort: stop}
    hot:
      abort: stop
      during: [light]
      when: [{gauge: heat, limits: yes}, {gauge: heat, heads_for: 800, ahead: 1 s}]
      longest: 30 s
"""
BASE = f"""callout: 1
aircraft:
  name: Base
  revision: "1"
  written_by: nobody
  limits_from: {{handbook: Base book}}
gauges:
  volts: {{unit: V, range: 0 to 35}}
  speed: {{unit: "%", range: 0 to 110}}
  heat: {{unit: degC, range: 0 to 1000, limits: {{any: {{never: {{above: 800}}}}}}}}
{WATCH}
lists:
  go:
    items:
      - {{call: starter, answer: engaged}}
      - {{call: light, await: {{gauge: heat, at_least: 200, or_said: light off}}}}
  stop: {{kind: abort, items: [{{call: fuel, answer: closed}}]}}
"""


def over(tmp_path, text: str) -> Aircraft:
    write(tmp_path, BASE, "base.yaml")
    head = "callout: 1\nbased_on: base.yaml\naircraft: {name: Other}\n"
    return load(write(tmp_path, head + text, "other.yaml"))


def watch_of(aircraft: Aircraft) -> StartWatch:
    assert aircraft.start_watch is not None
    return aircraft.start_watch


def test_a_watch_becomes_phases_signs_and_faults_in_their_order(tmp_path):
    watch = watch_of(load(write(tmp_path, BASE)))
    speed, light = watch.phases
    slow, hot = watch.faults

    assert ("go", "speed", ("volts",)) == (watch.list_id, watch.bare_numbers, watch.logged)
    assert (ItemSign("go/starter"),) == watch.begins
    assert ("fuel speed", 15.0, "slow") == (speed.call, speed.within, speed.missed)
    assert (GaugeSign("speed", Band(Decimal(17)), 0.2),) == speed.until
    assert SaidSign(("light off", "it is lit")) == light.until[1]
    assert ("slow rotation", "stop") == (slow.call, slow.abort)
    assert (("light",), 30.0, True) == (hot.during, hot.longest, hot.when[0].limits)
    assert ["speed", "heat", "volts"] == list(watch.gauges)


def test_words_may_answer_an_awaited_condition(tmp_path):
    item = list(load(write(tmp_path, BASE)).list("go").items())[1]

    assert isinstance(item.task, Await)
    assert ("light off",) == item.task.said


def test_a_file_without_a_watch_has_none(tmp_path):
    assert load(write(tmp_path, BASE.replace(WATCH, ""))).start_watch is None


def test_a_second_file_changes_one_number_of_it(tmp_path):
    watch = watch_of(over(tmp_path, "start_watch: {phases: {fuel-speed: {within: 20 s}}}\n"))

    assert [20.0, None] == [phase.within for phase in watch.phases]
    assert "slow" == watch.phases[0].missed


def test_a_second_file_takes_out_a_fault_or_the_whole_watch(tmp_path):
    less = over(tmp_path, "start_watch: {faults: {hot: {remove: yes}}}\n")
    none = over(tmp_path, "start_watch: {remove: yes}\n")

    assert ["slow"] == [fault.id for fault in watch_of(less).faults]
    assert none.start_watch is None


def test_a_file_based_on_none_can_take_nothing_out(tmp_path):
    text = BASE.replace("    slow: {call: slow rotation,", "    slow: {remove: yes,")

    assert any('"remove"' in one for one in problems(tmp_path, text))


def test_check_prints_the_watch_as_it_was_written():
    shown = CliRunner().invoke(main, ["check", str(EXAMPLES / "reedlark.yaml")]).output

    assert "Start watch over start" in shown
    assert "1. fuel speed: gas generator speed at least 17 %, for 0.2 s; within 15 s" in shown
    assert "heading for 800 degC within 0.35 s" in shown
    assert "also logged: lowest and highest battery voltage" in shown
    assert "starter held too long opens starter held too long: more than 45 s" in shown
