"""Words of a drill that the built-in ear could mistake for one another.

Rule of this file: as alike.py; two ways to say one line are no mistake.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.ear.built_in.place import model_folder
from callout.ear.built_in.similar import Confusions, Pair, too_similar
from callout.trainer.model import Drill, Speaker
from callout.trainer.state import DrillState
from callout.trainer.words_of import grammar_of


def alike(drill: Drill, aircraft: Aircraft, confusions: Confusions | None = None) -> Iterator[str]:
    """A sentence for each pair, once."""
    measured = confusions or Confusions.read(model_folder() / "confusions.json")
    told: set[tuple[str, str]] = set()
    for role in drill.roles:
        grammar = grammar_of(drill, aircraft, DrillState((role,)))
        for pair in too_similar(grammar, measured, only=_own(drill, role)):
            if (pair.one, pair.other) not in told and not _one_line(drill, pair):
                told.add((pair.one, pair.other))
                yield (
                    f'"{pair.one}" and "{pair.other}" count for different things and sound '
                    "nearly alike; use words that differ more."
                )


def _own(drill: Drill, role: Speaker) -> frozenset[str]:
    mine = [line for line in drill.lines if line.who is role]
    wrong = (word for line in mine for one in line.wrong for word in one.words)
    return frozenset((*(word for line in mine for word in line.words), *wrong))


def _one_line(drill: Drill, pair: Pair) -> bool:
    return any(pair.one in line.words and pair.other in line.words for line in drill.lines)
