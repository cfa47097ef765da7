"""Lists that were changed since they were last run: told once, when they are run again.

Rule of this file: a remark, never in an abort's way. What a list held when it was
last run is told by the session's first event; without that nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft, CheckList, ListKind
from callout.engine import wording
from callout.engine.events import SessionOpened
from callout.engine.turn import Turn

CHANGED = "This list was changed."
"""After the title of a list."""
FACT = "changed list told"


def recall(turn: Turn) -> None:
    """Which lists were changed; those that break in are named at once, before they are needed."""
    event = turn.event
    if not isinstance(event, SessionOpened):
        return
    flown = dict(event.flown)
    known = {one.id: one for one in turn.aircraft.lists}
    new = [name for name, digest in event.contents if flown.get(name, digest) != digest]
    new = [name for name in new if name in known]
    beside = [known[name] for name in new if known[name].kind is not ListKind.NORMAL]
    turn.set(news=tuple(name for name in new if known[name].kind is ListKind.NORMAL))
    for one in beside:
        turn.record(FACT, one.id)
    if beside:
        turn.say(_beside(beside))


def tell(turn: Turn, checklist: CheckList) -> None:
    """After the title of a list that is opened."""
    if checklist.id in turn.state.news:
        turn.set(news=tuple(one for one in turn.state.news if one != checklist.id))
        turn.record(FACT, checklist.id)
        turn.say(CHANGED)


def _beside(lists: list[CheckList]) -> str:
    titles = ", ".join(one.title for one in lists)
    many = "lists" if len(lists) > 1 else "list"
    return wording.sentence(f"Changed {many}: {titles}")


def calls(aircraft: Aircraft) -> Iterator[str]:
    """What is known beforehand of it."""
    del aircraft
    yield CHANGED
