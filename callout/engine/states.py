"""Where a session may stand, and what an event may amount to there.

Rule of this file: names only. What follows from them stands in rules.py.
"""

from __future__ import annotations

from enum import Enum


class State(Enum):
    """Where a session stands."""

    #: before the first event
    CLOSED = "closed"
    #: no list open; the next one is offered
    READY = "ready"
    #: an item was read aloud and waits for its answer (or choice, or value)
    ASKING = "asking"
    #: advice is being said
    ADVISING = "advising"
    #: a timed wait runs
    TIMING = "timing"
    #: waits for a gauge to come into a band
    AWAITING = "awaiting"
    #: a number could be two; the pilot confirms one
    CONFIRMING = "confirming"
    #: an override was asked for; a reason is due
    REASONING = "reasoning"
    #: a reason was given; the second utterance is due
    CONFIRMING_OVERRIDE = "confirming override"
    #: the pilot said stand by, or did not answer: silent, still listening for the answer
    STANDING_BY = "standing by"
    #: the list is held: only resume, abort and questions count
    HOLDING = "holding"
    #: what is said is recorded; nothing else counts
    SQUAWKING = "squawking"
    #: a squawk is to be closed; how is due
    CLOSING_SQUAWK = "closing squawk"
    #: the list's end was reached with items open
    REVIEWING = "reviewing"
    #: over
    ENDED = "ended"


class Trigger(Enum):
    """What an event amounts to in the state it meets."""

    OPENED = "session opened"
    ANSWER = "right answer"
    WRONG_ANSWER = "wrong answer"
    VALUE = "value"
    DOUBTFUL_VALUE = "value that could be two"
    IMPOSSIBLE_VALUE = "value the gauge cannot show"
    OPTION = "option chosen"
    REASON = "reason"
    OPEN_LIST = "open a list by name"
    CALL_PROCEDURE = "abort or emergency procedure by name"
    CORRECT_ANSWER = "correction with an answer"
    CORRECT_VALUE = "correction with a value"
    END_SESSION = "end session"
    SAY_AGAIN = "say again"
    STAND_BY = "stand by"
    HOLD = "hold"
    RESUME = "resume"
    DISREGARD = "disregard"
    CORRECTION = "correction"
    ABORT = "abort"
    HELP = "help"
    DEFER = "defer"
    SKIP = "skip"
    OVERRIDE = "override"
    CONFIRM_OVERRIDE = "confirm override"
    WHY = "why"
    WHERE_AM_I = "where am i"
    WHAT_IS_OPEN = "what is open"
    WHO_IS_NEXT = "who is next"
    GO_BACK = "go back"
    PROCEED = "proceed"
    AFFIRM = "affirm"
    NEGATIVE = "negative"
    UNABLE = "unable"
    SQUAWK = "squawk"
    END_SQUAWK = "end squawk"
    PLAY_SQUAWK = "play squawk"
    NEXT_SQUAWK = "next squawk"
    CLEAR_SQUAWK = "clear squawk"
    GROUND = "ground the aircraft"
    SQUAWK_HOW = "how a squawk was closed"
    SQUAWK_OVER = "nothing more said of a squawk"
    NOTED = "typed into a squawk"
    ROGER = "roger"
    KEY_AFFIRM = "affirm by key"
    LATE = "words meant for what was asked before"
    NOT_UNDERSTOOD = "not understood"
    NO_ANSWER = "no answer in time"
    SPEECH_ENDED = "sentence said to its end"
    ALERT_DUE = "warning not answered"
    MARK = "mark of a timed wait"
    TIME_DONE = "timed wait over"
    TIME_MISSED = "condition not met in time"
    CONDITION_MET = "condition met"
    READING = "reading"
    SENSOR_FAULT = "sensor not to be trusted"
    SENSOR_GOOD = "sensor works again"
    LOST = "part lost"
    RESTORED = "part restored"
    CAME_BACK = "program came back"
    STOPPED = "stopped"
    BESIDE = "words about cool-down or standstill"
    DUTY_DUE = "call of the cool-down or of a counter"
    RESIDUAL_FIRE = "fire after fuel off"
    WHAT_COUNTS = "what counts"
    START_SAID = "words about the start"
    START_VALUE = "value called in the start"
    START_UNCLEAR = "value called in the start, not clear"
    START_DUE = "time limit of the start"
    START_FAULT = "start to be broken off"
    NOTHING = "time passed"
