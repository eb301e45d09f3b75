"""Islands: no fault that lets two rails reach a load is passed over, against a search of the whole network with each fault."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.behaviour.test_sneaks import tangle
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultedModel, FaultSet
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.sneaks import consumers_of
from wirecheck.behaviour.soft import Soft
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


@pytest.mark.parametrize("name", ["sink-logic-inputs", "pendant-on-a-plug", "two-speed-contactors", "guard-in-a-permit-relay"])
def test_no_fault_is_passed_over_in_a_correct_arrangement(name: str) -> None:
    missed, _ = passed_over(Behaviour(read_plan(str(ARRANGEMENTS / f"{name}.yaml"))))
    assert missed == []


def test_most_faults_of_a_correct_plan_change_no_island() -> None:
    b = Behaviour(read_plan(str(ARRANGEMENTS / "pendant-on-a-plug.yaml")))
    faults = FaultSet(b)
    islands = Islands(faults.none, impedances_of(b.plan))
    assert islands.mixed == 0
    assert [f.text for f in single_faults(b.plan) if islands.changed(faults.model(f))] == []
