"""What happens to the session rather than in it: time, readings, faults, silence.

Rule of this file: silence never ticks anything (invariant 6). Only a timed wait
is finished by time, and only when its whole time has passed.
"""

from __future__ import annotations

from callout.checklist.model import Await
from callout.engine import alerts, answers, closing, flow, squawk, timers, wording
from callout.engine.condition import held_from, reached
from callout.engine.effects import Priority, ToneKind
from callout.engine.events import (
    Heard,
    Lost,
    NotUnderstood,
    Reading,
    Restored,
    SpeechEnded,
)
from callout.engine.events import Stopped as StoppedEvent
from callout.engine.rules import State
from callout.engine.turn import Turn
from callout.words.say_numbers import say_duration

#: Seconds after an item is asked before which no answer to it can begin.
SOONEST_ANSWER = 0.5

#: After this many calls without an answer the list is parked.
CALLS_BEFORE_PARKING = 2

#: So often "not understood" is said about one prompt; then there is a tone only.
TIMES_NOT_UNDERSTOOD = 3


def take_reading(turn: Turn) -> None:
    """Keep track of how long an awaited condition has held, held or standing by as well."""
    event = turn.event
    assert isinstance(event, Reading)
    met = reached(turn.aircraft, turn.state, event)
    since = held_from(turn.aircraft, turn.state, event)
    if since != turn.state.held_since:
        turn.set(held_since=since)
    if met and turn.state.timer is not None:
        # Not ticked while the pilot is busy with something else, but it came in time.
        turn.set(timer=None)
        turn.record("reached", value=str(event.value))


def condition_met(turn: Turn) -> None:
    """A measured condition is fulfilled: the gauge answered."""
    event = turn.event
    assert isinstance(event, Reading)
    gauge = turn.aircraft.gauge(event.gauge)
    answers.tick(turn, str(event.value))
    turn.set(last=None)
    turn.hush()
    turn.say(wording.read_back(turn.aircraft, gauge, event.value))
    flow.advance(turn)


def time_missed(turn: Turn) -> None:
    """The condition was not met in time: the list for that opens, or the item stays open."""
    task = turn.item.task
    assert isinstance(task, Await)
    turn.hush()
    gauge = turn.aircraft.gauge(task.condition.gauge)
    missed = f"{gauge.call} not reached in {say_duration(task.within or 0.0)}"
    key, text, within = f"missed/{turn.about}", wording.sentence(missed), f"{task.within:g}"
    alerts.happened(turn, key, text, fact="time missed", within=within)
    turn.set(timer=None)
    if task.missed:
        closing.leave_list(turn, "aborted")
        turn.set(plan=(), last=None, back_to=None, doubt=None, overriding=None)
        flow.open_list(turn, task.missed)
    elif turn.state.mode not in (State.STANDING_BY, State.HOLDING):
        flow.reask(turn)


def say_mark(turn: Turn) -> None:
    """A mark of a timed wait is due."""
    timer = turn.state.timer
    assert timer is not None
    mark = timer.marks[0]
    turn.set(timer=timers.drop_mark(timer))
    if turn.now - (timer.ends - mark) <= timers.LATEST_MARK:
        turn.record("mark", remaining=f"{mark:g}")
        turn.say(wording.time_left(mark), about="mark", fresh=timers.MARK_FRESH)


def note_time_done(turn: Turn) -> None:
    """A timed wait ran out while the list was held: said now, ticked on resume."""
    timer = turn.state.timer
    assert timer is not None
    turn.set(timer=timers.run_out(timer))
    turn.record("time over", seconds=f"{timer.ends - timer.began:g}")
    turn.say(wording.time_over(turn.item))


def speech_ended(turn: Turn) -> None:
    """From the end of the prompt on, the pilot has time to answer."""
    event = turn.event
    assert isinstance(event, SpeechEnded)
    if event.say != turn.state.prompt_say:
        return
    turn.set(prompt_say=None, prompt_ended_at=turn.now)
    if turn.state.answer_due is not None:
        turn.set(answer_due=turn.now + turn.aircraft.settings.answer_time)


