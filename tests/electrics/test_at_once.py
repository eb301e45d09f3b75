"""The most that acts at one time: of a plan looked at in parts never less than of the whole, and nothing counted twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.electrics.wired import DRILL, MILL, SANDER, adding
from wirecheck.answers import Answers
from wirecheck.behaviour import views as views_module
from wirecheck.circuit.elements import COIL_KINDS, LOAD_KINDS
from wirecheck.electrics.conductors import Conductors
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

TAKING = COIL_KINDS | LOAD_KINDS | {"motor", "drive"}

LAMPS = adding(
    DRILL,
    """G1: {kind: dc-supply, voltage: 24 V DC, current: 2 A, place: panel}
K1: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {11-14: NO}, place: panel}
S2: {kind: push-button, title: lamp test, role: other, contacts: {13-14: NO}, place: panel}
P1: {kind: lamp, voltage: 24 V DC, power: 2 W, place: panel}
P2: {kind: lamp, voltage: 24 V DC, power: 2 W, place: panel}""",
    """number: L3, run: [F1:2, G1:L], size: 1.5 mm2
number: N2, run: [Q1:4, G1:N], size: 1.5 mm2
number: 4, run: ["G1:+", S2:13, K1:11], size: 0.75 mm2
number: 5, run: [S2:14, K1:A1], size: 0.75 mm2
number: 6, run: [K1:14, P1:X1, P2:X1], size: 0.75 mm2
number: 7, run: ["G1:-", K1:A2, P1:X2, P2:X2], size: 0.75 mm2""",
)
"""A drive, and beside it a relay with two lamps: several loads, each of which has a part of its own."""

PLANS = {
    "drill": DRILL,
    "lamps": LAMPS,
    "mill": MILL,
    "sander": SANDER,
    **{path.stem: path.read_text(encoding="utf-8") for path in sorted(Path("examples/good").glob("*.yaml"))},
}


def answers(facts: Facts) -> Answers:
    return Answers(facts.plan, facts.view_of, facts.views, facts.ways_fed, facts.touched)


def in_parts(monkeypatch: pytest.MonkeyPatch, plan: Plan, bits: int) -> Answers:
    """The plan looked at in parts of so many bits, as a large plan is."""
    monkeypatch.setattr(views_module, "WHOLE_BITS", 0)
    monkeypatch.setattr(views_module, "PART_BITS", bits)
    return answers(Facts(plan))


@pytest.mark.parametrize("bits", [0, 8, 13])
@pytest.mark.parametrize("name", PLANS)
def test_in_parts_no_less_than_of_the_whole_and_no_more_than_all(monkeypatch: pytest.MonkeyPatch, name: str, bits: int) -> None:
    plan = read_plan_text(PLANS[name], name)
    weights = {d.name: 1.0 + 0.1 * n for n, d in enumerate(plan.devices.values()) if d.kind in TAKING}
    whole = answers(Facts(plan)).most_at_once(weights)
    found = in_parts(monkeypatch, plan, bits).most_at_once(weights)
    assert whole.total <= found.total + 1e-9
    assert found.total <= sum(weights.values()) + 1e-9
    assert len(set(found.devices)) == len(found.devices)
    assert found.total == pytest.approx(sum(weights[device] for device in found.devices))


def test_a_relay_that_several_parts_tell_of_counts_once(monkeypatch: pytest.MonkeyPatch) -> None:
    found = in_parts(monkeypatch, read_plan_text(LAMPS, "lamps"), 8)
    assert found.most_at_once({"K1": 0.04, "P1": 0.08, "P2": 0.08}).total == pytest.approx(0.2)


@pytest.mark.parametrize("name", ["drill", "lamps", "mill"])
def test_no_conductor_carries_more_than_all_that_it_feeds(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    plan = read_plan_text(PLANS[name], name)
    found: Conductors = in_parts(monkeypatch, plan, 8).conductors()
    for wire in plan.wires:
        passages = found.passages(wire)
        loads = {id(p.load): [q for q in passages if q.load is p.load] for p in passages}
        each = [found.carried(own).amps or 0.0 for own in loads.values()]
        assert (found.carried(passages).amps or 0.0) <= sum(each) + 1e-9


def test_a_custom_device_acts_with_any_of_its_loads() -> None:
    """Two loads of which a change-over lets one act at a time, each with the lamp beside it."""
    plan = adding(
        MILL,
        """S3: {kind: selector, positions: [left, right], contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
A1: {kind: custom, elements: [{load: 1-2, voltage: 24 V DC, power: 5 W}, {load: 3-4, voltage: 24 V DC, power: 5 W}]}
P1: {kind: lamp, voltage: 24 V DC, power: 5 W}""",
        """number: 7, run: [F2:2, S3:13, S3:23]
number: 8, run: [S3:14, A1:1, P1:X1]
number: 9, run: [S3:24, A1:3]
number: 0V, run: [P1:X2, A1:2, A1:4, Q2:A2]""",
    )
    assert answers(Facts(read_plan_text(plan, "plan.yaml"))).most_at_once({"A1": 0.2, "P1": 0.2}).total == pytest.approx(0.4)
