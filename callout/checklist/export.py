"""The language as a JSON Schema (draft 2020-12), so that editors complete and check.

Rule of this file: derived from schema.py alone. The schema is never stricter
than the loader; what it cannot say (does this gauge exist?) the loader says.
"""

from __future__ import annotations

import copy
from typing import Any, TypeVar

from callout.checklist.schema import KINDS, FileEntry

Json = TypeVar("Json")

_ONE_OF_A_KIND = ("CoolDownEntry", "RunDownEntry", "ResidualFireEntry", "StartWatchEntry")

_OF_THE_WATCH = ("PhaseEntry", "FaultEntry")

_CHANGED = (
    *("AircraftEntry", "GaugeEntry", "CounterEntry", "DueEntry", "ItemEntry", "ListEntry"),
    *_ONE_OF_A_KIND,
    *_OF_THE_WATCH,
)
"""Parts of which a file that is based on another may say only what differs."""


def json_schema() -> dict[str, Any]:
    """The schema of a whole file, with titles, descriptions and examples.

    A file with `based_on` is held to the loose form of each part, any other
    file to the strict one.
    """
    schema = FileEntry.model_json_schema(by_alias=True)
    tidy(schema)
    parts = schema.pop("$defs")
    top = {key: schema.pop(key) for key in ("properties", "required", "additionalProperties")}
    loose = {f"{name}Changed": _renamed(copy.deepcopy(part)) for name, part in parts.items()}
    for name in _CHANGED:
        loose[f"{name}Changed"].pop("required", None)
    _strict(parts, top)
    changed = _renamed(copy.deepcopy({**top, "required": ["callout", "based_on"]}))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Aircraft file of callout",
        "type": "object",
        "if": {"required": ["based_on"]},
        "then": changed,
        "else": top,
        "$defs": {**parts, **loose},
    }


def _strict(parts: dict[str, Any], top: dict[str, Any]) -> None:
    """What a file that stands alone must have."""
    top["required"] = ["callout", "aircraft", "lists"]
    parts["ItemEntry"]["oneOf"] = [{"required": [kind]} for kind in KINDS]
    parts["ListEntry"]["oneOf"] = [{"required": ["items"]}, {"required": ["sections"]}]
    parts["SectionEntry"]["required"] = ["name", "items"]
    ordered = ("ItemEntry", "ListEntry", "GaugeEntry", "CounterEntry", "DueEntry", "LimitEntry")
    for name in (*ordered, *_ONE_OF_A_KIND, *_OF_THE_WATCH):
        for order in ("after", "before", "remove"):
            parts[name]["properties"].pop(order, None)


def _renamed(part: Json) -> Json:
    """References point at the loose forms."""
    if isinstance(part, dict):
        if "$ref" in part:
            part["$ref"] = f"{part['$ref']}Changed"
        for child in part.values():
            _renamed(child)
    elif isinstance(part, list):
        for child in part:
            _renamed(child)
    return part


def tidy(part: object) -> None:
    """Drop what pydantic adds for Python: `null` beside a type, null defaults, made-up titles."""
    if isinstance(part, dict):
        options = part.get("anyOf", [])
        if {"type": "null"} in options:
            left = [one for one in options if one != {"type": "null"}]
            del part["anyOf"]
            part.update(left[0] if len(left) == 1 else {"anyOf": left})
        if part.get("default", 0) is None:
            del part["default"]
        for child in part.values():
            tidy(child)
    elif isinstance(part, list):
        for child in part:
            tidy(child)
