"""One page of every figure: what is run, how it is set down, and whose the claims are.

The benches themselves have tests of their own; here one of them is run, and the others are
held by objects that they printed.
"""

from __future__ import annotations

import json
import re
import sys
import threading
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.benches import all_rows as rows
from callout.benches.all_benches import STOPPED, Measured, Page, Part, Row, Stopping, measure, run
from callout.benches.all_page import columns, html
from callout.benches.all_parts import Given, parts
from callout.cli.bench import command as bench
from callout.cli.main import main

TOP = Path(__file__).parents[2]
README = re.sub(r"\s+", " ", (TOP / "README.md").read_text(encoding="utf-8"))
HEARD = [
    {"ear": "built-in", "snr": 10.0, "n": 364, "correct": 343, "rejected": 1, "wrong": 20,
     "low": 0.913, "high": 0.962},
    {"ear": "pocketsphinx", "snr": 10.0, "n": 364, "correct": 254, "rejected": 0, "wrong": 110,
     "low": 0.649, "high": 0.743},
]  # fmt: skip


def _parts(**more):
    return parts(Given(TOP / "checklists" / "reedlark.yaml", Path("ten.txt"), **more))


def test_every_claim_is_the_readmes_own_words():
    from callout.benches import all_parts as given

    claims = [*given.WORDS.values(), *given.ANSWERS.values(), *given.TALK.values(), given.LINES]

    assert [] == [claim for claim in claims if claim not in README]


@pytest.mark.parametrize("quick", [True, False])
def test_every_part_is_a_bench_that_there_is_with_options_that_it_has(quick):
    for part in _parts(quick=quick, vosk=True):
        name, *words = part.words
        options = {one for param in bench.commands[name].params for one in param.opts}

        assert {word for word in words if word.startswith("--")} <= options, part.name


def test_a_share_stands_beside_the_other_ear_and_the_claim():
    (row,) = rows.heard("ten words", {10.0: "94.2 % at 10 dB"})(HEARD)

    assert "ten words, 10 dB" == row.what
    assert "94.2 % (91 – 96) of 364, 20 wrong" == row.got
    assert (("pocketsphinx", "69.8 % (65 – 74) of 364, 110 wrong"),) == row.beside
    assert "94.2 % at 10 dB" == row.claim


def test_without_its_recordings_a_part_says_so():
    (answers,) = (part for part in _parts() if part.name == "answers")
    done = run(answers, Stopping())

    assert () == done.rows
    assert "its recordings are not here" in done.trouble


def test_a_bench_that_fails_is_a_row_that_says_so_and_the_others_go_on():
    broken = Part("a", "A", ("no-such-bench",), rows.grammars)
    odd = Part("b", "B", ("grammars", "--help"), rows.grammars, timed=True)
    page = measure([broken, odd], quick=True, jobs=2, told=lambda _: None)

    assert ["A", "B"] == [part.title for part in page.parts]
    assert "No such command" in page.parts[0].trouble
    assert page.parts[1].trouble


@pytest.fixture
def programs(monkeypatch):
    """Instead of benches: one that ends and one that never does by itself."""
    code = {"ends": "print('{}')", "goes-on": "import time; time.sleep(600)"}
    really, used = Stopping.run, []

    def run(self, command):
        used.append(self)
        return really(self, [sys.executable, "-c", code[command[-2]]])

    monkeypatch.setattr(Stopping, "run", run)
    return used


def _named(*names):
    return [Part(f"{n}", name, (name,), lambda _: [Row("it ran", "1")]) for n, name in
            enumerate(names)]  # fmt: skip


def test_what_was_measured_before_a_run_is_stopped_is_not_lost(programs):
    def told(sentence):
        if sentence.startswith("goes-on"):
            threading.Timer(0.5, programs[0].stop).start()

    made = _named("ends", "goes-on", "ends")
    page = measure(made, quick=True, jobs=1, told=told)

    assert [1, 0, 0] == [len(part.rows) for part in page.parts]
    assert ["", STOPPED, STOPPED] == [part.trouble for part in page.parts]


def test_a_run_may_last_so_many_minutes(programs):
    page = measure(_named("goes-on"), quick=True, jobs=1, told=lambda _: None, minutes=0.01)

    assert [STOPPED] == [part.trouble for part in page.parts]


def test_words_from_outside_are_escaped_on_the_page():
    measured = Measured("A", "callout bench a", (Row("<b>", "1", (("vosk", "2"),), "c"),), 3.0)
    shown = html(Page("2031-05-04 09:00 UTC", True, (("system", "<i>"),), (measured,)))

    assert "<b>" not in shown
    assert "&lt;b&gt;" in shown
    assert "<th>vosk</th>" in shown
    assert "a quick run" in shown


def test_a_column_in_which_nothing_stands_is_left_out():
    rows = (Row("a", "1", claim="c"), Row("b", "2", (("vosk", "3"),)))
    with_all = columns(Measured("A", "callout bench a", rows, 3.0))
    plain = columns(Measured("A", "callout bench a", (Row("a", "1"),), 3.0))

    assert ["what", "callout", "vosk", "the README says"] == list(with_all)
    assert (["", "3"], ["c", ""]) == (with_all["vosk"], with_all["the README says"])
    assert {"what": ["a"], "callout": ["1"]} == plain


def test_a_run_is_shown_and_kept(tmp_path):
    done = CliRunner().invoke(
        main, ["bench", "all", "--quick", "--only", "grammars", "--keep", str(tmp_path)]
    )
    kept = {path.suffix: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()}

    assert 0 == done.exit_code, done.output
    assert "change to what counts at the next item" in done.output
    assert "Change of grammar" in kept[".html"]
    assert "callout bench grammars reedlark.yaml --rounds 1" in kept[".html"]
    (part,) = json.loads(kept[".json"])["parts"]
    assert re.fullmatch(r"median [0-9.]+ ms, worst [0-9.]+ ms", part["rows"][0]["got"])


def test_a_bench_is_ended_with_the_programs_it_started():
    """They hold its pipe, and whoever reads it would wait for them."""
    waits = "import time; print('here', flush=True); time.sleep(600)"
    begins = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {waits!r}])"
    stopping = Stopping()
    late = threading.Timer(2.0, stopping.stop)
    late.start()
    began = time.monotonic()

    assert stopping.run([sys.executable, "-c", begins]) is None
    assert time.monotonic() - began < 300
