"""Texts that are nearly an answer and must be heard as what they are.

Rule of this file: text only, of general words. A network that hears an ending
only ever as that of an answer learns to add it to whatever begins alike:
"clothes" becomes "closed". So the words that sound like an answer's are
spoken as often as those, and so are answers with words beside them.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

MORE_ANSWERS = """stopped|isolated|fitted|not fitted|pinned|standing still|still turning
turning|within reach|within the mark|between the marks|applied|smooth|pressed|all clear
all away|all dark|all burning|all in place|fully forward|fully back|fully down|fully open
fully closed|fully out|standing ready|in position|tied down|running|opening|opened|charged
signed|covered|loose|damaged|cracked|bent|stiff|slipped|leaking|blocked|burning|smoke
no smoke|no flames|cloudy|water|dark|centered|neutral|first notch|holding speed|from behind
from ahead|calm|even and quiet|clear and bright|free to turn|nothing found|none to be seen
nobody there|somebody there|somebody in front|everybody behind|staying away|written down
no defects|in line|marks in line|too low|too high|hot|cold|warm|rough|hunting|sparking|grinding
stuck|unlocked|unlatched|unclear|unsafe|not clear|not safe|insecure|unfastened|disengaged
"""
ALIKE = {
    "armed": "arm|arms|harmed|arming|alarmed|on",
    "applied": "apply|applies|supplied|supply|reply|replied|a plan",
    "charged": "charge|charges|large|chart|march",
    "checked": "check|checks|check it|chuck|jacket|shed",
    "clean": "cleaned|cleans|lean|clean it|clear|cling|queen",
    "clear": "clears|cleared|near|clearer|here|clear it|cheer",
    "closed": "clothes|close|close it|close to|closer|closing|closet|clove|load|loads|those|chose",
    "complete": "completed|compete|completes|complete it|concrete",
    "connected": "connect|collected|corrected|connects|neglected",
    "dark": "dock|bark|darker|dart|park|mark",
    "down": "town|dawn|round|drown|noun",
    "dry": "dried|try|drive|dries|die|draw",
    "empty": "emptied|entry|plenty|any tea",
    "engaged": "engage|engages|in gauge|engaging|encased|enraged",
    "fastened": "fasten|fast|fastener|fastest|fascinate",
    "fitted": "fit|fit it|fits|fitter|fitting|fidget|pitted|feted",
    "forward": "forwards|four|forty|for word|afford",
    "free": "freed|freeze|three|fee|free it|tree",
    "full": "pull|fall|fool|fuel|fully|wool|fill",
    "go": "goes|goal|going|got|ago|gold|low",
    "green": "greed|cream|grain|lean|queen",
    "intact": "impact|in fact|attack|contact|in tack|extract",
    "isolated": "isolate|insulated|isolates|violated",
    "latched": "latch|match|latches|last|attached|patched|lashed",
    "left": "lift|let|less|lapped|laughed|leaf",
    "locked": "lock|lot|locks|blocked|block|knocked|looked|locker|lock it|clock",
    "no": "know|note|nose|known|now|low|non",
    "normal": "formal|north|norm|normally|abnormal",
    "off": "of|of it|often|cough|offer|all|half",
    "on": "own|one|an|in|and|honour|con",
    "open": "hoping|opens|opener|open it|over|hope",
    "pinned": "pin|pins|pen|pain|thinned|spin|pink",
    "pressed": "press|presses|rest|dressed|pressing|breast|guest",
    "ready": "already|red|read it|steady|ready to|heavy|reddish",
    "released": "release|releases|lease|least|police|relief|releasing|re lease",
    "removed": "remove|removes|moved|improved|remove it|removing|proved|room",
    "right": "ride|rye|write it|rice|light|riot",
    "running": "run|runs|run in|running out|cunning|sunny",
    "safe": "say|save|saved|safer|safety|saves|same|face|shave|safe to|say if|state",
    "secure": "secured|cure|secure it|secures|procure",
    "set": "said|sit|sat|sets|says|sent|send|settle|step|let",
    "smooth": "move|smoothed|soothe|smoother|smith",
    "standing": "stand|stands|standard|sanding|stand in|landing",
    "steady": "study|ready|stead|steadier|study it",
    "still": "steel|stall|till|skill|spill|stilt",
    "stop": "stopped|stops|top|stock|stop it|step|shop",
    "stopped": "stop|stops|stop it|top|topped|stock|stepped|stopping|stopper|dropped|shopped",
    "tight": "tied|type|tie|time|tighter|tide|typed|light|white|tight end",
    "turning": "turn|turns|burning|learning|turning in|earning",
    "up": "cup|us|of|app|hub",
    "yes": "yet|less|yesterday|guess|yell",
}
"""What begins or sounds like a word of an answer, for the answers that checklists use most."""
BESIDE = """not {}|is not {}|it is not {}|not yet {}|not fully {}|never {}|nearly {}|almost {}
partly {}|half {}|cannot be {}|will be {}|to be {}|should be {}|could be {}|is it {}|was it {}
what is {}|one {}|left {}|still not {}|i think {}|make it {}|get it {}|was {}|had been {}
{} not|not {} yet|{} no|{} in a moment|{} soon|{} or not|{} later|{} maybe|{} next|{} no no
{} wait|no {}|{} i think|{} again|{} not yet"""
"""Words beside an answer that leave it no answer."""


def listed(lines: str) -> list[str]:
    """The texts of a list, in its order, once."""
    return list(dict.fromkeys(p for line in lines.split("\n") for p in line.split("|") if p))


def alike() -> list[str]:
    """Every text of ALIKE."""
    return list(dict.fromkeys(text for line in ALIKE.values() for text in line.split("|")))


def beside(rng: random.Random, answers: Sequence[str]) -> str:
    """An answer with words beside it."""
    return rng.choice(listed(BESIDE)).format(rng.choice(answers))


def nearly(rng: random.Random, answers: Sequence[str]) -> str:
    """A text like an answer: alone, in a longer answer's place of it, or with a word beside it."""
    word = rng.choice(sorted(ALIKE))
    other = rng.choice(ALIKE[word].split("|"))
    if rng.random() < 0.6:
        return other
    longer = [a for a in answers if word in a.split() and a != word]
    if longer and rng.random() < 0.7:
        return " ".join(other if w == word else w for w in rng.choice(longer).split())
    return rng.choice(listed(BESIDE)).format(other)
