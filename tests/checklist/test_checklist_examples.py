"""The example aircraft: complete for a flying day, invented, and built as people need lists.

The order and the answers are held against what is published about checklists;
the source stands beside each check. None of it makes the numbers real.
"""

from __future__ import annotations

from functools import cache
from itertools import product

import pocketsphinx
import pytest
from checklist_files import EXAMPLES
from rapidfuzz.distance import Levenshtein

from callout.checklist.load import load
from callout.checklist.model import (
    Advise,
    Ask,
    Await,
    CheckList,
    Choose,
    GoTo,
    Item,
    ListKind,
    ReadValue,
    Task,
    Wait,
    Who,
)
from callout.words.universal import NEVER_A_VALUE

PATHS = sorted(EXAMPLES.glob("*.yaml"))
REEDLARK = load(EXAMPLES / "reedlark.yaml")
ALL = [load(path) for path in PATHS]


def _ids(list_id: str) -> list[str]:
    return [item.id for item in REEDLARK.list(list_id).items()]


def _answers(item: Item) -> dict[str, tuple[str, ...]]:
    """Phrases of an item by what they mean."""
    if isinstance(item.task, Ask):
        return {"right": item.task.answers, "wrong": item.task.wrong}
    if isinstance(item.task, Choose):
        return {option.id: option.answers for option in item.task.options}
    return {}


def _items() -> list[tuple[CheckList, Item]]:
    return [(one, item) for aircraft in ALL for one in aircraft.lists for item in one.items()]


@cache
def _dictionary() -> dict[str, list[str]]:
    """Word -> phones, from the CMU dictionary that comes with PocketSphinx."""
    path = pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")
    with open(path, encoding="utf-8") as lines:
        split = (line.split() for line in lines)
        return {word: phones for word, *phones in split}


def _phones(phrase: str) -> list[str]:
    return [phone for word in phrase.split() for phone in _dictionary()[word]]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_example_says_that_it_is_invented(path):
    """In its first lines for who reads it, and in its notice, which is spoken first."""
    assert "INVENTED" in path.read_text(encoding="utf-8").split("callout: 1")[0]
    assert "invented" in load(path).notice
    assert "rules" in load(path).notice


def test_a_whole_flying_day():
    normal = [one.id for one in REEDLARK.lists if one.kind is ListKind.NORMAL]
    aborts = {one.id for one in REEDLARK.lists if one.kind is ListKind.ABORT}
    emergencies = {one.id for one in REEDLARK.lists if one.kind is ListKind.EMERGENCY}

    assert [
        "walk-round",
        "before-start",
        "start",
        "run-up",
        "before-take-off",
        "after-landing",
        "cool-down",
        "shutdown",
        "run-down",
        "post-flight",
    ] == normal
    assert {"no-light-off", "hot-start", "hung-start", "starter-stays-engaged"} <= aborts
    assert {"fire-on-the-ground", "residual-fire"} == emergencies


def test_the_examples_use_every_kind_of_item():
    kinds: set[type[Task]] = {type(item.task) for _, item in _items()}

    assert {Ask, ReadValue, Wait, Await, Advise, Choose, GoTo} == kinds
    assert {Who.PILOT, Who.HELPER} == {item.who for _, item in _items()}
    assert all(any(getattr(item, key) for _, item in _items()) for key in ("gate", "stale_after"))


def test_no_answer_is_a_word_that_tells_no_state():
    """Degani & Wiener, guideline on responses; AC 120-71B 5.4 (as quoted): not "checked"."""
    said = {words for _, item in _items() for group in _answers(item).values() for words in group}

    assert set() == said & set(NEVER_A_VALUE)


def test_lists_are_cut_into_parts_of_at_most_nine():
    """Degani & Wiener, guideline on chunks (as quoted); nine is a design target of our own."""
    sizes = {
        f"{one.id}/{section.name}": len(section.items)
        for aircraft in ALL
        for one in aircraft.lists
        for section in one.sections
    }

    assert {name: size for name, size in sizes.items() if size > 9} == {}


def test_killer_items_come_early():
    """Degani & Wiener, guideline on critical items (as quoted): as early as possible.

    Each list's first killer stands in its first half, but for the start, where
    the oil pressure exists only after it.
    """
    late = []
    for aircraft in ALL:
        for one in aircraft.lists:
            killers = [at for at, item in enumerate(one.items()) if item.killer]
            if killers and killers[0] > len(tuple(one.items())) / 2:
                late.append(one.id)

    assert late == []


