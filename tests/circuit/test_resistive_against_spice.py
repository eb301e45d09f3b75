"""The resistive solution against a circuit simulator, on random networks of loads and sources, and on some with diodes.

A network is drawn twice from the same dice: as a plan for the program, and as a netlist whose resistances are worked out here.
"""

from __future__ import annotations

import cmath
import math
import re
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path
from random import Random

import pytest

from tests.circuit.networks import solved, terminal

NETWORKS, WITH_DIODES = 600, 200
TOLERANCE = 1e-3
SMALLEST_V = 1e-4
"""What the leaks in the netlists may come to."""

ON_OHM, OFF_OHM = 1e-3, 1e9
"""A diode that conducts, one that blocks."""

LEAK_OHM = 1e12


@dataclass
class Drawn:
    """One network: its devices and wires for a plan, its lines for a netlist, and what to compare."""

    current: str
    number: int
    devices: list[str] = field(default_factory=list)
    runs: list[list[str]] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    loads: list[tuple[str, str, str, str]] = field(default_factory=list)
    diodes: list[tuple[int, int]] = field(default_factory=list)

    def node(self, index: int) -> str:
        return f"n{self.number}x{index}"

    def add(self, device: str, line: str) -> None:
        self.devices.append(device)
        self.lines.append(line)


def load(drawn: Drawn, dice: Random, name: int, nodes: tuple[int, int]) -> None:
    """A coil, lamp, heater or resistor between two nodes; for a.c. also a capacitor."""
    a, b = map(drawn.node, nodes)
    volts, watts = dice.choice([12, 24, 48, 110, 230]), round(dice.uniform(0.5, 60), 1)
    rated = f"{volts} V {drawn.current}"
    kind = dice.choice(["relay", "lamp", "heater", "resistor"] + (["capacitor"] if drawn.current == "AC" else []))
    marks, line = ("X1", "X2"), f"r{a}_{name} {a} {b} {volts**2 / watts:.9g}"
    if kind == "relay":
        device, marks = f"Z{name}: {{kind: relay, coil: {rated}, coil_power: {watts} W}}", ("A1", "A2")
    elif kind == "resistor":
        ohm = round(10 ** dice.uniform(0.5, 5))
        device, marks, line = f"Z{name}: {{kind: resistor, resistance: {ohm} ohm}}", ("1", "2"), f"r{a}_{name} {a} {b} {ohm}"
    elif kind == "capacitor":
        micro = round(10 ** dice.uniform(-2, 2), 3)
        device, marks = f"Z{name}: {{kind: capacitor, capacitance: {micro} uF}}", ("1", "2")
        line = f"c{a}_{name} {a} {b} {micro}u"
    else:
        device = f"Z{name}: {{kind: {kind}, voltage: {rated}, power: {watts} W}}"
    drawn.add(device, line)
    one, other = (f"Z{name}:{mark}" for mark in marks)
    drawn.runs[nodes[0]].append(one)
    drawn.runs[nodes[1]].append(other)
    drawn.loads.append((one, other, a, b))


def source(drawn: Drawn, dice: Random, name: int) -> None:
    """A source whose poles are at nodes of their own: ideal sources that fight each other are another matter."""
    volts = dice.choice([12, 24, 48, 110, 230])
    if drawn.current == "DC":
        drawn.devices.append(f"G{name}: {{kind: dc-supply, voltage: {volts} V DC}}")
        poles = [("+", complex(volts)), ("-", 0j)]
    elif dice.random() < 0.5:
        drawn.devices.append(f"G{name}: {{kind: mains, phases: 3, voltage: {volts} V, frequency: 50 Hz, earthing: IT}}")
        phases = [("L1", 0), ("L2", -120), ("L3", 120)]
        poles = [(mark, cmath.rect(volts / math.sqrt(3), math.radians(turn))) for mark, turn in phases] + [("N", 0j)]
    else:
        drawn.devices.append(f"G{name}: {{kind: mains, phases: 1, voltage: {volts} V, frequency: 50 Hz, earthing: IT}}")
        poles = [("L", complex(volts)), ("N", 0j)]
    spots = [new_node(drawn) for _ in poles]
    for (mark, value), spot in zip(poles, spots, strict=True):
        drawn.runs[spot].append(f"G{name}:{mark}")
        if value:
            size, turn = abs(value), math.degrees(cmath.phase(value))
            ends = f"v{drawn.node(spot)} {drawn.node(spot)} {drawn.node(spots[-1])}"
            drawn.lines.append(f"{ends} dc {size:.12g}" if drawn.current == "DC" else f"{ends} dc 0 ac {size:.12g} {turn:.9g}")


def new_node(drawn: Drawn) -> int:
    drawn.runs.append([])
    node = drawn.node(len(drawn.runs) - 1)
    drawn.lines.append(f"rl{node} {node} 0 {LEAK_OHM:g}")
    return len(drawn.runs) - 1


