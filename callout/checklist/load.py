"""A file of an owner -> an Aircraft, or every problem at once with its place.

Rule of this file: it reads files and calls the others in order. Nothing but
FileProblems leaves it for a file that is wrong.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from callout.checklist import checks, inherit
from callout.checklist.build import as_words
from callout.checklist.draft_parts import FileDraft, ListDraft
from callout.checklist.drafts import draft
from callout.checklist.model import Aircraft, CheckList, ListKind, Need, Section
from callout.checklist.problems import Collector, FileProblems, TooMany


@dataclass(frozen=True, slots=True)
class Loaded:
    """An aircraft and exactly what it was made from.

    Fields:
        aircraft: everything in the file, after inheritance
        fingerprint: SHA-256 over the bytes of all files used, as hex
        files: the file itself, then the ones it is based on
    """

    aircraft: Aircraft
    fingerprint: str
    files: tuple[Path, ...]


def load(path: Path) -> Aircraft:
    """The aircraft that this file describes.  Raises FileProblems with every problem."""
    return load_all(path).aircraft


def fingerprint(path: Path) -> str:
    """SHA-256 over this file and all it is based on, as hex.  Raises FileProblems."""
    problems = Collector()
    try:
        sources = inherit.read_sources(path, problems)
    except TooMany:
        raise problems.stop() from None
    if problems:
        raise problems.stop()
    return _digest(sources)


def load_all(path: Path) -> Loaded:
    """As load, together with the fingerprint of the very bytes that were read."""
    return load_drafts(path)[0]


def load_drafts(path: Path) -> tuple[Loaded, FileDraft]:
    """As load_all, together with where each part of it is written."""
    problems = Collector()
    try:
        sources = inherit.read_sources(path, problems)
        if problems:
            raise problems.stop()
        tree = inherit.merged(sources, problems)
        made = draft(tree, problems)
        checks.check(made, problems)
        if problems:
            raise problems.stop()
    except TooMany:
        raise problems.stop() from None
    files = tuple(source.path for source in sources)
    return Loaded(_aircraft(made), _digest(sources), files), made


def _digest(sources: list[inherit.SourceFile]) -> str:
    """Each file by the digest of its bytes, so that no byte can move between files."""
    whole = hashlib.sha256()
    for source in sources:
        whole.update(hashlib.sha256(source.data).digest())
    return whole.hexdigest()


def _aircraft(made: FileDraft) -> Aircraft:
    entry, source = made.aircraft, made.source
    if entry is None or source is None:
        raise FileProblems([])
    return Aircraft(
        name=entry.name,
        revision=entry.revision,
        written_by=entry.written_by,
        limits_from=source,
        lists=tuple(_checklist(one) for one in made.lists.values()),
        gauges=tuple(gauge for _, gauge in made.gauges.values() if gauge),
        counters=tuple(counter for _, counter in made.counters.values() if counter),
        dues=tuple(due for _, due in made.dues.values() if due),
        cool_down=made.cool_down,
        run_down=made.run_down,
        residual_fire=made.residual_fire,
        start_watch=made.start_watch,
        orders=tuple(made.orders),
        settings=made.settings,
        reactions=made.reactions,
        notice=entry.notice or "",
    )


def _checklist(one: ListDraft) -> CheckList:
    header = one.header
    assert header is not None
    sections = tuple(
        Section(part.name, tuple(d.item for d in part.items if d.item)) for part in one.sections
    )
    return CheckList(
        id=one.id,
        title=header.title or as_words(one.id),
        sections=sections,
        also=tuple(header.also or ()),
        kind=ListKind(header.kind or "normal"),
        engine_state=header.engine_state or "any",
        abort=header.abort or "",
        aborts=tuple(header.aborts or ()),
        needs=tuple(Need(*need.split("/", 1)) for need in header.needs or ()),
    )
