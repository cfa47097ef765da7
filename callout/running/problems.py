"""What can keep a session from being started or taken up.

Rule of this file: sentences for people.
"""

from __future__ import annotations


class CannotRunError(Exception):
    """The session cannot be started; the text is for people."""


class LogDiffersError(CannotRunError):
    """A recording does not give the events that its log holds."""
