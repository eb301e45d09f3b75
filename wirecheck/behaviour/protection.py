"""What a short does: a fuse or breaker on its path operates, or the source is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.network import polarity_of
from wirecheck.behaviour.space import Move
from wirecheck.circuit import Element, Source

if TYPE_CHECKING:
    from wirecheck.behaviour.model import Model

OPERATES = {"fuse": "blown", "circuit-breaker": "tripped"}
"""The devices that clear a short, and the position they then take."""


def on_path(model: Model, source: Source, element: Element, short: int) -> int:
    """Of the shorted states those in which the short passes an element: each end reaches its own pole without it."""
    found = 0
    network, conducts = model.network, model.conducts(element) & short
    a, b = network.net(element.a), network.net(element.b)
    for p, q, _ in source.pairs() if conducts else ():
        way_p, way_q = polarity_of(source, p), polarity_of(source, q)
        if a not in network.flood(p, way_p) or a not in network.flood(q, way_q):
            continue
        from_p = network.flood(p, way_p, element.ident)
        from_q = network.flood(q, way_q, element.ident)
        found |= conducts & (from_p.get(a, 0) & from_q.get(b, 0) | from_p.get(b, 0) & from_q.get(a, 0))
    return found


def cleared(model: Model, source: Source) -> dict[str, int]:
    """For every protective device, the states in which it lies on the path of a short of `source`."""
    found: dict[str, int] = {}
    short = model.supplies.shorts(source)
    for element in model.protective if short else ():
        states = on_path(model, source, element, short)
        if states:
            device = str(element.device)
            found[device] = found.get(device, 0) | states
    return found


def uncleared(model: Model, source: Source) -> int:
    """The states in which a short of `source` has no protective device on its path."""
    short = model.supplies.shorts(source)
    for states in cleared(model, source).values() if short else ():
        short &= ~states
    return short


def trips(model: Model) -> list[Move]:
    """The moves of protective devices, and of sources that die."""
    space, found = model.space, []
    for source in model.sources:
        part = model.parts[source.device]
        if source.role == "output" and isinstance(part, DrivePart):  # a drive protects its own output
            found += space.change(model.supplies.shorts(source), part.faulted(space))
            continue
        if source.name in model.dying:
            name = model.dead(source.name)
            found += space.assign(uncleared(model, source), name, "yes")
            fed = model.supplies.fed(source.feed) if source.feed is not None else space.at(source.device, "on")
            found += space.assign(space.full & ~fed, name, "no")
        for device, states in cleared(model, source).items():
            found += space.assign(states, device, OPERATES[model.plan.devices[device].kind])
    return found
