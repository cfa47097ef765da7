"""A file that is right, read as a list for people: what they would get wrong by it.

Rule of this file: every rule is a row of the table, with its grade, its reason
and its source; what finds it is a small function of a file beside this one.
Sources marked "as quoted" were read in other texts that quote them.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from callout.checklist import review_items as items
from callout.checklist import review_limits as limits
from callout.checklist import review_lists as lists
from callout.checklist import review_order as order
from callout.checklist.load import load_drafts
from callout.checklist.positions import Node
from callout.checklist.problems import did_you_mean, quoted
from callout.checklist.review_model import Finding, Grade, Note, Rule, Scene, Sounds, scene

SERIOUS, WEAK, ADVICE = Grade

_DW = "Degani & Wiener, NASA CR-177549 and Human Factors 35(2)"
_AC = "FAA AC 120-71B"
_COMMON = "common practice, no source"

RULES: tuple[Rule, ...] = (
    Rule(
        "says-nothing",
        SERIOUS,
        "An answer that would be the same whatever there is to see checks nothing.",
        f"{_DW}, J1/A4; {_AC} 5.4 (as quoted)",
        items.says_nothing,
    ),
    Rule(
        "value-as-word",
        SERIOUS,
        "A value that is said can be held against its limits; a word cannot.",
        f"{_DW}, J1/A4 (responses give the value itself)",
        items.value_as_word,
    ),
    Rule(
        "sounds-alike",
        SERIOUS,
        "In noise the ear takes one for the other, and the wrong thing is ticked.",
        "voice commands are to be acoustically distinct (AS 5061 practice, as quoted); distance "
        "measured with models/confusions.json",
        items.sounds_alike,
    ),
    Rule(
        "no-abort",
        SERIOUS,
        "When a start goes wrong there is no time to look for the list.",
        "CAP 676 (emergency lists are reached from where they are needed, from memory)",
        lists.no_abort,
    ),
    Rule(
        "order-broken",
        SERIOUS,
        "The file itself declares this order.",
        "the file's own `order`",
        order.declared,
    ),
    Rule(
        "pump-before-fuel",
        SERIOUS,
        "With the pump off first the lines run dry while the engine still burns.",
        "FAA AMT Powerplant text on shutdown (as quoted): fuel lever off before boost pump off",
        order.pump_before_fuel,
    ),
    Rule(
        "battery-before-rest",
        SERIOUS,
        "A fire inside needs the gauges and the starter until all stands still.",
        "RAF Sabre pilot's notes on stopping: wait for rest before battery off",
        order.battery_before_rest,
    ),
    Rule(
        "start-unguarded",
        SERIOUS,
        "Nobody may stand in the disc, and a fire must meet somebody with an extinguisher.",
        "Helicopter Flying Handbook FAA-H-8083-21 ch. 8 (as reproduced); TM 1-1500-204-23-1 p. 48",
        lists.start_unguarded,
    ),
    Rule(
        "goes-stale",
        SERIOUS,
        "After a hold, people and fire guard may be somewhere else.",
        f"{_DW}, J7/A11 (critical items that can change are repeated)",
        items.goes_stale,
    ),
    Rule(
        "killer-late",
        WEAK,
        "What comes late is lost first when somebody interrupts.",
        f"{_DW}, J6/A10, J7/A11",
        lists.killer_late,
    ),
    Rule(
        "long-list",
        WEAK,
        "A place is easily lost in a long row of items.",
        f"{_DW}, J3/A7; nine items: a design target of our own",
        lists.long_list,
    ),
    Rule(
        "compound",
        WEAK,
        "One answer for two things is given when the first of them was looked at.",
        f"{_DW}, J3/A7 and J1/A4 (one status, one answer)",
        items.compound,
    ),
    Rule(
        "back-and-forth",
        WEAK,
        "Ways walked twice are saved by memory, and then an item is missed.",
        f"{_DW}, J4/A8",
        lists.back_and_forth,
    ),
    Rule(
        "negated",
        WEAK,
        "Where one short word is lost in noise, the opposite is left.",
        "CAP 676 (object and state in unambiguous words, from memory)",
        items.negated,
    ),
    Rule(
        "hard-in-noise",
        WEAK,
        "A call that is not understood is answered by habit.",
        "MIL-STD-1472E 5.3.4 and NUREG-0700 1.3.11 (speech must be intelligible in its noise); "
        "measured by phones",
        items.hard_in_noise,
    ),
    Rule(
        "no-unit",
        WEAK,
        "A number alone can be another gauge's.",
        f"{_DW}, J1/A4; {_COMMON}",
        limits.no_unit,
    ),
    Rule(
        "number-as-word",
        WEAK,
        "As a word it has no limits, and cannot be told from another number.",
        f"{_DW}, J1/A4",
        items.number_as_word,
    ),
    Rule(
        "no-source",
        WEAK,
        "Nobody can look a limit up, or see that it was changed.",
        "FAA AC 90-89B (limits come from the maker or are found by test); 14 CFR 27 (limits are "
        "stated in the manual)",
        limits.no_source,
    ),
    Rule(
        "no-engine-state",
        WEAK,
        "Limits for a running engine are watched only in lists that say that it runs.",
        "the language of these files: engine_state",
        lists.no_engine_state,
    ),
    Rule(
        "by-heart",
        WEAK,
        "More than four items are not remembered under stress.",
        "CAP 676 ch. 7 s. 2.6 prefers fewer than four (as quoted)",
        lists.by_heart,
    ),
    Rule(
        "helper-inside",
        WEAK,
        "A helper stands outside, where people are told to stay away from the machine.",
        f"{_DW}, J5/A9; Helicopter Flying Handbook ch. 8 (as reproduced)",
        items.helper_inside,
    ),
    Rule(
        "no-completion",
        WEAK,
        "A list ends with a call that means that all was answered, or says what then holds.",
        f"{_DW}, J8/A6; CAP 676 (a clear end, from memory)",
        lists.no_completion,
    ),
    Rule(
        "verb-first",
        ADVICE,
        "The name of the thing sends hand and eye there; a verb has to be waited out.",
        f"{_AC} 5.4 (as quoted): challenge words are those of the panel; MIL-STD-411F 5.3.6: "
        "system first, nature last",
        items.verb_first,
    ),
    Rule(
        "state-in-call",
        ADVICE,
        "Who hears the state repeats it without looking.",
        f"{_DW}, J1/A4",
        items.state_in_call,
    ),
    Rule(
        "no-marks",
        ADVICE,
        "Silence does not tell whether the timer runs.",
        f"ten seconds hold attention (Miller 1968, Nielsen); {_COMMON}",
        items.no_marks,
    ),
)
"""Everything that is looked for, the gravest first."""

KEPT_IN_VAIN = "kept-in-vain"
"""An exception for something that is not found."""


def review(path: Path, sounds: Sounds | None = None) -> tuple[Finding, ...]:
    """Every finding of a file, in the order of its lines.  Raises FileProblems.

    Those that the owner keeps are among them, with his reason.
    """
    loaded, made = load_drafts(path)
    return found(scene(loaded.aircraft, made, sounds or Sounds()))


def found(looked_at: Scene) -> tuple[Finding, ...]:
    """Every finding of a scene."""
    used: set[int] = set()
    findings = [_finding(rule, note, used) for rule in RULES for note in rule.look(looked_at)]
    findings += _in_vain(looked_at, used)
    return tuple(sorted(set(findings), key=lambda one: (one.place, one.rule, one.what)))


def _finding(rule: Rule, note: Note, used: set[int]) -> Finding:
    kept = ""
    for node in note.scopes:
        reasons = node.map.get("reviewed")
        reason = reasons.map.get(rule.id) if reasons else None
        if reason is not None:
            used.add(id(reason))
            kept = kept or reason.text
    return Finding(
        rule.id, rule.grade, note.place, note.what, rule.why, rule.source, note.change, kept
    )


def _in_vain(looked_at: Scene, used: set[int]) -> Iterator[Finding]:
    known = [rule.id for rule in RULES]
    for node in _scopes(looked_at):
        reasons = node.map.get("reviewed")
        for rule, reason in reasons.map.items() if reasons else ():
            if id(reason) not in used:
                what = f"{quoted(rule)} is kept here, and nothing of it is found"
                near = "" if rule in known else did_you_mean(rule, known)
                yield Finding(
                    KEPT_IN_VAIN,
                    ADVICE,
                    reason.key or reason.place,
                    what + near,
                    "An exception that excepts nothing hides what comes later.",
                    "the language of these files: reviewed",
                    "without it",
                )


def _scopes(looked_at: Scene) -> Iterator[Node]:
    yield looked_at.node.map.get("aircraft", looked_at.node)
    yield from looked_at.gauges.values()
    for one in looked_at.lists:
        yield one.node
        yield from (line.node for line in one.lines)
