"""What keeps an ear from listening, as sentences for people: one family of errors.

Rule of this file: an error's text says what is wrong and what puts it right.
"""

from __future__ import annotations


class EarProblem(Exception):  # noqa: N818 - the name is the sentence
    """An ear cannot be made or go on; the text is for people."""


class MicrophoneLost(EarProblem):
    """There is no microphone, or it stopped working."""


class ModelProblem(EarProblem):
    """A speech model is missing, damaged or not what it should be."""


class NotARecording(EarProblem):
    """A file cannot be listened to."""
