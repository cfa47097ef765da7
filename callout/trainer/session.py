"""A drill: (state, event, now) -> (state, effects), and its deadline.

Rule of this file: pure. It has the face of the checklists' own session, so that the
same loops, ears, voices and clocks carry it; what it decides stands in script.py,
spoken.py, quiz.py and scoring.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from callout.checklist.model import Aircraft
from callout.engine.effects import Effect, Record, ToneKind
from callout.engine.events import (
    Clock,
    Event,
    Heard,
    Lost,
    NotUnderstood,
    Restored,
    SessionOpened,
    SpeechEnded,
    Stopped,
)
from callout.engine.wording import sentence
from callout.trainer import quiz, scene, script, spoken
from callout.trainer.fitting import engine_for
from callout.trainer.model import Drill, Speaker
from callout.trainer.scoring import Result, result
from callout.trainer.spelled import spoken_figures
from callout.trainer.state import SAME, DrillState, Mark, Mode
from callout.trainer.turn import Turn
from callout.trainer.words_of import expected_now, grammar_of

PRACTISED = "practised"
"""The fact that a drill was gone through; it is written down before the debrief is said."""

CARE = "Practice with an invented engine. Your aircraft's own handbook rules."


@dataclass(frozen=True, slots=True)
class Practice:
    """What is practised, by whom, how.

    Fields:
        roles: whom the trainees are, one or both
        coached: the words are told before each window
        seed: of the day's amounts
        news: said first ("" for nothing)
    """

    roles: tuple[Speaker, ...]
    coached: bool = False
    seed: int = 0
    news: str = ""


def step(
    drill: Drill, aircraft: Aircraft, state: DrillState, event: Event, now: float
) -> tuple[DrillState, tuple[Effect, ...]]:
    """Handle one event; `now` is session time (s), never before the state's own."""
    turn = Turn(drill, aircraft, replace(state, now=max(now, state.now)))
    if turn.state.held is None:
        script.go_on(turn)
    _take(turn, event)
    if turn.state.held is None and not isinstance(event, Clock):
        script.go_on(turn)
    _listen_anew(turn)
    _turn_pages(turn)
    return turn.finish()


def _listen_anew(turn: Turn) -> None:
    """What may be answered now has changed: the ear is told what is likely."""
    state = turn.state
    if state.mode is Mode.RUNNING and (now := expected_now(turn.drill, state)) != state.expected:
        turn.set(expected=now)
        turn.listen(grammar_of(turn.drill, turn.aircraft, turn.state))


def _take(turn: Turn, event: Event) -> None:
    mode = turn.state.mode
    match event:
        case SessionOpened():
            _open(turn)
        case Stopped():
            turn.set(broken=mode not in (Mode.CLOSING, Mode.ENDED), mode=Mode.ENDED)
        case SpeechEnded(number):
            script.ended(turn, number)
            _said(turn)
        case Heard():
            _heard(turn, event)
        case NotUnderstood() if mode in (Mode.RUNNING, Mode.ASKING):
            turn.tone(ToneKind.NOT_UNDERSTOOD)
            turn.tell("note", f"Not understood ({event.why}).", "not understood")
        case Lost(part, what):
            turn.tell("note", f"The {part} is lost: {what}", "lost")
            if part == "microphone":
                turn.set(deaf=turn.state.deaf + 1)
                spoken.hold_deaf(turn)
        case Restored("microphone"):
            turn.set(deaf=max(0, turn.state.deaf - 1))
            spoken.hear_again(turn)
        case _:
            pass


def _open(turn: Turn) -> None:
    drill, state = turn.drill, turn.state
    turn.set(
        mode=Mode.INTRODUCING,
        marks=tuple(Mark() for _ in drill.lines),
        stage=scene.begin(drill.scene, state.seed, engine_for(turn.aircraft, drill.scene)),
        held=state.now,
        skew=state.now,
    )
    turn.listen(grammar_of(drill, turn.aircraft, turn.state))
    for caution in drill.cautions:
        turn.tell("caution", caution, "caution")
    roles = " and ".join(f"the {role.value}" for role in state.roles)
    coach = " I tell you the words when they are wanted." if state.coached else ""
    who = "You are both: " if len(state.roles) > 1 else "You are "
    news = f"{state.news} " if state.news else ""
    intro = f"{CARE} {news}Drill: {drill.title}. {drill.about} {who}{roles}.{coach}"
    turn.say(intro, kind="intro")


