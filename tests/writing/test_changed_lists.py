"""A changed list is told once, when it is first run again; the logbook has which one was run."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from callout.checklist.content import digest, digests
from callout.checklist.load import load
from callout.logbook.store import Logbook

TEXT = """callout: 1
aircraft: {name: Testbird, revision: "1", written_by: me, limits_from: {handbook: h}}
gauges:
  volts: {unit: V, range: 0 to 32, limits: {any: {never: {above: 30}}}}
  amps: {unit: A, range: 0 to 90}
lists:
  cabin:
    items:
      - {call: cabin door, answer: latched}
  power:
    items:
      - {call: volts, read: volts}
  stop-it:
    kind: abort
    items: [{call: throttle, answer: closed}]
"""


def _run(tmp_path, text: str, *words: str) -> list[str]:
    """What callout says in a session of typed words."""
    file = tmp_path / "testbird.yaml"
    file.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "callout", "run", str(file), "--new", "--ear", "keys"]
    command += ["--listen", "none", "--speak", "none", "--logbook", str(tmp_path / "log.db")]
    typed = "\n".join([*words, "end session", ""])
    done = subprocess.run(command, input=typed, capture_output=True, encoding="utf-8", check=True)
    said = (line.partition("callout") for line in done.stdout.splitlines())
    return [text.strip() for _, _, text in said if text]


def _told(said: list[str]) -> list[str]:
    return [line for line in said if "hanged" in line]


def test_a_changed_list_is_told_once_when_it_is_first_run_again(tmp_path):
    changed = TEXT.replace("latched", "locked")

    assert [] == _told(_run(tmp_path, TEXT, "latched"))
    assert [] == _told(_run(tmp_path, TEXT, "latched"))
    said = _run(tmp_path, changed, "locked")
    assert ["Cabin.", "This list was changed.", "Cabin door?"] == said[:3]
    assert [] == _told(_run(tmp_path, changed, "locked"))


def test_it_waits_until_the_list_is_run(tmp_path):
    _run(tmp_path, TEXT, "latched", "proceed", "two four")
    changed = TEXT.replace("call: volts, read", "call: bus volts, read")

    assert [] == _told(_run(tmp_path, changed, "latched"))
    said = _run(tmp_path, changed, "latched", "proceed", "two four")
    assert ["This list was changed."] == _told(said)
    assert "Power." == said[said.index("This list was changed.") - 1]


def test_an_abort_list_is_told_before_it_is_needed(tmp_path):
    _run(tmp_path, TEXT, "latched")
    changed = TEXT.replace("answer: closed", "answer: idle")

    assert ["Changed list: stop it."] == _told(_run(tmp_path, changed, "latched"))
    assert [] == _told(_run(tmp_path, changed, "latched"))


def test_the_logbook_has_revision_and_content_of_what_was_run(tmp_path):
    _run(tmp_path, TEXT, "latched")
    aircraft = load(tmp_path / "testbird.yaml")
    with Logbook.open(tmp_path / "log.db") as logbook:
        ((revision, data),) = logbook.select(
            "SELECT s.revision, e.data FROM sessions s JOIN entries e USING (session) "
            "WHERE e.name = 'SessionOpened'"
        )

    assert "1" == revision
    assert [list(pair) for pair in digests(aircraft)] == json.loads(data)["contents"]


def test_only_what_a_list_says_and_reads_changes_its_digest(tmp_path):
    file = tmp_path / "a.yaml"
    file.write_text(TEXT, encoding="utf-8")
    before = load(file)
    file.write_text("# A comment.\n" + TEXT.replace("0 to 90", "0 to 95"), encoding="utf-8")
    assert digests(before) == digests(load(file))
    file.write_text(TEXT.replace("above: 30", "above: 29"), encoding="utf-8")
    assert ["power"] == [
        old[0] for old, new in zip(digests(before), digests(load(file)), strict=True) if old != new
    ]


def test_a_number_that_is_only_written_otherwise_is_the_same(tmp_path):
    file = tmp_path / "a.yaml"
    file.write_text(TEXT, encoding="utf-8")
    before = load(file)
    limit = before.gauges[0].limits[0]
    written = replace(limit, never=replace(limit.never, at_most=Decimal("30.00")))
    after = replace(
        before, gauges=(replace(before.gauges[0], limits=(written,)), *before.gauges[1:])
    )

    assert digest(before, before.list("power")) == digest(after, after.list("power"))


def test_a_digest_is_for_ever():
    """Written down once: a later version of the program must give the same."""
    examples = Path(__file__).parents[2] / "checklists"
    aircraft = load(examples / "test-stand.yaml")

    assert "9108c4132c455667" == digest(aircraft, aircraft.list("stop-now"))
