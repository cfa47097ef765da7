"""The example aircraft, broken in one place at a time: found there, and said so.

Each variant is one edit. The mark in the replacement shows where the problem
has to be reported, so that line and column are counted here and not by the
program.
"""

from __future__ import annotations

import pytest
from checklist_files import EXAMPLES, MARK, marked, write
from click.testing import CliRunner

from callout.cli.main import main

WHOLE = (EXAMPLES / "reedlark.yaml").read_text(encoding="utf-8")

# what stands there (once) -> what stands there instead, with § at the place; what is said
VARIANTS = [
    ("callout: 1\n", "callout: §one\n", 'version "one" of the language'),
    ("callout: 1\n", "§calout: 1\n", 'the first key is "calout"; expected "callout: 1"'),
    ("aircraft:\n", "§aircrafts:\n", 'unknown key "aircrafts" in this file; did you mean "airc'),
    ('  revision: "4"\n', '  revision: §"4\n', "the quotes that open here are not closed"),
    ("  written_by: the", "  §writen_by: the", 'did you mean "written_by"?'),
    ("    handbook: none, all numbers are invented\n    issue", "    §issue", 'has no "handbook"'),
    ("decimal_word: point", "decimal_word: §comma", 'found "comma"; expected point or decimal'),
    ("resume: repeat last item", "resume: §repeat item", 'did you mean "repeat last item"?'),
    ("answer_time: 12 s", "answer_time: §12", 'did you mean "12 s"?'),
    ("answer_time: 12 s", "answer_time: §soon", 'expected a time such as "90 s"'),
    ("    - not working", "    - §negative", '"negative" means "negative" at any time'),
    ("[start, running, cool-down]", "[start, §Running, cool-down]", 'did you mean "running"?'),
    ("    unit: V\n", "    unit: §Volts\n", 'found "Volts"'),
    ("    range: 0 to 35\n", "    range: §0-35\n", 'expected a range such as "0 to 35"'),
    ("    range: 0 to 35\n", "    rnge: 0 to 35\n", 'gauge "battery-voltage" has no "range"'),
    ("    range: 0 to 115", "    range: §115 to 0", "expected the lower number first"),
    ("caution: {below: 15.0}", "caution: {bellow§: 15.0}".replace("§", ""), 'mean "below"?'),
    ("caution: {below: 15.0}", "caution: {below: §150}", "150 V is nothing that battery voltage"),
    ("caution: {below: 15.0}", "caution: {below: §15.05}", "15.05 is finer than that"),
    ("{below: 26.5, above: 28.8}", "{below: §29.5, above: 28.8}", "leave nothing between"),
    ("never: {above: 104}", "never: §104", 'found "104"; expected `key: value` lines'),
    ("caution: {above: 101}", "caution: {above: §105}", "comes after never above 104"),
    ("for: 5 s, never_above: 800", "for: §5, never_above: 800", 'did you mean "5 s"?'),
    ("never_above: 800}", "never_above: §700}", "never above 700 is not higher than above 740"),
    ("rise_at_most: 600 per second", "rise_at_most: §600", 'a rate such as "40 per second"'),
    ("      cool-down:\n", "      §cooldown:\n", 'engine state "cooldown"; did you mean "cool-d'),
    ("    counts: start/starter\n", "    counts: §start\n", "expected list/item"),
    ("    counts: start/starter\n", "    counts: §start/startr\n", 'did you mean "starter"?'),
    ("    most: 3\n", "    most: §three\n", "expected a number such as 24.5"),
    ("  walk-round:\n", "  §Walk round:\n", 'did you mean "walk-round"?'),
    ("        where: nose\n        items:", "        where: nose\n        §itmes:", '"items"?'),
    ("            answer: locked\n", "            §answr: locked\n", 'did you mean "answer"?'),
    ("            answer: locked\n", "            answer:§\n", "nothing is written here"),
    (
        "            answer: locked\n",
        "            answer: §locked 2\n",
        "spelled as they are spoken",
    ),
    ("            answer: locked\n", "            answer: §say again\n", "at any time"),
    ("            answer: locked\n", "            answer: §engine fire\n", 'opens list "fire-on-'),
    (
        "          - call: fuel cap\n            answer: locked\n",
        "          - §call: fuel cap\n",
        "not say what to do",
    ),
    (
        "            answer: locked\n            wrong_answers",
        "            wait: 9 s\n            §wrong_answers",
        "belongs to",
    ),
    ("wrong_answers: [cloudy, water]", "wrong_answers: [cloudy, §clean]", "and a right answer"),
    ("            stale_after: 12 h", "            stale_after: §0 h", "expected more than 0 s"),
    (
        "            look_time: 1 s\n            why: Wa",
        "            look_time: §1\n            why: Wa",
        '"1 s"?',
    ),
    (
        "            read: fuel-quantity\n            at_l",
        "            read: §fuel-quantitty\n            at_l",
        '"fuel-quantity"?',
    ),
    (
        "          - call: static port\n",
        "          - id: §airspeed-probe-cover\n            call: static port\n",
        "stands in list",
    ),
    (
        "            who: helper\n            killer",
        "            who: §copilot\n            killer",
        "expected pilot or helper",
    ),
    (
        "[ground power, external power]",
        "[ground power, §own battery]",
        'the way "ground-power" and the way "battery"',
    ),
    (
        "            only_if: {power: battery}",
        "            only_if: {§powr: battery}",
        'did you mean "power"?',
    ),
    (
        "            only_if: {power: battery}",
        "            only_if: {power: §batery}",
        'did you mean "battery"?',
    ),
    ("            at_least: 26.0\n", "            at_least: §29.0\n", "leave nothing"),
    ("      - before-start/blades\n", "      - §before-start/blade\n", 'did you mean "blades"?'),
    ("    abort: start-abort\n", "    abort: §start\n", "expected one of kind abort"),
    ("      - hot-start\n", "      - §hot-strat\n", 'did you mean "hot-start"?'),
    ("at_most: 520, for: 5 s, within:", "at_most: 520, for: 5 s, with:", '"within"?'),
    ("at_most: 520, for: 5 s,", "at_most: 520, for: §5 min,", "could never be met"),
    ("or_said: light off", "or_said: §stand by", '"stand by" means "stand by" at any time'),
    ("  watches: start\n", "  watches: §stat\n", 'there is no list "stat"; did you mean "start"?'),
    ("  watches: start\n", "  watch: start\n", '"watch" in start_watch; did you mean "watches"?'),
    ("    - item: start/starter\n", "    - item: §start/stater\n", 'did you mean "starter"?'),
    (
        "    - {gauge: starter-light,",
        "    - {gauge: §starter-lamp,",
        'did you mean "starter-light"?',
    ),
    ("starter-light, at_least: 1}", "starter-light, at_least: §2}", "2 1 is nothing that starter"),
    (
        "    - {gauge: starter-light, at_least: 1}",
        "    - §{at_least: 1}",
        "found none of them; expected one",
    ),
    (
        "    - item: start/starter\n",
        "    - §item: start/starter\n      said: on\n",
        '"item" and "s',
    ),
    ("- said: light off", "- said: §opened", "expected `item: start/fuel-opened` here"),
    ("- said: light off", "- said: §abort", '"abort" means "abort" at any time'),
    ("      within: 8 s\n      missed: starter-held\n", "      within: §8 s\n", "leads nowhere"),
    ("      within: 8 s\n", "", '"missed" has no time; expected "within" beside it'),
    (
        "      missed: slow-rotation",
        "      missed: §slow-rotatoin",
        'did you mean "slow-rotation"?',
    ),
    (
        "      abort: hot-start\n",
        "      abort: §run-up\n",
        "is of kind normal; expected one of kind a",
    ),
    (
        "during: [fuel-speed, fuel, light-off,",
        "during: [fuel-speed, §fule, light-off,",
        'did you mean "fuel"?',
    ),
    ("heads_for: 800, ahead: 0.35 s", "heads_for: §800", '"heads_for" has no "ahead"'),
    ("{gauge: exhaust-temperature, limits: yes}", "§{gauge: exhaust-temperature}", "shows nothing"),
    ("at_least: 17, for: 0.2 s}]", "at_least: 17, over: §1 s}]", '"over" is the time of a slope'),
    (
        "    slow-rotation:\n      abort",
        "    §slow-start:\n      abort",
        'nothing shows fault "slow-',
    ),
    ("        wait: 1 min\n", "        wait: §1:00\n", 'did you mean "1 min"?'),
    ("        marks: [30 s, 10 s]", "        marks: [§60 s, 10 s]", "is not shorter than the wait"),
    ("    needs: [run-up]\n", "    needs: [§runup]\n", 'did you mean "run-up"?'),
    ("    needs: [run-up]\n", "    needs: [§before-take-off]\n", "needs itself"),
    ("  fire-on-the-ground:\n    t", "  §start:\n    t", 'the key "start" stands here again'),
    ("    kind: emergency\n", "    kind: §urgent\n", "expected normal, abort or emergency"),
    ("      - say: When", "§\t  - say: When", "a tab indents this line; expected spaces"),
    ("      - call: logbook\n", "      - call: logbook\n     §answer: signed\n", "line up"),
]


def _edited(old: str, new: str) -> str:
    assert WHOLE.count(old) >= 1, f"the example no longer has {old!r}"
    return WHOLE.replace(old, new, 1)


def test_there_are_fifty_variants_and_more():
    assert len({(old, new) for old, new, _ in VARIANTS}) >= 50


@pytest.mark.parametrize(("old", "new", "said"), VARIANTS)
def test_one_broken_place_is_named_where_it_stands(tmp_path, old, new, said):
    text = _edited(old, new)
    place = None
    if MARK in text:
        text, line, column = marked(text)
        place = f"{line}:{column}: "
    path = write(tmp_path, text)

    result = CliRunner().invoke(main, ["check", str(path)])

    first, *more = [line.removeprefix(f"{path}:") for line in result.stderr.splitlines()]
    assert result.exit_code == 2
    assert result.stdout == ""
    assert isinstance(result.exception, SystemExit)
    told = [first, *more]
    found = [line for line in told if said in line]
    assert found, told
    if place:
        assert place == found[0][: len(place)]


def test_the_example_itself_is_right(tmp_path):
    result = CliRunner().invoke(main, ["check", str(write(tmp_path, WHOLE))])

    assert (result.exit_code, result.stderr) == (0, "")
