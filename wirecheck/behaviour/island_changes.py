"""The islands that one fault makes others, looked at by sets of states. See `wirecheck/behaviour/islands.py`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from wirecheck.behaviour.faulted import FaultedModel
from wirecheck.behaviour.network import nets_of
from wirecheck.behaviour.rails import Pair, Sets, groups_of, ties_of
from wirecheck.behaviour.space import minus, sum_of
from wirecheck.circuit import Element
from wirecheck.plan.model import Terminal

if TYPE_CHECKING:
    from wirecheck.behaviour.islands import Islands


class IslandChanges:
    """The islands that one fault makes others."""

    def __init__(self, islands: Islands, model: FaultedModel) -> None:
        self.islands, self.model, self.net = islands, model, model.network.net
        self._floods = islands.floods(model)
        self._ends: dict[Terminal, list[Pair]] = {}  # the loads at the parts of nets that the fault parts, or takes a coil from
        gone = model.fault.coils
        open_at = [islands.net(end) for i in islands.loads if i.device in gone for end in (i.a, i.b)]
        for whole in dict.fromkeys((*model.network.split, *open_at)):
            self._ends.setdefault(whole, [])  # the part that keeps the name may have none
            for own, far in islands.at.get(whole, ()):
                if own.device not in gone:
                    self._ends.setdefault(self.net(own), []).append((own, far))
        closed = (_ends(model.healthy.element_by_contact[name]) for name in model.fault.closed)
        joined = [*model.fault.joins, *closed]
        self._groups = groups_of(islands.rails, model, joined)  # for each rail those that metal joins it to
        self._pieces = self._merged()
        self._touched_by_it = self._concerned()
        self._own: dict[Terminal, Sets] = {}
        self._of_group: dict[Terminal, Sets] = {}
        self._sum: dict[Terminal, int] = {}
        self._seen: dict[Terminal, int] = {}
        self._differs = {net: states for net in self._touched_by_it if (states := self._difference(net))}

    def found(self) -> dict[Terminal, int]:
        """For the nets of the islands that are others and that two rails border, the states in which it is so."""
        found: dict[Terminal, int] = {}
        for net, states in self._meeting():
            found[net] = found.get(net, 0) | states
        touched = list(self._touched())
        may = self._may(touched)
        if not may:
            return found
        starts = [(net, states) for net, states in self._differs.items()]
        starts += [(self.net(far), states) for net, states in self._differs.items() for _, far in self._loads(net)]
        starts += [(self.net(end), states) for ends, states in touched for end in ends]
        for net, states in starts:
            loose = minus(minus(states & may, self._tied(net)), self._seen.get(net, 0))
            for there, here in self._mixed_around(net, loose) if loose else ():
                found[there] = found.get(there, 0) | here
        return found

    # what the fault concerns

    def _merged(self) -> Mapping[Terminal, Terminal]:
        """The pieces of the plan that the fault puts together; the mains' poles keep a piece apart from what is behind them."""
        mains, net = self.islands.mains_nets, self.islands.net
        joins = [(a, b) for a, b in self.model.fault.joins if net(a) not in mains and net(b) not in mains]
        return nets_of((self.islands.piece(a), self.islands.piece(b)) for a, b in joins)

    def _concerned(self) -> set[Terminal]:
        """The nets with loads, in pieces in which something may act, that a pole reaches otherwise than without the fault."""
        islands, parted = self.islands, self._ends
        acting = {self._pieces[piece] for piece in islands.acting if piece in self._pieces}
        merged = {net for net, piece in islands.pieces.items() if self._pieces.get(piece) in acting} if acting else ()
        self._looked_at = nets = islands.mattering.union(merged)
        found = islands.reached_otherwise(self.model, nets)
        if not parted:
            return found
        parts = {net for net, ends in parted.items() if ends and islands.net(ends[0][0]) in nets}
        return {net for net in found if net not in parted} | parts

    def _difference(self, net: Terminal) -> int:
        """The states in which the voltage at a net is another one.

        Where all rails stay and another one comes to them, that is a short and no other voltage.
        """
        before, now = self.islands.ties(self.islands.net(self._loads(net)[0][0])), self._ties(net)
        if before == now:
            return 0
        was, is_now = self._by_group(before), self._grouped_ties(net)
        found = 0
        for group, states in was.items():
            found |= minus(states, is_now.get(group, 0))
        return found | minus(self._tied(net), sum_of(was.values()))

    def _touched(self) -> Iterator[tuple[Pair, int]]:
        """What the fault joins or parts in the midst of loads: two terminals, and the states in which that is new."""
        fault, full = self.model.fault, self.model.space.full
        yield from ((pair, full) for pair in fault.joins)
        for name in fault.closed:
            element = self.model.healthy.element_by_contact[name]
            yield _ends(element), minus(full, self.model.healthy.conducts(element))
        yield from self.islands.cut_at(fault)

    # what is where

    def _loads(self, net: Terminal) -> Sequence[Pair]:
        parted = self._ends.get(net)
        return self.islands.at.get(net, ()) if parted is None else parted

    def _as_before(self, net: Terminal) -> bool:
        return net in self._looked_at and net not in self._ends and net not in self._touched_by_it

    def _ties(self, net: Terminal) -> Sets:
        if self._as_before(net):
            return self.islands.ties(net)
        if net not in self._own:
            self._own[net] = ties_of(self.model, self.islands.rails, self._floods, net)
        return self._own[net]

    def _tied(self, net: Terminal) -> int:
        if net not in self._sum:
            self._sum[net] = sum_of(self._ties(net).values())
        return self._sum[net]

    def _by_group(self, ties: Sets) -> Sets:
        found: dict[int, int] = {}
        for rail, states in ties.items():
            group = self._groups[rail]
            found[group] = found[group] | states if group in found else states
        return found

    def _grouped_ties(self, net: Terminal) -> Sets:
        if net not in self._of_group:
            self._of_group[net] = self._by_group(self._ties(net))
        return self._of_group[net]

    # which rails can border an island

    def _may(self, touched: Iterable[tuple[Pair, int]]) -> int:
        """States among which are all in which an island is another one: those in which two groups of rails can border any."""
        borders: dict[int, int] = {}
        for net, states in self._differs.items():
            tied = self._tied(net)
            loose, fast = minus(states, tied), states & tied
            for _, far in self._loads(net):
                self._beyond(net, self.net(far), loose, fast, borders)
        for ends, states in touched:
            for end in ends:
                if loose := minus(states, self._tied(self.net(end))):
                    _add(borders, self.islands.reaches(self.islands.net(end)), loose)
        return sum_of(one & other for one, other in combinations(borders.values(), 2))

    def _beyond(self, net: Terminal, far: Terminal, loose: int, fast: int, borders: dict[int, int]) -> None:
        """Add which rails a load brings to an island: what is at its far end, or what is at its own, the far end being loose."""
        hanging = minus(fast, self._tied(far)) if fast else 0
        for states, end in ((loose, far), (hanging, net)):
            _add(borders, self._grouped_ties(end), states)
        _add(borders, self.islands.reaches(self.islands.net(far)), loose | hanging)

    def _meeting(self) -> Iterator[tuple[Terminal, int]]:
        """Where the fault puts the rails of two sources at the two ends of a load."""
        for net, states in self._differs.items():
            if fast := states & self._tied(net):
                for _, far in self._loads(net):
                    if meet := self._meet(self._ties(net), self._ties(self.net(far)), fast):
                        yield net, meet

    def _meet(self, own: Sets, other: Sets, states: int) -> int:
        found = fed = 0
        for i, here in own.items():
            for j, there in other.items():
                if self._groups[i] != self._groups[j] and (both := here & there & states):
                    if self.islands.rails[i][0] is self.islands.rails[j][0]:
                        fed |= both
                    else:
                        found |= minus(both, self._joined(i, j))
        return minus(found, fed)

    # the islands themselves

    def _mixed_around(self, start: Terminal, states: int) -> Iterator[tuple[Terminal, int]]:
        """The island around a net, in the states in which rails that are not joined border it."""
        reached = self._island(start, states)
        borders: dict[int, int] = {}
        for net, here in reached.items():
            self._seen[net] = self._seen.get(net, 0) | here
            _add(borders, self._ties(net), here)
        mixed = 0
        for i, j in combinations(borders, 2):
            if self._groups[i] != self._groups[j] and (both := borders[i] & borders[j]):
                mixed |= minus(both, self._joined(i, j))
        yield from ((net, here & mixed) for net, here in reached.items() if here & mixed)

    def _island(self, start: Terminal, states: int) -> dict[Terminal, int]:
        """All that hangs together with a net through loads and contacts, with the states in which it does."""
        reached, waiting = {start: states}, [start]
        for here in waiting:
            going = minus(reached[here], self._tied(here))
            for there, conducts in self._arcs(here) if going else ():
                old = reached.get(there, 0)
                new = old | going & conducts
                if new != old:
                    reached[there] = new
                    waiting.append(there)
        return reached

    def _arcs(self, net: Terminal) -> Iterator[tuple[Terminal, int]]:
        yield from ((other, conducts) for other, conducts, _, _ in self.model.network.arcs(net))
        yield from ((self.net(far), self.model.space.full) for _, far in self._loads(net))

    def _joined(self, i: int, j: int) -> int:
        """The states in which two rails are joined."""
        found = 0
        for pole, _ in self.islands.rails[j][1]:
            found |= self._ties(self.net(pole)).get(i, 0)
        return found


def _add(borders: dict[int, int], sets: Sets, states: int) -> None:
    """Add to each rail or group those of `states` in which it is somewhere."""
    for group, each in sets.items():
        if here := each & states:
            borders[group] = borders[group] | here if group in borders else here


def _ends(element: Element) -> Pair:
    return element.a, element.b
