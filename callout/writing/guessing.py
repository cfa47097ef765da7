"""What a piece of an owner's document probably is: a list, an item, a remark.

Rule of this file: a guess says in `doubts` what it is not sure of, in words for
the owner; where nothing can be made of a piece it says so and keeps the text.
Nothing is added that the document does not have.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

from callout.checklist.review_words import STATES, TWO_SIDED, VERBS, words_of
from callout.words.number_words import spelled
from callout.writing.amounts_read import Value, value_of
from callout.writing.documents import Piece

NO_ANSWER = "no answer in the document: what is there to be seen?"
HEADS = words_of(
    "item items check action response answer challenge condition state who remarks remark note "
    "notes no nr number step limit value ok initials done position task"
)
"""Words that head the columns of a table."""

_SPLITS = (
    re.compile(r"\s*\.(?:\s?\.){2,}\s*"),
    re.compile(r"\s*[_…]{2,}\s*|\s*…\s*"),
    re.compile(r"\s*\t+\s*"),
    re.compile(r"\s{3,}"),
    re.compile(r"\s+(?:->|=>|→|–|—|--)\s+"),
    re.compile(r"\s+-\s+"),
    re.compile(r":\s+"),
)
"""What parts the call from the answer, the surest first."""

_RUN = re.compile(r"\s{4,}")

_REMARK = re.compile(
    r"(?i)\s*(warning|caution|note|notice|remark|important|attention)\s*[:!.-]\s*(.+)"
)
_HELPER = re.compile(r"(?i)\(?\b(helper|ground crew|assistant|second person)\b\)?\s*:?\s*$")
_KILLER = re.compile(r"(?i)\(?\b(killer|critical)\b(?: item)?\)?|!!+|★")
_TIME = re.compile(
    r"(?i)(?:wait |for |at least |min\.? )*(\d+(?:[.,]\d+)?)\s*"
    r"(seconds?|secs?|s|minutes?|mins?|min)\b\.?"
)
_SENTENCE = re.compile(r"[a-z][.!?](?:\s|\W*$)")
_DONE = {
    "remove": "removed",
    "close": "closed",
    "open": "open",
    "lock": "locked",
    "fasten": "fastened",
    "connect": "connected",
    "disconnect": "disconnected",
    "release": "released",
    "engage": "engaged",
    "arm": "armed",
    "install": "fitted",
    "secure": "secured",
    "drain": "drained",
    "tighten": "tight",
    "stow": "stowed",
    "apply": "applied",
    "clear": "clear",
}
"""What is so when an order was carried out."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What a piece probably is.

    Fields:
        kind: "list", "item", "remark", "head" (of a table) or "left"
        call: title, call or text
        answer: words that count; value: what a gauge shows; wait: seconds
        doubts: what the owner has to look at
    """

    piece: Piece
    kind: str
    call: str = ""
    answer: str = ""
    value: Value | None = None
    wait: float | None = None
    killer: bool = False
    helper: bool = False
    doubts: tuple[str, ...] = ()


@dataclass
class _Parts:
    """An item on its way."""

    call: str
    answer: str
    rest: list[str]
    doubts: list[str] = field(default_factory=list)
    killer: bool = False
    helper: bool = False


def guess(piece: Piece) -> Guess:
    """What a piece probably is."""
    text = piece.text.strip()
    if not re.search(r"[^\W\d_]", text):
        return Guess(piece, "left", doubts=("no words in it",))
    if piece.heading:
        return _title(piece, text)
    if len(piece.cells) > 1 and all(_bare(cell) in HEADS or not cell for cell in piece.cells):
        return Guess(piece, "head")
    remark = _REMARK.fullmatch(text) if len([c for c in piece.cells if c]) == 1 else None
    if remark:
        return Guess(piece, "remark", f"{remark[1].capitalize()}: {_plain(remark[2])}")
    parts = _parts(piece)
    if not parts.answer and _is_title(piece, parts.call):
        return _title(piece, parts.call)
    if piece.beside:
        return Guess(piece, "left", doubts=("it stands beside the text",))
    if not (parts.answer or piece.marked) and _SENTENCE.search(text):
        return Guess(piece, "left", doubts=("a sentence, not an item",))
    return _item(piece, parts)


def _title(piece: Piece, text: str) -> Guess:
    title, doubts = words(text.rstrip(": "))
    title = re.sub(r"(?i)\s+(check ?list|checks|check)$", "", title).lower()
    return Guess(piece, "list" if title else "left", title.replace(",", ""), doubts=tuple(doubts))


def _is_title(piece: Piece, text: str) -> bool:
    if piece.marked or len(text.split()) > 8:
        return False
    alone = len([cell for cell in piece.cells if cell]) == 1
    return alone and (text.endswith(":") or (text.isupper() and len(text) > 2))


def _parts(piece: Piece) -> _Parts:
    cells = [cell.strip() for cell in piece.cells if cell.strip() and not _is_count(cell)]
    if len(cells) == 1:
        cells = _split(cells[0])
    call, *others = cells or [piece.text]
    parts = _Parts(call, others[0] if others else "", others[1:])
    for one in (parts.call, parts.answer, *parts.rest):
        parts.killer = parts.killer or _KILLER.search(one) is not None
        parts.helper = parts.helper or _HELPER.search(one) is not None
    parts.call, parts.answer = (_unflagged(one) for one in (parts.call, parts.answer))
    for one in parts.rest:
        if _unflagged(one):
            parts.doubts.append(f'not taken: "{one}"')
    return parts


def _unflagged(text: str) -> str:
    return _HELPER.sub("", _KILLER.sub("", text)).strip(" \t.;")


def _is_count(cell: str) -> bool:
    return re.fullmatch(r"\s*(?:\(?\d{1,3}[.)]?|\[[ xX]?\]|[☐☑□])\s*", cell) is not None


def _split(text: str) -> list[str]:
    # A long run of spaces is looked through anew from each of them by the rules below.
    text = _RUN.sub(lambda run: "\t" if "\t" in run[0] else "   ", text)
    for rule in _SPLITS:
        found = [part for part in rule.split(text, maxsplit=1) if part.strip()]
        if len(found) == 2 and re.search(r"[^\W\d_]", found[0]):
            more = _SPLITS[2].split(found[1], maxsplit=1)
            return [found[0], *more]
    return [text]


def _item(piece: Piece, parts: _Parts) -> Guess:
    doubts = parts.doubts
    wait = _wait(parts)
    value = None if wait is not None else value_of(parts.answer)
    if not parts.answer and wait is None:
        _from_sentence(parts)
    call, odd = words(parts.call)
    doubts += odd
    answer = ""
    if wait is None and value is None:
        answer, odd = words(parts.answer)
        answer = " ".join(answer.replace(",", " ").lower().split())
        doubts += odd
        if not answer:
            answer = "checked"
            doubts.append(NO_ANSWER)
    if value is not None and not value.unit:
        doubts.append("no unit in the document")
    if not call:
        return Guess(piece, "left", doubts=("nothing of it can be spoken",))
    return Guess(
        piece,
        "item",
        call.lower(),
        answer,
        value,
        wait,
        parts.killer and wait is None,
        parts.helper,
        tuple(dict.fromkeys(doubts)),
    )


def _wait(parts: _Parts) -> float | None:
    """A time that is all of the answer, or the end of a call without one."""
    found = _TIME.fullmatch(parts.answer.strip()) if parts.answer else None
    if found is None and not parts.answer:
        found = re.search(rf"{_TIME.pattern}\s*$", parts.call)
        if found:
            before = parts.call[: found.start()]
            parts.call = re.sub(r"(?i)\b(for|wait)\s*$", "", before).strip(" ,:-") or "wait"
    if found is None:
        return None
    minutes = found[2].lower().startswith("m")
    return float(found[1].replace(",", ".")) * (60 if minutes else 1)


def _from_sentence(parts: _Parts) -> None:
    """Thing and state in one line: "Remove intake cover", "Fuel lever closed"."""
    found = parts.call.rstrip(".").split()
    lower = [word.lower().strip(",") for word in found]
    if len(found) > 1 and lower[-1] in STATES:
        first = 1 if lower[0] in VERBS | TWO_SIDED else 0
        parts.call, parts.answer = " ".join(found[first:-1]), found[-1]
        if not parts.call:
            parts.call = found[0]
        parts.doubts.append("call and answer were one line")
    elif len(found) > 1 and lower[0] in _DONE:
        parts.call, parts.answer = " ".join(found[1:]), _DONE[lower[0]]
        parts.doubts.append(f'"{found[0]}" was taken as "{parts.answer}" when it is done')
    elif len(found) > 1 and lower[0] in VERBS | TWO_SIDED:
        parts.call = " ".join(found[1:])


def words(text: str) -> tuple[str, list[str]]:
    """A text as it can be spoken, and what was changed for that."""
    doubts = []
    spoken = _plain(text)
    if re.search(r"\d", spoken):
        spoken = re.sub(r"\d+", lambda found: f" {spelled(found[0])} ", spoken)
        doubts.append("numbers were spelled out")
    ascii_only = unicodedata.normalize("NFKD", spoken).encode("ascii", "ignore").decode()
    if re.sub(r"\W", "", spoken) != re.sub(r"\W", "", ascii_only):
        doubts.append("letters were written without their accents")
    kept = re.sub(r"[^A-Za-z', ]+", " ", ascii_only)
    kept = re.sub(r"(?<![A-Za-z])'|'(?![A-Za-z])", " ", kept)
    kept = re.sub(r"\s*,[\s,]*", ", ", kept).strip(" ,")
    return " ".join(kept.split()), doubts


_SIGNS = (
    ("&", " and "),
    ("/", " or "),
    ("%", " percent "),
    ("(", ", "),
    (")", ", "),
    ("+", " and "),
)


def _plain(text: str) -> str:
    for sign, word in _SIGNS:
        text = text.replace(sign, word)
    return re.sub(r"\s+([,.;])", r"\1", " ".join(text.split())).strip(" ,")


def _bare(cell: str) -> str:
    return re.sub(r"[^a-z]", "", cell.lower())
