"""One state at a time against all states at once: from each state the same events lead to the same states of rest."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from random import Random

import pytest

from tests.behaviour.test_protection import OUTPUT
from tests.generators.random_circuits import random_circuit
from tests.generators.zone_line import zone_line
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import NOTHING, FaultedModel
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.motion import motion_of
from wirecheck.behaviour.settle import Settling
from wirecheck.behaviour.single import MOST_PASSED, Single
from wirecheck.behaviour.space import numbers
from wirecheck.errors import TooLarge
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Event, Plan

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("[bg]*/*.yaml"))
SEEDS = range(150)
FAULTS_OF_EACH = 3

View = frozenset[tuple[str, str]]


TWO_RELAYS = """\
wirecheck: 1
machine: {name: Two relays at one button}
devices:
  G1: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC, 23-24: NO}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC, 23-24: NO}}
wires:
  - {number: 1, run: [G1:L, S1:13]}
  - {number: 2, run: [S1:14, K1:11, K2:11]}
  - {number: 3, run: [K1:12, K2:A1]}
  - {number: 4, run: [K2:12, K1:A1]}
  - {number: N, run: [K1:A2, K2:A2, G1:N]}
"""
BUZZER = """\
wirecheck: 1
machine: {name: A relay in its own way}
devices:
  G1: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
wires:
  - {number: 1, run: [G1:L, K1:11]}
  - {number: 2, run: [K1:12, K1:A1]}
  - {number: N, run: [K1:A2, G1:N]}
