"""YAML text -> a tree of plain words, each with its file, line and column.

Rule of this file: a scalar stays the text that was typed. YAML's own ideas of
what `on`, `1:30` or `0123` mean are never asked for. The tree is built from the
parser's events, one after the other, without recursion, so that size, depth and
number of nodes are bounded before anything is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import yaml

from callout.checklist.problems import Collector, FileProblems, Place, Problem, TooMany, quoted
from callout.checklist.yaml_errors import sentence

Loader: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""libyaml where the wheel carries it; the same events from pure Python otherwise."""

MOST_BYTES = 1_000_000
"""A flying day with all its reasons takes about 30 kB."""

DEEPEST = 16
"""Nine levels are the deepest that the language has."""

MOST_NODES = 20_000
"""Words, lists and mappings in one file; a flying day takes about 1500."""


@dataclass(slots=True)
class Node:
    """One value of the file.

    Fields:
        value: text, or a list, or a mapping in the order written
        place: where the value begins
        key: where its key begins, if it has one
    """

    value: str | list[Node] | dict[str, Node]
    place: Place
    key: Place | None = None

    @property
    def map(self) -> dict[str, Node]:
        """The entries of a mapping; nothing for anything else."""
        return self.value if isinstance(self.value, dict) else {}

    @property
    def list(self) -> list[Node]:
        """The entries of a list; nothing for anything else."""
        return self.value if isinstance(self.value, list) else []

    @property
    def text(self) -> str:
        """The text of a scalar; "" for anything else."""
        return self.value if isinstance(self.value, str) else ""

    def at(self, *loc: str | int) -> Place:
        """Where the value at this path is written, or the nearest thing above it."""
        node = self
        for step in loc:
            if isinstance(step, str) and step in node.map:
                node = node.map[step]
            elif isinstance(step, int) and 0 <= step < len(node.list):
                node = node.list[step]
            else:
                break
        return node.place

    def key_at(self, *loc: str | int) -> Place:
        """Where the last key of this path is written."""
        *above, last = loc
        node = self
        for step in above:
            node = node.map[step] if isinstance(step, str) else node.list[step]
        child = node.map.get(str(last))
        return (child.key or child.place) if child else node.place


def plain(node: Node) -> object:
    """The tree as str, list and dict.  Not deeper than DEEPEST, so recursion is safe."""
    if isinstance(node.value, dict):
        return {key: plain(child) for key, child in node.value.items()}
    if isinstance(node.value, list):
        return [plain(child) for child in node.value]
    return node.value


def read_bytes(path: Path, name: str) -> bytes:
    """The file's bytes, at most MOST_BYTES.  Raises FileProblems."""
    try:
        if not path.is_file():
            what = "this is not a plain file" if path.exists() else "there is no such file"
            raise _stop(name, f"{what}; expected an aircraft file such as my-aircraft.yaml")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "the name cannot be used"
        raise _stop(name, f"the file cannot be read: {why}") from None
    if len(data) > MOST_BYTES:
        raise _stop(name, f"the file is larger than {MOST_BYTES // 1000} kB; expected a checklist")
    return data


def parse(data: bytes, name: str, loader: type = Loader) -> Node:
    """The tree of one file.

    Args:
        data: the file's bytes
        name: the file's name for messages
        loader: the YAML parser; both kinds give the same tree

    Raises FileProblems: not text, not YAML, or YAML that has no place here
    (anchors, aliases, tags, several documents, repeated keys, deep nesting).
    """
    text = _as_text(data, name)
    problems = Collector()
    try:
        tree = _Builder(name, problems).build(text, loader)
    except yaml.YAMLError as error:
        line, column, what = sentence(error, text)
        problems.add(Place(name, line, column), what)
        raise problems.stop() from None
    except TooMany:
        raise problems.stop() from None
    if problems:
        raise problems.stop()
    if tree is None:
        raise _stop(name, 'the file is empty; expected "callout: 1" as its first line')
    return tree


