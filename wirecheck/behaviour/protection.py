"""What a short does: a fuse or breaker on its path operates, or the source is lost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.space import Move, minus
from wirecheck.behaviour.supplies import polarity_of
from wirecheck.circuit import Element, Source
from wirecheck.plan.model import Terminal

Joined = tuple[tuple[Terminal, str], tuple[Terminal, str]]

if TYPE_CHECKING:
    from wirecheck.behaviour.model import Model

OPERATES = {"fuse": "blown", "circuit-breaker": "tripped"}
"""The devices that clear a short, and the position they then take."""


def on_path(model: Model, element: Element, joined: Sequence[Joined], short: int) -> int:
    """Of the shorted states those in which the short passes an element: each end reaches its own pole without it."""
    found = 0
    network, conducts = model.network, model.conducts(element) & short
    a, b = network.net(element.a), network.net(element.b)
    for (p, way_p), (q, way_q) in joined if conducts else ():
        if a in network.flood(p, way_p) and a in network.flood(q, way_q):
            from_p = network.flood(p, way_p, element.ident)
            from_q = network.flood(q, way_q, element.ident)
            found |= conducts & (from_p.get(a, 0) & from_q.get(b, 0) | from_p.get(b, 0) & from_q.get(a, 0))
    return found


def _joined(model: Model, source: Source, short: int) -> list[Joined]:
    """The pairs of poles that a short joins, each with the way in which its current passes a diode."""
    pairs = model.fits.shorting[source.name]
    both = ((p, q) for p, q in pairs if model.supplies.at(source, p, q) & short)
    return [((p, polarity_of(source, p)), (q, polarity_of(source, q))) for p, q in both]


def cleared(model: Model, source: Source) -> dict[str, int]:
    """For every protective device, the states in which it lies on the path of a short of `source`."""
    found: dict[str, int] = {}
    short = model.supplies.shorts(source)
    joined = _joined(model, source, short) if short else ()
    for element in model.protective if short else ():
        states = on_path(model, element, joined, short)
        if states:
            device = str(element.device)
            found[device] = found.get(device, 0) | states
    return found


def uncleared(model: Model, source: Source) -> int:
    """The states in which a short of `source` has no protective device on its path."""
    short = model.supplies.shorts(source)
    for states in model.cleared(source).values() if short else ():
        short = minus(short, states)
    return short


def _killing(model: Model, source: Source) -> int:
    """The states in which two poles of `source` are joined with no protective device between them, whatever others are."""
    found, short = 0, model.supplies.shorts(source)
    for pair in _joined(model, source, short) if short else ():
        (p, _), (q, _) = pair
        bare = model.supplies.at(source, p, q) & short
        for element in model.protective if bare else ():
            bare = minus(bare, on_path(model, element, (pair,), bare))
        found |= bare
    return found


def trips(model: Model) -> list[Move]:
    """The moves of protective devices, and of sources that die."""
    space, found = model.space, []
    for source in model.sources:
        part = model.parts[source.device]
        if source.role == "output" and isinstance(part, DrivePart):  # a drive protects its own output
            if short := model.supplies.shorts(source):
                found += space.change(short, part.faulted(space))
            continue
        if source.name in model.dying:
            name = model.dead(source.name)
            found += space.assign(_killing(model, source), name, "yes")
            fed = model.supplies.fed(source.feed) if source.feed is not None else space.at(source.device, "on")
            found += space.assign(space.full & ~fed, name, "no")
        for device, states in model.cleared(source).items():
            found += space.assign(states, device, OPERATES[model.plan.devices[device].kind])
    return found
