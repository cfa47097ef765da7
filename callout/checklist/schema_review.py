"""What a file says to `callout review`: an order of its own, and what was looked at.

Rule of this file: as schema.py, whose part it is: shape only.
"""

from __future__ import annotations

from typing import Annotated

from callout.checklist.shapes import Call, Entry, Id, Ref, Spoken, Text, doc, must

Reviewed = Annotated[dict[Id, Text], "rule -> reason"]
"""Findings that the owner looked at and keeps as they are, each with his reason."""

REVIEWED = "Findings of `callout review` that are kept as they are: rule, and the reason."
REASON = {"sounds-alike": "Told apart in forty tries with the rotor turning."}


class StepEntry(Entry):
    """One side of an order: items by what is called and answered."""

    call: Call = must("What is called, as the items have it.", "fuel lever")
    answer: Spoken | None = doc("And what is answered; without it, any answer.", "closed")


class OrderEntry(Entry):
    """An order that must hold: this before that."""

    first: StepEntry = must("What comes first.", {"call": "fuel lever", "answer": "closed"})
    then: StepEntry = must("What comes after it.", {"call": "boost pump", "answer": "stopped"})
    lists: list[Ref] | None = doc(
        "Lists that follow one another and are looked at as one; without it, each by itself.",
        ["shutdown", "run-down"],
        min_length=1,
    )
    why: Text | None = doc("The reason.", "No line may run dry.")
