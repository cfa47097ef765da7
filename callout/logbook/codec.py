"""Events and facts as JSON text, and back.

Rule of this file: generic over the frozen dataclasses of engine.events and
engine.effects.Record; nothing here knows one of them by name. What is written
can be read back exactly, and reading refuses everything it does not know.

Form: one JSON object (RFC 8259, ASCII only), keys in the order of the fields.
A Decimal is its text ("24.50"), an Enum its name, a tuple an array; a float has
the fewest digits that give the same float, and "nan", "inf", "-inf" as text,
because JSON has no word for them.
"""

from __future__ import annotations

import contextlib
import json
import math
from collections.abc import Callable
from dataclasses import MISSING, fields
from decimal import Decimal, InvalidOperation
from enum import Enum
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from callout.engine.effects import Record
from callout.engine.events import Event
from callout.logbook import strict_json
from callout.logbook.errors import EntryError

EVENTS: dict[str, type[Event]] = {event.__name__: event for event in get_args(Event)}
"""Name as it stands in the logbook -> class."""

_T = TypeVar("_T")

_HINTS: dict[type[Any], dict[str, object]] = {}

_BEYOND = {"nan": math.nan, "inf": math.inf, "-inf": -math.inf}


def to_text(thing: Event | Record) -> str:
    """Write the fields of an event or fact as JSON; EntryError names a field of a wrong type."""
    name = type(thing).__name__
    hints = _hints(type(thing))
    written = {
        key: _write(getattr(thing, key), hint, f"{name}.{key}") for key, hint in hints.items()
    }
    return json.dumps(written, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def event_from(name: str, text: str) -> Event:
    """Make the event of this name from the fields in text; EntryError says what does not fit."""
    if name not in EVENTS:
        raise EntryError(
            f"The logbook holds an event {name!r} that this callout does not know; "
            f"it knows {', '.join(sorted(EVENTS))}."
        )
    return fields_from(EVENTS[name], text)


def pairs_of(session: int, name: str, text: str) -> dict[str, str]:
    """What a fact says, key -> value, without the care for every field of `record_from`.

    For facts that are read by the thousand. Raises EntryError.
    """
    try:
        return dict(json.loads(text)["data"])
    except (KeyError, TypeError, ValueError):
        raise EntryError(
            f"A fact {name!r} of session {session} cannot be read. "
            "Update callout if a newer one wrote it."
        ) from None


def record_from(text: str) -> Record:
    """Make the fact from the fields in text; EntryError says what does not fit."""
    return fields_from(Record, text)


def fields_from(cls: type[_T], text: str) -> _T:
    """Make a dataclass of this class from the fields in text; EntryError as above."""
    name, hints = cls.__name__, _hints(cls)
    found = _parse(name, text)
    for key in found:
        if key not in hints:
            raise EntryError(
                f"{name} has no field {key!r}; its fields are {', '.join(hints) or 'none'}."
            )
    for key in _needed(cls):
        if key not in found:
            raise EntryError(f"{name} lacks its field {key!r}.")
    return cls(**{key: _read(value, hints[key], f"{name}.{key}") for key, value in found.items()})


def _hints(cls: type[Any]) -> dict[str, object]:
    """Map field name to type, in the order of the fields; worked out once a class."""
    if cls not in _HINTS:
        hints = get_type_hints(cls)
        _HINTS[cls] = {field.name: hints[field.name] for field in fields(cls)}
    return _HINTS[cls]


def _needed(cls: type[Any]) -> list[str]:
    """Name the fields without a default: an older logbook may lack only the others."""
    return [
        field.name
        for field in fields(cls)
        if field.default is MISSING and field.default_factory is MISSING
    ]


def _parse(name: str, text: str) -> dict[str, Any]:
    try:
        found = strict_json.parsed(text)
    except (ValueError, RecursionError) as error:
        raise EntryError(f"{name} is not written as JSON: {error}.") from None
    if not isinstance(found, dict):
        raise EntryError(f"{name} must be a JSON object, not {text[:40]!r}.")
    return found


def _wrong(where: str, expected: str, value: object) -> EntryError:
    return EntryError(f"{where} must be {expected}, not {value!r}.")


def _write(value: object, hint: object, where: str) -> object:
    """Give the value as json.dumps takes it."""
    if get_origin(hint) is tuple:
        return _each(_write, value, tuple, hint, where)
    if isinstance(hint, type) and issubclass(hint, Enum):
        if not isinstance(value, hint):
            raise _wrong(where, f"one of {hint.__name__}", value)
        return value.name
    if hint is Decimal:
        if not isinstance(value, Decimal):
            raise _wrong(where, "a Decimal", value)
        return str(value)
    if hint is float and isinstance(value, (int, float)) and not isinstance(value, bool):
        return _write_float(value, where)
    return _plain(value, hint, where)


def _write_float(value: float, where: str) -> float | str:
    try:
        number = float(value)
    except OverflowError:
        raise _wrong(where, "a number that a float can hold", value) from None
    return number if math.isfinite(number) else str(number)


def _read(value: object, hint: object, where: str) -> object:
    """Give the value as the field holds it."""
    if get_origin(hint) is tuple:
        return tuple(_each(_read, value, list, hint, where))
    if isinstance(hint, type) and issubclass(hint, Enum):
        if not isinstance(value, str) or value not in hint.__members__:
            raise _wrong(where, f"one of {', '.join(hint.__members__)}", value)
        return hint[value]
    if hint is Decimal:
        return _read_decimal(value, where)
    if hint is float:
        return _read_float(value, where)
    return _plain(value, hint, where)


def _read_decimal(value: object, where: str) -> Decimal:
    if not isinstance(value, str):
        raise _wrong(where, 'a number written as text, such as "24.5"', value)
    try:
        return Decimal(value)
    except InvalidOperation:
        raise _wrong(where, 'a number written as text, such as "24.5"', value) from None


def _read_float(value: object, where: str) -> float:
    if isinstance(value, str) and value in _BEYOND:
        return _BEYOND[value]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        with contextlib.suppress(OverflowError):
            return float(value)
    raise _wrong(where, "a number", value)


def _plain(value: object, hint: object, where: str) -> object:
    """Pass text, whole numbers, yes and no: they are the same on both sides."""
    words = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}
    if hint not in words:
        raise EntryError(f"{where} has the type {hint!r}, which cannot be written down.")
    if not isinstance(value, hint) or (hint is int and isinstance(value, bool)):
        raise _wrong(where, words[hint], value)
    return value


def _each(
    one: Callable[[object, object, str], object],
    value: object,
    kind: type[tuple[object, ...]] | type[list[object]],
    hint: object,
    where: str,
) -> list[object]:
    """Take every member through `one`, each against its own type."""
    if not isinstance(value, kind):
        raise _wrong(where, "a row of values", value)
    parts = get_args(hint)
    if len(parts) == 2 and parts[1] is Ellipsis:
        parts = (parts[0],) * len(value)
    if len(parts) != len(value):
        raise _wrong(where, f"{len(parts)} values", value)
    pairs = zip(value, parts, strict=True)
    return [one(member, part, f"{where}[{n}]") for n, (member, part) in enumerate(pairs)]
