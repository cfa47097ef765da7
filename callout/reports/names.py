"""Keys of an aircraft's file as the names people know; figures as they are printed.

Rule of this file: a name that is not known is its key with spaces: a report must be
made although the aircraft's file has changed or is gone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from callout.checklist.model import Aircraft, Await, Band, Gauge, Item, Limit, ReadValue


@dataclass
class Names:
    """Looks names up in an aircraft, if there is one."""

    aircraft: Aircraft | None
    _items: dict[str, Item] = field(default_factory=dict)
    _gauges: dict[str, Gauge] = field(default_factory=dict)
    _titles: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.aircraft is None:
            return
        for one in self.aircraft.lists:
            self._titles[one.id] = one.title
            for item in one.items():
                self._items[f"{one.id}/{item.id}"] = item
        self._gauges = {gauge.id: gauge for gauge in self.aircraft.gauges}

    def list(self, list_id: str) -> str:
        """Title of a list."""
        return self._titles.get(list_id) or plain(list_id)

    def item(self, path: str) -> str:
        """What is read aloud for "list/item"."""
        item = self._items.get(path)
        return item.call if item is not None else plain(path.partition("/")[2] or path)

    def place(self, about: str) -> str:
        """An item with its list, or a list, or "" for neither."""
        list_id, _, item = about.partition("/")
        return f"{self.list(list_id)}: {self.item(about)}" if item else self.list(list_id)

    def gauge(self, gauge_id: str) -> str:
        """Spoken name of a gauge."""
        return self._gauges[gauge_id].call if gauge_id in self._gauges else plain(gauge_id)

    def gauge_of(self, path: str) -> tuple[Gauge, Band] | None:
        """The gauge an item asks for, and the values that are right."""
        item = self._items.get(path)
        task = item.task if item is not None else None
        if isinstance(task, ReadValue) and task.gauge in self._gauges:
            return self._gauges[task.gauge], task.accept
        if isinstance(task, Await) and task.condition.gauge in self._gauges:
            return self._gauges[task.condition.gauge], task.condition.band
        return None

    def known(self, gauge_id: str) -> Gauge | None:
        """The gauge, if the file has it."""
        return self._gauges.get(gauge_id)

    def amount(self, value: str, gauge_id: str) -> str:
        """A value with its gauge's unit."""
        gauge = self._gauges.get(gauge_id)
        return with_unit(value, gauge.unit) if gauge is not None else value


def plain(key: str) -> str:
    """A key as words."""
    return key.replace("-", " ").replace("/", ": ")


def unit(symbol: str) -> str:
    """As it is printed; "1" stands for none."""
    return {"1": "", "degC": "\u00b0C", "degF": "\u00b0F"}.get(symbol, symbol)


def with_unit(value: object, symbol: str) -> str:
    """A figure and its unit, which do not part at the end of a line."""
    return f"{value}\u00a0{unit(symbol)}".rstrip("\u00a0")


def clock(seconds: float) -> str:
    """Session time: 4:05, or 1:04:05."""
    whole = int(seconds + 1e-9)
    hours, minutes = whole // 3600, whole // 60 % 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"


def number(text: str) -> Decimal | None:
    """A figure out of a fact; None if it is none."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() else None


def band(wanted: Band, symbol: str) -> str:
    """Values that are right, in words; "" for every value."""
    low, high = wanted.at_least, wanted.at_most
    if low is not None and high is not None:
        return f"{low} to {with_unit(high, symbol)}"
    if low is not None:
        return f"at least {with_unit(low, symbol)}"
    return f"at most {with_unit(high, symbol)}" if high is not None else ""


def limit(one: Limit, symbol: str) -> str:
    """A limit in words, as it was written."""
    parts = []
    for word, inside in (("caution", one.caution), ("never", one.never)):
        if inside.at_least is not None:
            parts.append(f"{word} below {with_unit(inside.at_least, symbol)}")
        if inside.at_most is not None:
            parts.append(f"{word} above {with_unit(inside.at_most, symbol)}")
    if one.transient is not None:
        over = with_unit(one.transient.above, symbol)
        parts.append(f"above {over} for at most {one.transient.seconds:g}\u00a0s")
    return "; ".join(parts)
