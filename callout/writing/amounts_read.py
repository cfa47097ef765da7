"""Numbers of an owner's document: the band that a gauge is to be in, and its unit.

Rule of this file: text in, values out; what is not a number alone is none.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from callout.checklist.units import UNITS

_NUMBER = r"[+-]?\d{1,9}(?:[.,]\d{1,9})?"
"""Of nine digits at most: no gauge shows more, and what is longer is no reading."""
_UNIT = r"(?:\s*(%|°\s?[CF]|deg ?[CF]|[A-Za-z]+(?:/[a-z]+)?))?"
_BANDS = (
    (re.compile(rf"({_NUMBER}){_UNIT}\s*(?:-|–|to|\.\.)\s*({_NUMBER}){_UNIT}"), "both"),
    (
        re.compile(
            rf"(?i)(?:min(?:imum)?\.?|at least|above|over|more than|>=?|≥)\s*({_NUMBER}){_UNIT}"
        ),
        "least",
    ),
    (
        re.compile(
            rf"(?i)(?:max(?:imum)?\.?|at most|below|under|less than|<=?|≤)\s*({_NUMBER}){_UNIT}"
        ),
        "most",
    ),
    (re.compile(rf"(?i)({_NUMBER}){_UNIT}\s*(?:min(?:imum)?\.?|or more)"), "least"),
    (re.compile(rf"(?i)({_NUMBER}){_UNIT}\s*(?:max(?:imum)?\.?|or less)"), "most"),
)
_ALIASES = {
    "volts": "V",
    "volt": "V",
    "v": "V",
    "°c": "degC",
    "degc": "degC",
    "deg c": "degC",
    "c": "degC",
    "°f": "degF",
    "degf": "degF",
    "litres": "l",
    "liters": "l",
    "ltr": "l",
    "l": "l",
    "percent": "%",
    "amps": "A",
    "rpm": "rpm",
    "bars": "bar",
}
_BY_SMALL_LETTERS = {unit.lower(): unit for unit in UNITS}


@dataclass(frozen=True, slots=True)
class Value:
    """What a gauge is to show: its unit, and the ends that the document gives."""

    unit: str
    at_least: Decimal | None = None
    at_most: Decimal | None = None


def value_of(answer: str) -> Value | None:
    """A band of numbers that is all of the answer."""
    for rule, side in _BANDS:
        found = rule.fullmatch(answer.strip())
        if found is None:
            continue
        numbers = [Decimal(one.replace(",", ".")) for one in found.groups() if one and _is_num(one)]
        units = [one for one in found.groups() if one and not _is_num(one)]
        unit = _unit(units[-1]) if units else ""
        if units and not unit:
            return None
        if side == "both":
            return Value(unit, min(numbers), max(numbers))
        least, most = (numbers[0], None) if side == "least" else (None, numbers[0])
        return Value(unit, least, most)
    return None


def _is_num(text: str) -> bool:
    return re.fullmatch(_NUMBER, text) is not None


def _unit(text: str) -> str:
    flat = text.replace("° ", "°")
    if flat in UNITS:
        return flat if flat != "1" else ""
    return _ALIASES.get(flat.lower()) or _BY_SMALL_LETTERS.get(flat.lower(), "")
