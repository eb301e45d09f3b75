"""Which of the devices that want to move need be tried in every order, and which cannot matter to each other.

Sixteen relays that pull in by themselves, each in a circuit of its own, pass 65536 states in their orders, and rest in one.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from itertools import combinations

from wirecheck.circuit import CONDUCTS, Element, Source
from wirecheck.circuit.influence import ends_of
from wirecheck.plan.model import Plan, Terminal

Nodes = Mapping[Terminal, int]


class Joints:
    """A plan of which only some devices move: what is joined for good is a node, and between nodes lie their contacts.

    The nodes at the poles of sources are rails. What hangs together without them is a patch; a device can be told something by
    the contacts of its own patch, and by what feeds the rails at which the patch ends.
    """

    def __init__(self, elements: Iterable[Element], closed: Callable[[Element], bool], movable: Collection[str]) -> None:
        self._up: dict[Terminal, Terminal] = {}
        self.edges: list[tuple[Element, str | None]] = []
        for e in elements:
            if e.kind == "diode":
                self.edges.append((e, None))
            elif e.kind in CONDUCTS and e.closed_in is not None and e.device in movable:
                self.edges.append((e, e.device))
            elif e.kind in CONDUCTS and closed(e):
                self._up[self.node(e.a)] = self.node(e.b)

    def node(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all that are joined to this one for good."""
        up = self._up
        while (above := up.setdefault(terminal, terminal)) != terminal:
            up[terminal] = terminal = up.setdefault(above, above)
        return terminal