def _heard(turn: Turn, event: Heard) -> None:
    mode = turn.state.mode
    if mode is Mode.ASKING:
        quiz.hear(turn, event)
    elif mode is Mode.RUNNING:
        spoken.hear(turn, event)
    elif mode is Mode.INTRODUCING:
        _hurry(turn, event)


def _hurry(turn: Turn, event: Heard) -> None:
    """Words into the introduction cut it; only the end of the drill is obeyed."""
    turn.tell("trainee", event.text)
    turn.hush()
    if event.text == "end drill":
        turn.set(broken=True)
    _said(turn)


def _said(turn: Turn) -> None:
    mode = turn.state.mode
    if mode is Mode.INTRODUCING and not turn.state.speaking:
        turn.set(mode=Mode.RUNNING, skew=turn.state.now, held=None)
        if turn.state.deaf:
            spoken.hold_deaf(turn)
    elif mode is Mode.ASKING:
        quiz.wait_for_answer(turn)


def _turn_pages(turn: Turn) -> None:
    """From the scene to the questions, to the debrief, to the end."""
    state = turn.state
    if state.broken and state.mode in (Mode.RUNNING, Mode.INTRODUCING, Mode.ASKING):
        turn.hush()
        turn.set(mode=Mode.CLOSING, posed=None, held=None)
        turn.say("The drill is ended. It is not counted.")
        return
    if state.mode is Mode.RUNNING and script.is_over(turn) and not _cues(turn):
        if not quiz.ask_next(turn):
            _debrief(turn)
    elif state.mode is Mode.ASKING:
        if state.due is not None and state.t >= state.due - SAME:
            quiz.give_up(turn)
        if turn.state.posed is None and not quiz.ask_next(turn):
            _debrief(turn)
    elif state.mode is Mode.CLOSING and not state.speaking:
        turn.set(mode=Mode.ENDED)


def _cues(turn: Turn) -> bool:
    """Whether a line of the scene is still being said when its time is up."""
    in_time = turn.state.t - turn.state.began < turn.drill.scene.lasts
    return in_time and any(name for _, name in turn.state.speaking)


def _debrief(turn: Turn) -> None:
    """Written down, then said: the score and the one thing that mattered most."""
    scored = result(turn.drill, turn.state)
    turn.effects.append(Record(PRACTISED, turn.drill.id, (("percent", str(scored.percent)),)))
    turn.set(mode=Mode.CLOSING)
    for text in debrief(turn.drill, scored):
        turn.say(text, kind="debrief")


def debrief(drill: Drill, scored: Result) -> tuple[str, ...]:
    """What is said at the end."""
    score = f"Score {spoken_figures(str(scored.percent))} percent."
    mattered = sentence(spoken_figures(scored.mattered))
    word = "What mattered most: " if scored.percent < 100 else ""
    asked = ""
    if scored.replies:
        right, of = str(scored.answered), str(len(scored.replies))
        asked = f" Questions: {spoken_figures(right)} of {spoken_figures(of)}."
    lines = (f"{score}{asked}", f"{word}{mattered}", sentence(drill.debrief))
    return (*(line for line in lines if line), "Practice certifies nothing.")


class DrillSession:
    """One drill, moved by events.  `now` of every call is session time in seconds."""

    def __init__(self, drill: Drill, aircraft: Aircraft, practice: Practice) -> None:
        self.drill = drill
        self.aircraft = aircraft
        self.state = DrillState(practice.roles, practice.coached, practice.seed, news=practice.news)

    def handle(self, event: Event, now: float) -> tuple[Effect, ...]:
        """Take an event; return what must be done, in the order it must be done."""
        self.state, effects = step(self.drill, self.aircraft, self.state, event, now)
        return effects

    def next_deadline(self) -> float | None:
        """Session time at which a Clock event is wanted; None for never."""
        state = self.state
        if state.held is not None:
            return None
        if state.mode is Mode.RUNNING:
            return script.next_look(state.t) + state.skew
        return None if state.due is None else state.due + state.skew

    @property
    def ended(self) -> bool:
        """Whether the drill is over and its last sentence said."""
        return self.state.mode is Mode.ENDED

    @property
    def result(self) -> Result:
        """What it came to."""
        names = tuple(gauge.id for gauge in self.aircraft.gauges)
        return result(self.drill, self.state, names)
