"""Whether a declared order speaks of items and lists that the file has.

Rule of this file: as checks.py: it looks at drafts and notes problems, each at
the word that is wrong. Whether the lists keep to it is asked in review_order.py.
"""

from __future__ import annotations

from callout.checklist.check_references import known
from callout.checklist.draft_parts import FileDraft
from callout.checklist.model import Ask
from callout.checklist.problems import Collector
from callout.words.normal import normalise


def check(made: FileDraft, problems: Collector) -> None:
    """Note every word that names nothing."""
    node = made.node.map.get("order")
    if node is None or len(node.list) != len(made.orders):
        return
    calls = _answers_by_call(made)
    for part, rule in zip(node.list, made.orders, strict=True):
        for side, step in (("first", rule.first), ("then", rule.then)):
            call = normalise(step.call)
            if known(call, calls, part.at(side, "call"), "item called", problems) and step.answer:
                place = part.at(side, "answer")
                known(step.answer, calls[call], place, f'answer at "{call}"', problems)
        for at, name in enumerate(rule.lists):
            known(name, made.lists, part.at("lists", at), "list", problems)


def _answers_by_call(made: FileDraft) -> dict[str, list[str]]:
    """Call -> every right answer that some item of that call has."""
    found: dict[str, list[str]] = {}
    for one in made.lists.values():
        for draft in one.items():
            if draft.item:
                task = draft.item.task
                answers = task.answers if isinstance(task, Ask) else ()
                found.setdefault(normalise(draft.item.call), []).extend(answers)
    return found
