"""Which wires carry the current of which loads, and what a conductor belongs to.

All contacts are taken as able to conduct, so a wire is given every load whose current can pass it, and maybe one that never
does: never too few. A load belongs to a source when two of its ends reach two poles of it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

from wirecheck.circuit.elements import Element, elements_of
from wirecheck.circuit.impedances import Impedance, impedances_of
from wirecheck.circuit.paths import SUPPLY_CHAIN
from wirecheck.circuit.sources import Source, sources_of
from wirecheck.circuit.ways import Edge, Ways
from wirecheck.plan.model import Plan, Terminal, Wire
from wirecheck.plan.potentials import Joined

SMALL_V = 1e-6
PROTECTIVE = frozenset({"circuit-breaker", "fuse", "overload-relay"})
"""What opens its circuit, or has it opened, on too much current."""

THROUGH = frozenset({"overload-relay", "line-filter", "line-reactor"})
"""Devices whose poles always conduct: links, but a current goes through them one by one."""


class Load(NamedTuple):
    """Something that takes current at its ends: a coil, a lamp, all windings of a motor, the input of a drive or supply."""

    device: str
    kind: str
    ends: tuple[Terminal, ...]
    parts: tuple[Impedance, ...]


class Passage(NamedTuple):
    """The current of a load on its way from a pole of a source to one of its ends, at one wire.

    `beyond` is the elements that protect, on the way from the wire on to the load, `ahead` those from the pole to the wire.
    """

    load: Load
    source: Source
    pole: Terminal
    end: Terminal
    ahead: tuple[Element, ...]
    beyond: tuple[Element, ...]


class Currents:
    """The currents of a plan. `passages` gives for a wire's index every way in which a load's current passes it."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.sources = sources_of(plan)
        elements = elements_of(plan)
        self._nodes = Joined()
        for element in elements:
            if element.kind == "link" and not self._is_pole(element):
                self._nodes.join((element.a, element.b))
        conducting = [e for e in elements if e.kind in ("wire", "contact") or self._is_pole(e)]
        conducting += self._series_diodes([e for e in elements if e.kind == "diode"], conducting)
        self._graph = self._graph_of(conducting)
        self.loads = tuple(loads_of(plan))

    def node(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all that links and bars join with this one."""
        return self._nodes.root(terminal)

    def _is_pole(self, element: Element) -> bool:
        return element.kind == "link" and self.plan.devices[str(element.device)].kind in THROUGH

    def _graph_of(self, conducting: Iterable[Element]) -> dict[Terminal, list[Edge]]:
        graph: dict[Terminal, list[Edge]] = {}
        for element in conducting:
            a, b = self.node(element.a), self.node(element.b)
            if a != b:
                graph.setdefault(a, []).append(Edge(b, element))
                graph.setdefault(b, []).append(Edge(a, element))
        return graph

    def _series_diodes(self, diodes: Iterable[Element], conducting: Iterable[Element]) -> Iterator[Element]:
        """The diodes through which a current goes. One across a coil lies between the poles of a source and carries none."""
        joined = Joined()
        for element in conducting:
            joined.join((self.node(element.a), self.node(element.b)))
        for diode in diodes:
            a, b = (joined.root(self.node(end)) for end in (diode.a, diode.b))
            poles = [[joined.root(self.node(pole)) for pole in source.poles] for source in self.sources]
            if not any(a in roots and b in roots for roots in poles):
                yield diode

    def _reached(self, start: Terminal, chain: bool = False) -> frozenset[Terminal]:
        """The nodes that hang together with one: through everything, or with `chain` through wires and supply devices alone."""
        seen, waiting = {start}, [start]
        for node in waiting:
            for to, element in self._graph.get(node, ()):
                if to not in seen and (not chain or self._in_chain(element)):
                    seen.add(to)
                    waiting.append(to)
        return frozenset(seen)

    def _in_chain(self, element: Element) -> bool:
        return element.kind == "wire" or self.plan.devices[str(element.device)].kind in SUPPLY_CHAIN

    @cached_property
    def ways(self) -> Mapping[Terminal, Ways]:
        """For every pole the ways from it; they keep off what hangs on other poles of the same source, for that is a short."""
        found = {}
        for source in self.sources:
            rails = {pole: self._reached(self.node(pole), chain=True) for pole in source.poles}
            for pole in source.poles:
                others = [rails[q] for q in source.poles if source.voltage_between(pole, q) > SMALL_V]
                found[pole] = Ways(self._graph, self.node(pole), frozenset().union(*others) - rails[pole])
        return found

    @cached_property
    def fed(self) -> tuple[tuple[Load, Source, Terminal, Terminal], ...]:
        """Each load with a source, a pole of it and an end that the pole reaches, where other ends reach other poles."""
        return tuple(feed for load in self.loads for source in self.sources for feed in self._feeds(load, source))

    def _feeds(self, load: Load, source: Source) -> Iterator[tuple[Load, Source, Terminal, Terminal]]:
        reach = [(pole, end) for pole in source.poles for end in load.ends if self.node(end) in self.ways[pole]]
        for pole, end in reach:
            if any(other != end and source.voltage_between(pole, q) > SMALL_V for q, other in reach):
                yield load, source, pole, end

    def voltages(self, load: Load, source: Source) -> tuple[float, ...]:
        """What a source can bring between two ends of a load, in V, the least first: less to N than between lines."""
        return self._voltages.get((id(load), source.name), ())

    @cached_property
    def _voltages(self) -> Mapping[tuple[int, str], tuple[float, ...]]:
        reach: dict[tuple[int, str], tuple[Source, list[tuple[Terminal, Terminal]]]] = {}
        for load, source, pole, end in self.fed:
            reach.setdefault((id(load), source.name), (source, []))[1].append((pole, end))
        return {key: tuple(sorted(_between(source, ends))) for key, (source, ends) in reach.items()}

    @property
    def passages(self) -> Mapping[int, tuple[Passage, ...]]:
        """For every wire, by its index, what passes it."""
        return self._found[0]

    @property
    def through(self) -> Mapping[str, Mapping[str, tuple[Passage, ...]]]:
        """For every device with poles, by its name, what goes through each of its poles."""
        return self._found[1]

    @cached_property
    def by_contact(self) -> Mapping[str, tuple[Passage, ...]]:
        """For every contact of a device, `K1:13-14`, what goes through it."""
        found: dict[str, list[Passage]] = {}
        for load, source, pole, end in self.fed:
            for element, passage in self._passages(load, source, pole, end):
                if element.contact is not None:
                    found.setdefault(str(element.contact), []).append(passage)
        return {name: tuple(each) for name, each in found.items()}

    @cached_property
    def _found(self) -> tuple[dict[int, tuple[Passage, ...]], dict[str, dict[str, tuple[Passage, ...]]]]:
        wires: dict[int, list[Passage]] = {}
        poles: dict[str, dict[str, list[Passage]]] = {}
        for load, source, pole, end in self.fed:
            for element, passage in self._passages(load, source, pole, end):
                if element.wire is not None:
                    wires.setdefault(element.wire.index, []).append(passage)
                elif element.kind == "link" or (element.contact is not None and element.contact.pole):
                    poles.setdefault(str(element.device), {}).setdefault(element.ident, []).append(passage)
        return (
            {index: tuple(each) for index, each in wires.items()},
            {name: {ident: tuple(each) for ident, each in found.items()} for name, found in poles.items()},
        )

    def _passages(self, load: Load, source: Source, pole: Terminal, end: Terminal) -> Iterator[tuple[Element, Passage]]:
        ways = self.ways[pole]
        parts = list(ways.parts_to(self.node(end)))
        guards = [self._protective(ways.parts[part]) for part in parts]
        for i, part in enumerate(parts):
            beyond = tuple(e for guard in guards[:i] for e in guard)
            ahead = tuple(e for guard in guards[i + 1 :] for e in guard)
            passage = Passage(load, source, pole, end, ahead, beyond)
            for element in ways.parts[part]:
                yield element, passage

    def parts(self, pole: Terminal, end: Terminal) -> list[tuple[Element, ...]]:
        """The parts on the way from a pole to a terminal, from the terminal on; none where there is no way.

        A part of a single element is passed whatever way is taken; in a larger one there are several ways.
        """
        ways, node = self.ways[pole], self.node(end)
        return [ways.parts[part] for part in ways.parts_to(node)] if node in ways else []

    def guards(self, pole: Terminal, end: Terminal) -> tuple[Element, ...]:
        """What protects, on every way from a pole to a terminal."""
        return tuple(e for part in self.parts(pole, end) for e in self._protective(part))

    def joined_to_earth(self) -> frozenset[Terminal]:
        """The poles that wires and links alone join to the mains' PE."""
        roots = [pole for source in self.sources for pole in source.poles if pole.mark == "PE"]
        reached: set[Terminal] = set()
        for root in roots:
            waiting = [self.node(root)]
            for node in waiting:
                reached.add(node)
                wired = (to for to, element in self._graph.get(node, ()) if element.kind == "wire")
                waiting += [to for to in wired if to not in reached and to not in waiting]
        return frozenset(pole for source in self.sources for pole in source.poles if self.node(pole) in reached)

    def _protective(self, part: tuple[Element, ...]) -> tuple[Element, ...]:
        """What protects, of a part that is a single element: where currents can go round it, it does not protect."""
        return part if len(part) == 1 and self._protects(part[0]) else ()

    def _protects(self, element: Element) -> bool:
        pole = element.kind == "link" or (element.contact is not None and element.contact.pole)
        return pole and self.plan.devices[str(element.device)].kind in PROTECTIVE

    def way(self, pole: Terminal, end: Terminal) -> tuple[Wire, ...]:
        """The wires of the way with the fewest elements from a pole to a terminal, the pole's own first."""
        goal, start, avoid = self.node(end), self.node(pole), self.ways[pole].avoid
        came: dict[Terminal, tuple[Terminal, Element] | None] = {start: None}
        waiting = [start]
        for node in waiting:
            for to, element in self._graph.get(node, ()):
                if to not in came and to not in avoid:
                    came[to] = node, element
                    waiting.append(to)
        wires, step = [], came.get(goal)
        while step is not None:
            node, element = step
            if element.wire is not None:
                wires.append(element.wire)
            step = came[node]
        return tuple(reversed(wires))


def _between(source: Source, reach: Collection[tuple[Terminal, Terminal]]) -> Iterator[float]:
    """The voltages between the poles that reach two different ends."""
    each = {source.voltage_between(p, q) for p, end in reach for q, other in reach if end != other}
    return (volts for volts in each if volts > SMALL_V)


def loads_of(plan: Plan) -> Iterator[Load]:
    """What takes current; the parts of one device that belong together (windings, the lines of an input) are one load."""
    groups: dict[tuple[str, str, str], list[Impedance]] = {}
    for part in impedances_of(plan):
        alone = part.kind in ("input", "resistor", "capacitor") or plan.devices[part.device].kind == "custom"
        groups.setdefault((part.device, part.kind, part.ident if alone else ""), []).append(part)
    for (device, kind, _), parts in groups.items():
        ends = dict.fromkeys(t for part in parts for t in (part.a, part.b) if not t.mark.startswith("*"))
        yield Load(device, kind, tuple(ends), tuple(parts))
