"""What the pilot calls out about a start: taken for the watch, and for the item in hand.

Rule of this file: a value is read back, words are answered by a tone. A number
that is not clear counts for nothing and is asked for again.
"""

from __future__ import annotations

from decimal import Decimal

from callout.engine import alerts, answers, wording
from callout.engine.effects import ToneKind
from callout.engine.grammar import gauge_of
from callout.engine.limits import Level, judge
from callout.engine.rules import State
from callout.engine.state import engine_state
from callout.engine.turn import Turn


def start_said(turn: Turn) -> None:
    """Words such as "light off": what they show is for the watch to say."""
    turn.record("start called", words=turn.input.argument)
    turn.words = turn.input.argument
    turn.tone(ToneKind.HEARD)


def start_value(turn: Turn) -> None:
    """A value called with its gauge's name: it answers the item in hand, if that asks for it."""
    gauge = turn.aircraft.gauge(turn.input.argument)
    value = turn.input.values[0]
    asked = turn.state.mode in (State.ASKING, State.AWAITING) and turn.state.item is not None
    if asked and gauge_of(turn.aircraft, turn.item) is gauge:
        answers.accept_value(turn, value)
        return
    turn.record("start called", gauge=gauge.id, value=str(value))
    turn.called = (gauge.id, value)
    _judge(turn, value)
    turn.remark(wording.read_back(turn.aircraft, gauge, value))


def _judge(turn: Turn, value: Decimal) -> None:
    """A never-exceed limit that was read aloud is called as one that was measured (5)."""
    gauge = turn.aircraft.gauge(turn.input.argument)
    verdict = judge(gauge, engine_state(turn.aircraft, turn.state), value)
    if verdict.level is Level.NEVER:
        text = wording.out_of_range(turn.aircraft, gauge, value, verdict)
        data = {"gauge": gauge.id, "value": str(value), "limit": str(verdict.limit)}
        key = f"{gauge.id}/{Level.NEVER.name}"
        alerts.raise_(turn, key, text, grave=True, fact="limit passed", **data)


def start_unclear(turn: Turn) -> None:
    """It could be two numbers, or none that the gauge shows."""
    turn.record("start call not clear", words=turn.input.text)
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.remark("Say the digits.")


def start_due(turn: Turn) -> None:
    """A time limit of the watch is up; the watch itself says what that means."""
    del turn
