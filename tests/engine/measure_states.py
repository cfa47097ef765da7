"""Every state of an aircraft's lists: `python tests/engine/measure_states.py FILE.yaml`.

Prints, for each list, how many states were reached, and whether the invariants hold in all.
With --jobs on so many processors, with the same counts.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from states_found import OVERRIDES, Found, Node
from states_parallel import Layers, search_shared
from states_quick import be_quick
from states_search import entries, search, search_all

from callout.checklist.load import load
from callout.checklist.model import Aircraft


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("file", type=Path, nargs="?", default=Path("checklists/reedlark.yaml"))
    options.add_argument("--departures", type=int, default=1, help="see states_search.py")
    options.add_argument("--at-most", type=int, default=10**9, help="states of one list")
    options.add_argument("--list", dest="lists", action="append", help="only this one; more often")
    options.add_argument("--out-of", help="the lists are left for from this one")
    options.add_argument("--jobs", type=int, default=0, help="processes; see states_parallel.py")
    options.add_argument("--minutes", type=float, default=10**6, help="of the clock, with --jobs")
    options.add_argument("--widths", action="store_true", help="with --jobs, of each layer")
    told = options.parse_args()
    be_quick()
    plane, states, moves, broken = load(told.file), 0, 0, 0
    print(f"{'list':24} {'states':>8} {'moves':>9} {'depth':>5} {'not gone on from':>16} "
          f"{'unlike + reordered':>20} {'s':>6}")  # fmt: skip
    began = time.monotonic()
    for found in _shared(plane, told) if told.jobs else _alone(plane, told):
        took, began = time.monotonic() - began, time.monotonic()
        unlike = f"{found.unlike} + {found.reordered} of {found.probed}"
        print(f"{found.list_id:24} {found.states:8} {found.moves:9} {found.depth:5} "
              f"{found.cut:16} {unlike:>20} {took:6.1f}{_how_far(found)}", flush=True)  # fmt: skip
        for line in found.broken[:5]:
            print(f"  BROKEN {line}")
        if told.widths and isinstance(found, Layers):
            print(f"  gone on from, by moves: {' '.join(map(str, found.widths))}")
        states, moves = states + found.states, moves + found.moves
        broken += len(found.broken)
    print(f"{states} states, {moves} moves, {broken} of them against an invariant")
    return 1 if broken else 0


def _how_far(found: Found) -> str:
    if isinstance(found, Layers) and found.waiting:
        return f"  stopped with {found.waiting} more to go on from"
    return "" if found.all_of_it else "  stopped before its end"


def _alone(plane: Aircraft, told: argparse.Namespace) -> Iterator[Found]:
    if not told.out_of:
        yield from search_all(plane, told.departures, told.at_most, told.lists)
        return
    for name, begin in _begin(plane, told).items():
        yield search(plane, name, begin, told.departures, told.at_most)


def _shared(plane: Aircraft, told: argparse.Namespace) -> Iterator[Found]:
    until = time.monotonic() + 60 * told.minutes
    for name, begin in _begin(plane, told).items():
        yield search_shared(plane, name, begin, told.departures, told.jobs, until)


def _begin(plane: Aircraft, told: argparse.Namespace) -> dict[str, Node]:
    """Where each list that was asked for begins; lists of the day if none was."""
    day = entries(plane)
    if told.out_of:
        left = search(plane, told.out_of, day[told.out_of], 0).left
        day = {name: Node(node.state, OVERRIDES) for name, node in left.items()}
    return {name: day[name] for name in told.lists or day}


if __name__ == "__main__":
    sys.exit(main())
