"""Pydantic's errors, said in our words, each at its place in the file.

Rule of this file: the one place that knows pydantic's error names. An error
name that is not in the table is still a sentence, never a traceback.
"""

from __future__ import annotations

from typing import TypeGuard, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from callout.checklist.positions import Node, plain
from callout.checklist.problems import Collector, Place, did_you_mean, listed, nearest, quoted

Shape = TypeVar("Shape", bound=BaseModel)

_EXPECTED = {
    "model_type": "`key: value` lines",
    "model_attributes_type": "`key: value` lines",
    "dict_type": "`key: value` lines",
    "list_type": "a list, one entry a line, each with a dash",
    "too_short": "at least one entry",
}


def shaped(
    shape: type[Shape], node: Node, what: str, problems: Collector, skip: tuple[str, ...] = ()
) -> Shape | None:
    """The node as this shape, or None and every problem noted.

    Args:
        shape: pydantic model
        node: what was written
        what: what it is called in a sentence, such as "this item"
        problems: where problems go
        skip: keys that are looked at elsewhere
    """
    data = plain(node)
    if isinstance(data, dict):
        data = {key: value for key, value in data.items() if key not in skip}
    try:
        return shape.model_validate(data)
    except ValidationError as error:
        for one in error.errors(include_url=False, include_context=True, include_input=False):
            place, message = _say(one, node, shape, what)
            problems.add(place, message)
        return None


def _say(error: ErrorDetails, node: Node, shape: type[BaseModel], what: str) -> tuple[Place, str]:
    loc = error["loc"]
    kind = error["type"]
    if kind == "extra_forbidden":
        around = _around(node, loc, what)
        return node.key_at(*loc), unknown_key(str(loc[-1]), keys_of(shape, loc[:-1]), around)
    if kind == "missing":
        around = _around(node, loc, what)
        return node.at(*loc[:-1]), f'{around} has no "{loc[-1]}"; expected one'
    if loc and loc[-1] == "[key]":
        return node.key_at(*loc[:-1]), _own_words(error)
    if kind == "value_error":
        return node.at(*loc), _own_words(error)
    expected = _EXPECTED.get(kind, "something else here")
    return node.at(*loc), f"found {_found(node, loc)}; expected {expected}"


def _own_words(error: ErrorDetails) -> str:
    return str(error["ctx"]["error"])


def _around(node: Node, loc: tuple[str | int, ...], what: str) -> str:
    keys = [step for step in loc[:-1] if isinstance(step, str)]
    return f'"{keys[-1]}"' if keys else what


def _found(node: Node, loc: tuple[str | int, ...]) -> str:
    for step in loc:
        if isinstance(step, str) and step in node.map:
            node = node.map[step]
        elif isinstance(step, int) and step < len(node.list):
            node = node.list[step]
    if isinstance(node.value, str):
        return quoted(node.value) if node.value else "nothing"
    if not node.value:
        return "an empty list" if isinstance(node.value, list) else "nothing"
    return "a list" if isinstance(node.value, list) else "`key: value` lines"


def unknown_key(key: str, known: list[str], around: str) -> str:
    """The sentence about a key that the language does not have."""
    near = nearest(key, known)
    if near:
        return f"unknown key {quoted(key)} in {around}{did_you_mean(key, known)}"
    return f"unknown key {quoted(key)} in {around}; expected one of {listed(known)}"


def keys_of(shape: type[BaseModel], loc: tuple[str | int, ...] = ()) -> list[str]:
    """The keys that may stand at this path below the shape."""
    found: object = shape
    for step in loc:
        if _is_shape(found):
            by_key = {field.alias or name: field for name, field in found.model_fields.items()}
            found = by_key[str(step)].annotation if step in by_key else None
            found = _without_none(found)
        else:  # a name in a mapping of parts, or a position in a list of them
            found = _inner(found)
    return [f.alias or n for n, f in found.model_fields.items()] if _is_shape(found) else []


def _is_shape(found: object) -> TypeGuard[type[BaseModel]]:
    return isinstance(found, type) and issubclass(found, BaseModel)


def _without_none(annotation: object) -> object:
    """`X` of `X | None`, anything else as it is."""
    options = [one for one in get_args(annotation) if one is not type(None)]
    return options[0] if type(None) in get_args(annotation) else annotation


def _inner(annotation: object) -> object:
    """The shape inside `Shape | None`, `dict[Id, Shape]` or `list[Shape]`."""
    if _is_shape(annotation):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        inner = _inner(argument)
        if _is_shape(inner):
            return inner
    return None
