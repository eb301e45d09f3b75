"""Which terminals are joined, in all states at once, and what that makes live and energised."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from itertools import permutations

from wirecheck.circuit import CONDUCTS, Element, Feed, Source
from wirecheck.plan.model import Quantity, Terminal

ACTS_FROM, ACTS_TO = 0.85, 1.30
"""A coil, lamp or load acts from 85 % of its rated voltage (IEC 60947-4-1, 8.2.1.2, value from memory) up to 130 %, above which
it is taken as burnt out (common practice, no source)."""

BOTH, PLUS, MINUS, NEVER = "both", "plus", "minus", "never"
"""How a flood passes a diode: both ways (a.c.), forwards only (from a plus pole), backwards only (from a minus pole), never."""


class Network:
    """The conducting elements with the set of states in which each conducts.

    Terminals that are always joined are one net. `flood(terminal)` gives for every net the states in which it is joined to the
    terminal.
    """

    def __init__(
        self, elements: Iterable[Element], truth: Callable[[Element], int], full: int, extra: Iterable[Terminal] = ()
    ) -> None:
        self.full = full
        self._floods: dict[tuple[Terminal, str, str | None], dict[Terminal, int]] = {}
        self._net: dict[Terminal, Terminal] = {}
        switched = self._join([*elements], truth, extra)
        self._arcs: dict[Terminal, list[tuple[Terminal, int, str, str | None]]] = {}
        for element, conducts in switched:
            a, b = self.net(element.a), self.net(element.b)
            if a != b:
                diode = element.kind == "diode"
                self._arcs.setdefault(a, []).append((b, conducts, PLUS if diode else BOTH, element.ident))
                self._arcs.setdefault(b, []).append((a, conducts, MINUS if diode else BOTH, element.ident))

    def _join(
        self, elements: list[Element], truth: Callable[[Element], int], extra: Iterable[Terminal]
    ) -> list[tuple[Element, int]]:
        """Make one net of what is always joined; what is left are the elements that conduct in some states only."""
        parent: dict[Terminal, Terminal] = {terminal: terminal for terminal in extra}
        switched: list[tuple[Element, int]] = []

        def root(terminal: Terminal) -> Terminal:
            while (up := parent.setdefault(terminal, terminal)) != terminal:
                parent[terminal] = terminal = parent.setdefault(up, up)
            return terminal

        for element in elements:
            a, b = root(element.a), root(element.b)
            if element.kind in CONDUCTS:
                conducts = truth(element)
                if conducts == self.full and element.kind != "diode":
                    parent[a] = b
                elif conducts:
                    switched.append((element, conducts))
        self._net = {terminal: root(terminal) for terminal in list(parent)}
        return switched

    def net(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all that are always joined to this one."""
        return self._net.get(terminal, terminal)

    def flood(self, start: Terminal, polarity: str = BOTH, without: str | None = None) -> Mapping[Terminal, int]:
        """For every net reached, the states in which it is joined to `start`, not passing the element `without`."""
        net = self.net(start)
        key = (net, polarity, without)
        if key not in self._floods:
            self._floods[key] = self._spread(net, polarity, without)
        return self._floods[key]

    def _spread(self, net: Terminal, polarity: str, without: str | None) -> dict[Terminal, int]:
        reached = {net: self.full}
        waiting = [net]
        while waiting:
            here = waiting.pop(0)
            found = reached[here]
            for other, conducts, way, ident in self._arcs.get(here, ()):
                if ident == without or (way != BOTH and polarity not in (BOTH, way)):
                    continue
                old = reached.get(other, 0)
                new = old | (found & conducts)
                if new != old:
                    reached[other] = new
                    if other not in waiting:
                        waiting.append(other)
        return reached

    def joined(self, a: Terminal, b: Terminal) -> int:
        """The states in which two terminals are joined."""
        return self.flood(a).get(self.net(b), 0)


def polarity_of(source: Source, pole: Terminal) -> str:
    """How current from this pole passes a diode."""
    if source.kind == "AC":
        return BOTH
    return PLUS if source.poles[pole].real > 0 else MINUS


