"""The watch over a start, as plain values: phases, what ends them, and what goes wrong.

Rule of this file: as model.py, whose part it is: frozen dataclasses, no reading,
no checking. Times are seconds, numbers Decimal as written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from callout.checklist.model import Band

ANY_VALUE = Band()

SLOPE_OVER = 0.5
"""Seconds over which a slope is taken, unless the file says otherwise."""


@dataclass(frozen=True, slots=True)
class ItemSign:
    """The tick of an item ("list/item") shows it."""

    item: str


@dataclass(frozen=True, slots=True)
class SaidSign:
    """One of these phrases, said while it counts, shows it."""

    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GaugeSign:
    """A gauge shows it: all that is given must hold at once.

    Fields:
        gauge: which
        band: the value lies in it
        seconds: for so long without a break (0: at once)
        rises, falls: at least so fast, units per second
        rises_less_than: slower than this, or falling (it hangs)
        over: seconds over which the slope is taken
        heads_for: at the present slope it is reached ...
        ahead: ... within so many seconds
        limits: a never-exceed or transient limit of the gauge is passed
    """

    gauge: str
    band: Band = ANY_VALUE
    seconds: float = 0.0
    rises: Decimal | None = None
    falls: Decimal | None = None
    rises_less_than: Decimal | None = None
    over: float = SLOPE_OVER
    heads_for: Decimal | None = None
    ahead: float = 0.0
    limits: bool = False

    @property
    def by_slope(self) -> bool:
        """Whether it needs a feed: nobody calls a slope aloud."""
        slopes = (self.rises, self.falls, self.rises_less_than, self.heads_for)
        return any(slope is not None for slope in slopes)


Sign = ItemSign | SaidSign | GaugeSign


@dataclass(frozen=True, slots=True)
class Phase:
    """One part of a start.

    Fields:
        id, call: key and spoken name
        until: any one of these ends it
        within: seconds allowed for it (None: no limit)
        missed: the fault that it is if the time is up ("" for none)
    """

    id: str
    call: str
    until: tuple[Sign, ...]
    within: float | None = None
    missed: str = ""


@dataclass(frozen=True, slots=True)
class StartFault:
    """What can go wrong, and the list that deals with it.

    Fields:
        id, call: key and spoken name
        abort: the list that opens at once
        during: phases in which it is looked for (also in the order of the phases)
        when: any one of these shows it
        longest: these phases together may take so many seconds (None: as long as it takes)
        stops: any one of these ends that time, though the phases go on
    """

    id: str
    call: str
    abort: str
    during: tuple[str, ...] = ()
    when: tuple[Sign, ...] = ()
    longest: float | None = None
    stops: tuple[Sign, ...] = ()


@dataclass(frozen=True)  # without slots: what is worked out from it is worked out once
class StartWatch:
    """The watch over one list.

    Fields:
        list_id: the list that it watches
        begins: any one of these says that the starter is on
        phases: in order
        faults: looked for in this order, the gravest first
        bare_numbers: the gauge of a number said without a name ("" for none)
        logged: further gauges whose lowest and highest are written down
    """

    list_id: str
    begins: tuple[Sign, ...]
    phases: tuple[Phase, ...]
    faults: tuple[StartFault, ...]
    bare_numbers: str = ""
    logged: tuple[str, ...] = ()

    def fault(self, fault_id: str) -> StartFault:
        """The fault with this id; KeyError if there is none."""
        for fault in self.faults:
            if fault.id == fault_id:
                return fault
        raise KeyError(fault_id)

    def first_of(self, fault: StartFault) -> int:
        """Place of the first phase in which the fault is looked for; it has one."""
        return next(at for at, phase in enumerate(self.phases) if phase.id in fault.during)

    @cached_property
    def gauge_signs(self) -> tuple[GaugeSign, ...]:
        """All that gauges show."""
        ends = (sign for phase in self.phases for sign in phase.until)
        shows = (sign for fault in self.faults for sign in (*fault.when, *fault.stops))
        signs = (*self.begins, *ends, *shows)
        return tuple(sign for sign in signs if isinstance(sign, GaugeSign))

    @cached_property
    def _places(self) -> Mapping[int, int]:
        return {id(sign): self.gauge_signs.index(sign) for sign in self.gauge_signs}

    def place(self, sign: GaugeSign) -> int:
        """Place of one of its own signs among `gauge_signs`; of equal ones that of the first."""
        return self._places[id(sign)]

    @cached_property
    def gauges(self) -> Mapping[str, int]:
        """The gauges it looks at, each with its place among them."""
        named = dict.fromkeys((*(sign.gauge for sign in self.gauge_signs), *self.logged))
        return {gauge: place for place, gauge in enumerate(named)}

    @cached_property
    def spans(self) -> Mapping[str, tuple[float, ...]]:
        """For each gauge the times (s) over which its slope is wanted."""
        spans: dict[str, tuple[float, ...]] = dict.fromkeys(self.gauges, ())
        for sign in self.gauge_signs:
            if sign.by_slope and sign.over not in spans[sign.gauge]:
                spans[sign.gauge] += (sign.over,)
        return spans

    @cached_property
    def spoken(self) -> tuple[str, ...]:
        """The gauges whose values may be called aloud: those with more than a slope."""
        called = (sign.gauge for sign in self.gauge_signs if not sign.by_slope)
        return tuple(dict.fromkeys(called))

    @cached_property
    def stoppable(self) -> tuple[StartFault, ...]:
        """The faults whose time something can end."""
        return tuple(fault for fault in self.faults if fault.stops)

    @cached_property
    def looked_for(self) -> tuple[tuple[StartFault, ...], ...]:
        """For each phase the faults that are looked for while it lasts."""
        return tuple(
            tuple(fault for fault in self.faults if phase.id in fault.during)
            for phase in self.phases
        )
