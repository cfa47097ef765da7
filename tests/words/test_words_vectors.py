"""Published examples of spoken numbers, in both directions.

Each row: the source, what the source prints, what callout says for the value, and
the numbers that the printed words hold. Sources:

ANNEX   ICAO Annex 10 Volume II 5.2.1.4.1.1 (every digit separately) and
HUNDREDS  5.2.1.4.1.2 (whole hundreds and thousands), as quoted by flightcrewguide.com
AIM     FAA Aeronautical Information Manual, paragraph named, as printed at faraim.org
        (the clock check as quoted by groundscholar.com)
JO      FAA Order JO 7110.65, paragraph named, as printed at pointsixtyfive.com
RESTATE JO 7110.65P 2-4-18, as printed at yumpu.com
CAP     CAP 413, as printed at easymanua.ls
GAUGE   the same rules applied to gauges; derived, no source prints them
"""

from __future__ import annotations

from decimal import Decimal

import pytest
import radio_phrases as radio
from radio_phrases import FAA, UK, niner

from callout.words.phrases import Grammar, NumberSlot
from callout.words.read_numbers import readings
from callout.words.say_numbers import (
    DECIMAL,
    POINT,
    say_code,
    say_digits,
    say_group,
    say_whole,
)
from callout.words.understand import plain, understand

D = Decimal


