"""Sources of voltage: their poles, when they are live, what they feed, and when they are shorted."""

from __future__ import annotations

import cmath
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations, permutations

from tests.oracles.plain_network import Joints, Node
from wirecheck.plan.model import Device, Plan, Quantity

SAME_POTENTIAL_V = 1e-6


def value_of(device: Device, path: str) -> object:
    """A parameter by its dotted path; None where it was not stated."""
    here: object = device.values
    for key in path.split("."):
        if not isinstance(here, Mapping) or key not in here:
            return None
        here = here[key]
    return here


def quantity_of(device: Device, path: str) -> Quantity | None:
    """A quantity by its dotted path; None where it was not stated."""
    found = value_of(device, path)
    return found if isinstance(found, Quantity) else None


@dataclass(frozen=True)
class Pole:
    """A terminal of a source and its potential, a complex number in volts."""

    node: Node
    volts: complex


@dataclass(frozen=True)
class Source:
    """A source of voltage. `known` is False where the plan states no voltage: then any voltage fits."""

    name: str
    device: str
    what: str
    current: str
    poles: tuple[Pole, ...]
    known: bool = True


@dataclass(frozen=True)
class Rating:
    """What a consumer is made for: lowest and highest rated voltage and kind of current; None where it was not stated."""

    low_v: float | None = None
    high_v: float | None = None
    current: str | None = None

    @staticmethod
    def of(quantity: Quantity | None) -> Rating:
        if quantity is None:
            return Rating()
        high = quantity.high if quantity.high is not None else quantity.value
        return Rating(quantity.value, high, quantity.current)

    def fits(self, source: Source, volts: float, low: float, high: float) -> bool:
        """Whether a voltage lies from `low` times the lower to `high` times the upper rated voltage, and is of the right kind."""
        if volts < SAME_POTENTIAL_V or (self.current is not None and self.current != source.current):
            return False
        if self.low_v is None or self.high_v is None or not source.known:
            return True
        slack = 1e-9
        return low * self.low_v - slack <= volts <= high * self.high_v + slack


def _star(volts: float, count: int = 3) -> list[complex]:
    return [cmath.rect(volts / 3**0.5, -2 * cmath.pi * k / count) for k in range(count)]


def _mains(device: Device) -> Source:
    stated = quantity_of(device, "voltage")
    volts = stated.value if stated else 230.0
    phases = str(value_of(device, "phases") or "1")
    name = device.name
    if phases == "3":
        live = dict(zip(("L1", "L2", "L3"), _star(volts), strict=True)) | {"N": 0j}
    elif phases == "2":
        live = {"L1": volts / 2 + 0j, "L2": -volts / 2 + 0j}
    else:
        live = {"L": volts + 0j, "N": 0j}
    if value_of(device, "earthing") != "IT":
        live["PE"] = 0j
    return Source(name, name, "mains", "AC", tuple(Pole((name, m), v) for m, v in live.items()), stated is not None)


def _pair(name: str, device: Device, what: str, marks: tuple[str, str], stated: Quantity | None) -> Source:
    volts = (stated.value if stated else 1.0) + 0j
    current = "AC" if what == "transformer" else "DC"
    poles = (Pole((device.name, marks[0]), volts), Pole((device.name, marks[1]), 0j))
    return Source(name, device.name, what, current, poles, stated is not None)


def _drive_sources(device: Device) -> list[Source]:
    found = []
    for part in ("supply", "reference"):
        plus, common = value_of(device, f"control.{part}.plus"), value_of(device, f"control.{part}.common")
        if plus and common:
            volts = quantity_of(device, f"control.{part}.voltage")
            title = "control supply" if part == "supply" else part
            found.append(_pair(f"{device.name} {title}", device, part, (str(plus), str(common)), volts))
    out = value_of(device, "output.terminals")
    if isinstance(out, list | tuple) and len(out) == 3:
        stated = quantity_of(device, "output.voltage")
        phasors = _star(stated.value if stated else 1.0)
        poles = tuple(Pole((device.name, str(m)), v) for m, v in zip(out, phasors, strict=True))
        found.append(Source(f"{device.name} output", device.name, "output", "AC", poles, stated is not None))
    return found


