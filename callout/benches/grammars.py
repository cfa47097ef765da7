"""How long an ear takes to change to what counts at the next item.

Rule of this file: the grammars of a whole aircraft in the order of its lists,
the parts made ready first as a session does; then timed, one by one.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

from callout.checklist.model import Aircraft
from callout.ear.protocol import Ear
from callout.running.asked import Kind, asked
from callout.running.hearing import get_ready
from callout.words.phrases import Grammar


@dataclass(frozen=True, slots=True)
class Switches:
    """Seconds that changes of grammar took.

    Fields:
        n: changes
        median, worst: of the time on the wall
        worst_processor: of the processor's time, which other programs do not lengthen
        ready: seconds to make the parts ready, once
    """

    ear: str
    n: int
    median: float
    worst: float
    worst_processor: float
    ready: float


def switches(ear: Ear, aircraft: Aircraft, rounds: int) -> Switches:
    """Change to every item's grammar, the whole aircraft `rounds` times over."""
    grammars = [one.grammar for kind in Kind for one in asked(aircraft, kind)]
    began = time.perf_counter()
    get_ready(ear, aircraft).join()
    ready = time.perf_counter() - began
    took = [_one(ear, grammar) for _ in range(rounds) for grammar in grammars]
    walls = [wall for wall, _ in took]
    worst_processor = max(processor for _, processor in took)
    return Switches(
        ear.name, len(took), statistics.median(walls), max(walls), worst_processor, ready
    )


def _one(ear: Ear, grammar: Grammar) -> tuple[float, float]:
    wall, processor = time.perf_counter(), time.thread_time()
    ear.listen_for(grammar)
    return time.perf_counter() - wall, time.thread_time() - processor
