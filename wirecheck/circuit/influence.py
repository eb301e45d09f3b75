"""Which devices can influence which: by the contacts that lie on some path between a source's pole and what it feeds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from wirecheck.circuit.elements import COIL_KINDS, CONDUCTS, LOAD_KINDS, Element, elements_of, marks_of, section, windings_of
from wirecheck.circuit.elements import coil_ends as ends_of_coil
from wirecheck.circuit.sources import Source, drive_feed, sources_of
from wirecheck.plan.model import Device, Plan, Terminal

if TYPE_CHECKING:
    import networkx as nx

Tree = dict[object, object | None]


class Paths:
    """The switched elements on the simple paths between a pole and a terminal.

    Terminals that are always joined are one node. Between two nodes the elements on simple paths are those of the biconnected
    components on the way from one to the other in the tree of components and cut nodes.
    """

    def __init__(self, elements: Iterable[Element], extra: Iterable[Terminal]) -> None:
        import networkx as nx

        joined: nx.Graph[Any] = nx.Graph()
        joined.add_nodes_from(extra)
        switched = []
        for element in elements:
            joined.add_nodes_from((element.a, element.b))
            if element.kind in CONDUCTS and element.closed_in is None and element.kind != "diode":
                joined.add_edge(element.a, element.b)
            elif element.kind in CONDUCTS:
                switched.append(element)
        self._node = {t: i for i, group in enumerate(nx.connected_components(joined)) for t in group}
        graph: nx.Graph[Any] = nx.Graph()
        graph.add_nodes_from(self._node.values())
        between: dict[frozenset[int], set[str]] = {}
        for element in switched:
            a, b = self._node[element.a], self._node[element.b]
            if a != b:
                graph.add_edge(a, b)
                between.setdefault(frozenset((a, b)), set()).add(str(element.device))
        blocks: Any = nx.biconnected_components(graph)  # the stubs call each block a set of sets
        self._blocks: list[frozenset[int]] = [frozenset(block) for block in blocks]
        self._inside = [self._devices(block, graph, between) for block in self._blocks]
        self._blocks_at: dict[int, list[int]] = {}
        for i, block in enumerate(self._blocks):
            for node in block:
                self._blocks_at.setdefault(node, []).append(i)
        self._trees: dict[int, Tree] = {}

    @staticmethod
    def _devices(block: frozenset[int], graph: nx.Graph[Any], between: Mapping[frozenset[int], set[str]]) -> frozenset[str]:
        inside = graph.subgraph(block).edges
        return frozenset(name for edge in inside for name in between[frozenset(edge)])

    def _tree(self, root: int) -> Tree:
        """For every node and component reached from `root`, what it was reached from."""
        if root not in self._trees:
            tree: Tree = {root: None}
            waiting = [root]
            for node in waiting:
                for i in self._blocks_at.get(node, ()):
                    if ("block", i) not in tree:
                        tree["block", i] = node
                        for other in self._blocks[i]:
                            if other not in tree:
                                tree[other] = ("block", i)
                                waiting.append(other)
            self._trees[root] = tree
        return self._trees[root]

    def _blocks_between(self, pole: Terminal, end: Terminal) -> list[int] | None:
        tree = self._tree(self._node[pole])
        here: object | None = self._node.get(end)
        if here not in tree:
            return None
        found = []
        while here is not None:
            if isinstance(here, tuple):
                found.append(here[1])
            here = tree[here]
        return found

    def between(self, pole: Terminal, end: Terminal) -> frozenset[str] | None:
        """The devices with an element on some path, None where there is no path at all."""
        blocks = self._blocks_between(pole, end)
        return None if blocks is None else frozenset().union(*(self._inside[i] for i in blocks))

    def on_path(self, pole: Terminal, element: tuple[Terminal, Terminal], end: Terminal) -> bool:
        """Whether an element, given by its two terminals, lies on some path between a pole and a terminal."""
        nodes = {self._node.get(t) for t in element}
        return len(nodes) == 2 and any(nodes <= self._blocks[i] for i in self._blocks_between(pole, end) or ())


def ends_of(device: Device) -> Iterator[str]:
    """The terminals of a device whose state decides what it does."""
    values = device.values
    if device.kind in COIL_KINDS:
        yield from ends_of_coil(device)
        yield from marks_of(values, "sensor", ("T1", "T2") if device.kind == "thermistor-relay" else ())
        for channel in values.get("channels") or ():  # type: ignore[attr-defined]
            yield from map(str, channel)
        yield from marks_of(values, "reset_loop", ())
    elif device.kind in LOAD_KINDS:
        yield from marks_of(values, "terminals", ("X1", "X2"))[:2]
    elif device.kind == "motor":
        yield from dict.fromkeys(m for pair in windings_of(device) for m in pair if not m.startswith("*"))
    elif device.kind == "drive":
        control = section(values, "control")
        yield from (t.mark for t in drive_feed(device).terminals)
        yield from map(str, section(control, "inputs"))
        off = section(control, "safe_torque_off")
        yield from marks_of(off, "channels", ())
        yield from (
            str(word)
            for word in (off.get("common"), section(control, "supply").get("common"), section(control, "supply").get("plus"))
            if word
        )
        yield from marks_of(control, "thermistor", ())


def paths_of(plan: Plan) -> Paths:
    """The paths of a plan, with the ends of all its devices and the poles of all its sources."""
    ends = [Terminal(name, m) for name, d in plan.devices.items() for m in ends_of(d)]
    sources = sources_of(plan)
    feeds = [t for s in sources if s.feed for t in s.feed.terminals]
    return Paths(elements_of(plan), [*ends, *(p for s in sources for p in s.poles), *feeds])


def direct_influences(plan: Plan, paths: Paths) -> dict[str, frozenset[str]]:
    """For every device, those that can change directly what it does: contacts on its paths, what feeds its sources."""
    sources = sources_of(plan)
    marks = {name: [Terminal(name, m) for m in dict.fromkeys(ends_of(d))] for name, d in plan.devices.items()}
    fed_by = {s.name: _reaching(paths, sources, s.feed.terminals, s) for s in sources if s.feed}
    found: dict[str, frozenset[str]] = {}
    for name, ends in marks.items():
        devices = _reaching(paths, sources, ends, None) if ends else frozenset()
        across = (
            paths.between(a, b) for i, a in enumerate(ends) for b in ends[:i]
        )  # a star contactor, a channel of a safety relay
        devices = devices.union(*(found for found in across if found))
        own = [fed_by[s.name] for s in sources if s.device == name and s.name in fed_by]
        found[name] = devices.union(*own) - {name}
        other = plan.devices[name].values.get("mechanical_interlock")
        if isinstance(other, str) and other in plan.devices:
            found[name] |= {other}
    return found


def _reaching(paths: Paths, sources: Iterable[Source], ends: Iterable[Terminal], without: Source | None) -> frozenset[str]:
    found: frozenset[str] = frozenset()
    for source in sources:
        if source is without:
            continue
        for pole in source.poles:
            for end in ends:
                on_the_way = paths.between(pole, end)
                if on_the_way is not None:
                    found |= on_the_way | {source.device}
    return found


def all_influences(direct: Mapping[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """For every device, all that can change what it does, through any number of relays and sources."""
    found = {}
    for name in direct:
        seen, waiting = {name}, [name]
        for here in waiting:
            for other in sorted(direct.get(here, ())):
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        found[name] = frozenset(seen)
    return found
