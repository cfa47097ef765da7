"""Figures as a person writes them: a number with its unit, a time.

Rule of this file: values in, text out.
"""

from __future__ import annotations

from decimal import Decimal


def amount(value: Decimal, unit: str) -> str:
    """A number with its unit; the unit "1" is a bare number."""
    return str(value) if unit == "1" else f"{value} {unit}"


def time_text(seconds: float) -> str:
    """Seconds as they are written: "1 min 30 s"."""
    hours, rest = divmod(Decimal(str(seconds)), 3600)
    minutes, rest = divmod(rest, 60)
    parts = ((hours, "h"), (minutes, "min"), (rest, "s"))
    return " ".join(f"{count.normalize():f} {unit}" for count, unit in parts if count) or "0 s"
