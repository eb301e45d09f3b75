"""The ways that a current can take from a pole of a source: all terminals as nodes, wires and contacts as edges, closed or not.

One search in depth from the pole finds every part in which currents can part and meet again (the biconnected components). An
edge lies on some way from the pole to a terminal exactly when its part lies between the two.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import NamedTuple

from wirecheck.circuit.elements import Element
from wirecheck.plan.model import Terminal


class Edge(NamedTuple):
    """A wire or contact to another node. A node is the terminal that stands for all that links join with it."""

    to: Terminal
    element: Element


class Ways:
    """The ways from one pole. `parts` are the components, each with its elements; the ways keep out of the nodes in `avoid`."""

    def __init__(self, graph: Mapping[Terminal, Collection[Edge]], root: Terminal, avoid: Collection[Terminal]) -> None:
        self.root = root
        self.parts: list[tuple[Element, ...]] = []
        self._up: dict[Terminal, Terminal] = {root: root}
        self._part_above: dict[Terminal, int] = {}
        self.avoid = frozenset(avoid) - {root}
        self._search(graph, self.avoid)

    def __contains__(self, node: Terminal) -> bool:
        return node in self._up

    def parts_to(self, node: Terminal) -> Iterator[int]:
        """The parts on the way from a node up to the pole, the one next to the node first."""
        last = -1
        while node != self.root:
            part = self._part_above[node]
            if part != last:
                yield part
            node, last = self._up[node], part

    def _search(self, graph: Mapping[Terminal, Collection[Edge]], avoid: frozenset[Terminal]) -> None:
        """Hopcroft and Tarjan's search: `low` is the earliest node that the tree below a node leads back to."""
        found, low = {self.root: 0}, {self.root: 0}
        edges: list[tuple[Terminal, Element]] = []
        seen: set[int] = set()  # the elements that were walked, by identity: two may lie between the same nodes
        stack = [(self.root, iter(graph.get(self.root, ())), 0)]
        while stack:
            node, rest, begin = stack[-1]
            edge = next(rest, None)
            if edge is None:
                stack.pop()
                if stack:
                    self._close(stack[-1][0], node, low, found, edges, begin)
                continue
            if edge.to in avoid or id(edge.element) in seen:
                continue
            seen.add(id(edge.element))
            edges.append((node, edge.element))
            if edge.to in found:
                low[node] = min(low[node], found[edge.to])
            else:
                found[edge.to] = low[edge.to] = len(found)
                self._up[edge.to] = node
                stack.append((edge.to, iter(graph.get(edge.to, ())), len(edges) - 1))

    def _close(
        self,
        above: Terminal,
        node: Terminal,
        low: dict[Terminal, int],
        found: Mapping[Terminal, int],
        edges: list[tuple[Terminal, Element]],
        begin: int,
    ) -> None:
        """Go back up from a node: if nothing below it leads past the node above, the edges since then are a part."""
        low[above] = min(low[above], low[node])
        if low[node] < found[above]:
            return
        part = len(self.parts)
        self.parts.append(tuple(element for _, element in edges[begin:]))
        below = [node]
        for start, _ in edges[begin:]:
            below.append(start)
        for inside in below:
            if inside != above:
                self._part_above.setdefault(inside, part)
        del edges[begin:]