def sources_of(plan: Plan) -> list[Source]:
    """All sources of a plan, in the order of its devices."""
    found: list[Source] = []
    for device in plan.devices.values():
        if device.kind == "mains":
            found.append(_mains(device))
        elif device.kind == "transformer":
            marks = _marks(device, "secondary", ("3", "4"))
            found.append(
                _pair(device.name, device, "transformer", (marks[0], marks[1]), quantity_of(device, "secondary_voltage"))
            )
        elif device.kind == "dc-supply":
            found.append(_pair(device.name, device, "dc-supply", ("+", "-"), quantity_of(device, "voltage")))
        elif device.kind == "drive":
            found += _drive_sources(device)
    return found


def _marks(device: Device, path: str, default: tuple[str, ...]) -> tuple[str, ...]:
    stated = value_of(device, path)
    return tuple(str(m) for m in stated) if isinstance(stated, list | tuple) else default


def across(joints: Joints, source: Source, a: Node, b: Node) -> list[float]:
    """The voltages that one source, were it live, puts between two nodes: one for each pair of its poles that reaches them."""
    into = [p for p in source.poles if joints.path(p.node, a)]
    out = [p for p in source.poles if joints.path(b, p.node)]
    there = [(p, q) for p in into for q in out]
    back = [(p, q) for p in source.poles if joints.path(p.node, b) for q in source.poles if joints.path(a, q.node)]
    if source.current == "DC":
        there = [(p, q) for p, q in there + back if p.volts.real > q.volts.real]
        back = []
    return [abs(p.volts - q.volts) for p, q in there + back if p != q]


def acts(joints: Joints, live: list[Source], a: Node, b: Node, rating: Rating, low: float = 0.85, high: float = 1.30) -> bool:
    """Whether a consumer between two nodes acts."""
    return any(rating.fits(s, v, low, high) for s in live for v in across(joints, s, a, b))


def fed(joints: Joints, live: list[Source], device: Device) -> bool:
    """Whether all input terminals of a drive are fed by one live a.c. source."""
    nodes = [(device.name, m) for m in _marks(device, "input.terminals", ())]
    wanted = quantity_of(device, "input.voltage")
    rating = Rating(*((wanted.value, wanted.high if wanted.high is not None else wanted.value) if wanted else (None, None)))

    def all_fit(source: Source, poles: tuple[Pole, ...]) -> bool:
        if not all(joints.joined(n, p.node) for n, p in zip(nodes, poles, strict=True)):
            return False
        pairs = combinations(range(len(nodes)), 2)
        return all(rating.fits(source, abs(poles[i].volts - poles[j].volts), 0.85, 1.15) for i, j in pairs)

    return len(nodes) > 1 and any(
        all_fit(source, poles) for source in live if source.current == "AC" for poles in permutations(source.poles, len(nodes))
    )


def supplied(plan: Plan, joints: Joints, live: list[Source], source: Source, is_fed: Callable[[str], bool]) -> bool:
    """Whether what feeds a source other than mains or a drive's output is there."""
    device = plan.devices[source.device]
    alternating = [s for s in live if s.current == "AC"]
    if source.what == "transformer":
        a, b = _marks(device, "primary", ("1", "2"))[:2]
        rating = Rating.of(quantity_of(device, "primary_voltage"))
        return acts(joints, alternating, (device.name, a), (device.name, b), Rating(rating.low_v, rating.high_v), 0.85, 1.15)
    if source.what == "dc-supply":
        return acts(joints, alternating, (device.name, "L"), (device.name, "N"), Rating())
    return is_fed(source.device)


def shorts(joints: Joints, source: Source) -> list[tuple[Node, Node]]:
    """Pairs of poles of different potential that are joined."""
    found = []
    for p, q in combinations(source.poles, 2):
        if abs(p.volts - q.volts) < SAME_POTENTIAL_V:
            continue
        if source.current == "DC":
            plus, minus = (p, q) if p.volts.real > q.volts.real else (q, p)
            if joints.path(plus.node, minus.node):
                found.append((plus.node, minus.node))
        elif joints.path(p.node, q.node):
            found.append((p.node, q.node))
        elif joints.path(q.node, p.node):
            found.append((q.node, p.node))
    return found
