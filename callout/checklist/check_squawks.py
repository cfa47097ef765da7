"""Whether the lists that a grounded aircraft's do not open are there.

Rule of this file: as checks.py: it looks at drafts and notes problems, each at
the word that is wrong.
"""

from __future__ import annotations

from callout.checklist.check_references import known
from callout.checklist.draft_parts import FileDraft
from callout.checklist.model import ListKind
from callout.checklist.problems import Collector, quoted


def check(made: FileDraft, problems: Collector) -> None:
    """Note lists that do not exist, and procedures, which must always open."""
    settings = made.node.map.get("settings", made.node)
    for at, list_id in enumerate(made.settings.grounding_closes or ()):
        place = settings.at("grounding_closes", at)
        if not known(list_id, made.lists, place, "list", problems):
            continue
        header = made.lists[list_id].header
        kind = header.kind if header is not None else None
        if kind not in (None, ListKind.NORMAL.value):
            found = f"{quoted(list_id)} is an {kind} list, and those always open"
            problems.add(place, f"{found}; expected a normal list")
