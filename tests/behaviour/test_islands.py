"""Islands: no fault that lets two rails reach a load is passed over, against a search of the whole network with each fault."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from random import Random

import pytest

from tests.behaviour.test_sneaks import tangle
from tests.oracles.plain_islands import PlainState
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultedModel, FaultSet
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.sneaks import consumers_of
from wirecheck.behaviour.soft import Soft
from wirecheck.behaviour.space import numbers
from wirecheck.circuit.impedances import Impedance, impedances_of
from wirecheck.plan import read_plan
from wirecheck.plan.model import Terminal

ARRANGEMENTS = Path(__file__).parent.parent / "catalogue" / "arrangements"


def between_rails(model: FaultedModel, loads: Sequence[Impedance]) -> dict[tuple[Terminal, Terminal], int]:
    """For what may act the states in which rails reach it through loads or meet over it; states with a short are left out."""
    loads = [i for i in loads if i.kind != "coil" or i.device not in model.fault.coils]
    soft = Soft(model, loads, model.space.full)
    shorted = 0
    for source in model.sources:
        shorted |= model.supplies.shorts(source)
    found = {}
    for consumer in consumers_of(model, loads):
        a, b = consumer.impedance.a, consumer.impedance.b
        fed = consumer.acts
        for source in model.sources:
            for p, q, _ in source.pairs():
                at = [model.supplies.at(source, pole, end) for pole, end in ((p, a), (q, b), (p, b), (q, a))]
                fed |= (at[0] & at[1] | at[2] & at[3]) & model.supplies.live[source.name]
        found[a, b] = (soft.between(a, b) if len(soft.rails) > 1 else 0) & ~fed & ~shorted
    return found


def passed_over(b: Behaviour) -> tuple[list[str], int]:
    """The faults that let rails reach a load where the islands say no; and how often rails reach one by a fault alone."""
    loads, faults = impedances_of(b.plan), FaultSet(b)
    islands, before = Islands(faults.none, loads), between_rails(faults.none, loads)
    missed, seen = [], 0
    diode = any(device.kind == "diode" for device in b.plan.devices.values())
    for fault in single_faults(b.plan):
        if diode and fault.kind == "earthed":
            continue  # whether two supplies are joined by a diode between them is told one way round only
        model = faults.model(fault)
        changed, net = islands.changed(model), model.network.net
        for (one, other), states in between_rails(model, loads).items():
            fresh = states & ~before[one, other]
            seen += bool(fresh)
            if fresh & ~(changed.get(net(one), 0) | changed.get(net(other), 0)):
                missed.append(f"{fault.text}: {one} {other}")
    return missed, seen


def test_no_fault_is_passed_over_in_a_tangle() -> None:
    seen = 0
    for seed in range(25):
        missed, found = passed_over(tangle(seed))
        assert missed == [], seed
        seen += found
    assert seen > 800


SECOND = ("G0:L G2:L", "G0:N G2:N")
TWO_SUPPLIES = ("G2: {kind: dc-supply, voltage: 24 V DC}",)


@pytest.mark.parametrize(
    ("bonds", "more", "kinds"),
    [
        ((), (), {"coil open", "earthed"}),
        (("G1:- G0:PE",), (), {"coil open", "welded"}),
        ((*SECOND, "G2:- G1:-", "G2:+ P1:X2"), TWO_SUPPLIES, {"earthed", "source lost"}),
        ((*SECOND, "G2:- P1:X1", "G2:+ P1:X2"), TWO_SUPPLIES, {"earthed", "source lost"}),
    ],
    ids=["floating", "earthed", "two supplies with one return", "two supplies apart"],
)
def test_the_islands_of_a_fault_are_those_that_each_state_by_itself_shows(
    bonds: tuple[str, ...], more: tuple[str, ...], kinds: set[str]
) -> None:
    """Each island that is another one is told, and none that two rails do not border; of others only few, to no harm."""
    told = Counter[str]()
    in_vain = 0
    for seed in range(36):
        b, dice = tangle(seed, bonds, more), Random(seed)
        if any(device.kind == "diode" for device in b.plan.devices.values()):
            continue
        loads, faults, each = impedances_of(b.plan), FaultSet(b), single_faults(b.plan)
        islands = Islands(faults.none, loads)
        acting = {i.ident for i in islands.consumers}
        on = numbers(b.at("G0", "on") & b.at("F1", "whole") & b.at("F2", "whole"))
        states = [0, *dice.sample(on, min(6, len(on)))]  # at rest, where nothing is live, there is nothing to tell
        before = {n: list(PlainState(faults.none, loads, n).islands()) for n in states}
        for fault in dice.sample(each, min(14, len(each))):
            model = faults.model(fault)
            changed, net = islands.changed(model), model.network.net
            for n in states:
                now = PlainState(model, loads, n)
                if now.shorted:
                    continue
                ends = {(i.ident, side): net(end) for i in now.loads for side, end in enumerate((i.a, i.b))}
                here = {end for end, at in ends.items() if changed.get(at, 0) >> n & 1}
                mixed = [island for island in now.islands() if island.mixed]
                other = [i for i in mixed if i.loads & acting and not any(i.is_as(old) for old in before[n])]
                where = (seed, fault.text, n)
                assert {load for island in other for load in island.loads} <= {load for load, _ in here}, where
                assert {ends[end] for end in here} <= {ends[end] for island in mixed for end in island.ends}, where
                same = [i for i in mixed if any(i.is_as(old, strictly=True) for old in before[n])]
                told[fault.kind] += bool(here)
                in_vain += bool(here) and len(same) == len(mixed)
    assert {*kinds, "wire open", "stuck open"} <= {kind for kind, often in told.items() if often}
    assert in_vain < told.total() / 10


@pytest.mark.parametrize("name", ["sink-logic-inputs", "pendant-on-a-plug", "two-speed-contactors", "guard-in-a-permit-relay"])
def test_no_fault_is_passed_over_in_a_correct_arrangement(name: str) -> None:
    missed, _ = passed_over(Behaviour(read_plan(str(ARRANGEMENTS / f"{name}.yaml"))))
    assert missed == []


def test_an_earthed_end_of_a_winding_is_at_earth_and_no_way_for_voltage_to_go_on() -> None:
    """The windings move nothing that the circuit knows of, but hang on the neutral, on which the coils hang as well."""
    b = Behaviour(read_plan(str(ARRANGEMENTS / "star-delta-contactors.yaml")))
    faults = FaultSet(b)
    islands = Islands(faults.none, impedances_of(b.plan))
    ends = [f for f in single_faults(b.plan) if f.text in {f"wire {end} earthed" for end in ("U2", "V2", "W2")}]
    assert len(ends) == 3
    assert not any(islands.changed(faults.model(f)) for f in ends)


def test_most_faults_of_a_correct_plan_change_no_island() -> None:
    b = Behaviour(read_plan(str(ARRANGEMENTS / "pendant-on-a-plug.yaml")))
    faults = FaultSet(b)
    islands = Islands(faults.none, impedances_of(b.plan))
    assert islands.mixed == 0
    assert [f.text for f in single_faults(b.plan) if islands.changed(faults.model(f))] == []
