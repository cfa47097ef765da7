"""Facts of a session as short sentences for people.

Rule of this file: one row in the table for each fact that is told in a report's
timeline; a fact that has no row is told item by item, or is not for people. What
the rows do not name is not lost: the logbook has it.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from callout.engine.effects import Record
from callout.reports.names import Names, clock, plain
from callout.reports.values import CAUTION, NOTE, WARNING

_Data = dict[str, str]
_Words = Callable[[Names, str, _Data], str]


def _value(names: Names, data: _Data) -> str:
    gauge = data.get("gauge", "")
    text = f"{names.gauge(gauge)} {names.amount(data.get('value', ''), gauge)}".strip()
    if data.get("kind"):
        text += f", {data['kind']}"
    if "limit" in data:
        text += f", limit {names.amount(data['limit'], gauge)}"
    if "seconds" in data:
        text += f" for {data['seconds']}\u00a0s"
    return text


_LIMITS = {
    "NEVER": "never-exceed limit", "IN_ALL": "time above in all", "TOO_LONG": "time above",
    "AHEAD": "rising fast", "RATE": "rate", "TRANSIENT": "transient limit", "CAUTION": "caution",
}  # fmt: skip
"""How a warning about a gauge is called by the engine -> in words."""


def warning(names: Names, key: str) -> str:
    """A warning by its name in the engine: "exhaust-temperature/NEVER"."""
    of, _, kind = key.partition("/")
    return f"{names.gauge(of)}, {_LIMITS[kind]}" if kind in _LIMITS else plain(key)


def _seconds(data: _Data, key: str = "seconds") -> str:
    try:
        return clock(float(data[key]))
    except (KeyError, ValueError):
        return "some time"


def _run_down(names: Names, about: str, data: _Data) -> str:
    del names, about
    usual = f", usually {float(data['usual']):.0f}\u00a0s" if "usual" in data else ""
    return f"run-down {float(data['seconds']):.0f}\u00a0s{usual}"


def _overridden(names: Names, about: str, data: _Data) -> str:
    needs = f" ({names.place(data['needs'])} was not done)" if data.get("needs") else ""
    if data.get("squawks"):
        needs += f" (grounded by squawk {data['squawks']})"
    rest = f" (limit of {plain(data['duty'])})" if data.get("duty") else ""
    return f"overridden: {names.place(about)}{needs}{rest}; reason: {data.get('reason', 'none')}"


def _watched(names: Names, about: str, data: _Data) -> str:
    del names, about
    return f"start watched for {_seconds(data)}: {plain(data.get('outcome', ''))}"


_TOLD: dict[str, tuple[str, _Words]] = {
    "limit passed": (WARNING, lambda n, a, d: f"limit passed: {_value(n, d)}"),
    "limit ahead": (CAUTION, lambda n, a, d: f"limit ahead: {_value(n, d)}"),
    "warning": (WARNING, lambda n, a, d: f"{n.place(a)} {_value(n, d)}".strip()),
    "caution": (CAUTION, lambda n, a, d: f"{n.place(a)} {_value(n, d)}".strip()),
    "residual fire": (WARNING, lambda n, a, d: f"residual fire: {_value(n, d)}"),
    "start fault": (WARNING, lambda n, a, d: f"start broken off: {plain(d.get('fault', ''))}"),
    "time missed": (
        CAUTION, lambda n, a, d: f"not in time: {n.place(a)} (within {d.get('within', '')} s)"
    ),
    "duty limit": (
        CAUTION,
        lambda n, a, d: f"{plain(d.get('counter', ''))} longer than {d.get('limit', '')}\u00a0s",
    ),
    "duty refused": (
        CAUTION, lambda n, a, d: f"{n.list(a)} not opened: {plain(d.get('counter', ''))}"
    ),
    "run-down short": (CAUTION, lambda n, a, d: f"run-down short: {_run_down(n, a, d)}"),
    "sensor fault": (
        CAUTION,
        lambda n, a, d: f"sensor: {n.gauge(d.get('gauge', ''))} {d.get('kind', '')}",
    ),
    "lost": (CAUTION, lambda n, a, d: f"lost: {d.get('part', '')} {d.get('what', '')}".strip()),
    "warnings not answered": (
        CAUTION,
        lambda n, a, d: "warnings left without an answer: "
        + ", ".join(warning(n, key) for key in d.get("keys", "").split("; ")),
    ),
    "start phase not seen": (
        CAUTION, lambda n, a, d: f"not seen in the start: {plain(d.get('phase', ''))}"
    ),
    "time limit not watched": (CAUTION, lambda n, a, d: f"time not watched: {n.place(a)}"),
    "came back": (CAUTION, lambda n, a, d: f"the program came back after {_seconds(d, 'gap')}"),
    "clock set back": (CAUTION, lambda n, a, d: "the machine's clock was set back"),
    "overridden": (CAUTION, _overridden),
    "warning answered": (NOTE, lambda n, a, d: f"answered: {warning(n, d.get('key', ''))}"),
    "sensor good": (NOTE, lambda n, a, d: f"sensor works: {n.gauge(d.get('gauge', ''))}"),
    "restored": (NOTE, lambda n, a, d: f"works again: {d.get('part', '')}"),
    "list opened": (NOTE, lambda n, a, d: f"opened: {n.list(a)}"),
    "changed list told": (NOTE, lambda n, a, d: f"changed since it was last run: {n.list(a)}"),
    "list refused": (NOTE, lambda n, a, d: f"not opened: {n.list(a)}"),
    "list reopened": (NOTE, lambda n, a, d: f"opened again: {n.list(a)}"),
    "deferred": (NOTE, lambda n, a, d: f"deferred: {n.place(a)}"),
    "skipped": (NOTE, lambda n, a, d: f"skipped: {n.place(a)}"),
    "reopened": (NOTE, lambda n, a, d: f"to be done again: {n.place(a)} ({d.get('why', '')})"),
    "held": (NOTE, lambda n, a, d: "held"),
    "standing by": (NOTE, lambda n, a, d: "standing by"),
    "parked": (NOTE, lambda n, a, d: "parked: no answer"),
    "resumed": (NOTE, lambda n, a, d: "resumed"),
    "start began": (NOTE, lambda n, a, d: "start began"),
    "start phase": (
        NOTE, lambda n, a, d: f"start: {plain(d.get('phase', ''))} after {d.get('at', '')}\u00a0s"
    ),
    "start watched": (NOTE, _watched),
    "cool-down started": (NOTE, lambda n, a, d: f"cool-down of {_seconds(d)} began"),
    "cool-down started again": (NOTE, lambda n, a, d: f"cool-down of {_seconds(d)} began again"),
    "cool-down complete": (NOTE, lambda n, a, d: f"cool-down complete after {_seconds(d)}"),
    "power raised": (NOTE, lambda n, a, d: "power raised in the cool-down"),
    "blocked": (NOTE, lambda n, a, d: f"waited for the cool-down: {n.place(a)}"),
    "run-down": (NOTE, _run_down),
    "time over": (NOTE, lambda n, a, d: f"timed wait over: {n.place(a)}"),
    "choice not made": (NOTE, lambda n, a, d: f"not chosen: {plain(d.get('choice', ''))}"),
    "squawk opened": (NOTE, lambda n, a, d: f"squawk: {d.get('called', '')}"),
    "squawk kept": (NOTE, lambda n, a, d: f"squawk kept ({d.get('how', '')})"),
    "squawk dropped": (NOTE, lambda n, a, d: "squawk taken back"),
    "squawk read": (NOTE, lambda n, a, d: f"open squawk {d.get('squawk', '')} read"),
    "squawk played": (NOTE, lambda n, a, d: f"squawk {d.get('squawk', '')} played"),
    "squawk closed": (
        NOTE, lambda n, a, d: f"squawk {d.get('squawk', '')} closed: {d.get('how', '')}"
    ),
    "squawk reopened": (NOTE, lambda n, a, d: f"squawk {d.get('squawk', '')} open again"),
    "aircraft grounded": (
        CAUTION, lambda n, a, d: f"aircraft grounded by squawk {d.get('squawk', '')}"
    ),
    "grounding taken back": (NOTE, lambda n, a, d: "grounding taken back"),
    "list grounded": (
        CAUTION, lambda n, a, d: f"{n.list(a)} not opened: squawk {d.get('squawks', '')} grounds"
    ),
    "session recorded": (NOTE, lambda n, a, d: "the sound of the session is recorded"),
    "session ended": (NOTE, lambda n, a, d: f"session ended: {d.get('why', '')}"),
}  # fmt: skip

TOLD = MappingProxyType(_TOLD)
"""Fact -> how grave it is, and its sentence."""

_LISTS = {"complete", "not complete", "aborted", "left"}


def told(names: Names, fact: Record) -> tuple[str, str] | None:
    """(how grave, sentence) of a fact; None for one that is not told."""
    data = dict(fact.data)
    outcome = fact.fact.removeprefix("list ")
    if fact.fact.startswith("list ") and outcome in _LISTS:
        grave = NOTE if outcome in ("complete", "left") else CAUTION
        return grave, f"{names.list(fact.about)} {outcome}"
    if fact.fact not in TOLD:
        return None
    grave, words = TOLD[fact.fact]
    return grave, words(names, fact.about, data)