def draw(seed: int, diodes: bool = False) -> Drawn:
    """A network: one to three sources, two to twelve loads, some wires, in the order in which the dice say."""
    dice = Random(seed)
    drawn = Drawn("DC" if diodes or dice.random() < 0.5 else "AC", seed)
    for n in range(dice.randint(1, 3)):
        source(drawn, dice, n)
    for _ in range(dice.randint(1, 6)):
        new_node(drawn)
    nodes = range(len(drawn.runs))
    for n in range(dice.randint(2, 12)):
        a, b = dice.sample(nodes, 2)
        load(drawn, dice, n, (a, b))
    for n in range(dice.randint(1, 3) if diodes else 0):
        a, b = dice.sample(nodes, 2)
        if not (drawn.runs[a] and drawn.runs[b] and all(runs[0].startswith("G") for runs in (drawn.runs[a], drawn.runs[b]))):
            drawn.devices.append(f"V{n}: {{kind: diode}}")
            drawn.diodes.append((a, b))
            drawn.runs[a].append(f"V{n}:A")
            drawn.runs[b].append(f"V{n}:K")
    return drawn


def simulated(networks: Iterable[Drawn], analysis: str, folder: Path) -> dict[str, complex]:
    """Node voltages from one run of the simulator over all networks."""
    lines = ["* random networks, one island each"]
    lines += [line for drawn in networks for line in drawn.lines]
    lines += [".options reltol=1e-7 vntol=1e-9 abstol=1e-13 itl1=2000"]
    lines += [".control", "set filetype=ascii", analysis, "write result.raw", "quit", ".endc", ".end"]
    (folder / "deck.cir").write_text("\n".join(lines) + "\n", encoding="ascii")
    subprocess.run(["ngspice", "-b", "-n", "deck.cir"], cwd=folder, check=True, capture_output=True, timeout=300)
    head, values = (folder / "result.raw").read_text(encoding="ascii").split("Values:\n")
    names = [line.split()[1] for line in head.split("Variables:\n")[1].strip().splitlines()]
    numbers = [complex(*map(float, text.split(","))) for text in values.split()[1:]]
    return {name.removeprefix("v(").removesuffix(")"): value for name, value in zip(names, numbers, strict=True)}


def compare(drawn: Drawn, measured: dict[str, complex]) -> int:
    """How many loads of a network have voltage, all of them agreeing."""
    ours = solved(drawn.devices, (" ".join(run) for run in drawn.runs if len(run) > 1))
    assert ours.shorts == ()
    live = 0
    for end, other, a, b in drawn.loads:
        expected = measured[a] - measured[b]
        found = ours.between(terminal(end), terminal(other))[drawn.current == "AC"]
        assert abs(found - expected) <= TOLERANCE * abs(expected) + SMALLEST_V, (drawn, end)
        live += abs(expected) > 100 * SMALLEST_V
    return live


def with_diodes(drawn: Drawn) -> Iterator[tuple[tuple[bool, ...], Drawn]]:
    """The network with every choice of which diodes conduct, each a netlist of resistances."""
    for number, conduct in enumerate(product((False, True), repeat=len(drawn.diodes))):
        renamed = [re.sub(r"n(\d+)x", rf"n\1c{number}x", line) for line in drawn.lines]
        ends = [(name(drawn, a, number), name(drawn, b, number)) for a, b in drawn.diodes]
        pairs = zip(ends, conduct, strict=True)
        more = [f"rd{a}_{n} {a} {b} {ON_OHM if on else OFF_OHM:g}" for n, ((a, b), on) in enumerate(pairs)]
        yield conduct, replace(drawn, lines=renamed + more)


def consistent(drawn: Drawn, number: int, conduct: tuple[bool, ...], measured: dict[str, complex]) -> bool:
    """Whether with this choice every diode that conducts has forward current and every other one no forward voltage."""
    across = [measured[name(drawn, a, number)].real - measured[name(drawn, b, number)].real for a, b in drawn.diodes]
    return all(volts >= -1e-9 if on else volts <= 1e-6 for volts, on in zip(across, conduct, strict=True))


def name(drawn: Drawn, index: int, number: int) -> str:
    """The node in the netlist of one choice."""
    return drawn.node(index).replace("x", f"c{number}x")


@pytest.mark.ngspice
def test_random_networks_agree_within_a_thousandth(tmp_path: Path) -> None:
    networks = [draw(seed) for seed in range(NETWORKS)]
    live = 0
    for current, analysis in (("DC", "op"), ("AC", "ac lin 1 50 50")):
        of_kind = [n for n in networks if n.current == current]
        assert len(of_kind) > 200
        measured = simulated(of_kind, analysis, tmp_path)
        live += sum(compare(drawn, measured) for drawn in of_kind)
    assert live > 2000


@pytest.mark.ngspice
def test_diodes_conduct_where_only_that_is_consistent(tmp_path: Path) -> None:
    networks = [draw(seed, diodes=True) for seed in range(10_000, 10_000 + WITH_DIODES)]
    choices = [list(with_diodes(drawn)) for drawn in networks]
    measured = simulated((made for each in choices for _, made in each), "op", tmp_path)
    live = 0
    for drawn, each in zip(networks, choices, strict=True):
        number = next(n for n, (conduct, _) in enumerate(each) if consistent(drawn, n, conduct, measured))
        live += compare(drawn, {drawn.node(i): measured[name(drawn, i, number)] for i in range(len(drawn.runs))})
    assert live > 500
