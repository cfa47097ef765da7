"""What many sessions of one aircraft say together.

Rule of this file: it reads, and folds facts into series; what has changed is
change.py's to say. Starts that were broken off count as such and give no times.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from callout.checklist.model import Aircraft
from callout.logbook.store import Logbook
from callout.logbook.trending import answers, figures, tallies
from callout.reports.change import Change, changes, unusual
from callout.reports.day import standard_day
from callout.reports.names import Names, number, plain

AIR = ("outside-air-temperature", "air-temperature", "ambient-temperature")
"""Gauges that tell the air's temperature, if the file has one."""

CORRECTED = 500
"""Latest starts whose temperatures are corrected: for each its session is read."""

_SHARE = {"s": 0.10, "degC": 0.05, "V": 0.05}
"""Change that matters, as a share of what was usual (common practice, no source)."""


@dataclass
class Series:
    """One figure over sessions.

    Fields:
        name: for people; symbol: its unit
        sessions, values: oldest first
    """

    name: str
    symbol: str
    sessions: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)

    def add(self, session: int, text: str) -> None:
        """One figure more; one that is none is left out."""
        value = number(text)
        if value is not None:
            self.sessions.append(session)
            self.values.append(float(value))

    def lasting(self) -> Change | None:
        """The change that matters and still lasts, if there is one."""
        latest = changes(self.values, _SHARE[self.symbol])[-1:]
        return next((one for one in latest if one.over is None), None)

    def unusual(self) -> float | None:
        """How far the latest is from the ones before it."""
        return unusual(self.values)


@dataclass
class Trends:
    """One aircraft.

    Fields:
        series: what is compared; the last session of each need not be the same
        outcomes: of starts that were watched: how often each
        refused: counter -> how often it kept a list from opening
        cooled: cool-downs that were kept, of those begun
        too_quick, missed, misheard: (item, how often), most often first
        last: the latest session that gave a figure
        notes: what the reader must know
    """

    aircraft: str
    series: list[Series] = field(default_factory=list)
    outcomes: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    cooled: tuple[int, int] = (0, 0)
    too_quick: list[tuple[str, int]] = field(default_factory=list)
    missed: list[tuple[str, int]] = field(default_factory=list)
    misheard: list[tuple[str, int]] = field(default_factory=list)
    last: int = 0
    notes: list[str] = field(default_factory=list)


_MISSED = {"wrong answer", "out of range", "no answer", "deferred", "skipped", "time missed"}


def trends(logbook: Logbook, name: str, aircraft: Aircraft | None) -> Trends:
    """Fold all sessions of an aircraft; raises LogbookError."""
    folding = _Folding(Names(aircraft))
    for one in figures(logbook, name):
        folding.take(one.session, one.name, one.data)
    made = Trends(name, outcomes=folding.outcomes, refused=folding.refused, last=folding.last)
    made.series = list(folding.series.values())
    made.cooled = (len(folding.cooled & folding.cooling), len(folding.cooling))
    _corrected(logbook, made, aircraft, folding.peaks)
    _tally(made, Names(aircraft), tallies(logbook, name))
    return made


