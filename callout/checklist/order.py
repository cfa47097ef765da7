"""An order that the owner declared, as plain values: this item comes before that one.

Rule of this file: as model.py, whose part it is: frozen dataclasses, no reading,
no checking. The engine does not ask for it: a list is read as it is written, and
`callout review` holds the lists against it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """Items that are called so and, where it is given, answered so."""

    call: str
    answer: str = ""


@dataclass(frozen=True, slots=True)
class OrderRule:
    """`first` comes before `then`.

    Fields:
        first, then: which items
        lists: lists that are run one after the other and looked at as one; () for
            each list by itself, where it has both
        why: the owner's reason ("" for none)
    """

    first: Step
    then: Step
    lists: tuple[str, ...] = ()
    why: str = ""
