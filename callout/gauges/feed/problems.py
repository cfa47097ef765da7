"""What can keep a feed from being opened or read.

Rule of this file: sentences for people.
"""

from __future__ import annotations


class FeedProblem(Exception):  # noqa: N818 - the sentence is the point
    """The feed cannot be used as it was asked for; the text is for people."""