@dataclass
class _Folding:
    """The series on their way."""

    names: Names
    series: dict[str, Series] = field(default_factory=dict)
    outcomes: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    cooling: set[int] = field(default_factory=set)
    cooled: set[int] = field(default_factory=set)
    peaks: dict[str, list[tuple[int, str]]] = field(default_factory=lambda: defaultdict(list))
    last: int = 0

    def take(self, session: int, fact: str, data: Mapping[str, str]) -> None:
        """One fact."""
        self.last = max(self.last, session)
        if fact == "start watched":
            self._start(session, data)
        elif fact == "run-down":
            by = {"gauge": "by gauge", "words": "as said", "item": "as ticked"}
            how = by.get(data.get("by", ""), "")
            self._of(f"run-down {how}".rstrip(), "s").add(session, data.get("seconds", ""))
        elif fact == "cool-down started":
            self.cooling.add(session)
        elif fact == "cool-down complete":
            self.cooled.add(session)
        elif fact == "duty refused":
            self.refused[data.get("counter", "")] += 1

    def _of(self, name: str, symbol: str) -> Series:
        return self.series.setdefault(name, Series(name, symbol))

    def _start(self, session: int, data: Mapping[str, str]) -> None:
        outcome = data.get("outcome", "")
        self.outcomes[outcome] += 1
        if outcome != "complete":
            return
        for key, text in data.items():
            word, _, what = key.partition(" ")
            gauge = self.names.known(what)
            symbol = gauge.unit if gauge is not None else ""
            if word == "at":
                self._of(f"time to {plain(what)}", "s").add(session, text)
            elif word == "highest" and symbol == "degC":
                self._of(f"highest {self.names.gauge(what)}", symbol).add(session, text)
                self.peaks[what].append((session, text))
            elif word == "lowest" and symbol == "V":
                self._of(f"lowest {self.names.gauge(what)}", symbol).add(session, text)


def _corrected(
    logbook: Logbook, made: Trends, aircraft: Aircraft | None,
    peaks: Mapping[str, list[tuple[int, str]]],
) -> None:  # fmt: skip
    """Peaks as on a standard day, where the air's temperature was read in the session."""
    if aircraft is None:
        made.notes.append(
            "The aircraft file cannot be read, so units are not known: no temperature and no "
            "voltage is compared. Name the file: callout trends FILE.yaml."
        )
        return
    names = Names(aircraft)
    paths = (f"{one.id}/{item.id}" for one in aircraft.lists for item in one.items())
    reads = {path: found[0].id for path in paths if (found := names.gauge_of(path)) is not None}
    items = frozenset(path for path, gauge in reads.items() if gauge in AIR)
    if not items:
        made.notes.append(
            "Temperatures stand as they were read: no item reads the air's temperature "
            f"({', '.join(AIR)}), so none is corrected to a standard day."
        )
        return
    for gauge, starts in peaks.items():
        series = Series(f"highest {names.gauge(gauge)}, standard day", "degC")
        for session, peak in starts[-CORRECTED:]:
            air = next((number(one) for one in answers(logbook, session, items)), None)
            value = number(peak)
            if air is not None and value is not None:
                series.add(session, f"{standard_day(float(value), float(air)):.1f}")
        if series.values:
            made.series.append(series)


def _tally(made: Trends, names: Names, counted: Sequence[tuple[str, str, int]]) -> None:
    """Items by how often they were answered too quickly, missed, or misheard."""
    quick, missed, misheard = Counter[str](), Counter[str](), Counter[str]()
    for fact, about, often in counted:
        if "/" not in about:
            continue  # between items
        item = names.place(about)
        if fact == "quick answer":
            quick[item] += often
        elif fact == "not understood":
            misheard[item] += often
        elif fact in _MISSED:
            missed[item] += often
    made.too_quick, made.missed, made.misheard = (
        one.most_common(5) for one in (quick, missed, misheard)
    )


def said(one: Series, change: Change) -> str:
    """A change as it is told."""
    words = {"s": ("shorter", "longer")}.get(one.symbol, ("lower", "higher"))
    which = words[change.now > change.usual]
    unit = {"degC": "\u00b0C"}.get(one.symbol, one.symbol)
    now, usual = f"{change.now:.1f}\u00a0{unit}", f"{change.usual:.1f}\u00a0{unit}"
    name = one.name[0].upper() + one.name[1:]
    return f"{name} is {abs(change.percent):.0f} percent {which} than usual: {now}, usually {usual}"


def changed(made: Trends) -> tuple[list[str], list[str]]:
    """What the latest session showed first, which is told once; and what still lasts."""
    new, known = [], []
    for one in made.series:
        change = one.lasting()
        if change is None:
            continue
        if one.sessions[change.found] == made.last:
            new.append(said(one, change))
        else:
            known.append(f"{said(one, change)}, since session {one.sessions[change.found]}")
    return new, known