def _stop(name: str, message: str, line: int = 1, column: int = 1) -> FileProblems:
    return FileProblems([Problem(name, line, column, message)])


def _as_text(data: bytes, name: str) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - (before.rfind(b"\n") + 1) + 1
        what = "this is not UTF-8 text; expected a YAML file saved as UTF-8"
        raise _stop(name, what, line, column) from None
    for at, character in enumerate(text):
        if not (character.isprintable() or character in "\n\r\t\u00a0\u2028\u2029\ufeff"):
            line = text.count("\n", 0, at) + 1
            column = at - (text.rfind("\n", 0, at) + 1) + 1
            what = f"an unprintable character (U+{ord(character):04X}) stands here; expected text"
            raise _stop(name, what, line, column)
    return text


class _Builder:
    """Puts events together; `_open` holds the mappings and lists not yet closed."""

    def __init__(self, name: str, problems: Collector) -> None:
        self._name = name
        self._problems = problems
        self._open: list[Node] = []
        self._keys: list[tuple[str, Place] | None] = []
        self._root: Node | None = None
        self._count = 0
        self._documents = 0

    def build(self, text: str, loader: type) -> Node | None:
        for event in yaml.parse(text, Loader=loader):
            self._take(event)
        return self._root

    def _take(self, event: yaml.Event) -> None:
        mark = event.start_mark
        assert mark is not None
        place = Place(self._name, mark.line + 1, mark.column + 1)
        if isinstance(event, yaml.DocumentStartEvent):
            self._start_document(place)
        elif isinstance(event, yaml.AliasEvent):
            self._refuse(place, f"an alias (*{event.anchor}) stands here; expected it in full")
        elif isinstance(event, yaml.NodeEvent):
            self._start_node(event, place)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._keys.pop()
            self._put(self._open.pop())

    def _start_document(self, place: Place) -> None:
        self._documents += 1
        if self._documents > 1:
            self._refuse(place, 'a second document begins ("---"); expected one a file')

    def _start_node(self, event: yaml.NodeEvent, place: Place) -> None:
        self._count += 1
        if self._count > MOST_NODES:
            self._refuse(place, f"more than {MOST_NODES} words in one file; expected a checklist")
        if event.anchor is not None:
            self._refuse(place, f"an anchor (&{event.anchor}) stands here; expected none")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._refuse(place, f"a tag ({tag}) stands here; expected none")
        if isinstance(event, yaml.ScalarEvent):
            self._put(Node(event.value, place))
            return
        if len(self._open) >= DEEPEST:
            self._refuse(place, f"nested deeper than {DEEPEST} levels; expected a checklist")
        self._open.append(Node({} if isinstance(event, yaml.MappingStartEvent) else [], place))
        self._keys.append(None)

    def _put(self, node: Node) -> None:
        """Give a finished node to the collection around it (the last one opened)."""
        around = self._open[-1] if self._open else None
        if around is None:
            self._root = node
        elif isinstance(around.value, list):
            around.value.append(node)
        elif isinstance(around.value, dict):
            self._put_in_mapping(around.value, node)

    def _put_in_mapping(self, entries: dict[str, Node], node: Node) -> None:
        pending = self._keys[-1]
        if pending is None:
            if not isinstance(node.value, str):
                self._refuse(node.place, "a list or mapping stands as a key; expected a word")
            else:
                self._keys[-1] = (node.value, node.place)
            return
        key, place = pending
        self._keys[-1] = None
        node.key = place
        if key in entries:
            first = entries[key].key or entries[key].place
            what = f"the key {quoted(key)} stands here again; it is on line {first.line} already"
            self._problems.add(place, what)
            return
        entries[key] = node

    def _refuse(self, place: Place, message: str) -> None:
        """Stop at once: what follows would be guesswork."""
        self._problems.add(place, message)
        raise self._problems.stop()
