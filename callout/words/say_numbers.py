"""Values -> spoken words, in the radiotelephony ways and the everyday one.

Rule of this file: every way of saying a number is one small function that gives
lower-case words; which way is right for what is written beside it, with its
source.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from callout.words.number_words import HUNDRED, PLAIN_DIGITS, TEENS, TENS, THOUSAND

POINT = "point"
DECIMAL = "decimal"

MOST_DIGITS = 20
"""Nobody listens to more digits on one side of the point."""

_BELOW_TWENTY = (*PLAIN_DIGITS, *TEENS)
_TENS = {value: word for word, value in TENS.items()}


def say_code(digits: str, *, decimal_word: str = POINT, niner: bool = False) -> str:
    """Say each sign of a code: "2400" -> "two four zero zero", "-0.5" -> "minus zero point five".

    Takes digits, one point and one leading minus; ValueError for anything else.
    """
    sign, bare = ("minus", digits[1:]) if digits.startswith("-") else ("", digits)
    whole, point, fraction = bare.partition(".")
    if not (whole + fraction).isdecimal() or not bare.isascii() or (point and not fraction):
        raise ValueError(f"{digits!r} cannot be said digit by digit: digits and one point are.")
    words = [_digit(digit, niner) for digit in whole]
    if point:
        words += [decimal_word, *(_digit(digit, niner) for digit in fraction)]
    return " ".join([sign, *words] if sign else words)


def _digit(digit: str, niner: bool) -> str:
    return "niner" if niner and digit == "9" else PLAIN_DIGITS[int(digit)]


def say_digits(
    value: Decimal, decimals: int | None = None, decimal_word: str = POINT, *, niner: bool = False
) -> str:
    """Say a value digit by digit: 24.5 -> "two four point five", -5 -> "minus five".

    `decimals` digits are said after the point, rounded half away from zero; None
    says the value as it is written, to the last digit, and is what a read-back
    uses. ICAO Annex 10 II 5.2.1.4.1.1: every digit separately. ValueError for a
    value that is not finite.
    """
    return say_code(_written(value, decimals), decimal_word=decimal_word, niner=niner)


def _written(value: Decimal, decimals: int | None) -> str:
    """Write a value without exponent and without a negative zero."""
    if not value.is_finite() or abs(value.adjusted()) > MOST_DIGITS:
        raise ValueError(f"{value} cannot be said digit by digit: it has no end or none in sight.")
    if decimals is not None:
        value = value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    return format(value if value else abs(value), "f")


def say_whole(value: int, *, niner: bool = False) -> str:
    """Say whole hundreds and thousands: 12500 -> "one two thousand five hundred".

    ICAO Annex 10 II 5.2.1.4.1.2 (altitude, cloud height, visibility and runway
    visual range only) and FAA AIM 4-2-8, 4-2-9. A number that is not made of whole
    hundreds is said digit by digit (FAA Order JO 7110.65 2-4-17).
    """
    thousands, hundreds = divmod(value, 1000)
    if value <= 0 or hundreds % 100 or thousands > 999:
        return say_digits(Decimal(value), niner=niner)
    words = [say_code(str(thousands), niner=niner), THOUSAND] if thousands else []
    if hundreds:
        words += [_digit(str(hundreds // 100), niner), HUNDRED]
    return " ".join(words)


def say_group(digits: str, *, decimal_word: str = POINT) -> str:
    """Say digits in pairs: "2992" -> "twenty nine ninety two".

    "126.55" -> "one twenty six point fifty five". Group form restates a number that
    was said digit by digit (FAA Order JO 7110.65 2-4-18); callout never uses it
    alone, because teens and tens sound alike. Whole hundreds and thousands end in
    that word; digits with another pair of noughts have no groups and are said one by
    one. ValueError for anything but 1 to 6 digits without a leading zero and,
    after a point, one or two digits.
    """
    whole, point, fraction = digits.partition(".")
    plain = digits.isascii() and whole.isdecimal() and (fraction.isdecimal() or not point)
    if not plain or whole.startswith("0") or len(whole) > 6 or len(fraction) > 2:
        raise ValueError(
            f"{digits!r} cannot be said in groups: 1 to 6 digits without a leading zero, and at "
            "most 2 after a point, can."
        )
    if not point:
        return _group(whole)
    # "point oh five" would be a pair as well; digits are plainer.
    last = _below_hundred(int(fraction)) if fraction[0] != "0" else say_code(fraction)
    return f"{_group(whole)} {decimal_word} {last}"


def _group(whole: str) -> str:
    number = int(whole)
    if len(whole) <= 2:
        return _below_hundred(number)
    if number % 1000 == 0:
        return f"{say_everyday(number // 1000)} {THOUSAND}"
    if number % 100 == 0 and number < 10_000:
        return f"{_below_hundred(number // 100)} {HUNDRED}"
    start = len(whole) % 2 or 2
    pairs = [whole[at : at + 2] for at in range(start, len(whole), 2)]
    if "00" in pairs:  # no pair of noughts has a word of its own
        return say_code(whole)
    return " ".join([_below_hundred(int(whole[:start])), *map(_pair, pairs)])


def _pair(pair: str) -> str:
    return ("oh " if pair[0] == "0" else "") + _below_hundred(int(pair))


def say_everyday(value: int, *, with_and: bool = False) -> str:
    """Say a whole number as in everyday speech: 250 -> "two hundred [and] fifty".

    Below one million; ValueError otherwise. callout understands this form and does
    not use it to read values back.
    """
    if abs(value) >= 1_000_000:
        raise ValueError(f"{value} cannot be said in everyday words: only numbers below a million.")
    if value < 0:
        return "minus " + say_everyday(-value, with_and=with_and)
    thousands, rest = divmod(value, 1000)
    words = [_below_thousand(thousands, with_and), THOUSAND] if thousands else []
    if thousands and with_and and 0 < rest < 100:
        words.append("and")
    if rest or not thousands:
        words.append(_below_thousand(rest, with_and))
    return " ".join(words)


def _below_thousand(value: int, with_and: bool) -> str:
    hundreds, rest = divmod(value, 100)
    words = [PLAIN_DIGITS[hundreds], HUNDRED] if hundreds else []
    if hundreds and rest and with_and:
        words.append("and")
    if rest or not hundreds:
        words.append(_below_hundred(rest))
    return " ".join(words)


def _below_hundred(value: int) -> str:
    if value < 20:
        return _BELOW_TWENTY[value]
    tens, ones = divmod(value, 10)
    return _TENS[tens * 10] + (f" {PLAIN_DIGITS[ones]}" if ones else "")


def say_duration(seconds: float, *, niner: bool = False) -> str:
    """Say how long: 90 -> "one minute three zero seconds".

    Numbers digit by digit like every other number callout says: "fifteen" and
    "fifty seconds" are as easily mistaken by a person with a helmet on as by a
    recogniser. Rounded to whole seconds, halves up; ValueError below zero or for no
    number.
    """
    if not 0 <= seconds < float("inf"):
        raise ValueError(f"{seconds} s cannot be said: it is no length of time.")
    whole = int(Decimal(seconds).quantize(Decimal(1), rounding=ROUND_HALF_UP))
    minutes, rest = divmod(whole, 60)
    counts = ((minutes // 60, "hour"), (minutes % 60, "minute"), (rest, "second"))
    said = [_count(count, unit, niner) for count, unit in counts if count]
    return " ".join(said) or _count(0, "second", niner)


def _count(count: int, unit: str, niner: bool) -> str:
    return f"{say_code(str(count), niner=niner)} {unit}{'' if count == 1 else 's'}"
