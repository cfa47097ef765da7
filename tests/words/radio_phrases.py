"""Radio phrases with numbers in them: levels, headings, winds, codes, times, letters.

Rule of this file: one function a phrase, each with the paragraph it follows, made
of nothing but callout's own ways of saying numbers: it is these that are held
against published examples, in sentences that callout itself never says.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from callout.words.say_numbers import DECIMAL, POINT, say_code, say_digits, say_group, say_whole


@dataclass(frozen=True, slots=True)
class Dialect:
    """How numbers are said on one side of the water; nine is "niner" on both.

    Fields:
        decimal_word: "decimal" (ICAO Annex 10 II 5.2.1.4.3) or "point" (FAA AIM 4-2-2)
        level_hundreds: say flight level 100 as "one hundred" (CAP 413)
    """

    decimal_word: str
    level_hundreds: bool = False


ICAO = Dialect(DECIMAL)
FAA = Dialect(POINT)
UK = Dialect(DECIMAL, level_hundreds=True)

_ALPHABET = (
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november "
    "oscar papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu"
)

LETTERS = {word[0].upper(): word for word in _ALPHABET.split()}
"""Capital letter -> its word (FAA AIM 4-2-7; the spellings alfa, juliett, xray are meant)."""

_SIDES = {"": "", "L": " left", "R": " right", "C": " center"}
_QUARTERS = ("", " and one quarter", " and one half", " and three quarters")


def niner(digits: str) -> str:
    """Say each digit, nine as "niner"."""
    return say_code(digits, niner=True)


def say_flight_level(level: int, dialect: Dialect = ICAO) -> str:
    """Say 180 as "flight level one eight zero" (ICAO Annex 10 II 5.2.1.4.1.1, AIM 4-2-9)."""
    if dialect.level_hundreds and level % 100 == 0:
        return f"flight level {say_whole(level, niner=True)}"
    return f"flight level {niner(f'{level:03d}')}"


def say_direction(degrees: int) -> str:
    """Say 5 as "zero zero five": three digits for a course, bearing, heading, wind (AIM 4-2-10)."""
    return niner(f"{degrees:03d}")


def say_heading(degrees: int) -> str:
    """Say 80 as "heading zero eight zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    return f"heading {say_direction(degrees)}"


def say_wind(degrees: int, knots: int | None = None, gusts: int | None = None) -> str:
    """Say 160/18G30 as "wind one six zero degrees one eight knots gusting three zero knots".

    ICAO Annex 10 II 5.2.1.4.1.1; without a speed "wind two two zero" (AIM 4-2-10).
    """
    words = f"wind {say_direction(degrees)}"
    if knots is not None:
        words += f" degrees {say_speed(knots)}"
    if gusts is not None:
        words += f" gusting {say_speed(gusts)}"
    return words


def say_speed(knots: int) -> str:
    """Say 190 as "one niner zero knots" (AIM 4-2-11)."""
    return f"{niner(str(knots))} knots"


def say_mach(mach: Decimal, dialect: Dialect = ICAO) -> str:
    """Say 0.64 as "mach point six four", 1.5 as "mach one point five" (AIM 4-2-11)."""
    words = say_digits(mach, None, dialect.decimal_word, niner=True)
    return f"mach {words.removeprefix('zero ')}"


def say_squawk(code: str) -> str:
    """Say code "2400" as "squawk two four zero zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    return f"squawk {niner(code)}"


def say_runway(name: str) -> str:
    """Say "27" as "runway two seven" (ICAO Annex 10 II 5.2.1.4.1.1), "09L" with its side."""
    return f"runway {niner(name[:2])}{_SIDES[name[2:]]}"


def say_qnh(hectopascals: int) -> str:
    """Say 1010 as "qnh one zero one zero" (ICAO Annex 10 II 5.2.1.4.1.1)."""
    return f"qnh {niner(str(hectopascals))}"


def say_frequency(megahertz: Decimal, dialect: Dialect = ICAO) -> str:
    """Say 122.1 as "one two two decimal one" (CAP 413), "... point one" (AIM 4-2-8)."""
    return say_digits(megahertz, None, dialect.decimal_word, niner=True)


def say_airway(name: str, letter_word: str = "") -> str:
    """Say "V12" as "victor twelve", "J533" with "j" as "j five thirty three" (AIM 4-2-8).

    The letter is said as its alphabet word unless another word is given.
    """
    return f"{letter_word or LETTERS[name[0]]} {say_group(name[1:])}"


def say_letters(name: str) -> str:
    """Say "XB4" as "xray bravo four": letters by their words (AIM 4-2-7), digits singly."""
    return " ".join(LETTERS.get(sign) or niner(sign) for sign in name.upper())


def say_time(hours: int, minutes: int) -> str:
    """Say 9, 20 as "zero niner two zero": four digits of the 24 h clock (AIM 4-2-12)."""
    return niner(f"{hours:02d}{minutes:02d}")


def say_clock_check(hours: int, minutes: int, seconds: int) -> str:
    """Say 9, 29, 10 as "zero niner two niner and one quarter": time to a quarter minute.

    AIM 4-2-12: less than 8 s past a quarter rounds down, 8 s and more rounds up.
    """
    minute, quarter = divmod((hours * 60 + minutes) * 4 + (seconds + 7) // 15, 4)
    return say_time(minute // 60 % 24, minute % 60) + _QUARTERS[quarter]
