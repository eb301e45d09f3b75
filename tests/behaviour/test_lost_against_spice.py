"""Voltages that come through loads by a fault, and what acts at them, against a circuit simulator.

The netlist is made from the plan's wires and contacts and the fault's own words, with resistances worked out here.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterable, Mapping
from pathlib import Path
from random import Random

import pytest

from tests.behaviour.test_sneaks import tangle
from tests.oracles.spice import read_raw
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.sneaks import Finder
from wirecheck.behaviour.space import numbers
from wirecheck.circuit.impedances import impedances_of
from wirecheck.plan.model import Device, Plan

CASES = 300
CLOSED_OHM, OPEN_OHM, LEAK_OHM = 1e-3, 1e9, 1e12


class Case:
    """One state of one plan with one fault, as lines of a netlist."""

    def __init__(self, plan: Plan, fault: Fault, state: Mapping[str, str], number: int) -> None:
        self.plan, self.fault, self.state, self.number = plan, fault, state, number
        self.lines: list[str] = []
        self.nodes: dict[str, str] = {}
        self._metal()
        self._contacts()
        self._loads()

    def node(self, terminal: object) -> str:
        name = str(terminal)
        if name not in self.nodes:
            self.nodes[name] = f"n{self.number}x{len(self.nodes)}"
            self.lines.append(f"rl{self.nodes[name]} {self.nodes[name]} 0 {LEAK_OHM:g}")
        return self.nodes[name]

    def resistor(self, a: object, b: object, ohm: float) -> None:
        one, other = self.node(a), self.node(b)
        self.lines.append(f"r{self.number}x{len(self.lines)} {one} {other} {ohm:.9g}")

    def _metal(self) -> None:
        for wire in self.plan.wires:
            if self.fault.text != f"{wire} open":
                self.resistor(wire.a, wire.b, CLOSED_OHM)
        for a, b in self.fault.joins:
            self.resistor(a, b, CLOSED_OHM)

    def _contacts(self) -> None:
        for device in self.plan.devices.values():
            for contact in device.contacts:
                closed = self.state.get(device.name) in contact.closed_in
                closed = closed or self.fault.text == f"{contact} welded"
                closed = closed and self.fault.text != f"{contact} stuck open"
                self.resistor(device.terminal(contact.a), device.terminal(contact.b), CLOSED_OHM if closed else OPEN_OHM)

    def _loads(self) -> None:
        self.lines.append(f"v{self.number} {self.node('G1:+')} {self.node('G1:-')} dc 0 ac 24")
        for device in self.loads():
            watts = device.values.get("coil_power") or device.values["power"]
            if self.fault.text != f"{device.name} coil open":
                self.resistor(*self.ends(device), 24**2 / watts.value)  # type: ignore[attr-defined]

    def loads(self) -> list[Device]:
        return [d for d in self.plan.devices.values() if d.kind in ("relay", "lamp")]

    @staticmethod
    def ends(device: Device) -> tuple[object, object]:
        marks = ("A1", "A2") if device.kind == "relay" else ("X1", "X2")
        return device.terminal(marks[0]), device.terminal(marks[1])

    def volts(self, solved: Mapping[str, complex]) -> dict[str, float]:
        pairs = {d.name: (self.node(a), self.node(b)) for d in self.loads() for a, b in (self.ends(d),)}
        return {name: abs(solved[a] - solved[b]) for name, (a, b) in pairs.items()}


def chosen() -> Iterable[tuple[Case, dict[str, float], set[str]]]:
    """States in which a fault makes an island another one: the case, the volts that we find, and what sneak paths are told."""
    found = 0
    for seed in range(200):
        b: Behaviour = tangle(seed)
        if any(d.kind == "diode" for d in b.plan.devices.values()):
            continue
        faults, loads = FaultSet(b), impedances_of(b.plan)
        islands = Islands(faults.none, loads)
        each = [(fault, model) for fault in single_faults(b.plan) if islands.changed(model := faults.model(fault))]
        for fault, model in Random(seed).sample(each, min(4, len(each))):
            finder = Finder(model, loads=tuple(i for i in loads if i.kind != "coil" or i.device not in fault.coils))
            within = islands.changed(model)
            live, told = model.supplies.live["G1"], list(finder.sneaks(model.space.full, within))
            states = sorted({n for sneak in told for n in numbers(sneak.states & live)})
            for number in Random(seed).sample(states, min(3, len(states))):
                if finder.solution(number).shorts:
                    continue
                names = {sneak.device for sneak in told if sneak.states >> number & 1}
                yield Case(b.plan, fault, b.space.decode(number), found), finder.volts(number), names
                found += 1
                if found == CASES:
                    return


@pytest.mark.ngspice
def test_volts_with_a_fault_are_those_of_a_simulator(tmp_path: Path) -> None:
    cases = list(chosen())
    assert len(cases) == CASES
    lines = ["* states with a fault, one island each", *(line for case, _, _ in cases for line in case.lines)]
    lines += [".control", "set filetype=ascii", "ac lin 1 50 50", "write result.raw", "quit", ".endc", ".end"]
    for case, _, _ in cases:
        case.volts(dict.fromkeys(case.nodes.values(), 0j))
    (tmp_path / "deck.cir").write_text("\n".join(lines) + "\n", encoding="ascii")
    subprocess.run(["ngspice", "-b", "-n", "deck.cir"], cwd=tmp_path, check=True, capture_output=True, timeout=120)
    solved = read_raw(tmp_path / "result.raw")
    kinds = set()
    for case, ours, told in cases:
        measured = case.volts(solved)
        where = (case.plan.file, case.fault.text, dict(case.state))
        for name, volts in measured.items():
            if case.fault.text != f"{name} coil open":
                assert volts == pytest.approx(ours[name], abs=0.05), (name, where)
        assert all(measured[name] > 24 * 0.099 for name in told), where
        kinds.add(case.fault.kind)
    assert kinds >= {"wire open", "welded", "stuck open"}
