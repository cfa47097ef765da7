"""Spoken numbers -> values: what the words may mean, and what they sound like.

Rule of this file: a text is a number as a whole or not at all, and what is not
clearly a number is refused. Each form is read by one function that takes all
the words; no function tries the same words twice, so time grows with the
number of words, of which there are never more than MOST_WORDS.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from itertools import product

from callout.words.normal import normalise
from callout.words.number_words import (
    AND,
    DIGITS,
    HOMOPHONES,
    HUNDRED,
    OH,
    POINTS,
    SIGNS,
    TEENS,
    TENS,
    THOUSAND,
    TRAPS,
    A,
    spelled,
)

MOST_WORDS = 20
"""The longest number read: "minus nine hundred and ninety nine thousand nine
hundred and ninety nine point ..." with a few digits to spare."""

MOST_CHARACTERS = 400
"""No number of MOST_WORDS words is longer; longer text is not looked at."""

MOST_TRAPS = 4
"""Numbers with more teen or ty words than this are not numbers of a gauge."""


class Form(Enum):
    """How a number was said."""

    DIGITS = "digit by digit"
    EVERYDAY = "everyday"
    GROUP = "group"
    WHOLE = "digits with thousand"


@dataclass(frozen=True, slots=True)
class NumberReading:
    """One value that the words may mean.

    Fields:
        value: exact, signed
        digits: the digits as said, with zeros in front and behind ("080", "24.50")
        form: how it was said
        sounds_like: other values that the same sounds may have been meant as
            (13/30 14/40 15/50 16/60 17/70 18/80 19/90)
        doubtful: the words may be everyday words and no number ("for", "oh",
            "two to five"); never to be taken without asking
    """

    value: Decimal
    digits: str
    form: Form
    sounds_like: tuple[Decimal, ...] = ()
    doubtful: bool = False


def readings(text: str) -> tuple[NumberReading, ...]:
    """Return every value the words may mean, most likely first; () if it is no number.

    Takes radiotelephony ("two four decimal five", "one two thousand five
    hundred", "niner"), everyday ("two hundred and fifty") and group form
    ("twenty nine ninety two"), and numerals ("24.5"), in any case and with any
    punctuation. Units are not read here. Text without bounds is refused without
    being read.
    """
    if len(text) > MOST_CHARACTERS:
        return ()
    words = spelled(normalise(text)).split()
    if not words or len(words) > MOST_WORDS or sum(word in TRAPS for word in words) > MOST_TRAPS:
        return ()
    doubtful = _doubtful(words)
    found = list(_read(words))
    taken = {Decimal(digits) for _, digits in found}
    others = tuple(value for value in _sound_alikes(words) if value not in taken)
    return tuple(
        NumberReading(_signed(digits), digits, form, others, doubtful) for form, digits in found
    )


def _doubtful(words: Sequence[str]) -> bool:
    if any(word in HOMOPHONES for word in words):
        return True
    return all(word in OH or word in POINTS or word in SIGNS for word in words)


def _signed(digits: str) -> Decimal:
    value = Decimal(digits)
    return value if value else abs(value)  # "minus zero" is zero


