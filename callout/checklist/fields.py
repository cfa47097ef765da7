"""Text of one field -> number, duration, yes or no, words; or a sentence why not.

Rule of this file: every function takes the text as typed and returns a value or
raises ValueError with "what was found; what was expected". Nothing here knows
in which file or for which key. Bounded: no field is longer than LONGEST.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal

from callout.checklist.problems import did_you_mean, listed, quoted

LONGEST = 500
"""Characters in one text; a longer one would take half a minute to say."""

LONGEST_COLUMN = 80
"""Characters in the name of a feed's column."""

LONGEST_TIME = 7 * 24 * 3600.0
"""A week, in seconds."""

_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,6})?")
_TIME = re.compile(
    r"([0-9]{1,6}(?:\.[0-9]{1,3})?) *(seconds|second|sec|s|minutes|minute|min|hours|hour|h)\b *"
)
_CLOCK = re.compile(r"([0-9]{1,3}):([0-9]{2})")
_PER_SECOND = re.compile(r"(\S+) +per +(?:second|s)")
_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_COLUMN = re.compile(r"[^\W\d][^,;\"'\[\]{}]*")
_SPOKEN = re.compile(r"[a-z]+(?:'[a-z]+)?(?: [a-z]+(?:'[a-z]+)?)*")
_SECONDS = {"s": 1, "m": 60, "h": 3600}


def text(found: object) -> str:
    """Any words, on one line, not empty."""
    words = " ".join(_scalar(found, "words").split())
    if not words:
        raise ValueError("nothing is written here; expected words")
    if len(words) > LONGEST:
        raise ValueError(f"{len(words)} characters of text; expected at most {LONGEST}")
    return words


def spoken(found: object) -> str:
    """A phrase that can be heard: lower-case words, single spaces, no digits."""
    words = text(found).lower().replace("-", " ").replace("’", "'")
    words = " ".join(words.split())
    if _SPOKEN.fullmatch(words):
        return words
    if re.search("[0-9]", words):
        expected = 'numbers spelled as they are spoken, such as "two five"'
        raise ValueError(f"found {quoted(words)}; expected {expected}")
    raise ValueError(f"found {quoted(words)}; expected spoken words of the letters a to z")


def call(found: object) -> str:
    """What is read aloud: as spoken, but commas and capitals are kept."""
    words = text(found)
    spoken(words.replace(",", " "))
    return words


def phrases(found: object) -> list[str]:
    """One phrase or a list of them, all different."""
    given = found if isinstance(found, list) else [found]
    if not given:
        raise ValueError("the list is empty; expected at least one phrase")
    said = [spoken(one) for one in given]
    again = [one for at, one in enumerate(said) if one in said[:at]]
    if again:
        raise ValueError(f"{quoted(again[0])} stands here twice; expected each phrase once")
    return said


def references(found: object) -> list[str]:
    """One reference to another part of the file, or a list of them, all different."""
    given = found if isinstance(found, list) else [found]
    if not given:
        raise ValueError("the list is empty; expected at least one name")
    names = [text(one) for one in given]
    again = [one for at, one in enumerate(names) if one in names[:at]]
    if again:
        raise ValueError(f"{quoted(again[0])} stands here twice; expected each name once")
    return names


def identifier(found: object) -> str:
    """A name inside the file: lower-case letters, digits and single hyphens."""
    given = _scalar(found, "a name")
    if _ID.fullmatch(given) and len(given) <= 80:
        return given
    hint = slug(given)
    meant = f'; did you mean "{hint}"?' if hint and len(hint) <= 80 else ""
    raise ValueError(
        f"found {quoted(given)}; expected a name of small letters, digits and hyphens{meant}"
    )


def column(found: object) -> str:
    """A name in the head of a feed: what stands between two commas."""
    name = text(found)
    if len(name) > LONGEST_COLUMN or not _COLUMN.fullmatch(name):
        expected = f"at most {LONGEST_COLUMN} characters without commas, quotes and brackets"
        raise ValueError(f"found {quoted(name)}; expected {expected}")
    if name.lower() == "time":
        raise ValueError('found "time", which is the sender\'s clock; expected another name')
    return name


def slug(words: str) -> str:
    """The name that a call gets when none is written: words joined by hyphens."""
    joined = "-".join(re.findall(r"[a-z0-9]+", words.lower().replace("'", "")))
    return joined if _ID.fullmatch(joined) else ""


def number(found: object) -> Decimal:
    """A decimal number as typed, such as 24.5."""
    given = _scalar(found, "a number").strip()
    if _NUMBER.fullmatch(given):
        return Decimal(given)
    if _NUMBER.fullmatch(given.replace(",", ".", 1)):
        right = given.replace(",", ".", 1)
        raise ValueError(f'found "{given}"; expected a point in a number; did you mean {right}?')
    raise ValueError(f"found {quoted(given)}; expected a number such as 24.5")


