"""Questions of a drill file -> questions of a drill.

Rule of this file: as build.py. A question is only about what the aircraft file says:
an item with a reason, an item with another after it, a gauge with limits.
"""

from __future__ import annotations

from collections.abc import Sequence

from callout.checklist.positions import Node
from callout.checklist.problems import quoted
from callout.trainer.build import Parts
from callout.trainer.model import Asked, Question
from callout.trainer.schema import QuestionEntry

KINDS = tuple(kind.value for kind in Asked)


def questions(parts: Parts, entries: Sequence[QuestionEntry], node: Node) -> tuple[Question, ...]:
    """All questions, in order."""
    made = (_question(parts, node) for _, node in zip(entries, node.list, strict=False))
    return tuple(one for one in made if one is not None)


def _question(parts: Parts, node: Node) -> Question | None:
    given = [key for key in KINDS if key in node.map]
    if len(given) != 1:
        parts.problems.add(node.place, f"a question asks one thing; expected {', '.join(KINDS)}")
        return None
    asked, about = Asked(given[0]), node.map[given[0]].text
    place = node.at(given[0])
    if asked is Asked.SEE:
        return Question(asked, about) if parts.gauge(about, place) else None
    item = parts.item(about, place)
    if item is None:
        return None
    if asked is Asked.WHY and not item.why:
        parts.problems.add(place, f"the item {quoted(about)} has no why; expected one that has")
    if asked is Asked.NEXT and not _follows(parts, about):
        parts.problems.add(
            place, f"nothing to answer follows {quoted(about)}; expected an item before another"
        )
    return Question(asked, about)


def _follows(parts: Parts, about: str) -> bool:
    from callout.trainer.quiz import next_item

    return next_item(parts.aircraft, about) is not None
