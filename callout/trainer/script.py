"""The drill's script: which line is due, what is said, what is missed.

Rule of this file: nothing is said of the machine that the machine does not show. A
line whose gauge or fact never comes is never said.
"""

from __future__ import annotations

import re
from decimal import Decimal

from callout.engine import wording
from callout.engine.effects import Priority
from callout.trainer import scene
from callout.trainer.model import Line, Speaker
from callout.trainer.state import ASKED, SAME, Mode, Standing
from callout.trainer.turn import Turn

SAMPLE = 0.5
"""Seconds between two samples that are kept for the plot."""

TICK = 0.1
"""Seconds between two looks at the machine."""

_GAUGE = re.compile(r"\{([^{}]*)\}")


def go_on(turn: Turn) -> None:
    """The machine has gone on until now: what is due is said, opened or missed."""
    if turn.state.mode is not Mode.RUNNING:
        return
    _advance(turn)
    for _ in turn.drill.lines:  # each round can only open what the last one closed
        before = turn.state.marks
        for line in turn.drill.lines:
            _look_at(turn, line)
        if turn.state.marks == before:
            break


def _advance(turn: Turn) -> None:
    stage = turn.state.stage
    assert stage is not None
    stage = scene.advance(stage, turn.state.t)
    turn.set(stage=stage)
    last = turn.state.samples[-1][0] if turn.state.samples else -SAMPLE
    if stage.at - last >= SAMPLE - 1e-9:
        shown = tuple(stage.gauges.get(gauge.id, float("nan")) for gauge in turn.aircraft.gauges)
        turn.set(samples=(*turn.state.samples, (stage.at, shown)))


def _look_at(turn: Turn, line: Line) -> None:
    mark, now = turn.of(line), turn.state.t
    if mark.standing is Standing.OPEN:
        assert mark.opened is not None
        if now >= mark.opened + line.within.seconds - SAME:
            miss(turn, line)
    elif mark.standing is Standing.WAITING and _is_due(turn, line):
        if turn.state.is_mine(line):
            _open(turn, line)
        else:
            _speak(turn, line)


def _is_due(turn: Turn, line: Line) -> bool:
    marks = [turn.state.mark(turn.drill, name) for name in line.after]
    if not all(mark.over for mark in marks):
        return False
    over = max((mark.at for mark in marks if mark.at is not None), default=turn.state.began)
    return turn.state.t >= over + line.delay and holds(turn, line)


def holds(turn: Turn, line: Line) -> bool:
    """Whether the machine shows what the line waits for."""
    stage = turn.state.stage
    assert stage is not None
    if not all(stage.fact(name) == wanted for name, wanted in line.facts):
        return False
    if line.when is None:
        return True
    if not line.when.shows(stage.gauges.get(line.when.gauge, float("nan"))):
        turn.mark(line, seen_since=None)
        return False
    since = turn.of(line).seen_since
    since = turn.state.t if since is None else since
    turn.mark(line, seen_since=since)
    return turn.state.t >= since + line.when.seconds


def _speak(turn: Turn, line: Line) -> None:
    """Callout says it, and the hands of the one it plays do it."""
    turn.mark(line, standing=Standing.SAYING)
    act(turn, line)
    text = filled(turn, line)
    turn.say(text, line.id, who=line.who.value, priority=_priority(line))
    turn.set(last_say=text)


def _priority(line: Line) -> Priority:
    urgent = line.who is Speaker.GAUGES and line.critical
    return Priority.CAUTION if urgent else Priority.PROCEDURE


def filled(turn: Turn, line: Line) -> str:
    """The sentence, with what the gauges show at this moment."""
    stage = turn.state.stage
    assert stage is not None

    def value(found: re.Match[str]) -> str:
        gauge = turn.aircraft.gauge(found[1])
        exact = Decimal(repr(round(stage.gauges[gauge.id], 6)))
        return wording.with_unit(turn.aircraft, gauge, exact)

    return _GAUGE.sub(value, line.say)


def act(turn: Turn, line: Line) -> None:
    """Move the controls that the line moves."""
    stage = turn.state.stage
    assert stage is not None
    for name, setting in line.does:
        stage = scene.move(stage, name, setting)
    turn.set(stage=stage)


def _open(turn: Turn, line: Line) -> None:
    if turn.state.coached:
        turn.mark(line, standing=Standing.COACHING, coached=True)
        who = f"{line.who.value.capitalize()}, say" if len(turn.state.roles) > 1 else "Say"
        turn.say(f"{who}: {line.words[0]}.", line.id, kind="coach")
    else:
        turn.mark(line, standing=Standing.OPEN, opened=turn.state.t)


def miss(turn: Turn, line: Line) -> None:
    """The window is over: the instructor does it, so that the drill goes on."""
    turn.mark(line, standing=Standing.MISSED, at=turn.state.t)
    act(turn, line)
    turn.say(f"Missed: {line.words[0]}.", kind="missed", priority=Priority.REMARK, fresh=2.0)


def ended(turn: Turn, say: int) -> None:
    """A sentence has been said to its end."""
    named = dict(turn.state.speaking).get(say)
    turn.set(speaking=tuple(pair for pair in turn.state.speaking if pair[0] != say))
    if not named:
        return
    line = turn.drill.line(named)
    standing = turn.of(line).standing
    if standing is Standing.SAYING:
        turn.mark(line, standing=Standing.SAID, at=turn.state.t)
    elif standing is Standing.COACHING:
        turn.mark(line, standing=Standing.OPEN, opened=turn.state.t)


def is_over(turn: Turn) -> bool:
    """Whether the scene is over: nothing is left, or its time is up."""
    if turn.state.t - turn.state.began >= turn.drill.scene.lasts:
        return True
    return all(mark.over for mark in turn.state.marks)


def next_look(turn_t: float) -> float:
    """Drill time of the next look at the machine."""
    return turn_t + TICK


def asked_now(turn: Turn) -> tuple[Line, ...]:
    """The trainee's lines that are open."""
    pairs = zip(turn.drill.lines, turn.state.marks, strict=True)
    return tuple(line for line, mark in pairs if mark.standing in ASKED)