VECTORS = [
    ("ANNEX", "Air China two three eight", "air china " + niner("238"), ["238"]),
    ("ANNEX", "flight level one eight zero", radio.say_flight_level(180), ["180"]),
    ("ANNEX", "flight level two zero zero", radio.say_flight_level(200), ["200"]),
    ("ANNEX", "heading one zero zero", radio.say_heading(100), ["100"]),
    ("ANNEX", "heading zero eight zero", radio.say_heading(80), ["80"]),
    (
        "ANNEX",
        "wind two zero zero degrees seven zero knots",
        radio.say_wind(200, 70),
        ["200", "70"],
    ),
    (
        "ANNEX",
        "wind one six zero degrees one eight knots gusting three zero knots",
        radio.say_wind(160, 18, 30),
        ["160", "18", "30"],
    ),
    ("ANNEX", "squawk two four zero zero", radio.say_squawk("2400"), ["2400"]),
    ("ANNEX", "squawk four two zero three", radio.say_squawk("4203"), ["4203"]),
    ("ANNEX", "runway two seven", radio.say_runway("27"), ["27"]),
    ("ANNEX", "QNH one zero one zero", radio.say_qnh(1010), ["1010"]),
    ("ANNEX", "QNH one zero zero zero", radio.say_qnh(1000), ["1000"]),
    ("HUNDREDS", "eight hundred", say_whole(800), ["800"]),
    ("HUNDREDS", "three thousand four hundred", say_whole(3400), ["3400"]),
    ("HUNDREDS", "one two thousand", say_whole(12000), ["12000"]),
    ("HUNDREDS", "two thousand two hundred", say_whole(2200), ["2200"]),
    ("HUNDREDS", "four thousand three hundred", say_whole(4300), ["4300"]),
    ("AIM 4-2-8", "five hundred", say_whole(500), ["500"]),
    ("AIM 4-2-8", "four thousand five hundred", say_whole(4500), ["4500"]),
    ("AIM 4-2-8", "one zero thousand", say_whole(10000), ["10000"]),
    ("AIM 4-2-8", "one three thousand five hundred", say_whole(13500), ["13500"]),
    ("AIM 4-2-8", "Victor Twelve", radio.say_airway("V12"), ["12"]),
    ("AIM 4-2-8", "J Five Thirty-Three", radio.say_airway("J533", "j"), ["533"]),
    ("AIM 4-2-8", "one zero", niner("10"), ["10"]),
    ("AIM 4-2-8", "one two two point one", radio.say_frequency(D("122.1"), FAA), ["122.1"]),
    ("AIM 4-2-9", "one two thousand", say_whole(12000), ["12000"]),
    ("AIM 4-2-9", "one two thousand five hundred", say_whole(12500), ["12500"]),
    ("AIM 4-2-9", "Flight Level One Niner Zero", radio.say_flight_level(190, FAA), ["190"]),
    ("AIM 4-2-9", "Flight Level Two Seven Five", radio.say_flight_level(275, FAA), ["275"]),
    ("AIM 4-2-10", "zero zero five", radio.say_direction(5), ["5"]),
    ("AIM 4-2-10", "zero five zero true", radio.say_direction(50) + " true", ["50"]),
    ("AIM 4-2-10", "three six zero", radio.say_direction(360), ["360"]),
    ("AIM 4-2-10", "wind two two zero", radio.say_wind(220), ["220"]),
    ("AIM 4-2-11", "two five zero knots", radio.say_speed(250), ["250"]),
    ("AIM 4-2-11", "one niner zero knots", radio.say_speed(190), ["190"]),
    ("AIM 4-2-11", "Mach one point five", radio.say_mach(D("1.5"), FAA), ["1.5"]),
    ("AIM 4-2-11", "Mach point six four", radio.say_mach(D("0.64"), FAA), ["0.64"]),
    ("AIM 4-2-11", "Mach point seven", radio.say_mach(D("0.7"), FAA), ["0.7"]),
    ("AIM 4-2-12", "zero niner two zero", radio.say_time(9, 20), ["0920"]),
    ("AIM 4-2-12", "zero zero zero zero", radio.say_time(0, 0), ["0000"]),
    ("AIM 4-2-12", "zero niner two niner", radio.say_clock_check(9, 29, 5), ["0929"]),
    (
        "AIM 4-2-12",
        "zero niner two niner and one-quarter",
        radio.say_clock_check(9, 29, 10),
        ["0929"],
    ),
    ("JO 2-4-17", "one one four niner five", say_whole(11495, niner=True), ["11495"]),
    ("JO 2-4-17", "two zero zero six niner", say_whole(20069, niner=True), ["20069"]),
    ("JO 2-4-17", "one zero thousand", say_whole(10000), ["10000"]),
    ("JO 2-4-17", "one one thousand", say_whole(11000), ["11000"]),
    ("JO 2-4-17", "one seven thousand niner hundred", say_whole(17900, niner=True), ["17900"]),
    ("JO 2-4-17", "one three two zero", say_whole(1320), ["1320"]),
    ("JO 2-4-17", "four eight six", say_whole(486), ["486"]),
    ("JO 2-4-17", "zero seven one five", radio.say_time(7, 15), ["0715"]),
    ("JO 2-4-17", "one niner one five", radio.say_time(19, 15), ["1915"]),
    ("RESTATE", "One Seven Thousand", say_whole(17000), ["17000"]),
    ("RESTATE", "Seventeen Thousand", say_group("17000"), ["17000"]),
    ("RESTATE", "Two Niner Niner Two", niner("2992"), ["2992"]),
    ("RESTATE", "Twenty Nine Ninety Two", say_group("2992"), ["2992"]),
    ("RESTATE", "One Two Six Point Five Five", say_code("126.55"), ["126.55"]),
    ("RESTATE", "One Twenty Six Point Fifty Five", say_group("126.55"), ["126.55"]),
    ("CAP", "flight level one hundred", radio.say_flight_level(100, UK), ["100"]),
    ("CAP", "one five zero degrees", radio.say_direction(150) + " degrees", ["150"]),
    ("CAP", "one eight knots", radio.say_speed(18), ["18"]),
    ("CAP", "one two two decimal one", radio.say_frequency(D("122.1"), UK), ["122.1"]),
    ("CAP", "six fife zero zero", niner("6500"), ["6500"]),
    ("GAUGE", "two four point five", say_digits(D("24.5"), 1, POINT), ["24.5"]),
    ("GAUGE", "two four decimal five", say_digits(D("24.5"), 1, DECIMAL), ["24.5"]),
    ("GAUGE", "one five", say_digits(D(15), 0, POINT), ["15"]),
    ("GAUGE", "six five", say_digits(D(65), 0, DECIMAL), ["65"]),
    ("GAUGE", "one zero four", say_digits(D(104), 0, DECIMAL), ["104"]),
    ("GAUGE", "seven zero zero", say_digits(D(700), 0, DECIMAL), ["700"]),
    ("GAUGE", "seven hundred", say_whole(700), ["700"]),
    ("GAUGE", "zero point eight", say_digits(D("0.8"), 1, POINT), ["0.8"]),
    ("GAUGE", "zero decimal eight", say_digits(D("0.8"), 1, DECIMAL), ["0.8"]),
    ("GAUGE", "minus five", say_digits(D(-5), 0, POINT), ["-5"]),
]

AROUND = (
    "air china flight level heading wind degrees knots gusting squawk runway qnh victor j true "
    "mach quarter"
)
"""Words around the numbers in the rows above."""


def number_parts(printed: str) -> list[str]:
    """The runs of words between those that belong to no number."""
    words = plain(printed.replace("and one-quarter", "quarter")).split()
    parts: list[list[str]] = [[]]
    for word in words:
        if word in AROUND.split():
            parts.append([])
        else:
            parts[-1].append(word)
    return [" ".join(part) for part in parts if part]


