"""Whether the numbers of a file fit their gauges, and one another.

Rule of this file: it looks at drafts and notes problems, each at the number
that is wrong; it changes nothing.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.draft_parts import FileDraft, ItemDraft, ListDraft
from callout.checklist.fields import duration
from callout.checklist.model import Await, Band, Gauge, Limit, ReadValue, Wait
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, listed

LIMITS = frozenset({"caution", "never", "transient", "rise_at_most", "fall_at_most"})
"""Keys of which a limit must have one."""


def check(made: FileDraft, problems: Collector) -> None:
    """Note every number that cannot be meant."""
    checker = _Checker(made, problems)
    for node, gauge in made.gauges.values():
        if gauge:
            checker.gauge(node, gauge)
    for one in made.lists.values():
        for draft in one.items():
            checker.item(one, draft)


class _Checker:
    def __init__(self, made: FileDraft, problems: Collector) -> None:
        self._made = made
        self._problems = problems

    def gauge(self, node: Node, gauge: Gauge) -> None:
        at_range = node.map["range"]
        for end in (gauge.possible.at_least, gauge.possible.at_most):
            assert end is not None
            self._digits(at_range, end, gauge)
        self._jitter(node, gauge)
        limits = node.map.get("limits")
        for limit in gauge.limits:
            assert limits is not None
            self._limit(limits.map[limit.state], limit, gauge)

    def _jitter(self, node: Node, gauge: Gauge) -> None:
        lowest, highest = gauge.possible.at_least, gauge.possible.at_most
        assert lowest is not None
        assert highest is not None
        if gauge.jitter is not None and not 0 < gauge.jitter < highest - lowest:
            what = f"{gauge.jitter} is no jitter of a gauge that shows {lowest} to {highest}"
            self._problems.add(node.map["jitter"].place, f"{what}; expected more than 0 and less")

    def _limit(self, node: Node, limit: Limit, gauge: Gauge) -> None:
        for key, band in (("caution", limit.caution), ("never", limit.never)):
            part = node.map.get(key)
            if part:
                self._outside(part, band, gauge)
        if limit.caution != Band() and limit.never != Band():
            self._caution_first(node, limit)
        if limit.transient:
            self._transient(node, limit, gauge)
        if not LIMITS & node.map.keys():
            what = f"no limit is written here; expected {listed(sorted(LIMITS))}"
            self._problems.add(node.place, what)
        ceiling = limit.transient and limit.transient.never_above
        if limit.look_ahead and limit.never == Band() and ceiling is None:
            what = "there is no never limit here to look ahead to"
            self._problems.add(
                node.map["look_ahead"].place, f"{what}; expected one, or no look_ahead"
            )

    def _outside(self, part: Node, band: Band, gauge: Gauge) -> None:
        if band == Band():
            self._problems.add(part.place, 'nothing is written here; expected "below" or "above"')
        for key, value in (("below", band.at_least), ("above", band.at_most)):
            if value is not None:
                self._possible(part.map[key], value, gauge)
        if band.at_least is not None and band.at_most is not None and band.at_least >= band.at_most:
            what = f"below {band.at_least} and above {band.at_most} leave nothing between"
            self._problems.add(part.map["below"].place, f"{what}; expected the lower number first")

    def _caution_first(self, node: Node, limit: Limit) -> None:
        """A caution that comes later than the limit itself is no caution."""
        caution, never = limit.caution, limit.never
        if _less(caution.at_least, never.at_least):
            what = f"caution below {caution.at_least} comes after never below {never.at_least}"
            self._problems.add(node.at("caution", "below"), f"{what}; expected it earlier")
        if _less(never.at_most, caution.at_most):
            what = f"caution above {caution.at_most} comes after never above {never.at_most}"
            self._problems.add(node.at("caution", "above"), f"{what}; expected it earlier")

    def _transient(self, node: Node, limit: Limit, gauge: Gauge) -> None:
        passing, part = limit.transient, node.map["transient"]
        assert passing is not None
        self._possible(part.map["above"], passing.above, gauge)
        highest = passing.never_above
        if highest is not None:
            self._possible(part.map["never_above"], highest, gauge)
            if highest <= passing.above:
                what = f"never above {highest} is not higher than above {passing.above}"
                self._problems.add(part.at("never_above"), f"{what}; expected a higher number")
        if passing.in_all is not None and passing.in_all < passing.seconds:
            what = '"in_all" is shorter than "for"'
            self._problems.add(part.at("in_all"), f"{what}; expected a longer time")
        never = limit.never.at_most
        if never is not None and (passing.above >= never or _less(never, highest)):
            what = f"this allows what never above {never} forbids"
            self._problems.add(part.at("above"), f"{what}; expected the transient below it")

    def _possible(self, node: Node, value: Decimal, gauge: Gauge) -> None:
        lowest, highest = gauge.possible.at_least, gauge.possible.at_most
        if not gauge.possible.holds(value):
            what = f"{value} {gauge.unit} is nothing that {gauge.call} can show"
            self._problems.add(node.place, f"{what}; expected {lowest} to {highest}")
        self._digits(node, value, gauge)

    def _digits(self, node: Node, value: Decimal, gauge: Gauge) -> None:
        if value != round(value, gauge.decimals):
            read = f"{gauge.call} is read with {gauge.decimals} digits after the point"
            self._problems.add(node.place, f'{value} is finer than that: {read} (its "decimals")')

    def item(self, one: ListDraft, draft: ItemDraft) -> None:
        item, node = draft.item, draft.node
        if item is None:
            return
        if isinstance(item.task, ReadValue):
            self._band(one, node, item.task.gauge, item.task.accept)
        elif isinstance(item.task, Await):
            condition = item.task.condition
            part = node.map["await"]
            if condition.band == Band():
                what = 'there is nothing to wait for; expected "at_least" or "at_most"'
                self._problems.add(part.place, what)
            self._band(one, part, condition.gauge, condition.band)
            if item.task.within is not None and condition.seconds >= item.task.within:
                what = '"for" is not shorter than "within"; it could never be met'
                self._problems.add(part.at("for"), what)
        elif isinstance(item.task, Wait):
            self._marks(node, item.task)

    def _band(self, one: ListDraft, node: Node, gauge_id: str, band: Band) -> None:
        _, gauge = self._made.gauges.get(gauge_id, (None, None))
        if gauge is None:
            return
        for key, value in (("at_least", band.at_least), ("at_most", band.at_most)):
            if value is not None:
                self._possible(node.map[key], value, gauge)
        if _less(band.at_most, band.at_least):
            what = f"at least {band.at_least} and at most {band.at_most} leave nothing"
            self._problems.add(node.at("at_least"), f"{what}; expected the lower number first")
            return
        state = (one.header.engine_state if one.header else None) or "any"
        for limit in gauge.limits:
            if limit.state in ("any", state):
                self._leaves_something(node, band, limit)

    def _leaves_something(self, node: Node, band: Band, limit: Limit) -> None:
        if _less(limit.never.at_most, band.at_least):
            what = f"at least {band.at_least} is above the limit: never above {limit.never.at_most}"
            self._problems.add(node.at("at_least"), f"{what}; no value could be right")
        if _less(band.at_most, limit.never.at_least):
            what = f"at most {band.at_most} is below the limit: never below {limit.never.at_least}"
            self._problems.add(node.at("at_most"), f"{what}; no value could be right")

    def _marks(self, node: Node, task: Wait) -> None:
        written = node.map["marks"].list if "marks" in node.map else []
        for mark, part in zip(_in_order(written, task.marks), written, strict=False):
            if mark >= task.seconds:
                what = f'the mark "{part.text}" is not shorter than the wait'
                wait = node.map["wait"].text
                self._problems.add(part.place, f'{what}; expected less than "{wait}"')
        if len(set(task.marks)) != len(task.marks):
            place = node.at("marks")
            self._problems.add(place, "two marks are the same time; expected each once")


def _in_order(written: list[Node], marks: tuple[float, ...]) -> list[float]:
    """The marks in the order written (the model has them longest first)."""
    assert len(written) == len(marks)
    return [duration(part.text) for part in written]


def _less(a: Decimal | None, b: Decimal | None) -> bool:
    return a is not None and b is not None and a < b
