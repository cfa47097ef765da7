"""All states of small lists, breadth first: the invariants hold, and planted faults are found.

The whole search of an aircraft's lists takes longer than tests may:
`python tests/engine/measure_states.py`.
"""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path
from types import MappingProxyType

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, item, rig
from states_key import KEPT, LEFT_OUT
from states_moves import moves
from states_parallel import search_shared
from states_quick import Kept
from states_search import Step, entries, search_all
from states_watch import watch_key

from callout.checklist.load import load
from callout.checklist.model import Advise, Aircraft, Await, Condition, ListKind, ReadValue, Wait
from callout.engine import answers, closing, flow, limit_calls, session
from callout.engine.grammar import grammar_of
from callout.engine.rules import State
from callout.engine.state import SessionState, Status
from callout.engine.turn import Turn
from callout.engine.watch_state import Sense, Watch
from callout.words.phrases import Grammar, Phrase

RIG = rig(
    checklist(
        "first",
        ask("port", killer=True),
        item("volts", ReadValue("battery", band("24", "29"))),
    ),
)
"""A killer item and a value with a limit: where most faults show."""

TIMED = rig(
    checklist(
        "first",
        item("wind", Advise()),
        item("warm", Wait(20.0, (10.0,))),
        item("speed", Await(Condition("speed", band("20", "80")), within=12.0)),
        ask("seat", gate=True),
        abort="stop",
    ),
    checklist("stop", ask("lever"), kind=ListKind.ABORT),
)

