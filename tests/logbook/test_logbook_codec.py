"""Events and facts as JSON text: exact both ways, strict on reading."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.engine.effects import Record
from callout.engine.events import Clock, Event, Heard, Reading, Resumed, SessionOpened
from callout.logbook import codec
from callout.logbook.errors import EntryError

ANY_EVENT = st.one_of(*(st.builds(event) for event in get_args(Event)))
ANY_RECORD = st.builds(Record)


class Colour(Enum):
    RED = "a warning"
    AMBER = "a caution"


@dataclass(frozen=True)
class Everything:
    """Each kind of field the codec promises to hold."""

    text: str
    count: int
    number: float
    yes: bool
    exact: Decimal
    colour: Colour
    many: tuple[float, ...]
    pair: tuple[int, str]
    nested: tuple[tuple[str, Colour], ...] = ()


@settings(deadline=None)
@given(ANY_EVENT)
def test_logbook_codec_gives_back_every_event_exactly(event):
    """repr tells -0.0 from 0.0 and holds NaN, which no == does."""
    text = codec.to_text(event)

    assert repr(event) == repr(codec.event_from(type(event).__name__, text))


@settings(deadline=None)
@given(ANY_RECORD)
def test_logbook_codec_gives_back_every_fact_exactly(record):
    assert record == codec.record_from(codec.to_text(record))


@settings(deadline=None)
@given(st.builds(Everything))
def test_logbook_codec_holds_every_kind_of_field(thing):
    assert repr(thing) == repr(codec.fields_from(Everything, codec.to_text(thing)))


@settings(deadline=None)
@given(ANY_EVENT)
def test_logbook_codec_writes_json_that_others_read(event):
    """SQLite's parser is a second opinion; RFC 8259 section 6 has no NaN or Infinity."""
    text = codec.to_text(event)

    with closing(sqlite3.connect(":memory:")) as base:
        assert (1,) == base.execute("SELECT json_valid(?)", (text,)).fetchone()
    assert text.isascii()
    assert list(type(event).__dataclass_fields__) == list(json.loads(text))


def test_logbook_codec_knows_every_event_by_the_name_of_its_class():
    assert {event.__name__: event for event in get_args(Event)} == codec.EVENTS


def test_logbook_codec_text_is_what_the_schema_promises():
    event = Heard("battery on", 0.1, 4, -0.0, 1e300, "keys")
    record = Record("ticked", "start/battery", (("answer", "on"),))

    assert (
        '{"text":"battery on","certainty":0.1,"grammar":4,"began":-0.0,"ended":1e+300,'
        '"source":"keys"}'
    ) == codec.to_text(event)
    assert '{"gauge":"volts","value":"24.50","at":"nan"}' == codec.to_text(
        Reading("volts", Decimal("24.50"), float("nan"))
    )
    assert '{"fact":"ticked","about":"start/battery","data":[["answer","on"]]}' == (
        codec.to_text(record)
    )
    assert "{}" == codec.to_text(Clock())


def test_logbook_codec_takes_a_whole_number_for_a_float():
    """`gap: float` takes 3 in Python; it is written and read as 3.0."""
    assert codec.to_text(Resumed(3)).startswith('{"gap":3.0,')
    assert repr(Resumed(3.0)) == repr(codec.event_from("Resumed", '{"gap":3}'))


def test_logbook_codec_fills_what_an_older_logbook_could_not_know():
    """Fields with a default may be missing: that is how events grow."""
    text = '{"text":"on","certainty":1.0,"grammar":1,"began":0.0,"ended":1.0}'

    assert Heard("on", 1.0, 1, 0.0, 1.0, "") == codec.event_from("Heard", text)
    assert SessionOpened() == codec.event_from("SessionOpened", "{}")


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("Herd", "{}", "an event 'Herd' that this callout does not know; it knows Clock,"),
        ("Clock", '{"tick":1}', "Clock has no field 'tick'; its fields are none."),
        ("SpeechEnded", '{"say":1,"text":""}', "no field 'text'; its fields are say."),
        ("SpeechEnded", "{}", "SpeechEnded lacks its field 'say'."),
        ("SpeechEnded", '{"say":1.0}', "SpeechEnded.say must be a whole number, not 1.0."),
        ("SpeechEnded", '{"say":true}', "SpeechEnded.say must be a whole number, not True."),
        ("SpeechEnded", '{"say":1,"say":2}', "a field stands there twice"),
        ("SpeechEnded", '{"say":NaN}', "NaN is not JSON"),
        ("SpeechEnded", '{"say":1', "SpeechEnded is not written as JSON"),
        ("SpeechEnded", "[1]", "SpeechEnded must be a JSON object, not '[1]'."),
        ("Resumed", '{"gap":"12"}', "Resumed.gap must be a number, not '12'."),
        ("Resumed", '{"gap":true}', "Resumed.gap must be a number, not True."),
        ("Resumed", '{"gap":1' + "0" * 400 + "}", "Resumed.gap must be a number"),
        ("Stopped", '{"why":null}', "Stopped.why must be text, not None."),
        ("Reading", '{"gauge":"n1","value":24.5,"at":0.0}', "Reading.value must be a number wri"),
        ("Reading", '{"gauge":"n1","value":"2 4","at":0.0}', "Reading.value must be a number wri"),
        ("SessionOpened", '{"lists":"start"}', "SessionOpened.lists must be a row of values"),
        ("SessionOpened", '{"lists":["a",2]}', "SessionOpened.lists[1] must be text, not 2."),
        ("SessionOpened", "[" * 100_000, "SessionOpened is not written as JSON"),
    ],
)
def test_logbook_codec_refuses_by_name_what_it_does_not_know(name, text, sentence):
    with pytest.raises(EntryError) as refused:
        codec.event_from(name, text)

    assert sentence in str(refused.value)


def test_logbook_codec_refuses_pairs_of_three_and_unknown_members():
    with pytest.raises(EntryError, match=r"Record\.data\[0\] must be 2 values, not \['a', "):
        codec.record_from('{"fact":"x","data":[["a","b","c"]]}')
    whole = json.loads(
        codec.to_text(Everything("", 0, 0.0, True, Decimal(0), Colour.RED, (), (1, "")))
    )
    with pytest.raises(EntryError, match=r"Everything\.colour must be one of RED, AMBER, not "):
        codec.fields_from(Everything, json.dumps(whole | {"colour": "a warning"}))


@pytest.mark.parametrize(
    ("event", "sentence"),
    [
        (Reading("n1", 24.5, 0.0), "Reading.value must be a Decimal, not 24.5."),
        (Reading("n1", Decimal(1), "0"), "Reading.at must be a number, not '0'."),
        (Resumed(10**400), "Resumed.gap must be a number that a float can hold"),
        (SessionOpened(["start"]), "SessionOpened.lists must be a row of values"),
    ],
)
def test_logbook_codec_writes_nothing_that_it_could_not_read_back(event, sentence):
    with pytest.raises(EntryError) as refused:
        codec.to_text(event)

    assert sentence in str(refused.value)