def advice_said(turn: Turn) -> None:
    """Advice is done when it was said to its end."""
    event = turn.event
    assert isinstance(event, SpeechEnded)
    if event.say != turn.state.prompt_say:
        return
    turn.set(prompt_say=None)
    if turn.state.prompt != wording.prompt(turn.aircraft, turn.item):
        return
    last = turn.state.last
    answers.tick(turn, "said")
    turn.set(last=last)  # no utterance ticked it: the pilot's own last one stays the last
    flow.advance(turn)


def no_answer(turn: Turn) -> None:
    """Once, twice, then park and say so; silence never advances."""
    asked = turn.state.times_asked + 1
    turn.set(times_asked=asked)
    turn.record("no answer", times=str(asked))
    if asked < CALLS_BEFORE_PARKING:
        turn.ask(turn.state.prompt, again=True)
        return
    turn.record("parked")
    turn.set(back_to=turn.state.mode, mode=State.STANDING_BY, answer_due=None)
    turn.say("No answer. Standing by.")


def not_understood(turn: Turn) -> None:
    """Refused, and said so; the prompt stays.

    Said a few times only: more is talk beside the list, which must neither be
    talked over for ever nor keep a silent pilot from being asked again.
    """
    event = turn.event
    if isinstance(event, NotUnderstood):
        turn.record("not understood", why=event.why, guess=event.guess)
        turn.show(f"({event.guess}?)" if event.guess else "(?)", "pilot")
    else:
        assert isinstance(event, Heard)
        turn.record("not understood", why=turn.input.text, guess=event.text)
    if turn.state.mode in (State.STANDING_BY, State.HOLDING, State.TIMING):
        # Talk beside a held list is usually not meant for it: a tone would nag.
        return
    if _rest_of_a_word(turn):
        return
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.set(misheard=turn.state.misheard + 1)
    if turn.state.misheard <= TIMES_NOT_UNDERSTOOD:
        turn.remark("Not understood.")


def _rest_of_a_word(turn: Turn) -> bool:
    """Whether it began when the item had hardly been asked: nobody answers that soon.

    An ear that takes an answer as soon as it is complete hears its last sound,
    a breath or the room once more.
    """
    event = turn.event
    began = event.began if isinstance(event, NotUnderstood | Heard) else turn.now
    return turn.state.times_asked == 0 and began - turn.state.asked_at < SOONEST_ANSWER


def late(turn: Turn) -> None:
    """Words meant for what was asked before count for nothing now."""
    turn.record("late", words=turn.input.text)
    turn.tone(ToneKind.NOT_UNDERSTOOD)


def part_lost(turn: Turn) -> None:
    """A part of the machine stopped: said, written down, and gone on without."""
    event = turn.event
    assert isinstance(event, Lost)
    if event.part == "feed":
        turn.set(held_since=None)  # nobody looks from now on
    ways = {
        "microphone": "Microphone lost. Answer by the keys.",
        "voice": "Voice lost. Read the screen.",
        "logbook": "Logbook lost. Nothing is recorded from now on.",
        "recording": "Recording failed. Write squawks down.",
        "logbook server": "Logbook server lost. What is written is kept here.",
        "pedal": "Pedal lost. Answer by voice, or type.",
        "feed": "Gauge feed lost. Read the gauges aloud.",
        "headset": event.what,  # nothing is lost but the likeness to the one enrolled with
    }
    text = ways.get(event.part, wording.sentence(f"{event.part} lost"))
    data = {"part": event.part, "what": event.what}
    key = f"lost/{event.part}"
    if not alerts.raise_(turn, key, text, grave=False, fact="lost", about="", **data):
        turn.record("lost", "", **data)
    if event.part == "logbook":
        squawk.logbook_lost(turn)


def part_restored(turn: Turn) -> None:
    """It works again."""
    event = turn.event
    assert isinstance(event, Restored)
    turn.record("restored", "", part=event.part)
    alerts.clear(turn, f"lost/{event.part}")
    turn.say(wording.sentence(f"{event.part} works again"), Priority.CAUTION)


def stopped(turn: Turn) -> None:
    """The person at the machine stopped it."""
    event = turn.event
    assert isinstance(event, StoppedEvent)
    turn.hush()
    if turn.state.run is not None:
        closing.leave_list(turn, "left")
    closing.end(turn, event.why)


def nothing(turn: Turn) -> None:
    """Time passed and nothing was due."""
    del turn
