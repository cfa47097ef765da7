"""What the parts of a drill are made with: the aircraft's items, times and figures.

Rule of this file: a name that the aircraft does not have is a problem with its place
and the nearest name that it has.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from callout.checklist.fields import duration, number
from callout.checklist.model import Aircraft, Item
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, Place, did_you_mean, quoted
from callout.trainer import figures_of
from callout.trainer.fitting import EXAMPLE, Engine
from callout.trainer.model import Amount, Scene, Window
from callout.trainer.scene import CONTROLS
from callout.trainer.schema import SceneEntry


@dataclass
class Parts:
    """The aircraft a drill is for, where problems go, and the engine of its scene."""

    aircraft: Aircraft
    problems: Collector
    engine: Engine = EXAMPLE

    @cached_property
    def times(self) -> dict[str, float]:
        """Times of the aircraft file by path."""
        return figures_of.times(self.aircraft)

    @cached_property
    def numbers(self) -> dict[str, float]:
        """Figures of the aircraft file by path."""
        return figures_of.numbers(self.aircraft)

    @cached_property
    def items(self) -> dict[str, Item]:
        """Items by "list/item"."""
        return {f"{c.id}/{item.id}": item for c in self.aircraft.lists for item in c.items()}

    def item(self, name: str, place: Place) -> Item | None:
        """The item of this name."""
        if name not in self.items:
            what = f"there is no item {quoted(name)} in the aircraft file; expected list/item"
            self.problems.add(place, what + did_you_mean(name, self.items))
        return self.items.get(name)

    def gauge(self, name: str, place: Place) -> bool:
        """Whether there is such a gauge; one that cannot be simulated is a problem."""
        known = [gauge.id for gauge in self.aircraft.gauges]
        if name not in known:
            what = f"there is no gauge {quoted(name)} in the aircraft file"
            self.problems.add(place, what + did_you_mean(name, known))
            return False
        if name in self.engine.left_out:
            what = f"a drill cannot show {quoted(name)}: {self.engine.left_out[name]}"
            self.problems.add(place, f"{what}; expected another gauge")
        return True

    def window(self, given: str, place: Place) -> Window:
        """A time as written, or the one at a path of the aircraft file."""
        if "/" not in given:
            return Window(duration(given))
        if given not in self.times:
            what = f"there is no time at {quoted(given)} in the aircraft file"
            near = did_you_mean(given, self.times)
            own = given.removeprefix("reactions/")
            if own != given and not did_you_mean(
                own, [name for name, _ in self.aircraft.reactions]
            ):
                near = '; write it there under "reactions", or give a time such as "6 s"'
            self.problems.add(place, what + near)
        return Window(self.times.get(given, 1.0), given)

    def figure(self, given: str, place: Place) -> float:
        """A number as written, or the one at a path of the aircraft file."""
        if "/" not in given:
            return float(number(given))
        if given not in self.numbers:
            what = f"there is no figure at {quoted(given)} in the aircraft file"
            self.problems.add(place, what + did_you_mean(given, self.numbers))
        return self.numbers.get(given, 0.0)


_BOUNDS = {
    "temperature": (-60.0, 60.0),
    "altitude": (-500.0, 6000.0),
    "battery": (0.0, 1.0),
    "residual-heat": (-60.0, 900.0),
    "battery-resistance": (0.1, 20.0),
    "starter-resistance": (0.1, 20.0),
    "starter-sticks": (0.0, 3600.0),
    "fuel-excess": (0.0, 5.0),
    "fuel-leak": (0.0, 0.01),
    "tailwind": (0.0, 30.0),
}
"""What the simulator can be given; beyond it its physics says nothing."""


def bounded(parts: Parts, name: str, values: tuple[float, ...], place: Place) -> None:
    """Note an amount that the simulator cannot be given."""
    low, high = _BOUNDS.get(name, (0.0, 1.0))
    if not all(low <= value <= high for value in values):
        parts.problems.add(place, f'"{name}" goes from {low:g} to {high:g}; expected that')


def scene(parts: Parts, entry: SceneEntry | None, node: Node) -> Scene:
    """The machine and the day."""
    if entry is None:
        return Scene()
    amounts = []
    for name, (low, high) in (entry.amounts or {}).items():
        place = node.at("amounts", name)
        bounded(parts, name, (low, high), place)
        if name in CONTROLS:
            parts.problems.add(place, f'"{name}" is a control; expected it in "does" of a line')
        amounts.append((name, Amount(low, high)))
    for name in entry.gauges or {}:
        parts.gauge(name, node.at("gauges", name))
    state = entry.engine_state or "any"
    states = {"any"} | {one.engine_state for one in parts.aircraft.lists}
    if state not in states:
        what = f"there is no engine state {quoted(state)} in the aircraft's lists"
        parts.problems.add(node.at("engine_state"), what + did_you_mean(state, states))
    return Scene(
        running=entry.engine == "idle",
        engine_state=state,
        amounts=tuple(amounts),
        ground_power=bool(entry.ground_power),
        lasts=entry.lasts or Scene().lasts,
        gauges=tuple((entry.gauges or {}).items()),
    )
