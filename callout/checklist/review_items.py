"""Findings about one item by itself: what is called, and what counts as an answer.

Rule of this file: one rule is one small function from a scene to notes; each
stands in the table of review.py with its reason and its source.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist import review_words as words
from callout.checklist.model import Ask, Choose, Gauge, ListKind, Wait, Who
from callout.checklist.problems import Place, quoted
from callout.checklist.review_model import Line, Note, Scene
from callout.words.normal import normalise

LONG_WAIT = 30.0
"""Seconds of silence after which a pilot asks himself whether the timer runs."""


def says_nothing(scene: Scene) -> Iterator[Note]:
    """Answers such as "checked" or "set"."""
    for line in scene.lines():
        for at, answer in enumerate(line.answers):
            if words.says_nothing(answer):
                gauge = _named(scene, line.call)
                better = (
                    f"`read: {gauge.id}` in place of the answer"
                    if gauge
                    else "the state that is to be seen, such as closed, latched or removed"
                )
                what = f"{quoted(answer)} does not tell what {quoted(line.item.call)} shows"
                yield Note(_answer(line, at), what, better, line.scopes)


def value_as_word(scene: Scene) -> Iterator[Note]:
    """A gauge that is answered in words such as "in the green"."""
    for line in scene.lines():
        gauge = _named(scene, line.call)
        for at, answer in enumerate(line.answers):
            if gauge and answer in words.IN_RANGE and not words.says_nothing(answer):
                what = f"{quoted(line.item.call)} is a gauge, {quoted(answer)} is not its value"
                change = f"`read: {gauge.id}` with at_least and at_most"
                yield Note(_answer(line, at), what, change, line.scopes)


def number_as_word(scene: Scene) -> Iterator[Note]:
    """A number that is asked for as a word, so that no unit and no limit goes with it."""
    for line in scene.lines():
        for at, answer in enumerate(line.answers):
            said = answer.split()
            if said and all(word in words.DIGITS or word == "point" for word in said):
                what = f"{quoted(answer)} is a number without a unit"
                change = "a gauge with its unit, and `read`; or the unit behind the number"
                yield Note(_answer(line, at), what, change, line.scopes)


def compound(scene: Scene) -> Iterator[Note]:
    """Two things in one call, with one answer for both."""
    for line in scene.lines():
        asked = not isinstance(line.item.task, Choose | Wait) and line.answers
        if asked and words.two_things(line.call):
            what = f"{quoted(line.item.call)} are two things with one answer"
            yield Note(line.place("call"), what, "an item for each of them", line.scopes)


def negated(scene: Scene) -> Iterator[Note]:
    """A "not" that is lost in noise turns the sense round."""
    for line in scene.lines():
        word = words.negation(line.call) if line.answers else ""
        if word:
            what = f"the call {quoted(line.item.call)} is negated"
            yield Note(line.place("call"), what, "the thing alone, and its state", line.scopes)
        for at, answer in enumerate(line.answers):
            if words.negation(answer) or _loses_its_no(line, answer):
                what = f"the answer {quoted(answer)} means the opposite if one word is not heard"
                change = "a word of its own for that state, such as removed for not fitted"
                yield Note(_answer(line, at), what, change, line.scopes)


def _loses_its_no(line: Line, answer: str) -> bool:
    """Whether "no ..." has its opposite among the wrong answers."""
    task = line.item.task
    wrong = map(normalise, task.wrong) if isinstance(task, Ask) else ()
    return answer.startswith("no ") and answer.removeprefix("no ") in wrong


def verb_first(scene: Scene) -> Iterator[Note]:
    """A call that begins with a verb."""
    for line in scene.lines():
        if line.item.call and line.answers and words.begins_with_verb(line.call):
            first, _, rest = line.call.partition(" ")
            what = f"the call {quoted(line.item.call)} begins with {quoted(first)}"
            noun = rest.removeprefix("the ").removeprefix("that ")
            yield Note(line.place("call"), what, f"the thing first: {quoted(noun)}", line.scopes)


def state_in_call(scene: Scene) -> Iterator[Note]:
    """A call that tells the state which the answer should tell."""
    for line in scene.lines():
        state = words.given_away(line.call) if line.answers else ""
        if state and (state in line.answers or all(map(words.says_nothing, line.answers))):
            what = f"the call {quoted(line.item.call)} tells the state already"
            noun = line.call.rpartition(" ")[0]
            change = f"call {quoted(noun)}, answer {quoted(state)}"
            yield Note(line.place("call"), what, change, line.scopes)


def no_marks(scene: Scene) -> Iterator[Note]:
    """A long wait in silence."""
    for line in scene.lines():
        task = line.item.task
        if isinstance(task, Wait) and task.seconds >= LONG_WAIT and not task.marks:
            what = f"{quoted(line.item.call)} is silent for {task.seconds:g} s"
            change = "`marks: [30 s, 10 s]`, the times remaining that are said"
            yield Note(line.place("wait"), what, change, line.scopes)


def helper_inside(scene: Scene) -> Iterator[Note]:
    """An item for a helper that only the pilot can reach."""
    for line in scene.lines():
        if line.item.who is not Who.HELPER:
            continue
        inside = "where" in line.node.map and line.item.where in words.INSIDE
        if inside or words.speaks_of(line.call, words.CONTROLS):
            what = f"a helper is asked for {quoted(line.item.call)}, which is the pilot's"
            key = "who" if "who" in line.node.map else "call"
            yield Note(line.place(key), what, "`who: pilot`, or leave it out", line.scopes)


def goes_stale(scene: Scene) -> Iterator[Note]:
    """What changes by itself, and counts for ever after a hold."""
    for line in scene.lines():
        normal = line.checklist.kind is ListKind.NORMAL
        fleeting = words.speaks_of(line.call, words.PEOPLE) and line.answers and line.item.killer
        if normal and fleeting and line.item.stale_after is None:
            what = f"{quoted(line.item.call)} counts however long ago it was answered"
            change = "`stale_after: 10 min`, or what suits the place"
            yield Note(line.place("call"), what, change, line.scopes)


def sounds_alike(scene: Scene) -> Iterator[Note]:
    """Texts that count for different things and sound nearly alike."""
    for line in scene.lines():
        for one, other, distance in scene.sounds.alike.get((line.checklist.id, line.index), ()):
            what = (
                f"{quoted(one)} and {quoted(other)} count for different things and sound nearly "
                f"alike ({distance:.1f})"
            )
            yield Note(line.place(), what, "words that differ more", line.scopes)


def hard_in_noise(scene: Scene) -> Iterator[Note]:
    """Calls that are easily misunderstood in noise."""
    told: set[str] = set()
    for line in scene.lines():
        why = scene.sounds.hard.get(line.item.call, "")
        if why and line.item.call not in told:
            told.add(line.item.call)
            what = f"the call {quoted(line.item.call)} is hard to understand in noise: {why}"
            change = "a longer name, or one that differs more from its neighbours"
            yield Note(line.place("call"), what, change, line.scopes)


def _named(scene: Scene, call: str) -> Gauge | None:
    """The gauge that a call names, if it does."""
    found = (
        (len(name), gauge)
        for gauge in scene.aircraft.gauges
        for name in map(normalise, (gauge.call, *gauge.also))
        if call == name or call.endswith(f" {name}") or call.startswith(f"{name} ")
    )
    return max(found, key=lambda pair: pair[0], default=(0, None))[1]


def _answer(line: Line, at: int) -> Place:
    return line.place("answer") if "answer" in line.node.map else line.place("answers", at)
