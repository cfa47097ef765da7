"""The benches of an ear at the items of a checklist: what is presented, and how it is counted.

Everything is real: a checklist of our own, people's recordings (recordings/README.md), the ear.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.benches.answers import missing, wanted
from callout.benches.false_accepts import false_accepts
from callout.checklist.load import load
from callout.cli.bench import command
from callout.ear.choose import make_ear
from callout.running.asked import Kind
from callout.running.recording_sets import RATE, read_set

RECORDINGS = Path(__file__).parent / "recordings"
WORDS, NOISE, TALK = (RECORDINGS / f"{name}.json" for name in ("words", "noise", "talk"))
RIG = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
gauges:
  battery-voltage: {unit: V, range: 0 to 32, decimals: 1}
lists:
  before-start:
    title: before start
    items:
      - {call: fan, answer: stop}
      - {call: lamp, answers: [left, right], killer: yes}
      - {call: battery voltage, read: battery-voltage, at_least: 24.0}
"""


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    file = tmp_path / "rig.yaml"
    file.write_text(RIG, encoding="utf-8")
    return file


def bench(*words: str) -> list[dict]:
    result = CliRunner().invoke(command, [*words, "--json"])
    assert 0 == result.exit_code, result.output
    return [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]


def test_every_answer_of_every_item_is_wanted(rig: Path) -> None:
    """Each accepted text once; of a value both ends and the middle of its band, with and
    without the unit; the high end is what the gauge can show."""
    texts = {kind: [w.text for w in wanted(load(rig)) if w.kind is kind] for kind in Kind}

    assert ["stop"] == texts[Kind.ORDINARY]
    assert ["left", "right"] == texts[Kind.KILLER]
    assert [
        "two four point zero", "two four point zero volts",
        "two eight point zero", "two eight point zero volts",
        "three two point zero", "three two point zero volts",
    ] == texts[Kind.VALUE]  # fmt: skip


def test_answers_are_heard_at_their_own_items(rig: Path) -> None:
    """Four recordings of each of three answers; the others of the set are left out."""
    [row] = bench("answers", str(rig), "--speech", str(WORDS))

    assert (12, 12) == (row["n"], row["correct"] + row["rejected"] + row["wrong"])
    assert {"ordinary", "killer"} == set(row["kinds"])
    assert (4, 8) == (row["kinds"]["ordinary"][1], row["kinds"]["killer"][1])
    assert row["correct"] >= 8
    assert {text for text in missing(wanted(load(rig)), read_set(WORDS)) if " " in text} == {
        w.text for w in wanted(load(rig)) if w.kind is Kind.VALUE
    }


def test_a_set_without_an_answer_is_told(rig: Path) -> None:
    """Talk is no answer: a sentence, no figures."""
    result = CliRunner().invoke(command, ["answers", str(rig), "--speech", str(TALK)])

    assert 2 == result.exit_code
    assert "None of the recordings has an answer" in result.output


def test_each_recording_is_heard_first_and_later() -> None:
    """Three places, the same recordings in each."""
    rows = bench("first-word", "--speech", str(WORDS), "--most", "3", "--silence", "2")

    assert [(1, 3), (2, 3), (3, 3)] == [(row["word"], row["n"]) for row in rows]
    assert min(row["correct"] for row in rows) >= 2


def test_talk_is_heard_again_until_it_was_long_enough(rig: Path) -> None:
    """Half as much again as there is: everything is heard twice, and that is said."""
    talk, noise = (
        read_set(TALK)[:1],
        [replace(c, samples=c.samples[:RATE]) for c in read_set(NOISE)],
    )
    once = (talk[0].seconds + sum(clip.seconds for clip in noise)) / 3600
    ear = make_ear("built-in")

    rows = list(false_accepts(ear, load(rig), talk, noise, (10.0, 5.0), 1.5 * once))

    assert {2} == {row.times for row in rows}
    assert [pytest.approx(2 * once)] * 3 == [row.hours for row in rows]


def test_changes_of_grammar_are_timed(rig: Path) -> None:
    """Every item as often as asked for; no change takes no time."""
    [row] = bench("grammars", str(rig), "--rounds", "2")

    assert 6 == row["n"]
    assert 0 < row["median"] <= row["worst"]
