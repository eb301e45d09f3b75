"""A network with a change in it, which shares with the one before the change all that the change does not touch."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from wirecheck.behaviour.network import BOTH, Network, nets_of
from wirecheck.circuit import Element
from wirecheck.plan.model import Terminal


class ChangedNetwork(Network):
    """A network in which some elements are cut, others always conduct, and some terminals are joined besides.

    It shares with the network `before` the nets that nothing is cut out of, and the floods that the change neither stops nor lets
    go further.

    Parameters
    ----------
    before : Network
        The network without the change.
    cut, closed : elements
        Those that conduct no more, and those that now always do.
    joins : pairs of terminals
        What is joined besides.
    """

    def __init__(
        self, before: Network, cut: Iterable[Element], closed: Iterable[Element], joins: Iterable[tuple[Terminal, Terminal]]
    ) -> None:
        self.full, self._before = before.full, before
        self._net, self._arcs, self._floods = before._net, dict(before._arcs), {}
        self._new: set[Terminal] = set()
        self._split: list[Terminal] = []
        self._parted: list[Terminal] = []
        self._lost: list[tuple[Terminal, Terminal, int]] = []
        self._won: list[tuple[Terminal, Terminal]] = []
        self._cut(list(cut))
        for e in closed:
            self._join(e.a, e.b, e.ident)
        for a, b in joins:
            self._join(a, b, "")

    @property
    def split(self) -> Collection[Terminal]:
        return self._split

    def _cut(self, cut: list[Element]) -> None:
        keys, before = {e.key for e in cut}, self._before
        for net in dict.fromkeys(before.net(e.a) for e in cut):
            if any(e.key in keys for e in before.always_in.get(net, ())):
                self._part(net, keys)
        for element in cut:
            for e, conducts in before.switched_at.get(before.net(element.a), ()):
                if e.key == element.key:
                    self._disconnect(e, conducts)

    def _disconnect(self, element: Element, conducts: int) -> None:
        for end in (self.net(element.a), self.net(element.b)):
            self._arcs[end] = [arc for arc in self._arcs.get(end, ()) if arc[3] != element.ident]
        self._lost.append((self._before.net(element.a), self._before.net(element.b), conducts))

    def _part(self, net: Terminal, cut: set[tuple[str, str]]) -> None:
        """Part a net of which something is cut. The part with most arcs keeps its name, for most floods come through it."""
        whole = self._before.always_in[net]
        roots = nets_of(((e.a, e.b) for e in whole if e.key not in cut), (end for e in whole for end in (e.a, e.b)))
        parts = dict.fromkeys(roots.values())
        if len(parts) == 1:
            return
        self._split.append(net)
        touching = self._before.switched_at.get(net, [])
        ends = [roots[end] for e, _ in touching for end in (e.a, e.b) if end in roots]
        keeps = max(parts, key=ends.count)
        names = {root: net if root == keeps else Terminal(root.device, f"{root.mark} cut off") for root in parts}
        self._net = {**self._net, **{terminal: names[root] for terminal, root in roots.items()}}
        self._new.update(name for name in names.values() if name != net)
        if any(root != keeps for root in ends):
            self._parted.append(net)
            self._attach(net, touching)

    def _attach(self, net: Terminal, touching: list[tuple[Element, int]]) -> None:
        """Put the elements at a net that is parted to the parts at which they now are."""
        for other in {arc[0] for arc in self._arcs.pop(net, ())}:
            self._arcs[other] = [arc for arc in self._arcs[other] if arc[0] != net]
        for other in {self.net(end) for e, _ in touching for end in (e.a, e.b)}:
            self._arcs[other] = list(self._arcs.get(other, ()))
        for element, conducts in touching:
            self._connect(element, conducts)

    def _join(self, a: Terminal, b: Terminal, ident: str) -> None:
        one, other = self.net(a), self.net(b)
        if one != other:
            self._arcs[one] = [*self._arcs.get(one, ()), (other, self.full, BOTH, ident)]
            self._arcs[other] = [*self._arcs.get(other, ()), (one, self.full, BOTH, ident)]
            self._won.append((one, other))

    def _flooded(self, net: Terminal, polarity: str, without: str | None) -> Mapping[Terminal, int]:
        if without is not None or net in self._new:
            return super()._flooded(net, polarity, without)
        known = self._before.flood(net, polarity)
        if self._stops(known):
            return super()._flooded(net, polarity, without)
        if not self._won:
            return known
        further = [end for ends in self._won if known.get(ends[0], 0) != known.get(ends[1], 0) for end in ends if end in known]
        return self._spread(dict(known), further, polarity, without) if further else known

    def _stops(self, flood: Mapping[Terminal, int]) -> bool:
        """Whether a flood passed what now is cut."""
        if any(net in flood for net in self._parted):
            return True
        return any((flood.get(a, 0) | flood.get(b, 0)) & conducts for a, b, conducts in self._lost)
