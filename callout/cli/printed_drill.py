"""A drill as lines for a person to read: who says what, when, within which time.

Rule of this file: values in, text out; a time shows which key of the aircraft file it
comes from, and one that is the drill's own says so.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.amounts import time_text
from callout.checklist.model import Aircraft
from callout.trainer.model import PEOPLE, Drill, Line, Question


def lines(drill: Drill, aircraft: Aircraft) -> Iterator[str]:
    """The whole drill, line by line."""
    roles = ", ".join(role.value for role in drill.roles)
    yield f"{drill.title.upper()}  [drill {drill.id} for {aircraft.name}; {roles}]"
    yield f"      {drill.about}"
    for caution in drill.cautions:
        yield f"      Caution: {caution}"
    for line in drill.lines:
        yield f"  {line.who.value + ':':<10} {_said(line)}{_notes(line)}"
        for wrong in line.wrong:
            yield f"             wrong: {', '.join(wrong.words)}: {wrong.because}"
    for question in drill.questions:
        yield f"  question:  {_question(question)}"
    if drill.debrief:
        yield f"      {drill.debrief}"
    for line in own_times(drill):
        what = f"The time for {line.words[0]!r} is the drill's own"
        yield f"Caution: {what}, not the aircraft file's."


def own_times(drill: Drill) -> tuple[Line, ...]:
    """The calls whose time does not come from the aircraft file."""
    return tuple(line for line in drill.lines if line.who in PEOPLE and not line.within.source)


def _said(line: Line) -> str:
    return " | ".join(line.words) if line.words else line.say


def _notes(line: Line) -> str:
    notes = []
    if line.who in PEOPLE:
        source = f" ({line.within.source})" if line.within.source else ""
        notes.append(f"within {time_text(line.within.seconds)}{source}")
    if line.item:
        notes.append(f"answers {line.item}")
    if line.pair:
        notes.append("needs both")
    if line.critical:
        notes.append("critical")
    if line.when is not None:
        low, high = line.when.above, line.when.below
        parts = [f"at least {low:g}"] if low is not None else []
        parts += [f"at most {high:g}"] if high is not None else []
        notes.append(f"when {line.when.gauge} is {' and '.join(parts)}")
    notes += [f"{name} {'on' if wanted else 'off'}" for name, wanted in line.facts]
    return f"  [{'; '.join(notes)}]" if notes else ""


def _question(question: Question) -> str:
    return f"{question.asked.value} {question.about}"