class Orders:
    """What the moving devices of a plan can tell each other, for one set of positions of all that does not move by itself.

    Attributes
    ----------
    certain : bool
        Whether this can be told; else all devices that want to move are needed.
    standing : frozenset of str
        The sources with a short that nothing which moves by itself can end.

    Notes
    -----
    The devices chosen by `needed` are a stubborn set (A. Valmari, Stubborn sets for reduced state space generation, 1989):
    whatever the others do first, it neither hinders nor helps nor changes what these do, and the other way round. So from
    each state all states of rest are still reached, and if none can be reached, none is. Devices that can make a short together
    are taken as telling each other; what the short then does is left to the caller, who sees it, and must try every order.
    """

    def __init__(
        self, plan: Plan, joints: Joints, sources: Iterable[Source], movable: Collection[str], locks: Mapping[str, set[str]]
    ):
        self._plan, self._joints, self._sources = plan, joints, tuple(sources)
        self._movable, self._locks = frozenset(movable), locks
        self._rails: dict[Terminal, list[tuple[Source, Terminal]]] = {}
        for source in self._sources:
            for pole in source.poles:
                self._rails.setdefault(joints.node(pole), []).append((source, pole))
        self._edges_at: dict[Terminal, list[tuple[Element, str | None]]] = {}
        for e, device in joints.edges:
            for node in {joints.node(e.a), joints.node(e.b)}:
                self._edges_at.setdefault(node, []).append((e, device))
        self._find_patches()
        self.standing = frozenset(s.name for s in self._sources if any(joints.node(p) == joints.node(q) for p, q, _ in s.pairs()))
        self.certain = not any(self._leaks(p) for p in self._at_patch)
        self._told = {name: self._telling(name) | frozenset(locks.get(name, ())) for name in self._movable}
        self._writes = {name: self._reach(name) for name in self._movable}
        self._reads = {name: self._reading(name) for name in self._movable}

    # patches

    def _find_patches(self) -> None:
        """Patches by a node that stands for each: their devices, and the rails at which they end."""
        up: dict[Terminal, Terminal] = {}

        def root(node: Terminal) -> Terminal:
            while up.setdefault(node, node) != node:
                node = up[node]
            return node

        node = self._joints.node
        for e, _ in self._joints.edges:
            a, b = node(e.a), node(e.b)
            if a not in self._rails and b not in self._rails:
                up[root(a)] = root(b)
        self._root = root
        self._at_patch: dict[object, tuple[set[str], set[Terminal]]] = {}
        for e, device in self._joints.edges:
            ends = [node(e.a), node(e.b)]
            inner = [n for n in ends if n not in self._rails]
            key: object = root(inner[0]) if inner else e.key
            devices, rails = self._at_patch.setdefault(key, (set(), set()))
            devices.update({device} if device else ())
            rails.update(n for n in ends if n in self._rails)

    def _leaks(self, patch: object) -> bool:
        """Whether a patch joins rails without making a short: then what is told on one rail is heard on another."""
        return any(not self._short(a, b) for a, b in combinations(sorted(self._at_patch[patch][1]), 2))

    def _short(self, a: Terminal, b: Terminal) -> bool:
        return any(one is two and one.voltage_between(p, q) > 1e-6 for one, p in self._rails[a] for two, q in self._rails[b])

    # who tells whom

    def _at(self, terminals: Iterable[Terminal], asked: set[str]) -> Iterator[str]:
        """The devices that can change what stands at terminals; `asked` are the sources that were looked at before."""
        for node in {self._joints.node(t) for t in terminals}:
            devices, rails = (set[str](), {node}) if node in self._rails else self._at_patch.get(self._root(node), (set(), set()))
            yield from devices
            for source, _ in (pair for rail in sorted(rails) for pair in self._rails[rail]):
                if source.name not in asked:
                    asked.add(source.name)
                    yield from (source.device,) if source.role == "output" else ()
                    yield from self._at(source.feed.terminals if source.feed else (), asked)

    def _telling(self, name: str) -> frozenset[str]:
        ends = (Terminal(name, mark) for mark in ends_of(self._plan.devices[name]))
        return frozenset(self._at(ends, set())) & self._movable

    def _is_drive(self, name: str) -> bool:
        return self._plan.devices[name].kind == "drive"

    def _reach(self, name: str) -> frozenset[str]:
        """A device, and the drives that notice at once what it does."""
        found, waiting = {name}, [name]
        for here in waiting:
            fresh = [d for d in self._movable if self._is_drive(d) and d not in found and here in self._told[d]]
            found.update(fresh)
            waiting += fresh
        return frozenset(found)

    def _reading(self, name: str) -> frozenset[str]:
        """All on which it depends what a step of a device does: what it is told, the drives with it, shorts that it can make."""
        found = set(self._writes[name])
        for one in self._writes[name]:
            found |= self._told[one]
        for devices, rails in self._at_patch.values():
            if len(rails) > 1 and devices & self._writes[name]:
                found |= devices
        return frozenset(found)

    # which to try

    def needed(self, able: Collection[str], closed: Callable[[Element], bool], drives: bool = False) -> frozenset[str]:
        """Of the devices that want to move, a set that is enough to try.

        From each of them in turn, all that could matter to it; the smallest set is chosen.

        Parameters
        ----------
        able : names
            The devices that want to move.
        closed : function
            Whether an element conducts at this moment.
        drives : bool
            Only drives are asked, for they have something to notice.
        """
        if len(able) < 2 or not self.certain:
            return frozenset(able)
        among = [n for n in sorted(self._movable) if self._is_drive(n)] if drives else sorted(self._movable)
        heard: dict[str, frozenset[str]] = {}
        best = frozenset(able)
        for first in sorted(able):
            chosen = {first}
            for here in (waiting := [first]):
                if here not in able and here not in heard:
                    heard[here] = self._hearing(here, closed)
                fresh = [
                    n
                    for n in among
                    if n not in chosen and (self._matter(here, n) if here in able else self._writes[n] & heard[here])
                ]
                chosen.update(fresh)
                waiting += fresh
            best = min(best, frozenset(chosen) & frozenset(able), key=len)
            if len(best) == 1:
                break
        return best

    def _matter(self, a: str, b: str) -> bool:
        return bool(self._writes[a] & self._reads[b] or self._writes[b] & self._reads[a])

    def _hearing(self, name: str, closed: Callable[[Element], bool]) -> frozenset[str]:
        """The devices one of which must move before this one can want to: with contacts in what hangs on its ends, or around."""
        ends = (Terminal(name, mark) for mark in ends_of(self._plan.devices[name]))
        return frozenset({name, *self._locks.get(name, ()), *self._around(ends, closed, set())})

    def _around(self, terminals: Iterable[Terminal], closed: Callable[[Element], bool], asked: set[str]) -> Iterator[str]:
        seen = {self._joints.node(t) for t in terminals}
        for node in (waiting := list(seen)):
            for source, _ in self._rails.get(node, ()):
                if source.name not in asked:
                    asked.add(source.name)
                    yield from (source.device,) if source.role == "output" else ()
                    yield from self._around(source.feed.terminals if source.feed else (), closed, asked)
            for e, device in self._edges_at.get(node, ()) if node not in self._rails else ():
                yield from (device,) if device else ()
                for there in map(self._joints.node, (e.a, e.b)):
                    if there not in seen and (device is None or closed(e)):
                        seen.add(there)
                        waiting.append(there)
