"""A drill file -> a Drill, or every problem at once with its place.

Rule of this file: it reads and checks; nothing but FileProblems leaves it for a file
that is wrong. Everything a drill says about the aircraft must be in the aircraft's file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from callout.checklist.load import Loaded, load_all
from callout.checklist.positions import Node, parse, read_bytes
from callout.checklist.problems import Collector, FileProblems, Problem, TooMany, quoted
from callout.checklist.sentences import shaped
from callout.trainer.build import Parts, scene
from callout.trainer.build_lines import lines
from callout.trainer.build_questions import questions
from callout.trainer.fitting import engine_for
from callout.trainer.model import Drill, Speaker
from callout.trainer.schema import VERSION, DrillEntry

FOLDER = "drills"
"""Drills of an aircraft file lie beside it, in FOLDER/its name."""


@dataclass(frozen=True, slots=True)
class LoadedDrill:
    """A drill, the aircraft it is for, and the file it stands in."""

    drill: Drill
    aircraft: Loaded
    file: Path


def is_drill(path: Path) -> bool:
    """Whether the file says that it is a drill; False for one that cannot be read."""
    try:
        tree = parse(read_bytes(path, str(path)), str(path))
    except FileProblems:
        return False
    return "drill" in tree.map and "callout" not in tree.map


def load_drill(path: Path, aircraft: Loaded | None = None) -> LoadedDrill:
    """The drill in this file, for `aircraft` or the one that it names.  Raises FileProblems."""
    problems = Collector()
    try:
        tree = parse(read_bytes(path, str(path)), str(path))
        _check_version(tree, problems)
        entry = shaped(DrillEntry, tree, "this drill", problems)
        loaded = aircraft or _aircraft(tree, path, problems)
        drill = _drill(path, tree, entry, loaded, problems) if entry and loaded else None
        if problems or drill is None or loaded is None:
            raise problems.stop()
    except TooMany:
        raise problems.stop() from None
    return LoadedDrill(drill, loaded, path)


def folder_of(aircraft: Loaded) -> Path | None:
    """Where an aircraft's drills lie: beside its file, or beside the one that it is based on."""
    places = (file.parent / FOLDER / file.stem for file in aircraft.files)
    return next((place for place in places if place.is_dir()), None)


def drills_of(aircraft: Loaded, folder: Path | None = None) -> tuple[LoadedDrill, ...]:
    """All drills of an aircraft, in the order of the course.  Raises FileProblems."""
    where = folder or folder_of(aircraft)
    if where is None:
        return ()
    if not where.is_dir():
        raise FileProblems([Problem(str(where), 1, 1, "there is no such folder of drills")])
    found: list[LoadedDrill] = []
    wrong: list[Problem] = []
    for file in sorted(where.glob("*.yaml")):
        try:
            found.append(load_drill(file, aircraft))
        except FileProblems as error:
            wrong += error.problems
    if wrong:
        raise FileProblems(wrong)
    return tuple(sorted(found, key=lambda one: (one.drill.order, one.drill.id)))


def _check_version(tree: Node, problems: Collector) -> None:
    keys = list(tree.map)
    if keys[:1] != ["drill"]:
        place = tree.map["drill"].key if "drill" in keys else None
        found = f"the first key is {quoted(keys[0])}" if keys else "this is no drill"
        problems.add(place or tree.place, f'{found}; expected "drill: {VERSION}" as the first line')
        raise problems.stop()
    if tree.map["drill"].text != str(VERSION):
        version = tree.map["drill"]
        found = f"the file is written in version {quoted(version.text)} of drills"
        problems.add(version.place, f"{found}; this program reads version {VERSION}")
        raise problems.stop()


def _aircraft(tree: Node, path: Path, problems: Collector) -> Loaded | None:
    named = tree.map.get("aircraft")
    if named is None or not named.text.strip():
        return None
    try:
        return load_all(path.parent / named.text.strip())
    except FileProblems as error:
        first = next(iter(error.problems))
        problems.add(named.place, f"the aircraft file is not right: {first}")
        return None


def _drill(
    path: Path, tree: Node, entry: DrillEntry, loaded: Loaded, problems: Collector
) -> Drill | None:
    parts = Parts(loaded.aircraft, problems)
    roles = tuple(Speaker(name) for name in dict.fromkeys(entry.roles))
    stage = scene(parts, entry.scene, tree.map.get("scene", tree))
    parts.engine = engine_for(loaded.aircraft, stage)
    made = lines(parts, entry.lines, tree.map["lines"])
    asked = questions(parts, entry.questions or [], tree.map.get("questions", tree))
    for role in roles:
        if made and not any(line.who is role for line in made):
            what = f"the {role.value} can train this drill, but no line is the {role.value}'s"
            problems.add(tree.map["roles"].place, f'{what}; expected a line with "{role.value}"')
    return Drill(
        id=path.stem,
        title=entry.title,
        about=entry.about,
        roles=roles,
        scene=stage,
        lines=made,
        questions=asked,
        cautions=tuple(entry.cautions or ()),
        debrief=entry.debrief or "",
        false_call=1 if entry.false_call is None else entry.false_call,
        order=entry.order or 99,
    )
