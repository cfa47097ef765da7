"""JSON as the standard has it (RFC 8259), and no field twice.

Rule of this file: what Python takes beyond the standard (NaN, Infinity, the last of two
fields of one name) is refused, because another reader would see something else.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn


def parsed(text: str) -> object:
    """What is written there; ValueError or RecursionError says why it is no JSON."""
    return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a field stands there twice")
    return found


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is not JSON")
