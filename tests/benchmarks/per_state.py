"""Time for one state: the engine's, and that of the obvious way, a graph of what conducts and a path search for each coil."""

from __future__ import annotations

from collections.abc import Iterator
from time import perf_counter

import networkx as nx

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.reach import Reach, explore
from wirecheck.behaviour.space import numbers
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.influence import ends_of
from wirecheck.plan.model import Plan, Terminal


def wirecheck_seconds_per_state(plan: Plan) -> float:
    """Time of the whole reach, every event in every state, shared out over the states that the circuit passes."""
    began = perf_counter()
    reach = explore(plan)
    return (perf_counter() - began) / reach.passed.bit_count()


def networkx_seconds_per_state(plan: Plan, most: int) -> float:
    """Time to find out what is energised in one state and nothing more, over states spread evenly through the reach."""
    reach = explore(plan)
    states = numbers(reach.passed)
    chosen = states[:: max(1, len(states) // most)][:most]
    consumers = list(_consumers(reach.model))
    wanted = [list(_conducting(reach, number)) for number in chosen]
    began = perf_counter()
    for edges in wanted:
        _energised(edges, reach.model, consumers)
    return (perf_counter() - began) / len(chosen)


def _consumers(model: Model) -> Iterator[tuple[Terminal, ...]]:
    """The ends of every coil, load and winding, and of every drive's supply, inputs and torque-off channels."""
    for device in model.plan.devices.values():
        ends = tuple(Terminal(device.name, mark) for mark in dict.fromkeys(ends_of(device)))
        if ends:
            yield ends


def _conducting(reach: Reach, number: int) -> Iterator[tuple[Terminal, Terminal]]:
    model = reach.model
    return ((e.a, e.b) for e in model.elements if e.kind in CONDUCTS and model.conducts(e) >> number & 1)


def _energised(
    edges: list[tuple[Terminal, Terminal]], model: Model, consumers: list[tuple[Terminal, ...]]
) -> list[tuple[Terminal, Terminal]]:
    graph: nx.Graph[Terminal] = nx.Graph(edges)
    graph.add_nodes_from(end for ends in consumers for end in ends)
    poles = [pole for source in model.sources for pole in source.poles]
    graph.add_nodes_from(poles)
    return [(end, pole) for ends in consumers for end in ends for pole in poles if nx.has_path(graph, end, pole)]
