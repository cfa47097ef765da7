"""`callout check`: what it prints, where, and with which exit status."""

from __future__ import annotations

import pytest
from checklist_files import EXAMPLES, HEAD, write
from click.testing import CliRunner

from callout.checklist.load import fingerprint
from callout.cli.main import main

TEXT = (
    HEAD.replace(
        "{handbook: none}", "{handbook: Book, issue: 2, date: 2024-05-01}\n  notice: made up"
    )
    + """
engine_states: [start]
gauges:
  volts:
    unit: V
    range: 0 to 35
    decimals: 1
    limits:
      start: {caution: {below: 24.0, above: 29.0}, never: {above: 30.0}, rise_at_most: 2 per second}
  temperature:
    unit: degC
    range: -40 to 900
    limits: {any: {transient: {above: 650, for: 90 s, never_above: 720}}}
  setting: {unit: "1", range: 900 to 1070}
counters:
  tries: {counts: first/lever, most: 3, rest: 20 min, reset_by: first/volts}
lists:
  first:
    abort: stop
    sections:
      - name: left
        where: left side
        items:
          - {call: lever, answers: [closed, shut], killer: yes, who: helper, stale_after: 1 h 5 min}
          - {call: power, choose: {own: own battery, cart: ground cart}}
      - name: right
        items:
          - {call: volts, read: volts, at_least: 24.5, only_if: {power: own}, gate: yes}
          - call: cooler
            await: {gauge: temperature, at_most: 200, for: 5 s, within: 2 min, missed: stop}
          - {call: cool down, wait: 2 min, marks: [1 min, 10 s]}
          - say: Nearly done.
          - {call: that was all, go_to: second}
  second: {needs: [first/lever], items: [{call: lamp, answer: dark}]}
  stop: {kind: abort, items: [{call: lever, answer: closed}]}
"""
)

PRINTED = """Made up.

Test bench, revision 1, written by nobody
Limits from: Book, issue 2, of 2024-05-01
Gauge volts: 0 to 35 V
  start: caution below 24.0 V; caution above 29.0 V; never above 30.0 V; rising at most 2 V per second
Gauge temperature: -40 to 900 degC
  any: above 650 degC for at most 1 min 30 s, never above 720 degC
Gauge setting: 900 to 1070
Counter tries: counts first/lever, at most 3, then rest 20 min, set back by first/volts

FIRST
      Left, left side.
   1. Helper: lever? -> closed, or shut  [helper, killer, stale after 1 h 5 min]
   2. Power: own battery, or ground cart? -> own battery, or ground cart
      Right.
   3. Volts? -> the value of volts, at least two four point five volts  [gate, only if power is own]
   4. Cooler: temperature at most two zero zero degrees. -> the value of temperature, for 5 s, within 2 min, else stop
   5. Cool down. Two minutes. -> says 1 min, 10 s remaining
   6. Nearly done.
   7. That was all. -> opens second
      "abort" opens stop

SECOND  [needs first/lever]
   1. Lamp? -> dark

STOP  [abort]
   1. Lever? -> closed

Caution: The aircraft's own handbook rules; these lists are only as right as their author made them.
Caution: callout reads lists and remembers answers. It never says that it is safe to start or fly.
"""  # noqa: E501 - lines as they are printed


def _run(path):
    return CliRunner().invoke(main, ["check", str(path)])


def test_a_right_file_is_printed_as_it_will_be_spoken(tmp_path):
    path = write(tmp_path, TEXT)

    result = _run(path)

    assert (0, "") == (result.exit_code, result.stderr)
    assert f"{PRINTED}Fingerprint: {fingerprint(path)}\n" == result.stdout


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_examples_are_right_and_say_first_that_they_are_invented(path):
    result = _run(path)

    assert (0, "") == (result.exit_code, result.stderr)
    assert result.stdout.startswith("This is an example. ")
    assert "invented" in result.stdout.splitlines()[0]


def test_problems_go_to_standard_error_with_their_number(tmp_path):
    path = write(tmp_path, HEAD + "lists: {one: {items: [{call: lamp}], tile: x}}\n")

    result = _run(path)

    assert (2, "") == (result.exit_code, result.stdout)
    assert [
        (
            f'{path}:7:23: item "lamp" does not say what to do; expected one of answer, answers, '
            "read, wait, await, say, choose or go_to"
        ),
        f'{path}:7:38: unknown key "tile" in list "one"; did you mean "title"?',
        f"2 problems in {path}",
    ] == result.stderr.splitlines()
