"""Drills with random days and random trainees never contradict the simulator.

What must hold of any turbine (the checks of an energy audit, ../gauges): no flame without
fuel ever having come, a shaft that only runs down when nothing drives it, readings spoken
as the machine shows them at that moment.
"""

import re
from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from practice_rig import HELPER, PILOT, drills, practise

from callout.benches.trainees import Manner
from callout.engine import wording
from callout.trainer import scene
from callout.trainer.script import filled
from callout.trainer.turn import Turn

SPOKEN = re.compile(r"\{([^{}]*)\}")
AMOUNTS = st.fixed_dictionaries(
    {},
    optional={
        "temperature": st.floats(-20, 40),
        "altitude": st.floats(0, 2500),
        "battery": st.floats(0.3, 1.0),
        "battery-resistance": st.floats(0.8, 4.0),
        "fuel-excess": st.floats(0.6, 2.2),
        "igniter-dead": st.sampled_from([0.0, 1.0]),
        "starter-sticks": st.floats(0, 60),
        "tailwind": st.floats(0, 15),
    },
)


def varied(loaded, amounts):
    from callout.trainer.model import Amount

    drill = loaded.drill
    named = dict(drill.scene.amounts) | {n: Amount(v, v) for n, v in amounts.items()}
    return replace(
        loaded, drill=replace(drill, scene=replace(drill.scene, amounts=tuple(named.items()),
                                                   lasts=150.0)),
    )  # fmt: skip


@settings(max_examples=12, deadline=None)
@given(
    name=st.sampled_from(sorted(drills())),
    amounts=AMOUNTS,
    late=st.sets(st.integers(0, 12), max_size=4),
    silent=st.booleans(),
    seed=st.integers(0, 1000),
)
def test_what_is_told_is_what_the_machine_shows(name, amounts, late, silent, seed):
    loaded = varied(drills()[name], amounts)
    lines = [line.id for line in loaded.drill.lines]
    manner = Manner(silent=silent, late=frozenset(lines[i] for i in late if i < len(lines)))
    told = []
    real = Turn.say

    def say(self, text, line="", **how):
        if line:
            one = self.drill.line(line)
            if not self.state.is_mine(one):
                told.append((one, text, self.state.stage, filled(self, one)))
        return real(self, text, line, **how)

    Turn.say = say
    try:
        session = practise(loaded, (PILOT,) if seed % 2 else (HELPER,), manner, seed=seed)
    finally:
        Turn.say = real
    aircraft = session.aircraft
    for line, text, stage, again in told:
        assert again == text
        for gauge in SPOKEN.findall(line.say):
            shown = Decimal(repr(round(stage.gauges[gauge], 6)))
            assert wording.with_unit(aircraft, aircraft.gauge(gauge), shown) in text
        assert all(stage.fact(fact) == wanted for fact, wanted in line.facts if not line.does)
        if line.when is not None:
            assert line.when.shows(stage.gauges[line.when.gauge])


@settings(max_examples=15, deadline=None)
@given(
    amounts=AMOUNTS,
    moves=st.lists(
        st.tuples(
            st.sampled_from(["fuel", "starter", "ignition", "ground-power"]),
            st.sampled_from([0.0, 1.0]),
            st.floats(0.1, 8.0),
        ),
        max_size=8,
    ),
)
def test_hands_in_any_order_never_break_physics(amounts, moves):
    base = drills()["hot-start"].drill.scene
    from callout.trainer.model import Amount

    stage = scene.begin(
        replace(base, amounts=tuple((n, Amount(v, v)) for n, v in amounts.items())), 1
    )
    air, fuelled, at = stage.gauges["exhaust-temperature"], False, 0.0
    for name, value, wait in moves:
        stage = scene.move(stage, name, value)
        fuelled = fuelled or stage.lever > 0
        speed = stage.gauges["gas-generator-speed"]
        at += wait
        free = not stage.state.lit and not stage.set_to("starter") and not stage.state.meshed
        stage = scene.advance(stage, at)
        shown = stage.gauges
        assert not stage.state.lit or fuelled
        assert fuelled or shown["exhaust-temperature"] <= air + 60
        assert shown["exhaust-temperature"] >= air - 1.0
        if free and not stage.state.lit:
            assert shown["gas-generator-speed"] <= speed + 1e-6
        assert abs(stage.at - at) <= scene.STEP + 1e-6
        assert dict(stage.highest)["gas-generator-speed"] >= shown["gas-generator-speed"] - 1.0


@given(seed=st.integers(0, 10_000), low=st.floats(0, 5), span=st.floats(0, 5))
def test_a_days_amounts_lie_in_their_range_and_are_the_same_for_the_same_day(seed, low, span):
    from callout.trainer.model import Amount

    amount = Amount(low, low + span)
    drawn = scene.drawn("tailwind", amount, seed)
    assert amount.low <= drawn <= amount.high + 1e-9
    assert drawn == scene.drawn("tailwind", amount, seed)
