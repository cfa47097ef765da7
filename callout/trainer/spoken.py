"""What a trainee said: a hit, late, too early, wrong, or a question.

Rule of this file: only words of the grammar come here. A call is weighed against the
lines that are open; which of them it may answer stands in `_place` and nowhere else.
"""

from __future__ import annotations

from collections.abc import Sequence

from callout.engine.effects import ToneKind
from callout.engine.events import Heard
from callout.trainer import script
from callout.trainer.model import PEOPLE, Line, Speaker
from callout.trainer.state import ASKED, FalseCall, Mode, Standing
from callout.trainer.turn import Turn
from callout.trainer.words_of import GAUGE, SAID, USUALLY
from callout.words.normal import normalise
from callout.words.understand import understand

EARLY, WRONG, NOT_ASKED, NOT_YOURS = "too early", "wrong", "not asked for", "not yours"

BOTH_HEAR = 0.7
"""Seconds within which the same words at two microphones are one person's, heard by both."""

TAKEN_BACK = 10.0
"""Seconds within which "disregard" takes back a false call (common practice, no source)."""

_ABORT = (
    "Nothing asked for it. An abort too many costs a start, one too few an engine: "
    "in doubt, do it again."
)


def hear(turn: Turn, event: Heard) -> None:
    """Take words that count."""
    match = understand(turn.state.grammar, event.text)
    if match is None:
        return
    kind, _, rest = match.means.partition(":")
    speaker = _speaker(turn, event)
    if _is_the_others(turn, event, rest):
        return
    turn.tell(speaker.value if speaker is not None else "trainee", event.text)
    if kind == SAID or (kind == USUALLY and rest == "abort"):
        _call(turn, event, rest, speaker)
    elif kind == GAUGE:
        _read_gauge(turn, rest)
    elif kind == USUALLY:
        _USUAL[rest](turn)


def _speaker(turn: Turn, event: Heard) -> Speaker | None:
    """Who spoke: the ear tells where each has his own, else the only trainee, else nobody."""
    tail = event.source.rpartition(":")[2]
    named = next((one for one in PEOPLE if one.value == tail), None)
    return named or (turn.state.roles[0] if len(turn.state.roles) == 1 else None)


def _is_the_others(turn: Turn, event: Heard, words: str) -> bool:
    """Whether the other person's words are heard again, at this one's microphone.

    Heard here first, they were taken for this person's: that is taken back.
    """
    began, text, whose = turn.state.heard
    tail = event.source.rpartition(":")[2]
    turn.set(heard=(event.began, event.text, tail))
    again = text == event.text and whose != tail and abs(event.began - began) <= BOTH_HEAR
    if not again or not whose:
        return False
    lines = [line for line in turn.drill.lines if turn.state.is_mine(line)]
    owners = {line.who.value for line in lines if words in line.words}
    last = turn.state.false_calls[-1:]
    if owners == {tail} and last and (last[0].words, last[0].kind) == (text, NOT_YOURS):
        turn.set(false_calls=turn.state.false_calls[:-1])
    return tail not in owners


def _call(turn: Turn, event: Heard, words: str, speaker: Speaker | None) -> None:
    """Weigh a call; `words` are those that stand for all that count for the same lines."""
    said, whose = event.text, speaker.value if speaker is not None else ""
    lines = [line for line in turn.drill.lines if turn.state.is_mine(line) and words in line.words]
    mine = [line for line in lines if speaker is None or line.who is speaker]
    if lines and not mine:
        because = f"These are the {lines[0].who.value}'s words."
        _false(turn, FalseCall(turn.state.t, said, NOT_YOURS, because, whose))
        return
    asked = any(turn.of(line).standing in ASKED for line in mine)
    if not asked and (because := _because(turn, words, script.asked_now(turn))):
        whose = whose or _whose(turn, words)
        _false(turn, FalseCall(turn.state.t, said, WRONG, because, whose))
        return
    placed = sorted(((_place(turn, line), at) for at, line in enumerate(mine)), key=lambda p: p)
    if not placed:
        because = _because(turn, words, turn.drill.lines)
        kind, whose = WRONG if because else NOT_ASKED, whose or _whose(turn, words)
        _false(turn, FalseCall(turn.state.t, said, kind, because or _ABORT, whose))
        return
    place, at = placed[0]
    _TAKE[place](turn, mine[at], event)


_HIT, _INTO_CUE, _LATE, _AGAIN, _EARLY = range(5)


def _place(turn: Turn, line: Line) -> int:
    """What right words are for this line now."""
    mark = turn.of(line)
    if mark.standing in ASKED:
        return _HIT
    if mark.standing is Standing.HIT or mark.late is not None:
        return _AGAIN
    if mark.standing is Standing.MISSED:
        return _LATE
    marks = [turn.state.mark(turn.drill, name) for name in line.after]
    cued = all(one.over or one.standing is Standing.SAYING for one in marks)
    return _INTO_CUE if cued and not line.delay and script.holds(turn, line) else _EARLY


