"""Islands: what hangs together through loads and contacts between the poles of sources, and which of it a fault makes another.

Voltage gets to a load through other loads only within an island that two rails border. Most faults change none: of these no more
is looked at than which poles are at the ends of the loads, and which rails then are on the far side of the loads concerned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import combinations

from wirecheck.behaviour.faulted import FaultedModel
from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.network import nets_of
from wirecheck.behaviour.soft import Soft, rails_of, sum_of, way_of
from wirecheck.behaviour.space import minus
from wirecheck.circuit import CONDUCTS, Element, Source
from wirecheck.circuit.elements import LOAD_KINDS, has_coil
from wirecheck.circuit.impedances import Impedance
from wirecheck.plan.model import Terminal

Pair = tuple[Terminal, Terminal]
"""A load at a net: its end there, and its far end."""

PASSIVE = frozenset({"winding", "resistor", "capacitor"})

Sets = Mapping[int, int]
"""By the number of a rail, or of a group of rails, a set of states."""


class Islands:
    """The islands of a plan without a fault.

    Parameters
    ----------
    none : FaultedModel
        The model with no fault.
    loads : sequence of Impedance
        All that takes current.
    """

    def __init__(self, none: FaultedModel, loads: Sequence[Impedance]) -> None:
        self.none, self.loads, self.net = none, loads, none.network.net
        acting = {
            name
            for name, device in none.plan.devices.items()
            if device.kind in LOAD_KINDS | {"custom", "drive"} or has_coil(device)
        }
        fits = none.fits
        self.rails = [(s, [(p, fits.number(s, p)) for p in r.poles]) for s in none.sources for r in rails_of(s)]
        self.source_of = [source.name for source in none.sources for _ in source.poles]
        self.at: dict[Terminal, list[Pair]] = {}
        self._diodes = [
            (e.a, e.b) for e in none.elements if e.kind == "diode"
        ]  # what is behind one is not tied, and no load between
        for a, b in (*((load.a, load.b) for load in loads), *self._diodes):
            for own, far in ((a, b), (b, a)):
                self.at.setdefault(self.net(own), []).append((own, far))
        self.groups = groups_of(self.rails, none)
        self._pieces = self._hanging_together(loads)
        self.consumers = [load for load in loads if load.kind not in PASSIVE and load.device in acting]
        self.acting = frozenset(self.piece(load.a) for load in self.consumers)
        self.pieces = {net: self.piece(net) for net in self.at}
        self.mattering = frozenset(net for net, piece in self.pieces.items() if piece in self.acting)
        self._poles: dict[Terminal, list[Terminal]] = {}
        for pole in (pole for _, poles in self.rails for pole, _ in poles):
            self._poles.setdefault(self.net(pole), []).append(pole)
        self.pole_nets = self._poles.keys()
        self.mains_nets = frozenset(
            self.net(p) for s, poles in self.rails if s.feed is None and s.role == "supply" for p, _ in poles
        )
        self._ties: dict[Terminal, Sets] = {}
        self._reaches: dict[Terminal, Sets] = {}
        self._mixed: dict[Terminal, int] = {}
        self._ever: dict[Terminal, frozenset[int]] = {}
        self._beyond: dict[Terminal, frozenset[int]] = {}
        self._several: dict[Terminal, bool] = {}

    def _hanging_together(self, loads: Iterable[Impedance]) -> Mapping[Terminal, Terminal]:
        net = self.net
        pairs = [(net(e.a), net(e.b)) for e in self.none.elements if e.kind in CONDUCTS and self.none.conducts(e)]
        return nets_of([*pairs, *((net(load.a), net(load.b)) for load in loads)])

    def piece(self, terminal: Terminal) -> Terminal:
        """What stands for all that contacts and loads can make hang together with a terminal."""
        net = self.net(terminal)
        return self._pieces.get(net, net)

    @cached_property
    def _soft(self) -> Soft:
        return Soft(self.none, self.loads, self.none.space.full)

    @cached_property
    def _reaching(self) -> list[tuple[int, Mapping[Terminal, int]]]:
        number = {pole: n for n, (_, poles) in enumerate(self.rails) for pole, _ in poles}
        pairs = zip(self._soft.rails, self._soft.reached, strict=True)
        return [(self.groups[number[rail.poles[0]]], reached) for rail, reached in pairs]

    @cached_property
    def mixed(self) -> int:
        """The states in which two rails reach what may act through other loads, or meet over it, without any fault."""
        found = 0
        for load in self.consumers if len(self._soft.rails) > 1 else ():
            found |= self._soft.between(load.a, load.b)
        return found

    def mixed_at(self, net: Terminal) -> int:
        """The states in which two rails reach a net, at which none is, through loads."""
        known = self._mixed.get(net)
        if known is None:
            known = 0
            for one, other in combinations(self.reaches(net).values(), 2):
                known |= one & other
            self._mixed[net] = known
        return known

    def floods(self, model: FaultedModel) -> Sequence[Mapping[Terminal, int]]:
        """How far the voltage of each pole is known, the poles by their number."""
        if not self._diodes:
            return model.supplies.floods
        return [model.network.flood(pole, way_of(source, pole)) for source in self.none.sources for pole in source.poles]

    @cached_property
    def _floods(self) -> Sequence[Mapping[Terminal, int]]:
        return self.floods(self.none)

    def ties(self, net: Terminal) -> Sets:
        """The states in which each rail of a live source is at a net."""
        if net not in self._ties:
            self._ties[net] = ties_of(self.none, self.rails, self._floods, net)
        return self._ties[net]

    def reaches(self, net: Terminal) -> Sets:
        """The states in which each group of rails reaches a net, at which none is, through loads."""
        if net not in self._reaches:
            found: dict[int, int] = {}
            tied = self._soft.tied.get(net, 0)
            for group, reached in self._reaching:
                if (there := reached.get(net)) and (states := minus(there, tied)):
                    found[group] = found.get(group, 0) | states
            self._reaches[net] = found
        return self._reaches[net]

    def ever(self, net: Terminal) -> frozenset[int]:
        """The groups of rails that are ever at a net, or reach it through loads."""
        if net not in self._ever:
            self._ever[net] = frozenset((*(self.groups[rail] for rail in self.ties(net)), *self.reaches(net)))
        return self._ever[net]

    def has_several(self, net: Terminal) -> bool:
        """Whether two groups of rails are ever at a net together."""
        if net not in self._several:
            each: dict[int, int] = {}
            for rail, states in self.ties(net).items():
                each[self.groups[rail]] = each.get(self.groups[rail], 0) | states
            self._several[net] = any(one & other for one, other in combinations(each.values(), 2))
        return self._several[net]

    def changed(self, model: FaultedModel) -> Mapping[Terminal, int]:
        """For the nets of the islands that a fault makes others and that two rails border, the states in which it does."""
        if (model.wired_alike and not model.fault.coils) or self._quiet(model):
            return {}
        return _Changed(self, model).found()

    def _quiet(self, model: FaultedModel) -> bool:
        """Whether a fault only takes away, and beyond the loads that may have lost a pole there never is more than one rail.

        That needs no look at single states: it goes by what can be beyond each load in any state without the fault.
        """
        if model.fault.joins or model.fault.closed:
            return False
        parted = [whole for whole in model.network.split if self._is_parted(model, whole)]
        if any(whole in self.pole_nets for whole in parted):
            return False
        beyond: dict[Terminal, set[int]] = {}
        for net in self.reached_otherwise(model, self.mattering).union(whole for whole in parted if whole in self.mattering):
            if self.has_several(net):
                return False
            beyond.setdefault(self.pieces[net], set()).update(self.beyond(net))
        return all(len(groups) < 2 for groups in beyond.values()) and not any(self.cut_at(model.fault))

    def _is_parted(self, model: FaultedModel, whole: Terminal) -> bool:
        """Whether a load or a pole is on a part of a net that a fault has cut off it."""
        ends = [own for own, _ in self.at[whole]] if whole in self.mattering else []
        return any(model.network.net(end) != whole for end in (*ends, *self._poles.get(whole, ())))

    def reached_otherwise(self, model: FaultedModel, among: frozenset[Terminal]) -> set[Terminal]:
        """The nets that a pole reaches, with the fault or without, whose reach or whose source is not what it was."""
        old, new = self.none.supplies, model.supplies
        switched = {name for name, live in new.live.items() if live != old.live[name]}
        found: set[Terminal] = set()
        for source, before, now in zip(self.source_of, self._floods, self.floods(model), strict=True):
            if now is not before:
                found |= (now.keys() | before.keys()) & among
            elif source in switched:
                found |= before.keys() & among
        return found

    def beyond(self, net: Terminal) -> frozenset[int]:
        """The groups of rails that are ever beyond the loads at a net."""
        if net not in self._beyond:
            self._beyond[net] = frozenset(group for _, far in self.at[net] for group in self.ever(self.net(far)))
        return self._beyond[net]

    def cut_at(self, fault: Fault) -> Iterator[tuple[Pair, int]]:
        """What a fault cuts where two rails reach through loads: its two ends, and the states in which they do."""
        healthy = self.none.healthy
        pairs = [(e.a, e.b) for e in (healthy.element_by_key[key] for key in fault.removed)]
        pairs += [(e.a, e.b) for e in (healthy.element_by_contact[name] for name in fault.opened)]
        if fault.coils:
            pairs += [(i.a, i.b) for i in self.loads if i.kind == "coil" and i.device in fault.coils]
        for a, b in pairs:
            if near := self.mixed_at(self.net(a)) | self.mixed_at(self.net(b)):
                yield (a, b), near


class _Changed:
    """The islands that one fault makes others."""

    def __init__(self, islands: Islands, model: FaultedModel) -> None:
        self.islands, self.model, self.net = islands, model, model.network.net
        self._floods = islands.floods(model)
        self._ends: dict[Terminal, list[Pair]] = {}  # the loads at the parts of nets that the fault parts
        for whole in model.network.split:
            self._ends.setdefault(whole, [])  # the part that keeps the name may have none
            for own, far in islands.at.get(whole, ()):
                self._ends.setdefault(self.net(own), []).append((own, far))
        self._joins = [*model.fault.joins, *map(_ends, (model.healthy.element_by_contact[c] for c in model.fault.closed))]
        self._groups = self._grouped()
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

    def _grouped(self) -> Sequence[int]:
        """For each rail those that metal joins it to, with the fault."""
        poles, net = self.islands.pole_nets, self.islands.net
        joins = [(a, b) for a, b in self._joins if net(a) in poles and net(b) in poles]
        if not joins and not any(whole in poles for whole in self.model.network.split):
            return self.islands.groups
        return groups_of(self.islands.rails, self.model, joins)

    def _merged(self) -> Mapping[Terminal, Terminal]:
        """The pieces of the plan that the fault puts together; the mains' poles keep a piece apart from what is behind them."""
        mains, net = self.islands.mains_nets, self.islands.net
        joins = [(a, b) for a, b in self.model.fault.joins if net(a) not in mains and net(b) not in mains]
        return nets_of((self.islands.piece(a), self.islands.piece(b)) for a, b in joins) if joins else {}

    def _concerned(self) -> set[Terminal]:
        """The nets with loads, in pieces in which something may act, that a pole reaches otherwise than without the fault."""
        islands, parted = self.islands, self._ends
        nets = islands.mattering
        if acting := {self._pieces[piece] for piece in islands.acting if piece in self._pieces}:
            nets = nets | {net for net, piece in islands.pieces.items() if self._pieces.get(piece) in acting}
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
            if states != (there := is_now.get(group, 0)):
                found |= minus(states, there)
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
        return net in self.islands.at and net not in self._ends and net not in self._touched_by_it

    def _ties(self, net: Terminal) -> Sets:
        if self._as_before(net):
            return self.islands.ties(net)
        known = self._own.get(net)
        if known is None:
            known = self._own[net] = ties_of(self.model, self.islands.rails, self._floods, net)
        return known

    def _tied(self, net: Terminal) -> int:
        known = self._sum.get(net)
        if known is None:
            known = self._sum[net] = sum_of(self._ties(net).values())
        return known

    def _by_group(self, ties: Sets) -> Sets:
        found: dict[int, int] = {}
        for rail, states in ties.items():
            group = self._groups[rail]
            found[group] = found[group] | states if group in found else states
        return found

    def _grouped_ties(self, net: Terminal) -> Sets:
        known = self._of_group.get(net)
        if known is None:
            known = self._of_group[net] = self._by_group(self._ties(net))
        return known

    # which rails can border an island

    def _may(self, touched: Iterable[tuple[Pair, int]]) -> int:
        """States among which are all in which an island is another one: those in which two groups of rails can border one."""
        by_piece: dict[Terminal, dict[int, int]] = {}
        for net, states in self._differs.items():
            borders = by_piece.setdefault(self._piece(self._loads(net)[0][0]), {})
            tied = self._tied(net)
            loose, fast = minus(states, tied), states & tied
            for _, far in self._loads(net):
                self._beyond(net, self.net(far), loose, fast, borders)
        for (a, b), states in touched:
            loose = minus(minus(states, self._tied(self.net(a))), self._tied(self.net(b)))
            for end in (a, b) if loose else ():
                borders = by_piece.setdefault(self._piece(end), {})
                for group, reached in self.islands.reaches(self.islands.net(end)).items():
                    borders[group] = borders.get(group, 0) | loose & reached
        found = 0
        for borders in by_piece.values():
            for one, other in combinations(borders.values(), 2) if len(borders) > 1 else ():
                found |= one & other
        return found

    def _piece(self, terminal: Terminal) -> Terminal:
        piece = self.islands.piece(terminal)
        return self._pieces.get(piece, piece)

    def _beyond(self, net: Terminal, far: Terminal, loose: int, fast: int, borders: dict[int, int]) -> None:
        """Add which rails a load brings to an island: what is at its far end, or what is at its own, the far end being loose."""
        hanging = minus(fast, self._tied(far)) if fast else 0
        for states, end in ((loose, far), (hanging, net)):
            given = 0  # where several rails are at a net they are joined, and the first will do
            for group, tied in sorted(self._grouped_ties(end).items()) if states else ():
                borders[group] = borders.get(group, 0) | minus(states & tied, given)
                given |= tied
        if both := loose | hanging:
            for group, reached in self.islands.reaches(self.islands.net(far)).items():
                borders[group] = borders.get(group, 0) | both & reached

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
            for rail, tied in self._ties(net).items():
                if tied & here:
                    borders[rail] = borders.get(rail, 0) | tied & here
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


