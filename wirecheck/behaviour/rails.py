"""The rails of a plan by number: where each is tied, and which of them metal joins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wirecheck.behaviour.faulted import FaultedModel
from wirecheck.behaviour.network import nets_of
from wirecheck.circuit import Source
from wirecheck.plan.model import Terminal

Pair = tuple[Terminal, Terminal]
"""A load at a net: its end there, and its far end."""

Sets = Mapping[int, int]
"""By the number of a rail, or of a group of rails, a set of states."""

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
    same = nets_of((net(a), net(b)) for a, b in joins)
    for rail, (_, poles) in enumerate(rails):
        for pole, _ in poles:
            here = net(pole)
            other = groups[first.setdefault(same.get(here, here), rail)]
            if other != groups[rail]:
                old = groups[rail]
                groups = [other if group == old else group for group in groups]
    return groups
