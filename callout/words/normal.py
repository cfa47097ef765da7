"""One spelling for what people type, write in files, and say.

Rule of this file: text in, text out, in time that grows with the length of the
text alone. What cannot be made canonical without guessing is left as one odd
word, which no phrase and no number will match.
"""

from __future__ import annotations

import re
import unicodedata

_APOSTROPHES = str.maketrans({"\u2019": "'", "\u2018": "'", "\u02bc": "'", "\u2212": "-"})
_NUMERAL = re.compile(r"(-?)((?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+)(%?)")
_INITIALS = re.compile(r"(?:[^\W\d_]\.){2,}|(?:[^\W\d_]\.)+[^\W\d_]")
_OPENING = "\"'([{<«“„¿¡*_"
_CLOSING = "\"')]}>».,;:!?”…*_"


def normalise(text: str) -> str:
    """Return canonical words: lower case, single spaces, no punctuation.

    Hyphens and slashes part words, an apostrophe inside a word stays, initials
    lose their points ("O.K." -> "ok"). A numeral keeps its decimal point and
    loses its thousands commas; its sign and a percent sign become words
    ("-12,500.5%" -> "minus 12500.5 percent"). Anything else that mixes digits
    with signs ("1.2.3", "2,5", "2-5") stays one word as it is: to part it would
    be to guess a number.
    """
    chunks = unicodedata.normalize("NFC", text.translate(_APOSTROPHES).lower()).split()
    return " ".join(word for chunk in chunks for word in _words(chunk))


def _words(chunk: str) -> list[str]:
    """Return the canonical words of a text without spaces."""
    bare = chunk.lstrip(_OPENING).rstrip(_CLOSING)
    numeral = _NUMERAL.fullmatch(bare)
    if numeral:
        sign, digits, percent = numeral.groups()
        minus = ["minus"] if sign else []
        return [*minus, digits.replace(",", ""), *(["percent"] if percent else [])]
    if any(letter.isnumeric() for letter in bare):
        return [bare]
    # `chunk`, not `bare`: the last point of "o.k." is a sign that it is initials.
    initials = chunk.lstrip(_OPENING).rstrip(_CLOSING.replace(".", ""))
    if _INITIALS.fullmatch(initials):
        return [initials.replace(".", "")]
    return _letters_only(bare)


def _letters_only(text: str) -> list[str]:
    """Part the text wherever something stands that belongs in no word."""
    kept = "".join(letter if _in_word(letter) else " " for letter in text)
    words = (word.strip("'") for word in kept.split())
    return [word for word in words if word]


def _in_word(letter: str) -> bool:
    return letter == "'" or letter.isalpha() or unicodedata.category(letter) in ("Mn", "Mc")
