"""What a field of an aircraft file takes, and how a part of the file is described.

Rule of this file: the bricks of schema.py and of the files beside it; no part
of the language is named here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from callout.checklist import fields

_TEXT: dict[str, Any] = {"type": ["string", "number", "boolean"]}
_NUMBER: dict[str, Any] = {
    "type": ["number", "string"],
    "pattern": r"^\s*[+-]?[0-9]+(\.[0-9]+)?\s*$",
}
# Patterns for editors let through a little more than fields.py takes, never less.
_TIME: dict[str, Any] = {"type": "string", "pattern": r"^\s*[0-9][\s\S]*[A-Za-z]\s*$"}
_Checks = tuple[BeforeValidator, WithJsonSchema]
_ONE_OR_MORE: dict[str, Any] = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT, "minItems": 1}]}


def shape(check: Callable[[object], Any], schema: dict[str, Any]) -> _Checks:
    """A checker of fields.py, and what an editor is told about it."""
    return (BeforeValidator(check), WithJsonSchema(schema))


def words(*known: str) -> _Checks:
    """One of a few words."""
    return shape(fields.one_of(known), {"enum": list(known)})


Text = Annotated[str, *shape(fields.text, _TEXT)]
Spoken = Annotated[str, *shape(fields.spoken, _TEXT)]
Call = Annotated[str, *shape(fields.call, _TEXT)]
Phrases = Annotated[list[str], *shape(fields.phrases, _ONE_OR_MORE)]
Id = Annotated[str, *shape(fields.identifier, {"type": "string", "pattern": "^[a-z][a-z0-9-]*$"})]
Refs = Annotated[list[str], *shape(fields.references, _ONE_OR_MORE)]
Ref = Annotated[str, *shape(fields.text, {"type": "string"})]
Column = Annotated[str, *shape(fields.column, {"type": "string"})]
Number = Annotated[Decimal, *shape(fields.number, _NUMBER)]
Share = Annotated[float, *shape(fields.share, _NUMBER)]
Time = Annotated[float, *shape(fields.duration, _TIME)]
Amount = Annotated[
    Decimal | float,
    *shape(
        fields.amount,
        {"type": ["integer", "string"], "pattern": r"^\s*[0-9]+(\.[0-9]+)?\s*([Hh][A-Za-z]*)?\s*$"},
    ),
]
Day = Annotated[
    date, *shape(fields.day, {"type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"})
]
Months = Annotated[
    int, *shape(fields.whole(1, 240), {"type": ["integer", "string"], "pattern": "^[1-9][0-9]*$"})
]
Days = Annotated[
    int, *shape(fields.whole(1, 9999), {"type": ["integer", "string"], "pattern": "^[1-9][0-9]*$"})
]
TimeOrNo = Annotated[
    float, *shape(fields.duration_or_no, {"anyOf": [_TIME, {"enum": ["no", False]}]})
]
YesNo = Annotated[bool, *shape(fields.yes_or_no, {"enum": ["yes", "no", True, False]})]
Rate = Annotated[
    Decimal,
    *shape(fields.rate, {"type": "string", "pattern": r"^\s*[+0-9.]+\s+per\s+(second|s)\s*$"}),
]
Extent = Annotated[
    tuple[Decimal, Decimal],
    *shape(fields.extent, {"type": "string", "pattern": r"^\s*[-+0-9.]+\s+to\s+[-+0-9.]+\s*$"}),
]
Sessions = Annotated[
    int, *shape(fields.whole(2, 99), {"type": ["integer", "string"], "pattern": "^[1-9][0-9]?$"})
]
Digits = Annotated[
    int, *shape(fields.whole(0, 4), {"enum": [0, 1, 2, 3, 4, "0", "1", "2", "3", "4"]})
]


class Entry(BaseModel):
    """Base of all parts: no key that is not named here."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def doc(
    what: str, *examples: object, alias: str | None = None, min_length: int | None = None
) -> Any:  # noqa: ANN401 - pydantic's Field is typed so
    """An optional key with its description and examples for editors."""
    shown = list(examples) or None
    return Field(default=None, description=what, examples=shown, alias=alias, min_length=min_length)


def must(
    what: str, *examples: object, alias: str | None = None, min_length: int | None = None
) -> Any:  # noqa: ANN401 - pydantic's Field is typed so
    """A key that must be there."""
    shown = list(examples) or None
    return Field(description=what, examples=shown, alias=alias, min_length=min_length)


REMOVE = "In a file that is based on another: take this out."
