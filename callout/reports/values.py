"""What a report says, as plain values in the words that are printed.

Rule of this file: frozen values only; times are text already ("4:05"), so that
page and paper print the same. Nothing here is markup.
"""

from __future__ import annotations

from dataclasses import dataclass

WARNING, CAUTION, NOTE = "warning", "caution", ""
"""How grave a line is."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A name and what stands beside it."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """Something that happened: when, what, how grave."""

    at: str
    text: str
    grave: str = NOTE


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One item of a list that was opened.

    Fields:
        call: what was read aloud
        answer: what it was ticked with; "" while it is not
        state: "answered", "open", "deferred", "skipped" or "overridden"
        who: pilot or helper; by: what took the answer (an ear, a key, a gauge)
        asked, answered: session time
        took: seconds from being asked to the answer; "" where either is not known
        reacted: seconds from the end of the call to the answer; "" where not known
        remarks: wrong answers, what was not understood, reasons
    """

    call: str
    answer: str = ""
    state: str = "open"
    who: str = ""
    by: str = ""
    asked: str = ""
    answered: str = ""
    took: str = ""
    reacted: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ListPart:
    """A list from its opening to its end; `outcome` is "" if it has none."""

    title: str
    began: str
    ended: str
    outcome: str
    rows: tuple[ItemRow, ...]


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A value or a range of values against its limits.

    Fields:
        gauge: its spoken name
        when: session time, or the engine state over which the range was seen
        value: with its unit
        limits: what it was held against, in words
        verdict: "within", "not declared" or what was passed; `grave` of it
    """

    gauge: str
    when: str
    value: str
    limits: str
    verdict: str
    grave: str = NOTE


@dataclass(frozen=True, slots=True)
class SquawkPart:
    """A squawk that was opened in the session, as it stands when the report is made.

    Fields:
        at: session time
        text: what is written of it, and how that came about
        clip: its recording, a FLAC file in base64; "" if there is none
        note: a word about the recording
        history: what became of it, oldest first
    """

    key: str
    at: str
    called: str
    where: str
    state: str
    grounds: bool
    text: str
    clip: str
    note: str
    history: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """One session.

    Fields:
        notice: what an example file says of itself ("" for others)
        notes: what the reader must know about this report
        plots: pictures of the starts, each as SVG for paper and for a phone's width;
            `plot_note` says why there is none
    """

    title: str
    notice: str
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    summary: tuple[Pair, ...]
    alerts: tuple[Line, ...]
    overridden: tuple[Line, ...]
    left_open: tuple[Line, ...]
    start: tuple[Pair, ...]
    lists: tuple[ListPart, ...]
    spoken: tuple[ReadingRow, ...]
    measured: tuple[ReadingRow, ...]
    counters: tuple[Pair, ...]
    timeline: tuple[Line, ...]
    squawks: tuple[SquawkPart, ...] = ()
    plots: tuple[tuple[str, str], ...] = ()
    plot_note: str = ""
