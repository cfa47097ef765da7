"""The states and what leads from one to another, drawn from the table of rules.

Rule of this file: it draws what rules.py says and knows nothing else.
"""

from __future__ import annotations

from callout.engine.rules import ALWAYS, RULES, State


def mermaid() -> str:
    """A Mermaid state diagram of RULES.

    What leads from nearly everywhere (ALWAYS) is drawn once, from a state
    named "any"; a rule that only stays is not drawn.
    """
    lines = ["stateDiagram-v2", "    [*] --> closed"]
    for trigger, rule in ALWAYS.items():
        lines += [f"    any --> {_name(t)}: {trigger.value}" for t in _sorted(rule.to)]
    for state, row in RULES.items():
        arrows: dict[State, list[str]] = {}
        for trigger, rule in row.items():
            if ALWAYS.get(trigger) is not rule:
                for target in rule.to:
                    arrows.setdefault(target, []).append(trigger.value)
        lines += [
            f"    {_name(state)} --> {_name(target)}: {', '.join(arrows[target])}"
            for target in _sorted(frozenset(arrows))
        ]
    return "\n".join([*lines, "    ended --> [*]"])


def _sorted(states: frozenset[State]) -> list[State]:
    order = list(State)
    return sorted(states, key=order.index)


def _name(state: State) -> str:
    return state.value.replace(" ", "_")
