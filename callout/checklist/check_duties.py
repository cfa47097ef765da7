"""Whether what is counted and timed beside the lists fits the rest of the file.

Rule of this file: as checks.py: it looks at drafts and notes problems, each at
the word that is wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from callout.checklist import check_due
from callout.checklist.check_references import item_path, known
from callout.checklist.draft_parts import FileDraft
from callout.checklist.duties import Counter
from callout.checklist.model import Ask, Band, Condition, Item, Wait
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, quoted


def check(made: FileDraft, problems: Collector) -> None:
    """Note everything that does not fit."""
    checker = _Checker(made, problems)
    for node, counter in made.counters.values():
        if counter:
            checker.counter(node, counter)
    checker.cool_down()
    checker.run_down()
    checker.residual_fire()
    check_due.check(made, problems)


class _Checker:
    def __init__(self, made: FileDraft, problems: Collector) -> None:
        self._made = made
        self._problems = problems

    def counter(self, node: Node, counter: Counter) -> None:
        ways = [key for key in ("counts", "seconds") if key in node.map]
        if len(ways) != 1:
            found = "both" if ways else "neither"
            what = f'counter "{counter.id}" has {found} of "counts" and "seconds"'
            self._problems.add(node.key or node.place, f"{what}; expected one of them")
        self._paths(node, "counts")
        self._paths(node, "reset_by")
        timed = node.map.get("seconds")
        if timed is not None:
            self._paths(timed, "from")
            self._paths(timed, "to")
            both = next((path for path in counter.ends if path in counter.counts), "")
            if both:
                what = f"{quoted(both)} begins and ends it; expected another item here"
                self._problems.add(timed.at("to"), what)
            if counter.shown is not None:
                self._band(timed.map["shown_by"], counter.shown)
        self._partners(node)
        if counter.gives_back:
            states = ["any", *self._made.engine_states]
            place = node.at("gives_back", "state")
            known(counter.gives_back.state, states, place, "engine state", self._problems)

    def _partners(self, node: Node) -> None:
        """Keys that mean nothing without another one."""
        for key, needed in (
            ("rest", ("most", "total_at_most")),
            ("gives_back", ("most",)),
            ("each_at_most", ("seconds",)),
            ("total_at_most", ("seconds",)),
        ):
            if key in node.map and not node.map.keys() & set(needed):
                words = " or ".join(f'"{one}"' for one in needed)
                place = node.map[key].key or node.map[key].place
                self._problems.add(place, f'"{key}" without {words}; expected it beside this')

    def _paths(
        self, node: Node, key: str, right: Callable[[Item], bool] | None = None, what: str = ""
    ) -> None:
        """Each path names an item, and one of the right kind."""
        part = node.map.get(key)
        if part is None:
            return
        for one in part.list or [part]:
            item = item_path(one.text, self._made, one.place, self._problems)
            if item is not None and right is not None and not right(item):
                found = f"item {quoted(one.text)} is of another kind"
                self._problems.add(one.place, f"{found}; expected {what}")

    def cool_down(self) -> None:
        node = self._made.node.map.get("cool_down")
        if node is None or self._made.cool_down is None:
            return
        self._paths(node, "wait", lambda item: isinstance(item.task, Wait), "a timed wait")
        asks = "one that is asked and answered"
        self._paths(node, "blocks", lambda item: isinstance(item.task, Ask), asks)
        self._paths(node, "starts")
        for at, list_id in enumerate(self._made.cool_down.lists):
            place = node.at("lists", at)
            if "lists" in node.map:
                known(list_id, self._made.lists, place, "list", self._problems)
        for condition in self._made.cool_down.idle:
            self._band(node.map["idle"].map[condition.gauge], condition)

    def _band(self, part: Node, condition: Condition) -> None:
        """The gauge is there, and a band that it can show is written."""
        place, band = part.at("gauge") if "gauge" in part.map else part.key, condition.band
        gauges = self._made.gauges
        if not known(condition.gauge, gauges, place or part.place, "gauge", self._problems):
            return
        if band == Band():
            what = 'nothing is written here; expected "at_least" or "at_most"'
            self._problems.add(part.place, what)
        for key, value in (("at_least", band.at_least), ("at_most", band.at_most)):
            if value is not None:
                self._possible(part, key, condition.gauge, value)

    def _possible(self, part: Node, key: str, gauge_id: str, value: Decimal) -> None:
        _, gauge = self._made.gauges[gauge_id]
        if gauge is not None and not gauge.possible.holds(value):
            ends = f"{gauge.possible.at_least} to {gauge.possible.at_most}"
            what = f"{value} {gauge.unit} is nothing that {gauge.call} can show"
            self._problems.add(part.at(key), f"{what}; expected {ends}")

    def run_down(self) -> None:
        node, down = self._made.node.map.get("run_down"), self._made.run_down
        if node is None or down is None:
            return
        self._paths(node, "starts")
        self._paths(node, "ends")
        if down.standstill is not None:
            self._band(node.map["standstill"], down.standstill)
        if not node.map.keys() & {"standstill", "ends", "said"}:
            what = 'nothing tells standstill; expected "standstill", "ends" or "said"'
            self._problems.add(node.key or node.place, what)

    def residual_fire(self) -> None:
        node, fire = self._made.node.map.get("residual_fire"), self._made.residual_fire
        if node is None or fire is None:
            return
        self._paths(node, "starts")
        shown = known(fire.gauge, self._made.gauges, node.at("gauge"), "gauge", self._problems)
        if shown and fire.above is not None:
            self._possible(node, "above", fire.gauge, fire.above)
        if known(fire.opens, self._made.lists, node.at("opens"), "list", self._problems):
            header = self._made.lists[fire.opens].header
            if header and (header.kind or "normal") == "normal":
                found = f'list "{fire.opens}" is of kind normal'
                what = f"{found}; expected one of kind emergency or abort"
                self._problems.add(node.at("opens"), what)
        if fire.above is None and fire.rises_by is None:
            what = 'nothing shows a fire; expected "above" or "rises_by"'
            self._problems.add(node.key or node.place, what)
