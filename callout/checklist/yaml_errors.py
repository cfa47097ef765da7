"""What a YAML parser complains of, said for a person who is no programmer.

Rule of this file: text in, text out. Both parsers (libyaml and pure Python)
come through here; a complaint that the table does not know is passed on as it is.
"""

from __future__ import annotations

import yaml

_KNOWN: tuple[tuple[str, str], ...] = (
    (
        "mapping values are not allowed",
        "a colon stands where none can; expected `key: value`, and quotes around text with a colon",
    ),
    (
        "could not find expected ':'",
        "a line without a colon; expected `key: value`, with a space after the colon",
    ),
    (
        "end of stream",
        "the file ends inside quotes or brackets; expected them to be closed",
    ),
    (
        "cannot start any token",
        "a character that YAML keeps for itself begins a value; expected quotes around it",
    ),
    (
        "did not find expected key",
        "this does not line up with its neighbours; expected the same indentation, or quotes",
    ),
    (
        "expected <block end>",
        "this does not line up with its neighbours; expected the same indentation, or quotes",
    ),
    (
        "'-' indicator",
        "this does not line up with its neighbours; expected the same indentation",
    ),
    (
        "block sequence entries are not allowed",
        "a dash stands where none can; expected the list on lines of its own below its key",
    ),
    (
        "',' or ']'",
        "a list in brackets is not closed; expected words with commas between, then `]`",
    ),
    (
        "',' or '}'",
        "a mapping in braces is not closed; expected `key: value` with commas between, then `}`",
    ),
    ("nesting depth", "this is nested too deep; expected a checklist"),
    ("expected node content", "nothing stands here; expected a word, a list or a mapping"),
    ("escape", "a backslash inside double quotes; expected single quotes, or two backslashes"),
)


def sentence(error: yaml.YAMLError, text: str) -> tuple[int, int, str]:
    """Line and column (from 1) and what is wrong there."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    line = mark.line + 1 if mark is not None else 1
    column = mark.column + 1 if mark is not None else 1
    if _tab_indents(text, line):
        return line, 1, "a tab indents this line; expected spaces"
    quote = _open_quote(text, line)
    if quote:
        return *quote, "the quotes that open here are not closed; expected both on one line"
    complaint = str(getattr(error, "problem", None) or getattr(error, "reason", None) or error)
    for part, said in _KNOWN:
        if part in complaint:
            return line, column, said
    return line, column, f"this is not YAML ({complaint.strip()}); expected `key: value` lines"


def _open_quote(text: str, line: int) -> tuple[int, int] | None:
    """Where a line up to this one leaves a double quote open, which often breaks a later one."""
    for number, whole in enumerate(text.splitlines()[:line], 1):
        if not whole.lstrip().startswith("#") and whole.count('"') % 2:
            return number, whole.rindex('"') + 1
    return None


def _tab_indents(text: str, line: int) -> bool:
    lines = text.splitlines()
    if not 1 <= line <= len(lines):
        return False
    whole = lines[line - 1]
    return "\t" in whole[: len(whole) - len(whole.lstrip())]
