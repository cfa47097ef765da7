"""The eight invariants as questions about one step of a session; on squawks: squawk_checks.py.

Sources: the invariants are the project's own; where they come from is said in
DEVELOPERS.md and beside the tests of each behaviour.
"""

from __future__ import annotations

from decimal import Decimal

from squawk_checks import SquawkChecks

from callout.checklist.model import Advise, Ask, Await, Choose, Item, Wait
from callout.engine import events as ev
from callout.engine import timers
from callout.engine.alerts import HEARD_AFTER
from callout.engine.answers import wanted_band
from callout.engine.effects import Effect, Listen, Priority, Record, Say, Show, ToneKind
from callout.engine.grammar import gauge_of
from callout.engine.limits import Level, judge
from callout.engine.rules import State
from callout.engine.state import SessionState, Status, applies
from callout.words.understand import understand
from callout.words.universal import ALWAYS_HEARD

SILENT = (State.CLOSED, State.ENDED)


class Checks(SquawkChecks):
    """What must be true of every step; mixed into the machine that takes the steps."""

    now: float

    def all_hold(self, before: SessionState, event: ev.Event, effects: tuple[Effect, ...]) -> None:
        """Every question about one step; the session stands behind it."""
        after = self.session.state
        facts = [effect for effect in effects if isinstance(effect, Record)]
        self.complete_means_complete(facts, after)
        self.killers_are_passed_by_two_utterances(before, event, facts)
        self.only_the_grammar_ticks(before, event, facts)
        self.values_are_in_range(before, facts)
        self.limits_are_called(before, event, effects)
        self.no_warning_is_lost(before, event, effects)
        self.keys_answer_no_killer_and_no_value(before, event, facts)
        self.roger_is_heard_while_a_warning_stands(after)
        self.killers_are_behind_us(facts, after)
        self.nothing_is_stuck(after)
        self.silence_ticks_nothing(before, event, facts, after)
        self.time_goes_on(before, after, facts)
        self.the_universal_words_are_heard(after)
        self.effects_are_in_order(effects)
        self.a_squawk_is_talk_and_nothing_else(before, event, facts)
        self.every_squawk_is_kept_or_dropped(before, effects)
        self.grounded_lists_open_by_override(before, facts)

    def complete_means_complete(self, facts: list[Record], after: SessionState) -> None:
        """1: complete only if nothing applicable is open, deferred, skipped or overridden."""
        for fact in facts:
            if fact.fact == "list complete":
                run = [run for run in after.closed if run.list_id == fact.about][-1]
                items = self.plane.list(run.list_id).items()
                for item, mark in zip(items, run.marks, strict=True):
                    assert mark.status is Status.TICKED or not applies(item, after.choices)
                assert not run.forced

    def killers_are_passed_by_two_utterances(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """2: a killer is ticked by its own full answer, or overridden by two utterances."""
        for fact in facts:
            if fact.fact == "override asked":
                self.override_asked[fact.about] = self.utterances
            item = self.item_about(fact)
            if item is None or not item.killer:
                continue
            assert fact.fact not in ("deferred", "skipped")
            if fact.fact == "overridden":
                assert dict(fact.data)["reason"] in self.plane.settings.reasons
                assert self.utterances >= self.override_asked[fact.about] + 2
            if fact.fact == "ticked" and isinstance(item.task, Ask):
                assert isinstance(event, ev.Heard)
                answers = {
                    a for answer in item.task.answers for a in (answer, f"correction {answer}")
                }
                assert event.text in answers
                assert event.certainty >= self.plane.settings.killer_certainty

    def only_the_grammar_ticks(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """3: a tick by words is a phrase of the grammar that was active, sure enough."""
        if isinstance(event, ev.NotUnderstood):
            assert [] == [fact for fact in facts if fact.fact == "ticked"]
        for fact in facts:
            if fact.fact != "ticked" or not isinstance(event, ev.Heard):
                continue
            item = self.item_about(fact)
            if item is None or not isinstance(item.task, (Ask, Choose)):
                continue
            match = understand(before.grammar, event.text)
            assert match is not None
            assert event.certainty >= match.certainty
            assert event.grammar == before.grammar.serial
            assert match.means.partition(":")[0] in ("answer", "option", "correct")

    def values_are_in_range(self, before: SessionState, facts: list[Record]) -> None:
        """4: a value item is ticked by a value in its range and inside its limits."""
        del before
        for fact in facts:
            item = self.item_about(fact)
            if fact.fact != "ticked" or item is None:
                continue
            gauge = gauge_of(self.plane, item)
            words = item.task.said if isinstance(item.task, Await) else ()
            if gauge is not None and dict(fact.data)["answer"] not in words:
                value = Decimal(dict(fact.data)["answer"])
                state = self.plane.list(fact.about.partition("/")[0]).engine_state
                assert wanted_band(item).holds(value)
                assert judge(gauge, state, value).level is not Level.NEVER

    def limits_are_called(
        self, before: SessionState, event: ev.Event, effects: tuple[Effect, ...]
    ) -> None:
        """5: a limit passed is announced in the very step, and again when it recurs."""
        if not isinstance(event, ev.Reading) or before.mode in SILENT:
            return
        gauge = next((g for g in self.plane.gauges if g.id == event.gauge), None)
        if gauge is None:
            return
        run = before.run or (before.closed[-1] if before.closed else None)
        state = self.plane.list(run.list_id).engine_state if run is not None else "any"
        verdict = judge(gauge, state, event.value)
        said = [e for e in effects if isinstance(e, Say) and e.priority is Priority.WARNING]
        if verdict.level is Level.NEVER and f"{gauge.id}/NEVER" not in before.passed:
            assert any("never" in warning.text for warning in said)

    def no_warning_is_lost(
        self, before: SessionState, event: ev.Event, effects: tuple[Effect, ...]
    ) -> None:
        """5: one that stands is due to be said again, by a deadline, or was answered.

        It is gone only when it was said to its end or an item about which it was is
        answered; it is answered only by words, and only when it was heard.
        """
        after = self.session.state
        if after.mode in SILENT:
            return
        deadline = self.session.next_deadline()
        for alert in after.alerts:
            if alert.grave and not alert.answered:
                assert alert.due is not None
                assert deadline is not None
                assert deadline <= alert.due
                assert after.warned
            assert not (alert.ended and alert.said)
        left = {alert.key: alert for alert in after.alerts}
        for alert in (alert for alert in before.alerts if alert.grave and not alert.answered):
            found = left.get(alert.key)
            if found is None:
                heard_out = isinstance(event, ev.SpeechEnded) and event.say == alert.say
                assert alert.said or heard_out or isinstance(event, ev.Heard | ev.Key)
            elif found.answered:
                assert isinstance(event, ev.Heard | ev.Key)
                began = event.began if isinstance(event, ev.Heard) else event.at
                assert alert.said or began >= alert.raised_at + HEARD_AFTER
        for say in (effect for effect in effects if isinstance(effect, Say)):
            assert (say.tone is ToneKind.WARNING) is (say.priority is Priority.WARNING)

    def keys_answer_no_killer_and_no_value(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """2, 3, 4 for keys: an ordinary item's one right answer, when it was asked to its end."""
        if not isinstance(event, ev.Key):
            return
        for fact in (fact for fact in facts if fact.fact in ("ticked", "overridden")):
            item = self.item_about(fact)
            assert item is not None
            if fact.about.startswith(f"{before.run.list_id}/") and before.item is not None:
                wait = isinstance(item.task, Wait)  # over meanwhile; the key only resumed
                assert wait or (isinstance(item.task, Ask) and not item.killer)
                assert wait or before.mode is State.ASKING
                assert wait or before.prompt_say is None
                assert wait or event.means is ev.KeyMeaning.AFFIRM
                assert wait or not before.warned

    def roger_is_heard_while_a_warning_stands(self, after: SessionState) -> None:
        """8, for the words that answer a warning: in every state, and then only."""
        if after.mode in SILENT:
            return
        open_ = any(alert.grave and not alert.answered for alert in after.alerts)
        assert open_ is after.warned
        meant = understand(after.grammar, "roger")
        assert open_ is (meant is not None and meant.means == "roger:")

    def silence_ticks_nothing(
        self, before: SessionState, event: ev.Event, facts: list[Record], after: SessionState
    ) -> None:
        """6: time finishes a timed wait whose whole time has passed, and nothing else."""
        if isinstance(event, ev.Heard | ev.Key | ev.Reading):
            return
        for fact in facts:
            assert fact.fact not in ("overridden", "skipped", "deferred", "list complete") or (
                any(other.fact == "ticked" for other in facts)
            )
            if fact.fact != "ticked":
                continue
            item = self.item_about(fact)
            assert item is not None
            if isinstance(event, ev.Clock) and isinstance(item.task, Wait):
                assert before.timer is not None
                assert after.now >= before.timer.began + item.task.seconds
            else:
                assert isinstance(event, ev.SpeechEnded)
                assert isinstance(item.task, Advise)

    def time_goes_on(self, before: SessionState, after: SessionState, facts: list[Record]) -> None:
        """7: session time never falls; a running timer's end moves only with its item.

        That of the cool-down moves away, too, to its whole time, when power is raised.
        """
        assert after.now >= before.now
        same_item = [fact for fact in facts if fact.fact in ("asked", "ticked")] == []
        if same_item and before.timer is not None and after.timer is not None:
            cool, counted_anew = self.plane.cool_down, after.timer.began == after.now
            if cool is not None and counted_anew and self.in_hand_by_name(before) == cool.wait:
                assert before.timer.ends <= after.timer.ends
            else:
                assert before.timer.ends == after.timer.ends

    def the_universal_words_are_heard(self, after: SessionState) -> None:
        """8: always in the grammar, always with the same meaning."""
        if after.mode in SILENT:
            return
        means = {phrase.means for phrase in after.grammar.phrases}
        assert {f"word:{word.name}" for word in ALWAYS_HEARD} <= means

    def effects_are_in_order(self, effects: tuple[Effect, ...]) -> None:
        """Record, Show, Listen, then what sounds."""
        ranks = {Record: 0, Show: 1, Listen: 2}
        order = [ranks.get(type(effect), 3) for effect in effects]
        assert sorted(order) == order

    def killers_are_behind_us(self, facts: list[Record], after: SessionState) -> None:
        """2, seen from a list's end: no killer item was hidden, skipped or put off."""
        ends = ("list complete", "list not complete")
        for fact in (fact for fact in facts if fact.fact in ends):
            run = [run for run in after.closed if run.list_id == fact.about][-1]
            items = tuple(self.plane.list(run.list_id).items())
            for item, mark in zip(items, run.marks, strict=True):
                passed = mark.status in (Status.TICKED, Status.OVERRIDDEN)
                assert passed or not item.killer or self.left_out(item, after)
                old = self.now - mark.at if mark.status is Status.TICKED else 0.0
                limit = item.stale_after
                assert limit is None or old <= limit or fact.fact != "list complete"

    def left_out(self, item: Item, after: SessionState) -> bool:
        """A choice that was made leaves it out; one that was not made leaves nothing out."""
        made = dict(after.choices)
        return any(made.get(one.choice, "") not in (one.option, "") for one in item.only_if)

    def nothing_is_stuck(self, after: SessionState) -> None:
        """What ends by itself has something to end it, and a pilot is never waited for unasked."""
        due = timers.next_deadline(self.plane, after)
        if after.mode in (State.TIMING, State.ADVISING, State.ASKING, State.READY):
            assert due is not None
        if after.mode is State.STANDING_BY:
            assert after.back_to not in (None, State.STANDING_BY)

    def in_hand_by_name(self, state: SessionState) -> str:
        assert state.run is not None
        assert state.item is not None
        items = tuple(self.plane.list(state.run.list_id).items())
        return f"{state.run.list_id}/{items[state.item].id}"

    def item_about(self, fact: Record) -> Item | None:
        list_id, _, item_id = fact.about.partition("/")
        if not item_id or "squawk" in dict(fact.data):  # the item may be of an older file
            return None
        return next(i for i in self.plane.list(list_id).items() if i.id == item_id)