def _sound_alikes(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Return what the words would mean with teens and tens mistaken for one another."""
    choices = [(word, TRAPS[word]) if word in TRAPS else (word,) for word in words]
    others = (other for other in product(*choices) if list(other) != list(words))
    values = (_signed(digits) for other in others for _, digits in _read(other))
    return tuple(dict.fromkeys(values))


def _read(words: Sequence[str]) -> Iterator[tuple[Form, str]]:
    """Give each form the words fit, with the digits as said; no value twice."""
    sign = SIGNS.get(words[0])
    unsigned = words if sign is None else words[1:]
    place = next((at for at, word in enumerate(unsigned) if word in POINTS), None)
    whole = unsigned[:place]
    fraction = "" if place is None else _fraction(unsigned[place + 1 :])
    if fraction is None:
        return
    seen: set[str] = set()
    for form, digits in _wholes(whole, alone=place is None):
        said = (sign or "") + digits + fraction
        if said not in seen:
            seen.add(said)
            yield form, said


def _wholes(words: Sequence[str], *, alone: bool) -> Iterator[tuple[Form, str]]:
    if not words:
        if not alone:
            yield Form.DIGITS, "0"  # "point six four"
        return
    digits = _digits(words)
    if digits is not None:
        yield Form.DIGITS, digits
    everyday = _everyday(words)
    if everyday is not None:
        yield Form.EVERYDAY, str(everyday)
    radio = _radio_thousands(words)
    if radio is not None:
        yield Form.WHOLE, str(radio)
    group = _group(words)
    if group is not None:
        yield Form.GROUP, group


def _fraction(words: Sequence[str]) -> str | None:
    """Read what follows the point: single digits, or one pair ("fifty five")."""
    digits = _digits(words)
    if digits is None:
        pair = _below_hundred(words)
        digits = None if pair is None else str(pair)
    return None if digits is None else "." + digits


def _digits(words: Sequence[str]) -> str | None:
    """Read single digits: "two five zero" -> "250"."""
    if not words or any(word not in DIGITS for word in words):
        return None
    return "".join(str(DIGITS[word]) for word in words)


def _below_hundred(words: Sequence[str]) -> int | None:
    """Read "nine", "nineteen", "ninety", "ninety nine"; zero only by itself."""
    if len(words) == 1:
        word = words[0]
        return DIGITS.get(word, TEENS.get(word, TENS.get(word)))
    if len(words) == 2 and words[0] in TENS and DIGITS.get(words[1], 0) > 0:
        return TENS[words[0]] + DIGITS[words[1]]
    return None


def _rest(words: Sequence[str]) -> int | None:
    """Read what follows hundred or thousand: nothing, or [and] 1 to 99."""
    if not words:
        return 0
    value = _below_hundred(words[1:] if words[0] == AND else words)
    return value or None  # "two hundred zero" is not a number


def _hundreds(words: Sequence[str], most: int) -> int | None:
    """Read "[1 to most] hundred [and] [1 to 99]"; "a hundred" is one hundred."""
    if HUNDRED not in words:
        return None
    place = words.index(HUNDRED)
    count = 1 if list(words[:place]) == [A] else _below_hundred(words[:place])
    rest = _rest(words[place + 1 :])
    # "twenty hundred" is no everyday number, "nineteen hundred" is one.
    if count is None or rest is None or count % 10 == 0 or count > most:
        return None
    return count * 100 + rest


def _below_thousand(words: Sequence[str]) -> int | None:
    below_hundred = _below_hundred(words)
    return _hundreds(words, most=9) if below_hundred is None else below_hundred


def _everyday(words: Sequence[str]) -> int | None:
    """Read "two hundred and fifty", "fifteen hundred", "twelve thousand five hundred"."""
    if THOUSAND not in words:
        below_hundred = _below_hundred(words)
        return _hundreds(words, most=99) if below_hundred is None else below_hundred
    place = words.index(THOUSAND)
    count = 1 if list(words[:place]) == [A] else _below_thousand(words[:place])
    return _with_thousands(count, words[place + 1 :])


def _radio_thousands(words: Sequence[str]) -> int | None:
    """Read thousands said as digits: "one two thousand five hundred" (AIM 4-2-9)."""
    if THOUSAND not in words:
        return None
    place = words.index(THOUSAND)
    digits = _digits(words[:place])
    if digits is None or not 2 <= len(digits) <= 3 or digits.startswith("0"):
        return None
    return _with_thousands(int(digits), words[place + 1 :])


def _with_thousands(count: int | None, words: Sequence[str]) -> int | None:
    rest = _rest(words)
    if rest is None:
        rest = _hundreds(words, most=9)
    return None if not count or rest is None else count * 1000 + rest


def _group(words: Sequence[str]) -> str | None:
    """Read a first group of one or two digits, then pairs: "two fifty", "nineteen oh five"."""
    groups: list[str] = []
    place = 0
    while place < len(words):
        two = words[place : place + 2]
        value = _below_hundred(two) if len(two) == 2 else None
        if len(two) == 2 and groups and DIGITS.get(two[0]) == 0 and DIGITS.get(two[1], 0) > 0:
            value = DIGITS[two[1]]
        width = 1 if value is None else 2
        if value is None:
            value = _below_hundred(two[:1])
            if value is None or (groups and value < 10) or not (groups or value):
                return None
        groups.append(f"{value:02d}" if groups else str(value))
        place += width
    return "".join(groups) if len(groups) > 1 else None
