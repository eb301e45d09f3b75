"""When each motor turns and which way: every distinct way in which its windings are joined and fed is solved once."""

from __future__ import annotations

from dataclasses import dataclass

from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.model import Model
from wirecheck.circuit import Source
from wirecheck.circuit.elements import windings_of
from wirecheck.circuit.windings import Windings, energise
from wirecheck.plan.model import Device, Terminal


@dataclass(frozen=True, slots=True)
class Fed:
    """One way in which a motor is joined to a source: the states, and what its windings then get."""

    states: int
    source: Source
    windings: Windings


@dataclass(frozen=True, slots=True)
class Motion:
    """The states in which a motor turns forward and reverse, and how it is fed in each of them.

    `idle` are the ways in which two poles or more reach it and no winding gets anything.
    """

    forward: int
    reverse: int
    fed: tuple[Fed, ...]
    idle: tuple[Fed, ...] = ()

    @property
    def moving(self) -> int:
        """The states in which it turns at all."""
        return self.forward | self.reverse


def _split(domain: int, sets: list[tuple[object, int]]) -> list[tuple[int, frozenset[object]]]:
    """The classes of states that no set tells apart: each with the names of the sets that it lies in."""
    classes: list[tuple[int, frozenset[object]]] = [(domain, frozenset())]
    for name, states in sets:
        classes = [(m, n) for part, names in classes for m, n in ((part & ~states, names), (part & states, names | {name})) if m]
    return classes


def _groups(marks: list[str], joined: frozenset[object]) -> dict[str, int]:
    groups = {mark: i for i, mark in enumerate(marks)}
    for pair in joined:
        if isinstance(pair, tuple) and pair[0] in groups and pair[1] in groups:
            keep, drop = groups[pair[0]], groups[pair[1]]
            groups = {mark: keep if g == drop else g for mark, g in groups.items()}
    return groups


def motion_of(model: Model, motor: Device, domain: int) -> Motion:
    """The motion of a motor in the states of `domain`."""
    marks = list(dict.fromkeys(m for pair in windings_of(motor) for m in pair if not m.startswith("*")))
    ends = {mark: Terminal(motor.name, mark) for mark in marks}
    joins: list[tuple[object, int]] = [
        ((a, b), model.network.joined(ends[a], ends[b])) for i, a in enumerate(marks) for b in marks[i + 1 :]
    ]
    joins = [(name, states) for name, states in joins if states & domain]
    forward = reverse = 0
    fed: list[Fed] = []
    idle: list[Fed] = []
    for source in model.sources:
        if source.kind != "AC":
            continue
        sets = [((pole, mark), model.supplies.at(source, pole, end)) for pole in source.poles for mark, end in ends.items()]
        reaching = [(name, states) for name, states in sets if states & domain]
        if len({name[0] for name, _ in reaching}) < 2:
            continue
        part = model.parts[source.device]
        back = part.backwards(model) if isinstance(part, DrivePart) and source.role == "output" else 0
        live = model.supplies.live[source.name]
        for states, names in _split(domain, [*joins, *reaching]):
            groups = _groups(marks, names)
            poles = {groups[m]: source.poles[p] for p, m in _poles(names)}
            if len(set(poles.values())) < 2:
                continue
            got = energise(motor, groups, poles)
            if not got.moving:
                idle.append(Fed(states, source, got))
            else:
                fed.append(Fed(states, source, got))
                ahead, astern = (forward, reverse) if got.direction == "forward" else (reverse, forward)
                ahead, astern = ahead | (states & live & ~back), astern | (states & live & back)
                forward, reverse = (ahead, astern) if got.direction == "forward" else (astern, ahead)
    return Motion(forward, reverse, tuple(fed), tuple(idle))


def _poles(names: frozenset[object]) -> list[tuple[Terminal, str]]:
    return sorted((n[0], n[1]) for n in names if isinstance(n, tuple) and isinstance(n[0], Terminal))
