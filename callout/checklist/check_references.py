"""Whether a name written in one part of a file is that of another part.

Rule of this file: it looks and notes problems; it changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable

from callout.checklist.draft_parts import FileDraft
from callout.checklist.model import Item
from callout.checklist.problems import Collector, Place, did_you_mean, listed, quoted


def known(word: str, words: Iterable[str], place: Place, what: str, problems: Collector) -> bool:
    """Note a reference to something that the file does not have."""
    names = list(words)
    if word in names:
        return True
    expected = did_you_mean(word, names)
    if not expected and names and len(names) <= 12:
        expected = f"; expected {listed(names)}"
    problems.add(place, f"there is no {what} {quoted(word)}{expected}")
    return False


def item_path(path: str, made: FileDraft, place: Place, problems: Collector) -> Item | None:
    """Note a path that names no item; the item, if it is right in itself."""
    list_id, slash, item_id = path.partition("/")
    if not slash:
        found = f"found {quoted(path)}; expected list/item"
        problems.add(place, f'{found}, such as "start/starter"')
    elif known(list_id, made.lists, place, "list", problems):
        ids = made.lists[list_id].item_ids()
        if known(item_id, ids, place, f'item in list "{list_id}" named', problems):
            drafts = made.lists[list_id].items()
            return next(draft.item for draft in drafts if draft.id == item_id)
    return None
