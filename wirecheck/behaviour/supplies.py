"""When each source is live, and what its voltage makes act."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from itertools import permutations

from wirecheck.behaviour.network import BOTH, MINUS, NEVER, PLUS, Network
from wirecheck.behaviour.space import minus
from wirecheck.circuit import Feed, Source
from wirecheck.plan.model import Quantity, Terminal

ACTS_FROM, ACTS_TO = 0.85, 1.30
"""A coil, lamp or load acts from 85 % of its rated voltage (IEC 60947-4-1, 8.2.1.2, value from memory) up to 130 %, above which
it is taken as burnt out (common practice, no source)."""


def polarity_of(source: Source, pole: Terminal) -> str:
    """How current from this pole passes a diode."""
    if source.kind == "AC":
        return BOTH
    return PLUS if source.poles[pole].real > 0 else MINUS


class Fits:
    """Which poles of which sources fit what. That does not depend on the state, and is worked out once."""

    def __init__(self, sources: Iterable[Source]) -> None:
        self.sources = tuple(sources)
        self.poles = {(s.name, pole): number for number, (s, pole) in enumerate((s, p) for s in self.sources for p in s.poles)}
        self.kinds = [s.kind for s in self.sources for _ in s.poles]
        self._pairs: dict[tuple[object, ...] | None, list[tuple[str, int, int]]] = {}
        self.shorting = {s.name: _not_to_join(s) for s in self.sources}
        self._acting: dict[tuple[object, ...], list[tuple[str, int, int]]] = {}
        self._ways: dict[Feed, list[tuple[str, tuple[int, ...]]]] = {}

    def pairs(self, rated: Quantity | None) -> list[tuple[str, int, int]]:
        """The pairs of poles, by their number, whose voltage fits a rating; either pole can be at the first end."""
        key = None if rated is None else (rated.value, rated.high, rated.current)
        if key not in self._pairs:
            found = self._pairs[key] = []
            for source in self.sources:
                for p, q, volts in source.pairs() if kind_fits(source, rated) else ():
                    if voltage_fits(volts, rated):
                        one, other = self.number(source, p), self.number(source, q)
                        found += [(source.name, one, other), (source.name, other, one)][: 1 if source.kind == "AC" else 2]
        return self._pairs[key]

    def number(self, source: Source, pole: Terminal) -> int:
        """The number of a pole of a source."""
        return self.poles[source.name, pole]

    def acting(self, rated: Quantity | None, own: str) -> list[tuple[str, int, int]]:
        """The pairs of poles of d.c. sources, the higher one first, that can make a drive's input act."""
        key = (own, rated and (rated.value, rated.high))
        if key not in self._acting:
            sources = [s for s in self.sources if s.kind == "DC"]
            each = ((s, pair) for s in sources for pair in s.pairs() if s.name == own or voltage_fits(pair[2], rated))
            self._acting[key] = [(s.name, self.number(s, p), self.number(s, q)) for s, (p, q, _) in each]
        return self._acting[key]

    def ways(self, feed: Feed) -> list[tuple[str, tuple[int, ...]]]:
        """The poles of a.c. sources, by their number and one for each terminal of a feed, that can feed it."""
        if feed not in self._ways:
            each = ((s, poles) for s in self.sources if s.kind == "AC" for poles in permutations(s.poles, len(feed.terminals)))
            self._ways[feed] = [(s.name, tuple(self.number(s, p) for p in poles)) for s, poles in each if _feeds(s, poles, feed)]
        return self._ways[feed]


def _feeds(source: Source, poles: tuple[Terminal, ...], feed: Feed) -> bool:
    volts = [source.voltage_between(p, q) for i, p in enumerate(poles) for q in poles[:i]]
    return not any(v < 1e-6 or v < (feed.low_v or 0) or v > (feed.high_v or v) for v in volts)