class Supplies:
    """When each source is live, and what its voltage reaches.

    `running` gives the states in which a drive runs, `on` those in which a mains is on; the rest follows by what feeds what.
    Of sources that are `lost` even a drive's own inputs see nothing.
    """

    def __init__(
        self, sources: Iterable[Source], network: Network, alive: Callable[[Source], int], lost: Collection[str] = ()
    ) -> None:
        self.sources = tuple(sources)
        self.lost = lost
        self.network = network
        self.live = {s.name: alive(s) if s.feed is None else 0 for s in self.sources}
        fed = [s for s in self.sources if s.feed is not None]
        changed = True
        while changed:  # from nothing upwards: a source that only feeds itself is never live
            changed = False
            for source in fed:
                assert source.feed is not None
                now = self.fed(source.feed) & alive(source)
                if now != self.live[source.name]:
                    self.live[source.name], changed = now, True

    def at(self, source: Source, pole: Terminal, terminal: Terminal, polarity: str | None = None) -> int:
        """The states in which `terminal` is joined to a pole, whether or not the source is live."""
        return self.network.flood(pole, polarity or polarity_of(source, pole)).get(self.network.net(terminal), 0)

    def fed(self, feed: Feed) -> int:
        """The states in which a live a.c. source reaches all terminals of a feed by poles of its own, at a voltage that fits."""
        found = 0
        for source in self.sources:
            live = self.live[source.name]
            if source.kind != "AC" or not live:
                continue
            at = [{pole: self.at(source, pole, terminal) for pole in source.poles} for terminal in feed.terminals]
            for poles in permutations(source.poles, len(feed.terminals)):
                volts = [source.voltage_between(p, q) for i, p in enumerate(poles) for q in poles[:i]]
                if any(v < 1e-6 or v < (feed.low_v or 0) or v > (feed.high_v or v) for v in volts):
                    continue
                here = live
                for i, pole in enumerate(poles):
                    here &= at[i][pole]
                found |= here
        return found

    def energised(self, a: Terminal, b: Terminal, rated: Quantity | None, among: Iterable[str] | None = None) -> int:
        """The states in which two poles of one live source with a fitting voltage are joined to `a` and `b`."""
        found = 0
        for source in self.sources:
            live = self.live[source.name]
            if not live or (among is not None and source.name not in among) or not kind_fits(source, rated):
                continue
            for p, q, volts in source.pairs():
                if voltage_fits(volts, rated):
                    found |= live & self.at(source, p, a) & self.at(source, q, b)
                    if source.kind == "DC":
                        found |= live & self.at(source, p, b) & self.at(source, q, a)
        return found & ~self._shunted(a, b, NEVER)

    def acts(self, plus: Terminal, minus: Terminal, rated: Quantity | None, own: str) -> int:
        """The states in which a drive input acts: `plus` at the higher pole, `minus` at the lower one of a d.c. source.

        For the drive's own supply `own` the closed path counts, live or not: a command that stands while the power is off is
        already there when it comes back. Ends that are joined to each other have no voltage between them.
        """
        found = 0
        for source in self.sources:
            if source.kind != "DC" or source.name in self.lost:
                continue
            live = self.network.full if source.name == own else self.live[source.name]
            for p, q, volts in source.pairs():
                if live and (source.name == own or voltage_fits(volts, rated)):
                    found |= live & self.at(source, p, plus) & self.at(source, q, minus)
        return found & ~self._shunted(plus, minus, PLUS)

    def _shunted(self, a: Terminal, b: Terminal, way: str) -> int:
        """The states in which current can go straight from one end to the other, so that there is no voltage between them."""
        return self.network.flood(a, way).get(self.network.net(b), 0)

    def shorts(self, source: Source) -> int:
        """The states in which two poles of a live source with a voltage between them are joined."""
        found = 0
        for p, q, _ in source.pairs():
            found |= self.at(source, p, q)
        return found & self.live[source.name]


def kind_fits(source: Source, rated: Quantity | None) -> bool:
    """Whether the kind of current is that of the rating, where it states one."""
    return rated is None or rated.current is None or rated.current == source.kind


def voltage_fits(volts: float, rated: Quantity | None) -> bool:
    """Whether something rated so acts at this voltage."""
    if rated is None:
        return True
    return rated.value * ACTS_FROM - 1e-9 <= volts <= (rated.high or rated.value) * ACTS_TO + 1e-9
