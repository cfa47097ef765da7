"""Every state of an aircraft's lists: `python tests/engine/measure_states.py FILE.yaml`.

Prints, for each list, how many states were reached, and whether the invariants hold in all.
"""

from __future__ import annotations

import argparse
import sys
import time
from functools import lru_cache
from pathlib import Path

from states_search import search_all

from callout.checklist.load import load
from callout.engine import grammar


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("file", type=Path, nargs="?", default=Path("checklists/reedlark.yaml"))
    options.add_argument("--departures", type=int, default=1, help="see states_search.py")
    options.add_argument("--at-most", type=int, default=10**9, help="states of one list")
    options.add_argument("--list", dest="lists", action="append", help="only this one; more often")
    told = options.parse_args()
    # A file's own words are made canonical at each step; here there are very many steps.
    grammar.normalise = lru_cache(grammar.normalise)
    states = moves = broken = 0
    print(f"{'list':24} {'states':>8} {'moves':>9} {'depth':>5} {'not gone on from':>16} "
          f"{'go on unlike':>12} {'s':>6}")  # fmt: skip
    began = time.process_time()
    for found in search_all(load(told.file), told.departures, told.at_most, told.lists):
        whole = "" if found.all_of_it else "  stopped by --at-most"
        took, began = time.process_time() - began, time.process_time()
        unlike = f"{found.unlike} of {found.probed}"
        print(f"{found.list_id:24} {found.states:8} {found.moves:9} {found.depth:5} "
              f"{found.cut:16} {unlike:>12} {took:6.1f}{whole}", flush=True)  # fmt: skip
        for line in found.broken[:5]:
            print(f"  BROKEN {line}")
        states, moves = states + found.states, moves + found.moves
        broken += len(found.broken)
    print(f"{states} states, {moves} moves, {broken} of them against an invariant")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