class Supplies:
    """When each source is live, and what its voltage reaches.

    `alive` gives the states in which a source could be live: a mains is on, a drive runs; the rest follows by what feeds what.
    Of sources that are `lost` even a drive's own inputs see nothing.
    """

    def __init__(self, fits: Fits, network: Network, alive: Callable[[Source], int], lost: Collection[str] = ()) -> None:
        self.fits, self.sources = fits, fits.sources
        self.lost = lost
        self.network = network
        self.floods = [network.flood(pole, polarity_of(s, pole)) for s in self.sources for pole in s.poles]
        self._fed: dict[Feed, int] = {}
        self._shorts: dict[str, int] = {}
        self.live = {s.name: alive(s) if s.feed is None else 0 for s in self.sources}
        fed = [(s, s.feed) for s in self.sources if s.feed is not None]
        ac, dc = ([(s, feed) for s, feed in fed if (s.kind == "AC") is kind] for kind in (True, False))
        changed = bool(ac)
        while changed:  # from nothing upwards: a source that only feeds itself is never live
            changed = False
            for source, feed in ac:
                now = self._feeding(feed) & alive(source)
                if now != self.live[source.name]:
                    self.live[source.name], changed = now, True
        for source, feed in dc:  # feeds no other one
            self.live[source.name] = self.fed(feed) & alive(source)

    def at(self, source: Source, pole: Terminal, terminal: Terminal, polarity: str | None = None) -> int:
        """The states in which `terminal` is joined to a pole, whether or not the source is live."""
        flood = self.network.flood(pole, polarity) if polarity else self.floods[self.fits.number(source, pole)]
        return flood.get(self.network.net(terminal), 0)

    def _where(self, states: int, poles: Iterable[int], nets: Iterable[Terminal]) -> int:
        """Those of `states` in which each net is joined to its pole."""
        for pole, net in zip(poles, nets, strict=True):
            if not states:
                return 0
            states &= self.floods[pole].get(net, 0)
        return states

    def fed(self, feed: Feed) -> int:
        """The states in which a live a.c. source reaches all terminals of a feed by poles of its own, at a voltage that fits."""
        if feed not in self._fed:
            self._fed[feed] = self._feeding(feed)
        return self._fed[feed]

    def _feeding(self, feed: Feed) -> int:
        nets = [self.network.net(terminal) for terminal in feed.terminals]
        reaching = [{pole: found for pole, flood in enumerate(self.floods) if (found := flood.get(net))} for net in nets]
        fed = 0
        for source, poles in self.fits.ways(feed):
            states = self.live[source]
            for pole, there in zip(poles, reaching, strict=True):
                if not states or pole not in there:
                    break
                states &= there[pole]
            else:
                fed |= states
        return fed

    def energised(self, a: Terminal, b: Terminal, rated: Quantity | None, among: Iterable[str] | None = None) -> int:
        """The states in which two poles of one live source with a fitting voltage are joined to `a` and `b`."""
        found, nets = 0, (self.network.net(a), self.network.net(b))
        for source, p, q in self.fits.pairs(rated):
            if among is None or source in among:
                found |= self._where(self.live[source], (p, q), nets)
        return minus(found, self._shunted(a, b, NEVER)) if found else 0

    def acts(self, higher: Terminal, lower: Terminal, rated: Quantity | None, own: str) -> int:
        """The states in which a drive input acts: one terminal at the higher pole, one at the lower one of a d.c. source.

        For the drive's own supply `own` the closed path counts, live or not: a command that stands while the power is off is
        already there when it comes back. Ends that are joined to each other have no voltage between them.
        """
        found, nets = 0, (self.network.net(higher), self.network.net(lower))
        for source, p, q in self.fits.acting(rated, own):
            if source not in self.lost:
                live = self.network.full if source == own else self.live[source]
                found |= self._where(live, (p, q), nets)
        return minus(found, self._shunted(higher, lower, PLUS)) if found else 0

    def _shunted(self, a: Terminal, b: Terminal, way: str) -> int:
        """The states in which current can go straight from one end to the other, so that there is no voltage between them."""
        return self.network.flood(a, way).get(self.network.net(b), 0)

    def shorts(self, source: Source) -> int:
        """The states in which two poles of a live source with a voltage between them are joined."""
        known = self._shorts.get(source.name)
        if known is None:
            found = 0
            for p, q in self.fits.shorting[source.name]:
                found |= self.at(source, p, q)
            known = self._shorts[source.name] = found & self.live[source.name]
        return known


def _not_to_join(source: Source) -> list[tuple[Terminal, Terminal]]:
    """The pairs of poles with a voltage between them, each once."""
    order = {pole: number for number, pole in enumerate(source.poles)}  # of d.c. ones the higher is the first
    return [(p, q) for p, q, _ in source.pairs() if order[p] < order[q]]


def kind_fits(source: Source, rated: Quantity | None) -> bool:
    """Whether the kind of current is that of the rating, where it states one."""
    return rated is None or rated.current is None or rated.current == source.kind


def voltage_fits(volts: float, rated: Quantity | None) -> bool:
    """Whether something rated so acts at this voltage."""
    if rated is None:
        return True
    return rated.value * ACTS_FROM - 1e-9 <= volts <= (rated.high or rated.value) * ACTS_TO + 1e-9
