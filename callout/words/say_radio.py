"""Radio phrases with numbers in them: levels, headings, winds, codes, times, letters.

Rule of this file: one function a phrase, each with the paragraph it follows;
wrong input is a ValueError whose sentence says what would be right.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from callout.words.say_numbers import (
    ICAO,
    Dialect,
    say_code,
    say_digits,
    say_group,
    say_whole,
)

_ALPHABET = (
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november "
    "oscar papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu"
)

LETTERS: Mapping[str, str] = MappingProxyType({word[0].upper(): word for word in _ALPHABET.split()})
"""Capital letter -> its word (FAA AIM 4-2-7; the spellings alfa, juliett, xray are meant)."""

_SIDES = {"L": "left", "R": "right", "C": "center"}
_QUARTERS = ("", " and one quarter", " and one half", " and three quarters")


def say_flight_level(level: int, dialect: Dialect = ICAO) -> str:
    """Say 180 as "flight level one eight zero" (ICAO Annex 10 II 5.2.1.4.1.1, AIM 4-2-9)."""
    _demand(0 < level < 1000, f"{level} is no flight level: 1 to 999 are.")
    if dialect.level_hundreds and level % 100 == 0:
        return f"flight level {say_whole(level, niner=dialect.niner)}"
    return f"flight level {say_code(f'{level:03d}', niner=dialect.niner)}"


def say_direction(degrees: int, dialect: Dialect = ICAO) -> str:
    """Say 5 as "zero zero five": three digits for a course, bearing, heading, wind (AIM 4-2-10)."""
    _demand(0 <= degrees <= 360, f"{degrees} is no direction: 0 to 360 degrees are.")
    return say_code(f"{degrees:03d}", niner=dialect.niner)


def say_heading(degrees: int, dialect: Dialect = ICAO) -> str:
    """Say 80 as "heading zero eight zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    return f"heading {say_direction(degrees, dialect)}"


def say_wind(
    degrees: int, knots: int | None = None, gusts: int | None = None, dialect: Dialect = ICAO
) -> str:
    """Say 160/18G30 as "wind one six zero degrees one eight knots gusting three zero knots".

    ICAO Annex 10 II 5.2.1.4.1.1; without a speed "wind two two zero" (AIM 4-2-10).
    """
    words = f"wind {say_direction(degrees, dialect)}"
    if knots is not None:
        words += f" degrees {say_speed(knots, dialect)}"
    if gusts is not None:
        _demand(knots is not None, "Gusts need a wind speed.")
        words += f" gusting {say_speed(gusts, dialect)}"
    return words


def say_speed(knots: int, dialect: Dialect = ICAO) -> str:
    """Say 190 as "one niner zero knots" (AIM 4-2-11)."""
    _demand(knots >= 0, f"{knots} is no speed: it is below zero.")
    return f"{say_code(str(knots), niner=dialect.niner)} knots"


def say_mach(mach: Decimal, dialect: Dialect = ICAO) -> str:
    """Say 0.64 as "mach point six four", 1.5 as "mach one point five" (AIM 4-2-11)."""
    _demand(mach > 0, f"{mach} is no Mach number: it is not above zero.")
    words = say_digits(mach, None, dialect.decimal_word, niner=dialect.niner)
    return f"mach {words.removeprefix('zero ')}"


def say_squawk(code: str, dialect: Dialect = ICAO) -> str:
    """Say code "2400" as "squawk two four zero zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    octal = len(code) == 4 and all(digit in "01234567" for digit in code)
    _demand(octal, f"{code!r} is no transponder code: four digits 0 to 7 are.")
    return f"squawk {say_code(code, niner=dialect.niner)}"


def say_runway(name: str, dialect: Dialect = ICAO) -> str:
    """Say "27" as "runway two seven" (ICAO Annex 10 II 5.2.1.4.1.1), "09L" with its side."""
    digits, side = name[:2], name[2:]
    known = digits.isdecimal() and digits.isascii() and 1 <= int(digits) <= 36
    _demand(known and len(digits) == 2, f"{name!r} is no runway: 01 to 36 with L, R or C are.")
    _demand(side in ("", *_SIDES), f"{name!r} is no runway: 01 to 36 with L, R or C are.")
    words = f"runway {say_code(digits, niner=dialect.niner)}"
    return f"{words} {_SIDES[side]}" if side else words


def say_qnh(hectopascals: int, dialect: Dialect = ICAO) -> str:
    """Say 1010 as "qnh one zero one zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    _demand(hectopascals > 0, f"{hectopascals} is no pressure: it is not above zero.")
    return f"qnh {say_code(str(hectopascals), niner=dialect.niner)}"


def say_frequency(megahertz: Decimal, dialect: Dialect = ICAO) -> str:
    """Say 122.1 as "one two two decimal one" (CAP 413), "... point one" (AIM 4-2-8)."""
    _demand(megahertz > 0, f"{megahertz} is no frequency: it is not above zero.")
    return say_digits(megahertz, None, dialect.decimal_word, niner=dialect.niner)


def say_airway(name: str, letter_word: str = "") -> str:
    """Say "V12" as "victor twelve", "J533" with "j" as "j five thirty three" (AIM 4-2-8).

    The letter is said as its alphabet word unless another word is given.
    """
    _demand(name[:1] in LETTERS, f"{name!r} is no airway: a capital letter and digits are.")
    return f"{letter_word or LETTERS[name[0]]} {say_group(name[1:])}"


def say_letters(name: str, dialect: Dialect = ICAO) -> str:
    """Say "XB4" as "xray bravo four": letters by their words (AIM 4-2-7), digits singly."""
    words = []
    for sign in name.upper():
        if sign not in LETTERS and sign not in "0123456789":
            raise ValueError(f"{sign!r} in {name!r} has no word: letters A to Z and digits have.")
        words.append(LETTERS.get(sign) or say_code(sign, niner=dialect.niner))
    return " ".join(words)


def say_time(hours: int, minutes: int, dialect: Dialect = ICAO) -> str:
    """Say 9, 20 as "zero niner two zero": four digits of the 24 h clock (AIM 4-2-12)."""
    _demand(0 <= hours < 24 and 0 <= minutes < 60, f"{hours}:{minutes} is no time of day.")
    return say_code(f"{hours:02d}{minutes:02d}", niner=dialect.niner)


def say_clock_check(hours: int, minutes: int, seconds: int, dialect: Dialect = ICAO) -> str:
    """Say 9, 29, 10 as "zero niner two niner and one quarter": time to a quarter minute.

    AIM 4-2-12: less than 8 s past a quarter rounds down, 8 s and more rounds up.
    """
    _demand(0 <= seconds < 60, f"{seconds} are no seconds of a minute: 0 to 59 are.")
    _demand(0 <= hours < 24 and 0 <= minutes < 60, f"{hours}:{minutes} is no time of day.")
    minute, quarter = divmod((hours * 60 + minutes) * 4 + (seconds + 7) // 15, 4)
    return say_time(minute // 60 % 24, minute % 60, dialect) + _QUARTERS[quarter]


def _demand(right: bool, sentence: str) -> None:
    if not right:
        raise ValueError(sentence)