@pytest.mark.parametrize(("source", "printed", "said", "numbers"), VECTORS)
def test_callout_says_what_the_source_prints(source, printed, said, numbers):
    assert plain(printed) == plain(said)


@pytest.mark.parametrize(("source", "printed", "said", "numbers"), VECTORS)
def test_callout_reads_the_numbers_that_the_source_prints(source, printed, said, numbers):
    read = [[reading.value for reading in readings(part)] for part in number_parts(printed)]

    assert [[Decimal(number)] for number in numbers] == read


@pytest.mark.parametrize(
    ("printed", "digits"),
    [
        ("zero niner two zero", "0920"),
        ("zero zero zero zero", "0000"),
        ("zero seven one five", "0715"),
        ("zero eight zero", "080"),
        ("zero zero five", "005"),
    ],
)
def test_leading_zeros_survive_because_a_time_or_a_heading_is_its_digits(printed, digits):
    """AIM 4-2-10 and 4-2-12, JO 7110.65 2-4-17, Annex 10 II 5.2.1.4.1.1, as in the table."""
    assert [digits] == [reading.digits for reading in readings(printed)]


@pytest.mark.parametrize("decimal_word", ["point", "decimal"])
@pytest.mark.parametrize("value", ["24.5", "122.1", "0.8", "-5", "104", "700", "126.55", "0.64"])
def test_either_decimal_word_is_read_whichever_is_set(decimal_word, value):
    """AIM Table 4-2-2 says POINT and accepts DECIMAL; ICAO says DECIMAL."""
    said = say_digits(D(value), None, decimal_word, niner=decimal_word == "decimal")

    assert [D(value)] == [reading.value for reading in readings(said)]


@pytest.mark.parametrize(
    ("printed", "before", "units", "value"),
    [
        ("heading zero eight zero", "heading", (), "80"),
        ("QNH one zero one zero", "qnh", (), "1010"),
        ("two five zero knots", "", ("knots",), "250"),
        ("one five zero degrees", "", ("degrees",), "150"),
        ("Mach point six four", "mach", (), "0.64"),
        ("Flight Level One Niner Zero", "flight level", (), "190"),
    ],
)
def test_whole_phrases_are_understood_with_the_words_around_the_number(
    printed, before, units, value
):
    slot = NumberSlot("key", D(0), D(2000), 2, before=before, units=units)
    match = understand(Grammar(1, numbers=(slot,)), printed)

    assert match is not None
    assert match.numbers is not None
    assert D(value) == match.numbers.value


# FAA AIM 4-2-7 pronunciations, as printed at faraim.org; spellings Alfa, Juliett, Xray.
ALPHABET = """
A AL-FAH alfa|B BRAH-VOH bravo|C CHAR-LEE charlie|D DELL-TAH delta|E ECK-OH echo
F FOKS-TROT foxtrot|G GOLF golf|H HOH-TEL hotel|I IN-DEE-AH india|J JEW-LEE-ETT juliett
K KEY-LOH kilo|L LEE-MAH lima|M MIKE mike|N NO-VEM-BER november|O OSS-CAH oscar|P PAH-PAH papa
Q KEH-BECK quebec|R ROW-ME-OH romeo|S SEE-AIR-RAH sierra|T TANG-GO tango
U YOU-NEE-FORM uniform|V VIK-TAH victor|W WISS-KEY whiskey|X ECKS-RAY xray|Y YANG-KEY yankee
Z ZOO-LOO zulu
"""


def test_letters_are_said_by_their_alphabet_words():
    rows = [row.split() for row in ALPHABET.strip().replace("\n", "|").split("|")]

    assert {letter: word for letter, _, word in rows} == dict(radio.LETTERS)
    assert radio.say_letters("XB4") == "xray bravo four"


@pytest.mark.parametrize(
    ("second", "said"),
    # AIM 4-2-12, as quoted: less than 8 s past a quarter rounds down, 8 s and more up.
    # The words for the half and three quarters are from memory.
    [
        (0, "zero niner two niner"),
        (7, "zero niner two niner"),
        (8, "zero niner two niner and one quarter"),
        (22, "zero niner two niner and one quarter"),
        (23, "zero niner two niner and one half"),
        (37, "zero niner two niner and one half"),
        (38, "zero niner two niner and three quarters"),
        (52, "zero niner two niner and three quarters"),
        (53, "zero niner three zero"),
        (59, "zero niner three zero"),
    ],
)
def test_a_clock_check_is_rounded_to_quarter_minutes(second, said):
    assert said == radio.say_clock_check(9, 29, second)


def test_the_last_seconds_of_the_day_round_to_midnight():
    assert radio.say_clock_check(23, 59, 53) == "zero zero zero zero"
