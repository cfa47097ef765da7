"""Figures of a sentence as they are spoken: digit by digit.

Rule of this file: text in, text out; a voice never has to guess a number.
"""

from __future__ import annotations

import re
from decimal import Decimal

from callout.words.say_numbers import say_digits

_FIGURE = re.compile(r"[0-9]+(?:\.[0-9]+)?")


def spoken_figures(text: str) -> str:
    """The sentence with its figures in words: "2.4" becomes "two point four"."""
    return _FIGURE.sub(lambda found: say_digits(Decimal(found[0])), text)