"""


class Both:
    """The two engines on one plan, and a state that both know."""

    def __init__(self, plan: Plan, model: Model, fault: Fault = NOTHING) -> None:
        self.plan, self.sets, self.settling = plan, model, Settling(model)
        self.single = Single(plan, fault, sneaking=False)

    def in_sets(self, number: int) -> int:
        """The number of the same state among all states at once; there only sources that can be lost have a bit for it."""
        codes = self.single.decode(number)
        assert all(code == "no" for name, code in codes.items() if name not in self.sets.space.variables)
        return self.sets.space.encode({name: code for name, code in codes.items() if name in self.sets.space.variables})

    def views(self, states: int) -> set[View]:
        return {frozenset(self.sets.space.decode(n).items()) for n in numbers(states)}

    def view(self, number: int) -> View:
        return frozenset(self.sets.space.decode(self.in_sets(number)).items())

    def rest(self, at_rest: int) -> list[int]:
        """The states of rest before any event, the same in both."""
        settled = self.single.settle([self.single.at_rest])
        assert {self.view(n) for n in settled.rests} == self.views(self.settling.passing(at_rest) & ~self.settling.restless)
        return list(settled.rests)

    def compare(self, number: int) -> None:
        """All that can be asked of one state."""
        here, model = self.in_sets(number), self.single.model(number)
        for motor in (d for d in self.plan.devices.values() if d.kind == "motor"):
            one, all_states = motion_of(model, motor, 1), motion_of(self.sets, motor, 1 << here)
            assert (one.forward, one.reverse) == (all_states.forward >> here & 1, all_states.reverse >> here & 1)
        for name, states in self.sets.supplies.live.items():
            assert model.supplies.live[name] == states >> here & 1
        for element in self.sets.elements:
            if element.kind in ("coil", "load"):
                ends = (element.a, element.b, element.rated)
                assert model.supplies.energised(*ends) == self.sets.supplies.energised(*ends) >> here & 1

    def walk(self, start: list[int], dice: Random, steps: int) -> int:
        """Random events from a state of rest, compared step by step; how many of them had more than one outcome."""
        races, number = 0, dice.choice(start)
        for _ in range(steps):
            here = 1 << self.in_sets(number)
            tried = [(dice.choice(self.sets.events), dice.random()) for _ in range(2)]  # of two the one with more outcomes
            rule, _ = max(tried, key=lambda t: (self.settling.fire(t[0], here)[0].bit_count(), t[1]))
            expected = self.views(self.settling.fire(rule, here)[0])
            settled = self.single.fire(rule.event, number)
            if settled is None:
                assert expected == set()
                continue
            if settled.swings and not expected:
                break
            assert {self.view(n) for n in settled.rests} == expected
            races += len(expected) > 1
            number = dice.choice(settled.rests)
            self.compare(number)
        return races


def walk_healthy(plan: Plan, seed: int, steps: int = 10, walks: int = 2) -> int:
    both = Both(plan, Behaviour(plan).model)
    start = both.rest(1)
    dice = Random(seed)
    return sum(both.walk(start, dice, steps) for _ in range(walks)) if start else 0


def walk_faulted(plan: Plan, seed: int, faults: int = FAULTS_OF_EACH) -> None:
    """With some of its faults: there from the start, and then coming in the midst of things."""
    healthy, dice = Behaviour(plan), Random(seed)
    every = single_faults(plan)
    for fault in dice.sample(every, min(faults, len(every))):
        model = FaultedModel(healthy.model, fault)
        both = Both(plan, model, fault)
        start = both.rest(model.at_rest)
        if start:
            both.walk(start, dice, 8)
        number = dice.choice(numbers(dice.choice([layer for layer in healthy.reach.layers if layer])))
        came = both.single.settle([both.single.encode(healthy.space.decode(number))])
        expected = both.views(both.settling.passing(1 << number) & ~both.settling.restless)
        assert {both.view(n) for n in came.rests} == expected or (came.swings and not expected)
        if came.rests:
            both.walk(list(came.rests), dice, 4)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_agrees_on_example(path: Path) -> None:
    walk_healthy(read_plan(path), 1, steps=25)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_agrees_on_example_with_faults(path: Path) -> None:
    walk_faulted(read_plan(path), 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_agrees_on_random_circuit(seed: int) -> None:
    walk_healthy(read_plan_text(random_circuit(seed), f"random circuit {seed}"), seed)


@pytest.mark.parametrize("seed", SEEDS[:100])
def test_agrees_on_random_circuit_with_faults(seed: int) -> None:
    walk_faulted(read_plan_text(random_circuit(seed), f"random circuit {seed}"), seed)


def test_random_circuits_race() -> None:
    plans = ((seed, read_plan_text(random_circuit(seed), f"random circuit {seed}")) for seed in SEEDS[:100])
    assert sum(walk_healthy(plan, seed) for seed, plan in plans) > 5


def test_the_comparison_can_fail() -> None:
    text = random_circuit(0)
    turned = text.replace(": NC", ": was NC").replace(": NO", ": NC").replace(": was NC", ": NO")
    both = Both(read_plan_text(text, "as it is"), Behaviour(read_plan_text(text, "as it is")).model)
    both.single = Single(read_plan_text(turned, "turned"), sneaking=False)
    with pytest.raises(AssertionError):
        both.walk(both.rest(1), Random(1), 40)


def test_a_short_line_agrees_and_a_long_one_is_no_trouble() -> None:
    walk_healthy(read_plan_text(zone_line(2), "two zones"), 3, steps=30)
    long = Single(read_plan_text(zone_line(16), "sixteen zones"))
    (number,) = long.settle([long.at_rest]).rests
    for event in ("G0=on", "Q1=on", "S104=pressed", "S104=released", "S1605=pressed", "S1602=open"):
        settled = long.fire(Event(*event.split("=")), number)
        assert settled is not None
        assert len(settled.came) < 40
        (number,) = settled.rests
    within = {name for name, code in long.decode(number).items() if code == "in"}
    assert within == {"Q102", *(f"K{zone}00" for zone in range(1, 16))}


def fire(text: str, event: str) -> tuple[Single, list[Mapping[str, str]], int]:
    """An event at rest: the states of rest after it, and how many do not come to rest."""
    single = Single(read_plan_text(text, "plan"))
    (number,) = single.settle([single.at_rest]).rests
    settled = single.fire(Event(*event.split("=")), number)
    assert settled is not None
    return single, [single.decode(n) for n in settled.rests], len(settled.swings)


def test_every_order_of_a_race_is_followed() -> None:
    text = TWO_RELAYS.replace("S1: {kind: push-button, contacts: {13-14: NO}}", "S1: {kind: push-button, contacts: {13-14: NC}}")
    _, rests, swings = fire(text, "G1=on")
    assert [(r["K1"], r["K2"]) for r in rests] == [("in", "out"), ("out", "in")]
    assert swings == 0


def test_what_does_not_come_to_rest_is_said() -> None:
    _, rests, swings = fire(BUZZER, "G1=on")
    assert rests == []
    assert swings == 2


def test_an_event_that_can_do_nothing() -> None:
    single = Single(read_plan_text(TWO_RELAYS, "plan"))
    assert single.fire(Event("S1", "released"), single.at_rest) is None
    assert single.fire(Event("S1", "pressed"), single.at_rest) is not None


def test_the_way_to_a_state_of_rest_is_known() -> None:
    single = Single(read_plan_text(TWO_RELAYS.replace("13-14: NO", "13-14: NC"), "plan"))
    settled = single.fire(Event("G1", "on"), single.at_rest)
    assert settled is not None
    first, last = settled.way(settled.rests[0])
    assert (single.decode(first)["K1"], single.decode(last)["K1"]) == ("out", "in")


def test_a_bound_stops_what_moves_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wirecheck.behaviour.single.MOST_PASSED", 1)
    with pytest.raises(TooLarge, match="more than 1 states are passed"):
        fire(BUZZER, "G1=on")
    assert MOST_PASSED > 1000


def test_one_state_is_not_moved_within_its_own_space() -> None:
    single = Single(read_plan_text(BUZZER, "plan"))
    space = single.model(single.at_rest).space
    with pytest.raises(TypeError):
        space.flip(1, (0,))
    assert space.moved((0,)) == single.at_rest ^ 1


SNEAK = """\
wirecheck: 1
machine: {name: A relay behind a lamp}
devices:
  G1: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  H1: {kind: lamp, voltage: 230 V, power: LAMP}
  K1: {kind: relay, coil: 230 V AC, coil_power: 2 W, contacts: {13-14: NO}}
