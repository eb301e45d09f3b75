"""Which terminals are joined, in all states at once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property

from wirecheck.circuit import CONDUCTS, Element
from wirecheck.plan.model import Terminal

BOTH, PLUS, MINUS, NEVER = "both", "plus", "minus", "never"
"""How a flood passes a diode: both ways (a.c.), forwards only (from a plus pole), backwards only (from a minus pole), never."""

Arc = tuple[Terminal, int, str, str | None]
"""From a net to another one: where to, in which states, which way for a diode, the ident of the element."""


class Network:
    """The conducting elements with the set of states in which each conducts.

    Terminals that are always joined are one net. `flood(terminal)` gives for every net the states in which it is joined to the
    terminal.
    """

    def __init__(
        self, elements: Iterable[Element], truth: Callable[[Element], int], full: int, extra: Iterable[Terminal] = ()
    ) -> None:
        self.full = full
        self._floods: dict[tuple[Terminal, str, str | None], Mapping[Terminal, int]] = {}
        self._always: list[Element] = []
        self._switched: list[tuple[Element, int]] = []
        for element in elements:
            if element.kind in CONDUCTS:
                conducts = truth(element)
                if conducts == full and element.kind != "diode":
                    self._always.append(element)
                elif conducts:
                    self._switched.append((element, conducts))
        self._net = nets_of(((e.a, e.b) for e in self._always), extra)
        self._arcs: dict[Terminal, list[Arc]] = {}
        for element, conducts in self._switched:
            self._connect(element, conducts)

    def _connect(self, element: Element, conducts: int) -> None:
        a, b = self.net(element.a), self.net(element.b)
        if a != b:
            diode = element.kind == "diode"
            self._arcs.setdefault(a, []).append((b, conducts, PLUS if diode else BOTH, element.ident))
            self._arcs.setdefault(b, []).append((a, conducts, MINUS if diode else BOTH, element.ident))

    @cached_property
    def always_in(self) -> Mapping[Terminal, list[Element]]:
        """For every net the elements that make it one."""
        found: dict[Terminal, list[Element]] = {}
        for element in self._always:
            found.setdefault(self.net(element.a), []).append(element)
        return found

    @cached_property
    def switched_at(self) -> Mapping[Terminal, list[tuple[Element, int]]]:
        """For every net the elements with an end in it that conduct in some states only, and in which."""
        found: dict[Terminal, list[tuple[Element, int]]] = {}
        for element, conducts in self._switched:
            for net in {self.net(element.a), self.net(element.b)}:
                found.setdefault(net, []).append((element, conducts))
        return found

    @property
    def split(self) -> Collection[Terminal]:
        """The nets that a change has taken apart."""
        return ()

    def net(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all that are always joined to this one."""
        return self._net.get(terminal, terminal)

    def arcs(self, net: Terminal) -> Sequence[Arc]:
        """What leads on from a net in some states."""
        return self._arcs.get(net, ())

    def flood(self, start: Terminal, polarity: str = BOTH, without: str | None = None) -> Mapping[Terminal, int]:
        """For every net reached, the states in which it is joined to `start`, not passing the element `without`."""
        net = self.net(start)
        key = (net, polarity, without)
        known = self._floods.get(key)
        if known is None:
            known = self._floods[key] = self._flooded(net, polarity, without)
        return known

    def _flooded(self, net: Terminal, polarity: str, without: str | None) -> Mapping[Terminal, int]:
        return self._spread({net: self.full}, [net], polarity, without)

    def _spread(
        self, reached: dict[Terminal, int], waiting: list[Terminal], polarity: str, without: str | None
    ) -> dict[Terminal, int]:
        """Let what is reached spread on from the nets that are waiting."""
        queued = set(waiting)
        for here in waiting:  # grows meanwhile
            queued.discard(here)
            found = reached[here]
            for other, conducts, way, ident in self._arcs.get(here, ()):
                if ident == without or (way != BOTH and polarity not in (BOTH, way)):
                    continue
                old = reached.get(other, 0)
                new = old | (found & conducts)
                if new != old:
                    reached[other] = found if new == found else new  # one number for both takes less memory
                    if other not in queued:
                        queued.add(other)
                        waiting.append(other)
        return reached

    def joined(self, a: Terminal, b: Terminal) -> int:
        """The states in which two terminals are joined."""
        return self.flood(a).get(self.net(b), 0)


def nets_of(joined: Iterable[tuple[Terminal, Terminal]], extra: Iterable[Terminal] = ()) -> dict[Terminal, Terminal]:
    """For every terminal the one that stands for all that are joined to it, pair by pair."""
    parent: dict[Terminal, Terminal] = {terminal: terminal for terminal in extra}

    def root(terminal: Terminal) -> Terminal:
        while (up := parent.setdefault(terminal, terminal)) != terminal:
            parent[terminal] = terminal = parent[up]
        return terminal

    for a, b in joined:
        parent[root(a)] = root(b)
    return {terminal: root(terminal) for terminal in list(parent)}
