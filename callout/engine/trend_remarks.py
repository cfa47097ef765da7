"""What has changed over past sessions: said once, when one begins.

Rule of this file: a remark, written down as told in the step that says it, so that
no later session says it again. What it is was found when the session that showed it
ended.
"""

from __future__ import annotations

from callout.engine import wording
from callout.engine.events import SessionOpened
from callout.engine.turn import Turn

TOLD = "trend told"


def tell(turn: Turn) -> None:
    """What the session's opening brings of it."""
    event = turn.event
    for said in event.trends if isinstance(event, SessionOpened) else ():
        turn.record(TOLD, "", said=said)
        turn.say(wording.sentence(said))