def whole(lowest: int, highest: int) -> Callable[[object], int]:
    """A checker for whole numbers from lowest to highest."""

    def check(found: object) -> int:
        given = _scalar(found, "a whole number")
        value = int(given) if re.fullmatch("0|[1-9][0-9]{0,8}", given) else lowest - 1
        if not lowest <= value <= highest:
            expected = f"a whole number {lowest} to {highest}"
            raise ValueError(f"found {quoted(given)}; expected {expected}")
        return value

    return check


def share(found: object) -> float:
    """A number from 0 to 1."""
    value = number(found)
    if not 0 <= value <= 1:
        raise ValueError(f"found {quoted(str(found))}; expected a number from 0 to 1, such as 0.7")
    return float(value)


def duration(found: object) -> float:
    """Seconds of a time such as "90 s", "2 min" or "1 min 30 s"; longer than nothing."""
    given = " ".join(_scalar(found, "a time").lower().split())
    parts = _TIME.findall(given)
    if not parts or _TIME.sub("", given):
        raise ValueError(
            f'found {quoted(given)}; expected a time such as "90 s" or "1 min 30 s"{_meant(given)}'
        )
    seconds = float(sum(Decimal(count) * _SECONDS[unit[0]] for count, unit in parts))
    if not 0 < seconds <= LONGEST_TIME:
        raise ValueError(f"found {quoted(given)}; expected more than 0 s and at most 7 days")
    return seconds


def amount(found: object) -> Decimal | float:
    """A count such as 300, or seconds of a time in hours such as "50 h"; more than none."""
    given = " ".join(_scalar(found, "a count").lower().split())
    hours = re.fullmatch(r"([0-9]{1,6}(?:\.[0-9]+)?) ?(?:h|hours?)", given)
    count = re.fullmatch(r"[0-9]{1,6}", given)
    value = float(Decimal(hours[1]) * 3600) if hours else Decimal(given) if count else 0.0
    if not value:
        raise ValueError(f'found {quoted(given)}; expected a count such as 300, or "50 h"')
    return value


def day(found: object) -> date:
    """A date such as 2027-03-31."""
    given = _scalar(found, "a date").strip()
    try:
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", given):
            return date.fromisoformat(given)
    except ValueError:
        pass
    raise ValueError(f"found {quoted(given)}; expected a date such as 2027-03-31")


def duration_or_no(found: object) -> float:
    """Seconds as `duration`, or 0 for the word no."""
    if isinstance(found, str) and found.strip() == "no":
        return 0.0
    try:
        return duration(found)
    except ValueError as problem:
        raise ValueError(f'{problem} (or the word "no")') from None


def rate(found: object) -> Decimal:
    """Gauge units per second, written "40 per second"."""
    given = " ".join(_scalar(found, "a rate").split())
    match = _PER_SECOND.fullmatch(given)
    if not match:
        raise ValueError(f'found {quoted(given)}; expected a rate such as "40 per second"')
    value = number(match[1])
    if value <= 0:
        raise ValueError(f"found {quoted(given)}; expected a rate above 0")
    return value


def extent(found: object) -> tuple[Decimal, Decimal]:
    """Lowest and highest of a range, written "0 to 35"."""
    given = " ".join(_scalar(found, "a range").split())
    ends = given.split(" to ")
    if len(ends) != 2:
        raise ValueError(f'found {quoted(given)}; expected a range such as "0 to 35"')
    lowest, highest = number(ends[0]), number(ends[1])
    if lowest >= highest:
        raise ValueError(f"found {quoted(given)}; expected the lower number first")
    return lowest, highest


def yes_or_no(found: object) -> bool:
    """The word yes or the word no."""
    return one_of(("yes", "no"))(found) == "yes"


def one_of(words: Iterable[str]) -> Callable[[object], str]:
    """A checker for one of a few words."""
    known = tuple(words)

    def check(found: object) -> str:
        given = _scalar(found, listed(known))
        if given in known:
            return given
        meant = {"true": "yes", "on": "yes", "false": "no", "off": "no"}.get(given.lower(), given)
        expected = listed(known) if len(known) <= 12 else "one of the words it knows"
        raise ValueError(f"found {quoted(given)}; expected {expected}{did_you_mean(meant, known)}")

    return check


def _scalar(found: object, expected: str) -> str:
    if isinstance(found, str):
        return found
    what = "a list" if isinstance(found, list) else "a mapping"
    raise ValueError(f"found {what}; expected {expected}")


def _meant(given: str) -> str:
    clock = _CLOCK.fullmatch(given)
    if clock:
        minutes, seconds = int(clock[1]), int(clock[2])
        parts = [f"{minutes} min"] * (minutes > 0) + [f"{seconds} s"] * (seconds > 0)
        return f'; did you mean "{" ".join(parts)}"?' if parts else ""
    if _NUMBER.fullmatch(given):
        return f'; did you mean "{given} s"?'
    return ""
