"""How a file says which column of a feed is which gauge, and what it says when that is wrong."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from checklist_files import HEAD, loaded, problems

from callout.checklist.model import Feed
from callout.checklist.units import FEED_UNITS, SAME_KIND, UNITS, same_kind

LISTS = "lists: {first: {items: [{say: hello}]}}\n"
F = "aircraft.yaml"

REGISTRY = pint.UnitRegistry(cache_folder=None)
PINT = {
    "%": "percent", "°C": "degC", "°F": "degF", "K": "kelvin", "hp": "horsepower",
    "Ah": "ampere_hour", "inHg": "inch_Hg", "gal": "gallon", "qt": "quart", "kt": "knot",
    "Nm": "newton * meter", "l/h": "liter / hour", "1": "dimensionless", "deg": "degree",
}  # fmt: skip


def gauge(text: str) -> str:
    return f"{HEAD}gauges:\n  heat: {{unit: degC, range: 0 to 900, feed: {text}}}\n{LISTS}"


def test_everything_a_feed_can_say(tmp_path):
    text = gauge(
        "{column: Exhaust Temp_1, unit: degF, changes_at_most: 400 per second, "
        "stuck_after: 5 s, silent_after: 2 s}"
    )

    assert (
        Feed("Exhaust Temp_1", "degF", Decimal(400), 5.0, 2.0)
        == loaded(tmp_path, text).gauge("heat").feed
    )


def test_without_a_word_about_it_the_key_and_the_unit_of_the_gauge_hold(tmp_path):
    assert Feed() == loaded(tmp_path, gauge("{}").replace(", feed: {}", "")).gauge("heat").feed


@pytest.mark.parametrize(
    ("feed", "what"),
    [
        ("{unit: bar}", '"bar" cannot be converted into degC; expected degC, °C, degF, °F or K'),
        ("{unit: furlong}", 'found "furlong"; expected one of the words it knows'),
        ("{column: 'a,b'}", 'found "a,b"; expected at most 80 characters without commas'),
        ("{column: time}", 'found "time", which is the sender\'s clock; expected another name'),
        ("{column: 7}", 'found "7"; expected at most 80 characters without commas'),
        ("{changes_at_most: fast}", 'found "fast"; expected a rate such as "40 per second"'),
        ("{stuck_after: never}", 'found "never"; expected a time such as "90 s"'),
        ("{colum: x}", 'did you mean "column"?'),
    ],
)
def test_what_is_wrong_is_said_with_its_place(tmp_path, feed, what):
    (said,) = problems(tmp_path, gauge(feed))

    assert said.startswith(f"{F}:8:")
    assert what in said


def test_one_column_is_one_gauge(tmp_path):
    text = (
        f"{HEAD}gauges:\n  heat: {{unit: degC, range: 0 to 900}}\n"
        f"  oil: {{unit: degC, range: 0 to 150, feed: {{column: heat}}}}\n{LISTS}"
    )

    assert [
        f'{F}:9:53: column "heat" is that of gauge "heat" already; expected each column once'
    ] == problems(tmp_path, text)


def test_a_file_based_on_another_may_change_one_word_of_it(tmp_path):
    (tmp_path / "base.yaml").write_text(gauge("{column: egt, unit: degF}"), encoding="utf-8")
    text = "callout: 1\nbased_on: base.yaml\ngauges: {heat: {feed: {unit: K}}}\n"

    assert Feed("egt", "K") == loaded(tmp_path, text).gauge("heat").feed


def test_every_unit_of_a_gauge_can_come_by_a_feed():
    assert set(UNITS) <= set(FEED_UNITS)
    assert len(set(FEED_UNITS)) == len(FEED_UNITS)


@pytest.mark.parametrize("symbol", FEED_UNITS)
def test_the_kinds_are_those_of_a_library_of_units(symbol):
    """pint's dimensions, after the SI brochure; an angle and a share differ by the unit alone."""
    unit = REGISTRY.Unit(PINT.get(symbol, symbol))
    for other in FEED_UNITS:
        both = {symbol, other}
        if "deg" in both and both != {"deg"}:
            continue  # an angle has no dimension there
        same = unit.is_compatible_with(REGISTRY.Unit(PINT.get(other, other)))
        assert same == (other in same_kind(symbol)), other


def test_no_unit_is_of_two_kinds():
    assert sum(map(len, SAME_KIND)) == len({symbol for kind in SAME_KIND for symbol in kind})