def _ends(element: Element) -> Pair:
    return element.a, element.b


Rails = Sequence[tuple[Source, Sequence[tuple[Terminal, int]]]]
"""Of every rail its source and its poles, each with its number."""


def ties_of(model: FaultedModel, rails: Rails, floods: Sequence[Mapping[Terminal, int]], net: Terminal) -> Sets:
    """The states in which each rail of a live source is at a net."""
    found: dict[int, int] = {}
    live = model.supplies.live
    for rail, (source, poles) in enumerate(rails):
        for _, pole in poles:
            reached = floods[pole].get(net)
            if reached and (states := reached & live[source.name]):
                found[rail] = found.get(rail, 0) | states
    return found


def groups_of(rails: Rails, model: FaultedModel, joins: Iterable[Pair] = ()) -> list[int]:
    """For each rail the first one that metal, or one of the `joins`, joins it to: they have one voltage."""
    groups = list(range(len(rails)))
    first: dict[Terminal, int] = {}
    net = model.network.net
    same = dict(nets_of((net(a), net(b)) for a, b in joins)) if joins else {}
    for rail, (_, poles) in enumerate(rails):
        for pole, _ in poles:
            here = net(pole)
            other = groups[first.setdefault(same.get(here, here), rail)]
            if other != groups[rail]:
                old = groups[rail]
                groups = [other if group == old else group for group in groups]
    return groups
