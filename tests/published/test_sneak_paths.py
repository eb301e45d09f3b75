"""Currents that go round through other loads, as a circuit simulator sees them in the plan."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.oracles.plain_engine import PlainEngine
from tests.oracles.spice import Island, voltages
from tests.published.plans import plan
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event

LOW_OHM, HIGH_OHM = 2.6, 2.2


def headlamp(name: str, ohm: float) -> str:
    return f"{name}: {{kind: lamp, voltage: 12 V DC, power: {144 / ohm:.3f} W}}"


@pytest.mark.ngspice
def test_headlamps_with_one_earth_lost(tmp_path: Path) -> None:
    """Low beam on: the good low lamp full, the other three lit dim through each other, at 37, 31 and 31 %.

    Source: a published sneak-circuit note for a car of the 1960s, symptoms; netlist reconstructed, figures calculated.
    """
    devices = [
        "G1: {kind: dc-supply, voltage: 12 V DC}",
        "S1: {kind: selector, positions: [off, low], contacts: {13-14: {closed_in: [low]}}}",
    ]
    devices += [headlamp("P1", LOW_OHM), headlamp("P2", LOW_OHM), headlamp("P3", HIGH_OHM), headlamp("P4", HIGH_OHM)]
    runs = ["G0:L G1:L", "G0:N G1:N", "G1:+ S1:13", "S1:14 P1:X1 P2:X1", "P3:X1 P4:X1", "P1:X2 P3:X2 G1:-", "P2:X2 P4:X2"]
    engine = PlainEngine(read_plan_text(plan(devices, runs), "headlamps"))
    state = engine.rest
    for event in (Event("G0", "on"), Event("S1", "low")):
        (state,) = engine.step(state, event).rests
    (volts,) = voltages([Island(engine, state)], tmp_path)
    percent = {name: round(100 * v / 12) for name, v in volts.items()}
    assert percent == {"P1": 100, "P2": 37, "P3": 31, "P4": 31}
