"""What benches print -> rows for people, the ears beside one another.

Rule of this file: pure; objects in, rows out. A key that is not there is a KeyError.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from callout.benches.all_benches import Object, Row

OURS = "built-in"
Claims = Mapping[Any, str]
"""Condition -> the README's words."""
Rows = Callable[[Sequence[Object]], Iterator[Row]]


def heard(what: str, claims: Claims) -> Rows:
    """Shares right by condition, of `hearing`, `digits`, `answers` and `first-word`."""

    def rows(said: Sequence[Object]) -> Iterator[Row]:
        for key in dict.fromkeys((one["snr"], one.get("word", 0)) for one in said):
            these = [one for one in said if (one["snr"], one.get("word", 0)) == key]
            snr, word = key
            title = f"{what}, {snr if snr == 'clean' else f'{snr:g} dB'}"
            title += f", word {word}" if word else ""
            yield _beside(title, these, _share, claims.get(snr, ""))

    return rows


def _beside(
    what: str, said: Sequence[Object], told: Callable[[Object], str], claim: str = ""
) -> Row:
    by_ear = {str(one["ear"]): told(one) for one in said}
    ours = by_ear.pop(OURS, "")
    return Row(what, ours, tuple(by_ear.items()), claim)


def _share(one: Object) -> str:
    low, high = 100 * one["low"], 100 * one["high"]
    share = 100 * one["correct"] / one["n"]
    return f"{share:.1f} % ({low:.0f} – {high:.0f}) of {one['n']}, {one['wrong']} wrong"


def talk(claims: Claims) -> Rows:
    """Wrong ticks by kind of item."""

    def rows(said: Sequence[Object]) -> Iterator[Row]:
        for kind in dict.fromkeys(one["kind"] for one in said):
            these = [one for one in said if one["kind"] == kind]
            yield _beside(f"talk at {kind} items, wrong ticks", these, _ticks, claims.get(kind, ""))

    return rows


def _ticks(one: Object) -> str:
    return f"{one['count']} in {one['hours']:.2f} h"


def grammars(said: Sequence[Object]) -> Iterator[Row]:
    """How long a change of grammar takes."""
    for one in said:
        text = f"median {1000 * one['median']:.1f} ms, worst {1000 * one['worst']:.1f} ms"
        yield Row(f"change to what counts at the next item, of {one['n']}", text)


def turn(said: Sequence[Object]) -> Iterator[Row]:
    """From a word to the next call."""
    for one in said:
        if one["n"]:
            where = "virtual devices" if one["clock"] == "real" else "recording time"
            text = f"median {one['p50_ms']:.0f} ms, 95 % {one['p95_ms']:.0f} ms of {one['n']}"
            yield Row(f"end of the pilot's word to the next call, {where}", text)


def own_voice(said: Sequence[Object]) -> Iterator[Row]:
    """Its own calls taken for answers."""
    for one in said:
        where = f"{one['way']}, echo {one['level_db']:g} dB, {one['delay_ms']:g} ms late"
        if one["spoken"]:
            text = f"{one['understood']} of {one['spoken']}, {len(one['ticked'])} wrong"
            yield Row(f"pilot over its calls, understood: {where}", text)
        else:
            text = f"{len(one['ticked'])} of {one['calls']}"
            yield Row(f"its own calls taken for answers: {where}", text)


def calls(said: Sequence[Object]) -> Iterator[Row]:
    """How well its calls are understood by PocketSphinx, which understands less than people."""
    for one in said:
        if "whole" in one:
            snr = one["snr"] if one["snr"] == "clean" else f"{one['snr']:g} dB"
            text = f"{100 * one['words_wrong']:.1f} % of words wrong, of {one['n']} calls"
            yield Row(f"its calls heard by PocketSphinx, {snr}", text)


def starts(said: Sequence[Object]) -> Iterator[Row]:
    """Bad starts called, good ones broken off."""
    for one in said:
        every, seed = one["all"], f"seed {one['seed']}"
        bad, good = every["bad"], every["good"]
        in_time = f"{every['called']} of {bad}, {every['late']} late, {every['missed']} missed"
        yield Row(f"simulated bad starts called within a second, {seed}", in_time)
        yield Row(f"simulated good starts broken off, {seed}", f"{every['false_aborts']} of {good}")
        if "lead_p50_s" in every:
            lead = f"{every['lead_p50_s']:g} s at the median, {every['lead_p5_s']:g} s at 5 %"
            yield Row(f"hot starts called before the limit by, {seed}", lead)


def limits(said: Sequence[Object]) -> Iterator[Row]:
    """Calls ahead of a limit, alarms for nothing, cost."""
    for one in said:
        if one["what"] == "starts":
            text = f"{one['false']} of {one['good']}"
            yield Row(f"rising fast said in good starts, {one['hz']:g} Hz", text)
            yield Row(
                "hot starts without any call before the limit", f"{one['silent']} of {one['hot']}"
            )
        elif one["what"] == "noise":
            text = f"{one['ahead']} ahead, {one['rate']} rates in {one['hours']:g} h"
            yield Row(f"limits called for nothing, {one['kind']}", text)
        else:
            yield Row("all limits of a gauge over time, a sample", f"{one['look_us']:.1f} us")


def feed(claim: str) -> Rows:
    """What a feed costs."""

    def rows(said: Sequence[Object]) -> Iterator[Row]:
        for one in said:
            each = one["us_per_line"]
            text = f"{each:.0f} us a line, {each / 100:.1f} % of a core at 100 lines a second"
            yield Row(
                f"a feed through limits, engine and logbook, {one['lines']} lines", text, (), claim
            )

    return rows


def logbook(said: Sequence[Object]) -> Iterator[Row]:
    """Opening, reports, trends."""
    for one in said:
        where = f"{one['sessions']} sessions, {one['megabytes']:.0f} MB"
        yield Row(f"opening a logbook of {where}", f"{one['opening']:.2f} s")
        yield Row("report of one session in it, the slowest", f"{max(one['reports']):.2f} s")
        yield Row("trends over all of them", f"{one['trends']:.2f} s")
        yield Row("a backup that was checked", f"{one['backup']:.1f} s")


def train(said: Sequence[Object]) -> Iterator[Row]:
    """Trainees by rule, in synthetic voices."""
    table = [one for part in said for one in part["table"]]
    for kind, voice in dict.fromkeys((one["kind"], one["voice"]) for one in table):
        these = [one for one in table if (one["kind"], one["voice"]) == (kind, voice)]
        right = sum(not one["wrong"] for one in these)
        yield Row(
            f"drills by voice scored right, {kind} trainee, {voice}", f"{right} of {len(these)}"
        )
