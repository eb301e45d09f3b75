"""What is joined to what in one state: a union-find over terminals, and nothing cleverer.

Wires, links and earth bars join always. Contacts join when the caller says that they are closed. Diodes join one way only, so
joining is asked for with a direction: `path(a, b)` says whether current can go from a to b.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from wirecheck.plan.model import Plan

Node = tuple[str, str]
"""Device and mark."""


class UnionFind:
    """Classes of nodes, by parent pointers."""

    def __init__(self, parent: dict[Node, Node]) -> None:
        self.parent = parent

    def find(self, node: Node) -> Node:
        parent = self.parent
        root = node
        while parent.setdefault(root, root) != root:
            root = parent[root]
        while parent[node] != root:
            parent[node], node = root, parent[node]
        return root

    def join(self, a: Node, b: Node) -> None:
        self.parent[self.find(a)] = self.find(b)


def always_joined(plan: Plan) -> list[tuple[Node, Node]]:
    """Pairs of nodes that are joined in every state: wires, links, earth bars, and the poles of filters and reactors."""
    pairs: list[tuple[Node, Node]] = [((w.a.device, w.a.mark), (w.b.device, w.b.mark)) for w in plan.wires]
    for device in plan.devices.values():
        for link in device.links:
            pairs += [((device.name, a), (device.name, b)) for a, b in pairwise(link)]
        if device.kind == "earth-bar":
            used = {t.mark for w in plan.wires for t in (w.a, w.b) if t.device == device.name}
            marks = sorted(used | set(device.marks))
            pairs += [((device.name, a), (device.name, b)) for a, b in pairwise(marks)]
        if device.kind in ("line-filter", "line-reactor"):
            pairs += [((device.name, c.a), (device.name, c.b)) for c in device.contacts]
    return pairs


@dataclass(frozen=True)
class Protection:
    """A closed fuse or breaker pole."""

    device: str
    a: Node
    b: Node


class Joints:
    """What is joined in one state. Built once per set of closed contacts."""

    def __init__(
        self,
        always: dict[Node, Node],
        closed: Iterable[tuple[Node, Node]],
        protections: Iterable[Protection],
        diodes: Iterable[tuple[Node, Node]],
    ) -> None:
        bare = UnionFind(dict(always))
        for a, b in closed:
            bare.join(a, b)
        self._bare = bare
        self._protections = list(protections)
        self._whole = UnionFind(dict(bare.parent))
        for protection in self._protections:
            self._whole.join(protection.a, protection.b)
        self._class = {node: self._whole.find(node) for node in self._whole.parent}
        self._onward: dict[Node, set[Node]] = {}
        self._diodes = list(diodes)
        for anode, cathode in self._diodes:
            self._onward.setdefault(self.of(anode), set()).add(self.of(cathode))

    def of(self, node: Node) -> Node:
        """The class of a node."""
        return self._class.get(node, node)

    def path(self, a: Node, b: Node) -> bool:
        """Whether current can go from a to b through conducting edges only."""
        start, goal = self._class.get(a, a), self._class.get(b, b)
        if start == goal or not self._onward:
            return start == goal
        seen, todo = {start}, [start]
        while todo:
            for there in self._onward.get(todo.pop(), ()):
                if there not in seen:
                    seen.add(there)
                    todo.append(there)
        return goal in seen

    def joined(self, a: Node, b: Node) -> bool:
        """Whether there is a path in at least one direction."""
        return self.path(a, b) or self.path(b, a)

    def protections_between(self, a: Node, b: Node) -> set[str]:
        """Fuses and breakers on the way from a to b: each of their ends reaches its own of the two without passing them."""
        return {p.device for p in self._protections if self._on_the_way(p, a, b)}

    def _on_the_way(self, protection: Protection, a: Node, b: Node) -> bool:
        rest = [(p.a, p.b) for p in self._protections if p is not protection]
        without = Joints(self._bare.parent, rest, [], self._diodes)
        near, far = protection.a, protection.b
        return (without.path(a, near) and without.path(far, b)) or (without.path(a, far) and without.path(near, b))