EXAMPLE = load(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")

MODES = {state.value for state in State}


def test_with_one_thing_out_of_the_way_the_invariants_hold_in_the_states_near_by():
    """The nearest of them; all of them by measure_states.py."""
    found = next(search_all(RIG, 1, at_most=300))
    print(found.states, "states")
    assert [] == found.broken
    assert MODES - {"closed", "timing", "advising", "awaiting"} == found.met


@pytest.mark.parametrize(
    ("plane", "lists"),
    [(TIMED, ["first"]), (EXAMPLE, ["after-landing"])],
    ids=["small", "example"],
)
def test_what_can_befall_at_each_place_of_a_list_breaks_no_invariant(
    plane: Aircraft, lists: list[str]
):
    """The straight way, and from each place on it everything that can come, once."""
    for found in search_all(plane, 0, only=lists):
        print(found.list_id, found.states, "states")
        assert [] == found.broken
        assert found.all_of_it


ONE_ITEM = """
callout: 1
aircraft: {name: Invented, revision: "1", written_by: a test, limits_from: {handbook: none}}
lists:
  only:
    title: only
    items:
      - say: door
"""


def test_several_processes_reach_the_same_states_as_one(tmp_path: Path):
    """Each by a program of its own: a test's process has threads and is better not forked."""
    file = tmp_path / "one.yaml"
    file.write_text(ONE_ITEM, encoding="utf-8")

    def states_and_not_gone_on_from(*options: str) -> tuple[str, str]:
        script = Path(__file__).with_name("measure_states.py")
        done = subprocess.run(
            [sys.executable, script, file, *options], check=True, capture_output=True, text=True
        )
        row = next(r for r in reversed(done.stdout.splitlines()) if r.startswith("only"))
        return row.split()[1], row.split()[4]

    assert states_and_not_gone_on_from() == states_and_not_gone_on_from("--jobs", "2")


def test_every_field_of_the_state_is_in_the_key_or_left_out_for_a_reason():
    names = {one.name for one in fields(SessionState)}
    assert names == KEPT | set(LEFT_OUT)
    assert not KEPT & set(LEFT_OUT)


def test_a_grammar_that_is_kept_is_the_one_that_would_be_made():
    """Where each list of the day begins, and behind each move from there."""
    step, kept, heard = Step(EXAMPLE), Kept(), 0
    for node in entries(EXAMPLE).values():
        for move in moves(EXAMPLE, node.state):
            after = step.take(node, move).state
            assert grammar_of(EXAMPLE, after) == kept(EXAMPLE, after)
            heard += 1
    assert heard > 100


def test_of_a_start_that_counts_which_is_still_asked_about():
    spec = EXAMPLE.start_watch
    assert spec is not None
    begun = Watch(0.0, 0, senses=(Sense(),) * len(spec.gauges))

    def known(watch: Watch, *ticked: str) -> object:
        return watch_key(spec, watch._replace(ticked=frozenset(ticked)), 1.0)

    assert known(begun) == known(begun, "start/starter", "start/area")
    assert known(begun) != known(begun, "start/fuel-opened")
    lit = begun._replace(phase=3)
    assert known(lit) == known(lit, "start/fuel-opened")
    assert known(lit) != known(begun)
    over = begun._replace(phase=len(spec.phases))
    assert known(over) == known(over, "start/ignition-safe")


def test_layer_by_layer_a_planted_fault_is_found_too(monkeypatch: pytest.MonkeyPatch):
    nothing_is_open(monkeypatch)
    found = search_shared(RIG, "first", entries(RIG)["first"], 1, 1, math.inf)
    assert found.broken
    assert found.broken[0].startswith("complete_means_complete")


Plant = Callable[[pytest.MonkeyPatch], None]


def act(name: str, action: Callable[[Turn], None]) -> Plant:
    """Another action in place of that of this name."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(session, "ACTIONS", MappingProxyType({**session.ACTIONS, name: action}))

    return plant


def done_answers(patch: pytest.MonkeyPatch) -> None:
    """ "Done" is an answer to any item, killer items too."""

    def mutated(plane: object, state: SessionState) -> Grammar:
        made = grammar_of(plane, state)
        asked = any(one.means.startswith("answer:") for one in made.phrases)
        done = Phrase("done", "answer:ready") if asked else Phrase("done", "wrong:done")
        others = tuple(one for one in made.phrases if one.text != "done")
        return made if others == made.phrases else replace(made, phrases=(done, *others))

    patch.setattr(session, "grammar_of", mutated)


def abort_is_not_heard(patch: pytest.MonkeyPatch) -> None:
    def mutated(plane: object, state: SessionState) -> Grammar:
        made = grammar_of(plane, state)
        kept = tuple(one for one in made.phrases if one.means != "word:ABORT")
        return replace(made, phrases=kept) if state.mode is State.HOLDING else made

    patch.setattr(session, "grammar_of", mutated)


def nothing_is_open(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(closing, "open_items", lambda plane, state: ())


def limits_are_not_watched(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(limit_calls, "watch_limits", lambda turn: None)


def silence_ticks(turn: Turn) -> None:
    if turn.state.item is not None:
        answers.tick(turn, "ready")
    turn.set(answer_due=turn.now + 10.0)


def killers_may_wait(turn: Turn) -> None:
    turn.mark(turn.state.item, Status.DEFERRED)
    turn.record("deferred")
    flow.advance(turn)


def any_value_will_do(turn: Turn) -> None:
    answers.tick(turn, str(turn.input.values[0]))
    flow.advance(turn)


def say_again_gives_time(turn: Turn) -> None:
    timer = turn.state.timer
    if timer is not None:
        turn.set(timer=replace(timer, ends=timer.ends + 5.0))
    turn.ask(turn.state.prompt, again=True)


@pytest.mark.parametrize(
    ("plant", "seen_by"),
    [
        (nothing_is_open, "complete_means_complete"),
        (done_answers, "killers_are_passed_by_two_utterances"),
        (act("defer", killers_may_wait), "killers_are_passed_by_two_utterances"),
        (act("take_value", any_value_will_do), "values_are_in_range"),
        (limits_are_not_watched, "limits_are_called"),
        (act("no_answer", silence_ticks), "silence_ticks_nothing"),
        (act("say_again", say_again_gives_time), "time_goes_on"),
        (abort_is_not_heard, "the_universal_words_are_heard"),
    ],
)  # fmt: skip
def test_a_planted_fault_is_found(plant: Plant, seen_by: str, monkeypatch: pytest.MonkeyPatch):
    """One for each invariant but the third, whose faults the second sees first."""
    plant(monkeypatch)
    timed = seen_by in ("silence_ticks_nothing", "time_goes_on")
    found = next(search_all(TIMED, 0) if timed else search_all(RIG, 1, at_most=300))
    assert found.broken
    assert found.broken[0].startswith(seen_by)