def test_the_start_waits_for_area_blades_and_fire_guard():
    """FAA-H-8083-21 chapter 8 (as reproduced): clear around and above; TM 1-1500: fire guard."""
    needed = {f"{need.list_id}/{need.item}" for need in REEDLARK.list("start").needs}
    outside = {item.id: item for item in REEDLARK.list("before-start").items()}

    assert {"before-start/area", "before-start/blades", "before-start/fire-guard"} <= needed
    assert all(outside[name].killer for name in ("area", "blades", "fire-guard"))
    assert Who.HELPER is outside["fire-guard"].who


def test_the_battery_is_read_as_a_value_before_the_start():
    """A light helicopter's POH insert: battery volts decide about ground power."""
    item = next(i for i in REEDLARK.list("before-start").items() if i.id == "battery-voltage")

    assert isinstance(item.task, ReadValue)
    assert item.killer


@pytest.mark.parametrize(
    "list_id", ["start-abort", "no-light-off", "hot-start", "hung-start", "flame-out"]
)
def test_an_abort_cuts_the_fuel_first_and_keeps_motoring(list_id):
    """The same POH insert: abort is fuel off, but keep motoring."""
    ids = _ids(list_id)

    assert ids[0] == "fuel-lever"
    assert ids.index("keep-motoring") < ids.index("starter-released")


def test_the_fuel_lever_comes_before_the_boost_pump_and_the_battery_last():
    """FAA AMT powerplant text (as quoted): lever before pump; RAF notes: rest before battery."""
    assert _ids("shutdown").index("fuel-lever") < _ids("shutdown").index("boost-pump")
    order = _ids("run-down")
    assert order.index("main-rotor") < order.index("battery-master")
    assert order.index("gas-generator") < order.index("battery-master")


def test_the_engine_cools_before_it_is_shut_down():
    """Published cool-downs are timed with the engine at idle (BO 105 manual and others)."""
    waits = [i.task for i in REEDLARK.list("cool-down").items() if isinstance(i.task, Wait)]

    assert len(waits) == 1
    assert waits[0].marks
    assert "cool-down" in [need.list_id for need in REEDLARK.list("shutdown").needs]


def test_every_start_step_that_can_fail_has_a_time_and_a_way_out():
    """FAA start text: no light-off or no acceleration within the limit is an abort.

    The watch over the start has them all; only the hand on the fuel lever has no time.
    """
    steps = [i.task for i in REEDLARK.list("start").items() if isinstance(i.task, Await)]
    watch = REEDLARK.start_watch
    assert watch is not None

    assert len(steps) == 4
    assert ["fuel"] == [one.id for one in watch.phases if not one.within or not one.missed]
    assert all(REEDLARK.list(fault.abort).kind is ListKind.ABORT for fault in watch.faults)


def test_the_watch_knows_every_way_a_start_goes_wrong():
    """FAA start texts name hot, hung and no start; the others are common practice, no source."""
    assert REEDLARK.start_watch is not None

    assert {
        "hot-start",
        "hung-start",
        "no-light-off",
        "slow-rotation",
        "starter-held",
        "starter-stays-engaged",
        "ignition-stays-on",
        "flame-out",
        "weak-flame",
    } == {fault.id for fault in REEDLARK.start_watch.faults}


def test_every_word_that_is_heard_is_in_the_pronouncing_dictionary():
    """So that PocketSphinx, which cannot guess a pronunciation, hears all of it."""
    heard = set()
    for aircraft in ALL:
        for one in aircraft.lists:
            heard |= {one.title, *one.also}
        for gauge in aircraft.gauges:
            heard |= {gauge.call, *gauge.also, *gauge.unit_words}
        heard |= set(aircraft.settings.reasons)
    for _, item in _items():
        heard |= {words for group in _answers(item).values() for words in group} | {item.where}
        if not isinstance(item.task, Advise):
            heard.add(item.call.lower().replace(",", ""))
    words = {word for phrase in heard for word in phrase.split()}

    assert words - _dictionary().keys() == set()


def test_right_and_wrong_answers_of_an_item_sound_different():
    """At least three phones apart (a target of our own): "damaged" and "undamaged" are two."""
    near = []
    for one, item in _items():
        groups = list(_answers(item).values())
        for at, group in enumerate(groups):
            for a, b in product(group, [p for other in groups[at + 1 :] for p in other]):
                if Levenshtein.distance(_phones(a), _phones(b)) < 3:
                    near.append(f"{one.id}/{item.id}: {a} / {b}")

    assert near == []
    assert Levenshtein.distance(_phones("damaged"), _phones("undamaged")) == 2


def test_the_killer_items_have_a_reason_where_the_reason_is_not_the_item_itself():
    """Reasons are spoken on request and taught by; most killers of the walk-round have one."""
    killers = [i for i in REEDLARK.list("walk-round").items() if i.killer]

    assert len([i for i in killers if i.why]) >= len(killers) / 2
