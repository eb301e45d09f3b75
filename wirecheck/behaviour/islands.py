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
from wirecheck.behaviour.island_changes import IslandChanges
from wirecheck.behaviour.network import nets_of
from wirecheck.behaviour.rails import Pair, Sets, groups_of, ties_of
from wirecheck.behaviour.soft import Soft, rails_of, way_of
from wirecheck.behaviour.space import minus, sum_of
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.elements import LOAD_KINDS, has_coil
from wirecheck.circuit.impedances import Impedance
from wirecheck.plan.model import Terminal

PASSIVE = frozenset({"winding", "resistor", "capacitor"})


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
        if net not in self._mixed:
            self._mixed[net] = sum_of(one & other for one, other in combinations(self.reaches(net).values(), 2))
        return self._mixed[net]

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
        return IslandChanges(self, model).found()

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
        healthy, full = self.none.healthy, self.none.space.full
        cut = [(e.a, e.b, full) for e in (healthy.element_by_key[key] for key in fault.removed)]
        cut += [(e.a, e.b, healthy.conducts(e)) for e in (healthy.element_by_contact[name] for name in fault.opened)]
        cut += [(i.a, i.b, full) for i in self.loads if i.device in fault.coils]
        for a, b, states in cut:
            if near := states & (self.mixed_at(self.net(a)) | self.mixed_at(self.net(b))):
                yield (a, b), near
