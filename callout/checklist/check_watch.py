"""Whether the watch over a start fits the rest of the file.

Rule of this file: as checks.py: it looks at drafts and notes problems, each at
the word that is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.check_references import item_path, known
from callout.checklist.draft_parts import FileDraft
from callout.checklist.model import Ask, Band, Gauge
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, listed, quoted
from callout.checklist.start_watch import GaugeSign, SaidSign, Sign, StartFault, StartWatch
from callout.words.understand import plain
from callout.words.universal import word_of

_WAYS = ("item", "said", "gauge")
_SLOPES = ("rises", "falls", "rises_less_than", "heads_for")
_OF_A_GAUGE = ("at_least", "at_most", "for", "over", "ahead", "limits", *_SLOPES)


def check(made: FileDraft, problems: Collector) -> None:
    """Note everything that does not fit."""
    if made.start_watch is not None:
        _Checker(made, made.start_watch, made.node.map["start_watch"], problems).check()


class _Checker:
    def __init__(self, made: FileDraft, watch: StartWatch, node: Node, problems: Collector) -> None:
        self._made = made
        self._watch = watch
        self._node = node
        self._problems = problems
        self._phases = [phase.id for phase in watch.phases]

    def check(self) -> None:
        watch, node = self._watch, self._node
        known(watch.list_id, self._made.lists, node.at("watches"), "list", self._problems)
        if watch.bare_numbers:
            self._gauge(watch.bare_numbers, node.map["bare_numbers"])
        written = node.map.get("logged", node)
        for gauge, part in zip(watch.logged, written.list or [written], strict=False):
            self._gauge(gauge, part)
        for sign, part in self._signs():
            self._sign(sign, part)
        for phase in watch.phases:
            self._phase(phase.missed, phase.within, node.map["phases"].map[phase.id])
        for fault in watch.faults:
            self._fault(fault, node.map["faults"].map[fault.id])

    def _signs(self) -> Iterator[tuple[Sign, Node]]:
        """Every sign, with the place where it is written."""
        node = self._node
        yield from zip(self._watch.begins, node.map["begins"].list, strict=True)
        for phase in self._watch.phases:
            written = node.map["phases"].map[phase.id].map["until"]
            yield from zip(phase.until, written.list, strict=True)
        for fault in self._watch.faults:
            written = node.map["faults"].map[fault.id]
            for key, signs in (("when", fault.when), ("stops", fault.stops)):
                part = written.map.get(key)
                yield from zip(signs, part.list if part else (), strict=True)

    def _phase(self, missed: str, within: float | None, node: Node) -> None:
        if missed:
            faults = [fault.id for fault in self._watch.faults]
            known(missed, faults, node.at("missed"), "fault", self._problems)
        if missed and within is None:
            what = '"missed" has no time; expected "within" beside it'
            self._problems.add(node.at("missed"), what)
        if within is not None and not missed:
            what = '"within" leads nowhere; expected "missed" with a fault beside it'
            self._problems.add(node.at("within"), what)

    def _fault(self, fault: StartFault, node: Node) -> None:
        place = node.at("abort")
        if known(fault.abort, self._made.lists, place, "list", self._problems):
            header = self._made.lists[fault.abort].header
            if header and header.kind != "abort":
                kind = header.kind or "normal"
                what = f'list "{fault.abort}" is of kind {kind}; expected one of kind abort'
                self._problems.add(place, what)
        for at, phase in enumerate(fault.during):
            known(phase, self._phases, node.at("during", at), "phase", self._problems)
        self._shown(fault, node)

    def _shown(self, fault: StartFault, node: Node) -> None:
        """A fault that nothing can show would never be called."""
        if fault.stops and fault.longest is None:
            what = '"stops" has no time to end; expected "longest" beside it'
            self._problems.add(node.map["stops"].key or node.at("stops"), what)
        shown = bool(fault.when) or fault.longest is not None
        if shown and not fault.during:
            what = f'fault "{fault.id}" has no "during"; expected the phases in which it counts'
            self._problems.add(node.key or node.place, what)
        missed = any(phase.missed == fault.id for phase in self._watch.phases)
        if not shown and not missed:
            what = f'nothing shows fault "{fault.id}"; expected "when", "longest"'
            self._problems.add(
                node.key or node.place, f'{what} or a phase with "missed: {fault.id}"'
            )

    def _sign(self, sign: Sign, node: Node) -> None:
        ways = [key for key in _WAYS if key in node.map]
        if len(ways) != 1:
            found = listed([f'"{way}"' for way in ways], "and") if ways else "none of them"
            what = f'a sign is an "item", words "said" or a "gauge"; found {found}'
            self._problems.add(node.place, f"{what}; expected one of them")
            return
        odd = next((key for key in _OF_A_GAUGE if key in node.map and ways != ["gauge"]), "")
        if odd:
            place = node.map[odd].key or node.map[odd].place
            what = f'"{odd}" belongs to a "gauge"; this sign is of kind "{ways[0]}"'
            self._problems.add(place, what)
        if isinstance(sign, GaugeSign):
            self._gauge_sign(sign, node)
        elif isinstance(sign, SaidSign):
            self._said(sign, node)
        else:
            item_path(sign.item, self._made, node.at("item"), self._problems)

    def _said(self, sign: SaidSign, node: Node) -> None:
        for at, words in enumerate(sign.said):
            place = node.at("said", at) if node.map["said"].list else node.at("said")
            word = word_of(plain(words))
            if word is not None:
                what = f'{quoted(words)} means "{word.value}" at any time; expected other words'
                self._problems.add(place, what)
            owner = self._answered_by(words)
            if owner:
                what = f'{quoted(words)} answers item "{owner}"'
                self._problems.add(place, f"{what}; expected `item: {owner}` here, or other words")

    def _answered_by(self, words: str) -> str:
        """The item of the watched list that these words tick, if one does."""
        one = self._made.lists.get(self._watch.list_id)
        for draft in one.items() if one else ():
            task = draft.item.task if draft.item else None
            if isinstance(task, Ask) and plain(words) in map(plain, task.answers):
                return f"{self._watch.list_id}/{draft.id}"
        return ""

    def _gauge_sign(self, sign: GaugeSign, node: Node) -> None:
        self._partners(sign, node)
        gauge = self._gauge(sign.gauge, node.map["gauge"])
        if gauge is None:
            return
        for key, value in (
            ("at_least", sign.band.at_least),
            ("at_most", sign.band.at_most),
            ("heads_for", sign.heads_for),
        ):
            if value is not None:
                self._possible(value, gauge, node.map[key])
        low, high = sign.band.at_least, sign.band.at_most
        if low is not None and high is not None and high < low:
            what = f"at least {low} and at most {high} leave nothing"
            self._problems.add(node.at("at_least"), f"{what}; expected the lower number first")
        if sign.limits:
            self._has_limits(gauge, node)

    def _partners(self, sign: GaugeSign, node: Node) -> None:
        """A sign shows something, and no key stands without the one it belongs to."""
        if sign.band == Band() and not sign.by_slope and not sign.limits:
            what = 'this gauge shows nothing; expected "at_least", "at_most", "limits: yes"'
            self._problems.add(node.place, f"{what} or one of {listed(_SLOPES)}")
        for key, other in (("heads_for", "ahead"), ("ahead", "heads_for")):
            if key in node.map and other not in node.map:
                self._problems.add(node.at(key), f'"{key}" has no "{other}"; expected it beside it')
        if "over" in node.map and not sign.by_slope:
            what = '"over" is the time of a slope; expected one of'
            self._problems.add(node.at("over"), f"{what} {listed(_SLOPES)} beside it")

    def _gauge(self, gauge_id: str, node: Node) -> Gauge | None:
        if not known(gauge_id, self._made.gauges, node.place, "gauge", self._problems):
            return None
        return self._made.gauges[gauge_id][1]

    def _possible(self, value: Decimal, gauge: Gauge, node: Node) -> None:
        if not gauge.possible.holds(value):
            lowest, highest = gauge.possible.at_least, gauge.possible.at_most
            what = f"{value} {gauge.unit} is nothing that {gauge.call} can show"
            self._problems.add(node.place, f"{what}; expected {lowest} to {highest}")

    def _has_limits(self, gauge: Gauge, node: Node) -> None:
        one = self._made.lists.get(self._watch.list_id)
        state = (one.header.engine_state if one and one.header else None) or "any"
        here = [limit for limit in gauge.limits if limit.state in ("any", state)]
        if not any(limit.never != Band() or limit.transient for limit in here):
            what = f'{gauge.call} has no "never" or "transient" limit in engine state "{state}"'
            self._problems.add(node.at("limits"), f"{what}; expected one, or a number here")
