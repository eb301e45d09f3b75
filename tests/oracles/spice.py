"""The same circuit as resistances, solved by a circuit simulator.

Every state of every circuit becomes an island of one netlist, so that a thousand states are one run of ngspice: a closed contact
is 1 milliohm, an open one 1 gigohm, a coil, lamp or winding a resistor, a live source an ideal one behind 1 milliohm. One
analysis at one frequency gives all voltages as complex numbers; a d.c. source is one of phase zero. Diodes are not modelled.
"""

from __future__ import annotations

import cmath
import math
import subprocess
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from tests.oracles.plain_engine import PlainEngine, State
from tests.oracles.plain_network import Node
from tests.oracles.plain_sources import Source, quantity_of, value_of
from tests.oracles.plain_windings import halves
from wirecheck.plan.model import Device

CLOSED_OHM = 1e-3
OPEN_OHM = 1e9
LEAK_OHM = 1e12
COIL_OHM = 1e3
WINDING_OHM = 100.0


@dataclass(frozen=True)
class Island:
    """One state of one circuit."""

    engine: PlainEngine
    state: State


class _Deck:
    """A netlist under construction."""

    def __init__(self) -> None:
        self.lines: list[str] = ["* states of circuits, one island each"]
        self.nodes = 0

    def node(self) -> str:
        self.nodes += 1
        self.lines.append(f"rl{self.nodes} n{self.nodes} 0 {LEAK_OHM:g}")
        return f"n{self.nodes}"

    def resistor(self, a: str, b: str, ohm: float) -> None:
        if a != b:
            self.lines.append(f"r{len(self.lines)} {a} {b} {ohm:g}")

    def source(self, a: str, b: str, volts: complex) -> None:
        magnitude, phase = abs(volts), math.degrees(cmath.phase(volts))
        self.lines.append(f"v{len(self.lines)} {a} {b} dc 0 ac {magnitude:.9g} {phase:.9g}")


def _loads(device: Device) -> Iterable[tuple[str, str, float]]:
    """What takes current in a device besides its coil: winding by winding, input by input."""
    if device.kind == "motor":
        windings = str(device.values["windings"]) if "windings" in device.values else None
        yield from ((a, b, WINDING_OHM) for a, b in halves(windings))
    elif device.kind == "dc-supply":
        yield "L", "N", COIL_OHM
    elif device.kind in ("transformer", "drive"):
        marks = value_of(device, "primary" if device.kind == "transformer" else "input.terminals")
        if isinstance(marks, list | tuple):
            yield from ((str(a), str(b), COIL_OHM) for a, b in combinations(marks, 2))


def _island(deck: _Deck, island: Island) -> dict[str, tuple[str, str]]:
    """Adds one state to the netlist; the two nodes of every coil, lamp and load."""
    engine = island.engine
    names: dict[Node, str] = {}

    def at(node: Node) -> str:
        root = engine.always_class(node)
        if root not in names:
            names[root] = deck.node()
        return names[root]

    closed, opened = engine.edges(island.state)
    for pairs, ohm in ((closed, CLOSED_OHM), (opened, OPEN_OHM)):
        for a, b in pairs:
            deck.resistor(at(a), at(b), ohm)
    for device in engine.plan.devices.values():
        for x, y, ohm in _loads(device):
            deck.resistor(at((device.name, x)), at((device.name, y)), ohm)
    for source in engine.now(island.state).live:
        _source(deck, source, {p.node: at(p.node) for p in source.poles})
    consumers = {n: (at(c.ends[0]), at(c.ends[1])) for n, c in engine.consumers.items()}
    for name, (one, other) in consumers.items():
        deck.resistor(one, other, _ohm(engine.plan.devices[name]))
    return consumers


def _ohm(device: Device) -> float:
    """A load's resistance, from its voltage and power where the plan states both."""
    volts, watts = quantity_of(device, "voltage"), quantity_of(device, "power")
    return volts.value**2 / watts.value if volts and watts else COIL_OHM


def _source(deck: _Deck, source: Source, nodes: Mapping[Node, str]) -> None:
    middle = deck.node()
    for pole in source.poles:
        inner = deck.node()
        deck.source(inner, middle, pole.volts)
        deck.resistor(inner, nodes[pole.node], CLOSED_OHM)


def voltages(islands: list[Island], folder: Path) -> list[dict[str, float]]:
    """The voltage across every coil, lamp and load in every island; `folder` is for the simulator's files."""
    deck = _Deck()
    wanted = [_island(deck, island) for island in islands]
    lines = [*deck.lines, ".control", "set filetype=ascii", "ac lin 1 50 50", "write result.raw", "quit", ".endc", ".end"]
    (folder / "deck.cir").write_text("\n".join(lines) + "\n", encoding="ascii")
    subprocess.run(["ngspice", "-b", "-n", "deck.cir"], cwd=folder, check=True, capture_output=True, timeout=120)
    solved = read_raw(folder / "result.raw")
    return [{name: abs(solved[a] - solved[b]) for name, (a, b) in consumers.items()} for consumers in wanted]


def read_raw(path: Path) -> dict[str, complex]:
    """Node voltages from an ASCII result with a single point."""
    head, values = path.read_text(encoding="ascii").split("Values:\n")
    variables = [line.split()[1] for line in head.split("Variables:\n")[1].strip().splitlines()]
    numbers = values.split()[1:]
    found = {}
    for name, number in zip(variables, numbers, strict=True):
        if name.startswith("v(") and name.endswith(")"):
            real, imaginary = number.split(",")
            found[name[2:-1]] = complex(float(real), float(imaginary))
        elif name.startswith("n"):
            real, imaginary = number.split(",")
            found[name] = complex(float(real), float(imaginary))
    return found


def told_by_conduction(island: Island, name: str) -> bool:
    """Whether joined or not joined decides about a coil, lamp or load, so that the voltage must agree.

    So it is where both its ends are tied to poles of one live source and of no other, where its ends are joined to each other,
    and where one end leads nowhere. Between is the realm of sneak paths through other loads, on which conduction is silent.
    """
    engine, now = island.engine, island.engine.now(island.state)
    a, b = engine.consumers[name].ends[:2]
    if now.joints.of(a) == now.joints.of(b):
        return True
    tied = [{s.name for s in now.live for p in s.poles if now.joints.joined(p.node, end)} for end in (a, b)]
    if tied[0] and tied[1]:
        return tied[0] == tied[1] and len(tied[0]) == 1
    loads = [end for c in engine.consumers.values() for end in c.ends]
    loads += [(d.name, m) for d in engine.plan.devices.values() for x, y, _ in _loads(d) for m in (x, y)]
    return any(
        not sources and sum(now.joints.of(end) == now.joints.of(other) for other in loads) == 1
        for sources, end in zip(tied, (a, b), strict=True)
    )
