"""A Grammar written down for recognisers: as JSGF 1.0, as words, as phrases, as samples.

Rule of this file: whatever is written here, `understand` has the last word. The
number rules let through exactly what read_numbers reads, in plain spelling and
without a bound on length. Points and signs are always in them, even for a gauge
without: a value that cannot be heard is heard as another one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain, islice

from callout.words.number_words import (
    AND,
    HEARD_WORDS,
    HUNDRED,
    PLAIN_DIGITS,
    TEENS,
    TENS,
    THOUSAND,
)
from callout.words.phrases import Grammar, NumberSlot
from callout.words.say_numbers import say_digits, say_everyday, say_group, say_whole
from callout.words.understand import plain

_ONES = (*PLAIN_DIGITS[1:], "niner")

_NUMBER_RULES: tuple[tuple[str, str], ...] = (
    ("one", " | ".join(_ONES)),
    ("nil", "zero | oh"),
    ("digit", "<nil> | <one>"),
    ("teen", " | ".join(tuple(TEENS)[1:])),
    ("ty", " | ".join(TENS)),
    ("pair", "ten | <teen> | <ty> [<one>]"),
    ("small", "<one> | <pair>"),
    ("rest", f"[{AND}] <small>"),
    ("hundreds", f"<one> {HUNDRED} [<rest>]"),
    ("many", f"(<teen> | <ty> <one>) {HUNDRED} [<rest>]"),
    ("count", "<one> <digit> [<digit>] | <small> | <hundreds>"),
    ("thousands", f"<count> {THOUSAND} [<rest> | <hundreds>]"),
    ("group", "<small> (<pair> | <nil> <one>)+"),
    ("whole", "<digit>+ | <pair> | <hundreds> | <many> | <thousands> | <group>"),
    ("fraction", "(point | decimal) (<digit>+ | <pair>)"),
    ("number", "[minus] (<whole> [<fraction>] | <fraction>)"),
)
"""Rule name -> expansion, simple ones first; the last one is a number."""


def vocabulary(grammar: Grammar) -> frozenset[str]:
    """Return every word that can be said now."""
    return frozenset(word for phrase in phrase_list(grammar) for word in phrase.split())


def phrase_list(grammar: Grammar) -> tuple[str, ...]:
    """Return phrases for a recogniser that takes a list of them, such as Vosk.

    All plain phrases, those with "nine" also with "niner"; then, if a number
    counts, the words before numbers, units, and each number word as an entry of its
    own. No entry comes twice.
    """
    entries = [plain(phrase.text) for phrase in grammar.phrases]
    for slot in grammar.numbers:
        entries += [plain(slot.before), *map(plain, slot.units)]
    if grammar.numbers:
        entries += HEARD_WORDS
    both = (form for entry in entries if entry for form in (entry, _with_niner(entry)))
    return tuple(dict.fromkeys(both))


def _with_niner(text: str) -> str:
    return " ".join("niner" if word == "nine" else word for word in text.split())


def unsayable(text: str) -> tuple[str, ...]:
    """Return the words of a text that no recogniser can be given ("1.2.3")."""
    return tuple(word for word in plain(text).split() if not _is_word(word))


def _is_word(word: str) -> bool:
    return not any(sign in word for sign in '.,;:=|*+-/<>()[]{}\\"%#$&@!?~^`')


def to_jsgf(grammar: Grammar) -> str:
    """Write the whole grammar as JSGF 1.0, with one public rule <callout>.

    An empty grammar is <VOID>, which nothing matches. ValueError, naming the
    phrase, for words that JSGF has no spelling for (see `unsayable`).
    """
    alternatives = list(dict.fromkeys(plain(phrase.text) for phrase in grammar.phrases))
    rules: list[tuple[str, str]] = []
    if alternatives:
        rules.append(("phrase", " | ".join(map(_safe, alternatives))))
    slots = [_slot(slot) for slot in grammar.numbers]
    if slots:
        rules += [*_NUMBER_RULES, ("value", " | ".join(dict.fromkeys(slots)))]
    public = [f"<{name}>" for name, _ in rules if name in ("phrase", "value")]
    lines = ["#JSGF V1.0 UTF-8;", "grammar callout;"]
    lines.append(f"public <callout> = {' | '.join(public) or '<VOID>'};")
    lines += [f"<{name}> = {expansion};" for name, expansion in rules]
    return "\n".join(lines) + "\n"


def _safe(text: str) -> str:
    wrong = unsayable(text)
    if wrong:
        raise ValueError(f"The phrase {text!r} cannot be listened for: {wrong[0]!r} is no word.")
    # A pilot says "niner" in "runway two niner" too; understand takes both for one.
    return " ".join("(nine | niner)" if word == "nine" else word for word in text.split())


def _slot(slot: NumberSlot) -> str:
    before = _safe(plain(slot.before))
    units = [_safe(plain(unit)) for unit in slot.units if plain(unit)]
    unit = f"[{' | '.join(dict.fromkeys(units))}]" if units else ""
    return " ".join(part for part in (before, "<number>", unit) if part)


@dataclass(frozen=True, slots=True)
class Sample:
    """A text that the grammar accepts, and the key it means."""

    text: str
    means: str


def samples(grammar: Grammar, limit: int) -> Iterator[str]:
    """Give at most `limit` different texts that the grammar accepts, always the same ones."""
    return (sample.text for sample in meant_samples(grammar, limit))


def meant_samples(grammar: Grammar, limit: int) -> Iterator[Sample]:
    """Give the texts of `samples` with what each of them means.

    All phrases first; then numbers of all slots in turn, over the whole range and
    in every form that fits: digits with either decimal word, thousands, group,
    everyday with and without "and", with each unit and without.
    """
    return islice(_once(chain(_phrase_samples(grammar), _turns(grammar.numbers))), limit)


def _once(given: Iterable[Sample]) -> Iterator[Sample]:
    """Keep the first of each text: a phrase comes before a number of the same words."""
    seen: set[str] = set()
    for sample in given:
        text = plain(sample.text)
        if text not in seen:
            seen.add(text)
            yield sample


def _phrase_samples(grammar: Grammar) -> Iterator[Sample]:
    return (Sample(plain(phrase.text), phrase.means) for phrase in grammar.phrases)


def _turns(slots: tuple[NumberSlot, ...]) -> Iterator[Sample]:
    """Take from each slot in turn until all have ended."""
    waiting = [_slot_samples(slot) for slot in slots]
    while waiting:
        for given in tuple(waiting):
            sample = next(given, None)
            if sample is None:
                waiting.remove(given)
            else:
                yield sample


def _slot_samples(slot: NumberSlot) -> Iterator[Sample]:
    units = ("", *map(plain, slot.units))
    for place, value in enumerate(_values(slot)):
        for turn, number in enumerate(spoken_forms(value)):
            unit = units[(place + turn) % len(units)]
            words = (plain(slot.before), number, unit)
            yield Sample(" ".join(word for word in words if word), slot.means)


def _values(slot: NumberSlot) -> Iterator[Decimal]:
    """Give both ends, then values spread evenly and ever closer, to the gauge's digits."""
    step = Decimal(1).scaleb(-slot.decimals)
    first = -(-slot.lowest // step)
    count = int(slot.highest // step - first) + 1
    order = _spread(count)
    return ((first + place) * step for place in order)


def _spread(count: int) -> Iterator[int]:
    """Give 0 .. count - 1, each once, the ends first and then halving the gaps."""
    width = 1
    while width < count:
        width *= 2
    if count > 0:
        yield 0
    if count > 1:
        yield count - 1
    while width > 1:
        width //= 2
        yield from (place for place in range(width, count - 1, 2 * width))


def spoken_forms(value: Decimal) -> tuple[str, ...]:
    """Return every way in which callout can say a value, digit by digit first."""
    said = [
        say_digits(value, None, word, niner=niner)
        for word in ("point", "decimal")
        for niner in (False, True)
    ]
    whole = int(value)
    if value == whole and abs(whole) < 1_000_000:
        said += [say_everyday(whole), say_everyday(whole, with_and=True)]
        if whole > 0:
            said += [say_whole(whole), say_group(str(whole))]
    return tuple(dict.fromkeys(said))
