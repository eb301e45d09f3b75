"""Which switched elements lie on the simple paths between two terminals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from wirecheck.circuit.elements import CONDUCTS, Element
from wirecheck.circuit.sources import Source
from wirecheck.plan.model import Device, Terminal

if TYPE_CHECKING:
    import networkx as nx

SUPPLY_CHAIN = frozenset({"isolator", "circuit-breaker", "fuse", "residual-current-device", "plug-connector", "no-volt-release"})
"""What stands between a source and its rails: a rail is what a pole reaches through these alone."""


class Blocks:
    """The biconnected components of a graph, with the devices in each, and the tree in which they hang together.

    Between two nodes the elements on simple paths are those of the components on the way from one to the other in that tree.
    """

    def __init__(self, graph: nx.Graph[Any], between: Mapping[frozenset[int], set[str]]) -> None:
        import networkx as nx

        parts = [[frozenset(edge) for edge in edges] for edges in nx.biconnected_component_edges(graph)]
        self.blocks: list[frozenset[int]] = [frozenset().union(*edges) for edges in parts]
        self.devices: list[frozenset[str]] = [frozenset().union(*(between[edge] for edge in edges)) for edges in parts]
        self._at: dict[int, list[int]] = {}
        for i, block in enumerate(self.blocks):
            for node in block:
                self._at.setdefault(node, []).append(i)
        self._trees: dict[int, dict[object, object | None]] = {}

    def _tree(self, root: int) -> dict[object, object | None]:
        """For every node and component reached from `root`, what it was reached from."""
        if root not in self._trees:
            tree: dict[object, object | None] = {root: None}
            waiting = [root]
            for node in waiting:
                for i in self._at.get(node, ()):
                    if ("block", i) not in tree:
                        tree["block", i] = node
                        fresh = [other for other in self.blocks[i] if other not in tree]
                        tree.update(dict.fromkeys(fresh, ("block", i)))
                        waiting += fresh
            self._trees[root] = tree
        return self._trees[root]

    def way(self, start: int, end: int | None) -> list[int] | None:
        """The components between two nodes, None where nothing joins them."""
        tree = self._tree(start)
        here: object | None = end
        if here not in tree:
            return None
        found = []
        while here is not None:
            if isinstance(here, tuple):
                found.append(here[1])
            here = tree[here]
        return found


class Paths:
    """The paths of a plan. Terminals that are always joined are one node.

    A path from a pole does not pass the rails of another pole of the same source: that would be a short, which is told by itself.
    """

    def __init__(
        self, elements: Iterable[Element], sources: Iterable[Source], devices: Mapping[str, Device], extra: Iterable[Terminal]
    ) -> None:
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
        self._between: dict[frozenset[int], set[str]] = {}
        chain: nx.Graph[Any] = nx.Graph()
        for element in switched:
            a, b = self._node[element.a], self._node[element.b]
            if a != b:
                self._between.setdefault(frozenset((a, b)), set()).add(str(element.device))
                if devices[str(element.device)].kind in SUPPLY_CHAIN:
                    chain.add_edge(a, b)
        self._avoid = self._rails(chain, list(sources))
        self._blocks: dict[frozenset[int], Blocks] = {}
        self._from: dict[Terminal, tuple[int, Blocks]] = {}

    def _rails(self, chain: nx.Graph[Any], sources: list[Source]) -> dict[Terminal, frozenset[int]]:
        """For every pole, the nodes that belong to the other poles of its source."""
        import networkx as nx

        chained = {node: frozenset(group) for group in nx.connected_components(chain) for node in group}
        poles = {pole: self._node[pole] for s in sources for pole in s.poles}
        rails = {pole: chained.get(node, frozenset({node})) for pole, node in poles.items()}
        self._all_rails = frozenset().union(*rails.values())
        found = {}
        for s in sources:
            for p in s.poles:
                others = [rails[q] for q in s.poles if s.voltage_between(p, q) > 1e-6]
                found[p] = frozenset().union(*others) - rails[p]
        return found

    def _without(self, avoid: frozenset[int]) -> Blocks:
        import networkx as nx

        if avoid not in self._blocks:
            graph: nx.Graph[Any] = nx.Graph(tuple(edge) for edge in self._between if not edge & avoid)
            self._blocks[avoid] = Blocks(graph, self._between)
        return self._blocks[avoid]

    def _way(self, start: Terminal, end: Terminal) -> tuple[Blocks, list[int] | None]:
        if start not in self._from:
            node = self._node[start]
            self._from[start] = node, self._without(self._avoid.get(start, self._all_rails) - {node})
        node, blocks = self._from[start]
        return blocks, blocks.way(node, self._node.get(end))

    def between(self, start: Terminal, end: Terminal) -> frozenset[str] | None:
        """The devices with an element on some path, None where there is no path at all.

        From a pole the rails of its source's other poles are left out, between two other terminals all rails.
        """
        blocks, way = self._way(start, end)
        return None if way is None else frozenset().union(*(blocks.devices[i] for i in way))

    def on_path(self, start: Terminal, element: tuple[Terminal, Terminal], end: Terminal) -> bool:
        """Whether an element, given by its two terminals, lies on some path between two terminals."""
        nodes = {self._node.get(t) for t in element}
        blocks, way = self._way(start, end)
        return len(nodes) == 2 and any(nodes <= blocks.blocks[i] for i in way or ())
