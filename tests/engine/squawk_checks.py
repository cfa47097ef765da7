"""What must be true of every step that has to do with squawks; part of engine_checks.py.

Sources: as there.
"""

from __future__ import annotations

from callout.checklist.model import Aircraft
from callout.engine import events as ev
from callout.engine.effects import Effect, Keep, Record
from callout.engine.rules import State
from callout.engine.session import Session
from callout.engine.squawk_state import closed_lists
from callout.engine.state import SessionState
from callout.words.understand import understand


class SquawkChecks:
    """Questions about one step, mixed into those of engine_checks.py."""

    plane: Aircraft
    utterances: int
    override_asked: dict[str, int]
    session: Session

    def a_squawk_is_talk_and_nothing_else(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """While one is recorded, words tick and open nothing, but for what is always heard."""
        if before.mode is not State.SQUAWKING or not isinstance(event, ev.Heard | ev.Noted):
            return
        match = understand(before.grammar, event.text) if isinstance(event, ev.Heard) else None
        breaks = match is not None and match.means.startswith(("procedure", "word:ABORT", "start"))
        # A time of the start may be up at the very moment at which something is heard.
        breaks = breaks or any(fact.fact == "start fault" for fact in facts)
        done = {"ticked", "overridden", "skipped", "deferred", "list complete", "list opened"}
        assert breaks or not done & {fact.fact for fact in facts}
        now = self.session.state
        if now.mode is State.SQUAWKING:
            assert (before.run, before.item, before.timer) == (now.run, now.item, now.timer)

    def every_squawk_is_kept_or_dropped(
        self, before: SessionState, effects: tuple[Effect, ...]
    ) -> None:
        """It is recorded exactly as long as the state says so; nothing kept is ever lost."""
        after = self.session.state
        assert (after.mode is State.SQUAWKING) is (after.squawks.recording is not None)
        facts = [effect for effect in effects if isinstance(effect, Record)]
        began = [fact for fact in facts if fact.fact == "squawk opened"]
        ended = [fact for fact in facts if fact.fact in ("squawk kept", "squawk dropped")]
        was, stays = before.squawks.recording, after.squawks.recording
        assert (was is not None) + len(began) == (stays is not None) + len(ended)
        assert len(began) + len(ended) == len([e for e in effects if isinstance(e, Keep)])
        closed = {dict(f.data)["squawk"] for f in facts if f.fact == "squawk closed"}
        open_before = {known.key for known in before.squawks.open}
        assert open_before - closed <= {known.key for known in after.squawks.open}

    def grounded_lists_open_by_override(self, before: SessionState, facts: list[Record]) -> None:
        """2, for a list that a grounding closes: two utterances, and never complete after."""
        closed = closed_lists(self.plane)
        names = [fact.fact for fact in facts]
        for fact in facts:
            if fact.about not in closed or not before.squawks.grounding:
                continue
            if fact.fact == "list opened":
                assert "overridden" in names
                assert self.utterances >= self.override_asked[fact.about] + 2
            assert fact.fact != "list complete"
