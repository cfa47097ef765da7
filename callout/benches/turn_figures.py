"""Figures of measured turns: percentiles, where the time went, what it took.

Rule of this file: numbers in, numbers and lines of text out; a figure that was
not measured is not there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from callout.benches.turn_found import STEPS, Measured, Turn


def as_json(measured: Measured, clock: str, load: Sequence[float]) -> dict[str, Any]:
    """Everything, in milliseconds, percent of one core, and MB."""
    answers = [turn for turn in measured.turns if turn.kind == "answer"]
    row: dict[str, Any] = {"clock": clock, **_spread([t.gap for t in answers])}
    row["refused"] = dict(measured.refused)
    row["steps_ms"] = {step: _spread(times) for step in STEPS if (times := _times(answers, step))}
    row["words_ms"] = {
        text: round(1000 * float(np.median([turn.gap for turn in answers if turn.text == text])))
        for text in sorted({turn.text for turn in answers})
    }
    values = [turn.gap for turn in measured.turns if turn.kind == "value"]
    if values:
        row["values"] = _spread(values)
    stops = [turn.stopped for turn in measured.turns if turn.stopped is not None]
    if stops:
        row["barge_in"] = _spread(stops)
    if measured.waiting:
        row["cpu_waiting_percent"] = round(100 * float(np.median(measured.waiting)), 1)
    if measured.usage is not None:
        usage = measured.usage
        row["memory_mb"] = {"resident": round(usage.resident),
                            "proportional": round(usage.proportional),
                            "peak": round(usage.peak)}  # fmt: skip
    if measured.starts:
        row["ran_out"] = measured.ran_out
        row["start_ms"] = _spread(measured.starts)
    row["load_before_after"] = [round(value, 2) for value in load]
    return row


def _times(turns: Sequence[Turn], step: str) -> list[float]:
    return [turn.steps[step] for turn in turns if step in turn.steps]


def _spread(seconds: Sequence[float]) -> dict[str, float | int]:
    milliseconds = 1000 * np.asarray(seconds, float)
    if not len(milliseconds):
        return {"n": 0}
    p50, p95 = np.percentile(milliseconds, (50, 95))
    return {"p50_ms": round(float(p50), 1), "p95_ms": round(float(p95), 1), "n": len(milliseconds)}


def lines(row: dict[str, Any]) -> list[str]:
    """The same for people."""
    if not row["n"]:
        return ["No answer was understood: nothing was measured."]
    where = "through virtual devices" if row["clock"] == "real" else "in recording time"
    told = [
        f"end of a word to the next call, {where}: {_told(row)}, {row['n']} answers",
        f"  {sum(row['refused'].values())} times not understood and said again",
    ]
    told += [f"  {step:16} {_told(spread)}" for step, spread in row["steps_ms"].items()]
    told += [f"  {text!r}: median {gap} ms" for text, gap in row["words_ms"].items()]
    if "values" in row:
        told.append(
            f"the same for values, whose read-back is made then: {_told(row['values'])}, "
            f"{row['values']['n']} values"
        )
    if "barge_in" in row:
        told.append(
            f"speech stops after an accepted word: {_told(row['barge_in'])}, "
            f"{row['barge_in']['n']} times"
        )
    if "cpu_waiting_percent" in row:
        told.append(f"processor while waiting: {row['cpu_waiting_percent']:.1f} % of one core")
    if "memory_mb" in row:
        memory = row["memory_mb"]
        told.append(
            f"memory, whole program: {memory['resident']} MB resident, "
            f"{memory['proportional']} MB without what others share, at most {memory['peak']} MB"
        )
    if "start_ms" in row:
        starts = row["start_ms"]
        told.append(f"start to first sound: {_told(starts)}, {starts['n']} starts")
        told.append(f"the headset ran out of sound {row['ran_out']} times")
    before, after = row["load_before_after"]
    told.append(f"load of the machine: {before:.2f} before, {after:.2f} after")
    return told


def _told(spread: dict[str, Any]) -> str:
    return f"median {spread['p50_ms']:.0f} ms, 95th percentile {spread['p95_ms']:.0f} ms"