def _hit(turn: Turn, line: Line, event: Heard) -> None:
    opened = turn.of(line).opened
    reaction = 0.0 if opened is None else max(0.0, event.began - turn.state.skew - opened)
    turn.mark(
        line, standing=Standing.HIT, at=turn.state.t, reaction=round(reaction, 2),
        words=event.text, opened=turn.state.t if opened is None else opened,
    )  # fmt: skip
    script.act(turn, line)
    turn.tone(ToneKind.HEARD)


def _late(turn: Turn, line: Line, event: Heard) -> None:
    opened = turn.of(line).opened
    assert opened is not None
    reaction = event.began - turn.state.skew - opened
    if reaction <= line.within.seconds:  # begun in time, but it took until now to understand it
        turn.mark(
            line, standing=Standing.HIT, reaction=round(max(0.0, reaction), 2), words=event.text
        )
        turn.tell("note", f"In time after all: {line.words[0]}.", "hit")
        return
    turn.mark(line, late=round(reaction, 2), words=event.text)
    turn.tell("note", f"Late: {line.words[0]}, after {reaction:.1f} s.", "late")


def _again(turn: Turn, line: Line, event: Heard) -> None:
    """Said once more: heard, and nothing else."""
    del line, event
    turn.tone(ToneKind.HEARD)


def _early(turn: Turn, line: Line, event: Heard) -> None:
    words = normalise(event.text)
    because = _because(turn, words, turn.drill.lines) or "What it answers has not happened yet."
    _false(turn, FalseCall(turn.state.t, event.text, EARLY, because, line.who.value))


_TAKE = {_HIT: _hit, _INTO_CUE: _hit, _LATE: _late, _AGAIN: _again, _EARLY: _early}


def _because(turn: Turn, words: str, lines: Sequence[Line]) -> str:
    """What these lines say of wrong words; "" where they say nothing."""
    for line in lines:
        for wrong in line.wrong:
            if words in wrong.words and turn.state.is_mine(line):
                return wrong.because
    return ""


def _whose(turn: Turn, words: str) -> str:
    """The person for whose call these words are wrong; "" where that is nobody's or both's."""
    found = {
        line.who.value
        for line in turn.drill.lines
        if turn.state.is_mine(line) and any(words in wrong.words for wrong in line.wrong)
    }
    return found.pop() if len(found) == 1 else ""


def _false(turn: Turn, call: FalseCall) -> None:
    turn.set(false_calls=(*turn.state.false_calls, call), last_false=turn.state.t)
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.tell("note", f"{call.kind.capitalize()}: {call.words}. {call.because}", "false")


def _read_gauge(turn: Turn, gauge_id: str) -> None:
    gauge = turn.aircraft.gauge(gauge_id)
    stage = turn.state.stage
    if stage is None or gauge_id not in stage.gauges:
        turn.say(f"{gauge.call.capitalize()} is not simulated.")
        return
    line = Line("", Speaker.GAUGES, f"{gauge.call.capitalize()}: {{{gauge_id}}}.")
    turn.say(script.filled(turn, line), who="gauges")


def _say_again(turn: Turn) -> None:
    turn.say(turn.state.last_say or "Nothing was said yet.")


def _help(turn: Turn) -> None:
    """Tell the words that are wanted now; the line counts as coached."""
    open_ = script.asked_now(turn)
    for line in open_:
        turn.mark(line, coached=True)
    words = " or ".join(line.words[0] for line in open_)
    turn.say(f"Say: {words}." if words else "Nothing is asked of you now. Wait and watch.")


def _why(turn: Turn) -> None:
    over = [line for line in turn.drill.lines if line.why and turn.of(line).opened is not None]
    turn.say(over[-1].why if over else "Nothing that happened so far has a reason written down.")


def _hold(turn: Turn) -> None:
    hold(turn, "Holding the drill. Say resume.")


def hold(turn: Turn, text: str) -> None:
    """Engine and windows stand still until "resume"; `text` says so."""
    if turn.state.held is None and turn.state.mode is Mode.RUNNING:
        turn.set(held=turn.state.now)
        turn.say(text)


def hold_deaf(turn: Turn) -> None:
    """A microphone is lost: nothing can be missed until it is back."""
    if turn.state.held is None and turn.state.mode is Mode.RUNNING:
        hold(turn, "A microphone is lost. The drill is held.")
        turn.set(deaf_hold=True)


def hear_again(turn: Turn) -> None:
    """No microphone is lost any more: what stood for that goes on."""
    if turn.state.deaf_hold and not turn.state.deaf:
        turn.set(deaf_hold=False)
        _resume(turn)


def _resume(turn: Turn) -> None:
    held = turn.state.held
    if held is not None:
        turn.set(skew=turn.state.skew + turn.state.now - held, held=None)
        turn.say("Resuming.")


def _disregard(turn: Turn) -> None:
    """The last false call is taken back, if it was just now; it stays in the timeline."""
    last = turn.state.last_false
    if last is None or turn.state.t - last > TAKEN_BACK:
        turn.say("There is nothing to take back.")
        return
    turn.set(false_calls=turn.state.false_calls[:-1], last_false=None)
    turn.say("Taken back.")


def _end(turn: Turn) -> None:
    turn.set(broken=True)


_USUAL = {
    "again": _say_again,
    "help": _help,
    "next": _help,
    "why": _why,
    "hold": _hold,
    "resume": _resume,
    "disregard": _disregard,
    "end": _end,
}