wires:
  - {number: 1, run: [G1:L, H1:X1]}
  - {number: 2, run: [H1:X2, K1:A1]}
  - {number: N, run: [K1:A2, G1:N]}
"""


@pytest.mark.parametrize(
    ("lamp", "within"),
    [("40 W", {"in"}), ("2 W", {"in", "out"}), ("0.2 W", {"out"})],
    ids=["enough", "neither enough nor too little", "too little"],
)
def test_voltage_through_another_load(lamp: str, within: set[str]) -> None:
    # A lamp of 40 W leaves the coil 95 % of the voltage, one of 2 W half of it, one of 0.2 W 9 %: calculated by hand.
    _, rests, swings = fire(SNEAK.replace("LAMP", lamp), "G1=on")
    assert {r["K1"] for r in rests} == within
    assert swings == 0


FUSED = """\
wirecheck: 1
machine: {name: Four relays behind a fuse}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: fuse, rating: 1 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC}
  K2: {kind: relay, coil: 230 V AC}
  K3: {kind: relay, coil: 230 V AC}
  K4: {kind: relay, coil: 230 V AC}
wires:
  - {number: L, run: [G0:L, F1:1]}
  - {number: 1, run: [F1:2, S1:13, K1:A1, K2:A1, K3:A1, K4:A1]}
  - {number: N, run: [G0:N, S1:14, K1:A2, K2:A2, K3:A2, K4:A2]}
"""


def test_orders_that_cannot_matter_are_left_out_unless_all_are_asked_for() -> None:
    single = Single(read_plan_text(FUSED, "four relays"))
    origin = single.encode({"G0": "on"})
    few, every = single.settle([origin]), single.settle([origin], every_order=True)
    assert (len(few.came), len(every.came)) == (5, 16)  # one after the other, and every subset of the four
    assert few.rests == every.rests == (single.encode({"G0": "on", "K1": "in", "K2": "in", "K3": "in", "K4": "in"}),)
    assert not few.partly


def test_a_short_on_the_way_is_reason_for_every_order_and_where_that_is_too_much_it_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    single = Single(read_plan_text(FUSED, "four relays"))
    within = dict.fromkeys(("K1", "K2", "K3", "K4"), "in")
    origin = single.encode({"G0": "on", "S1": "pressed", **within})
    rest = single.encode({"G0": "on", "S1": "pressed", "F1": "blown"})
    settled = single.settle([origin])
    assert (settled.rests, settled.partly, len(settled.came)) == ((rest,), False, 32)  # the fuse and the relays in every order
    monkeypatch.setattr("wirecheck.behaviour.single.MOST_PASSED", 12)
    settled = single.settle([origin])
    assert (settled.rests, settled.partly, len(settled.came)) == ((rest,), True, 10)  # the relays in one order


def test_all_sources_can_be_lost_but_the_output_of_a_drive_which_protects_itself() -> None:
    single = Single(read_plan_text(OUTPUT, "grinder"))
    assert single.dying == {s.name for s in single.sources} - {"T1 output"} != {s.name for s in single.sources}
    assert [name for name in single.variables if "output" in name] == []
