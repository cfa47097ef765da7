"""The table of rules: whole, obeyed, and drawn as it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from engine_aircraft import aircraft
from engine_talk import Talk

from callout.engine.picture import mermaid
from callout.engine.rules import RULES, State, Trigger
from callout.engine.session import ACTIONS
from callout.engine.triggers import WORD_TRIGGERS
from callout.words.understand import understand
from callout.words.universal import ALWAYS_HEARD, Word, forms

ROOT = Path(__file__).parents[2]
LIVE = [state for state in State if state not in (State.CLOSED, State.ENDED)]


def test_every_state_has_a_row():
    assert set(State) == set(RULES)


def test_every_action_named_in_the_table_exists():
    assert {rule.action for row in RULES.values() for rule in row.values()} == set(ACTIONS)


@pytest.mark.parametrize("word", ALWAYS_HEARD, ids=lambda w: w.name)
def test_the_always_heard_words_have_one_rule_in_every_state(word: Word):
    """Invariant 8: the same action in every state."""
    actions = {RULES[state][WORD_TRIGGERS[word]].action for state in LIVE}

    assert 1 == len(actions)


def test_every_trigger_is_known_in_some_state():
    known = {trigger for row in RULES.values() for trigger in row}

    assert set(Trigger) == known


def test_the_picture_in_developers_md_is_the_table():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

    assert f"```mermaid\n{mermaid()}\n```" in text, "run: make picture"


TO_STATE = {
    State.READY: ("free", "secure", "in hand", "battery", "two five", "clear"),
    State.ASKING: (),
    State.REASONING: ("override",),
    State.CONFIRMING_OVERRIDE: ("override", "not fitted"),
    State.STANDING_BY: ("stand by",),
    State.HOLDING: ("hold",),
    State.REVIEWING: ("free", "skip", "in hand", "battery", "two five", "clear"),
}


@pytest.mark.parametrize("state", TO_STATE, ids=lambda s: s.name)
def test_the_always_heard_words_are_in_the_grammar_of_every_state(state: State):
    talk = Talk(aircraft()).open("before-start", "start").say(*TO_STATE[state])
    assert state is talk.session.state.mode
    for word in ALWAYS_HEARD:
        for text in forms(word):
            match = understand(talk.session.state.grammar, text)
            assert match is not None, text
            assert f"word:{word.name}" == match.means
