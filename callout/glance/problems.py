"""What keeps the page from being served, as sentences for people.

Rule of this file: an error's text says what is wrong and what puts it right.
"""

from __future__ import annotations


class GlanceProblem(Exception):  # noqa: N818 - the name is the sentence
    """The page cannot be served; the text is for people."""
