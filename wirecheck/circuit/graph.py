"""The plan as a networkx multigraph: terminals are nodes, every element is an edge with a key that leads back to the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wirecheck.circuit.elements import elements_of
from wirecheck.circuit.sources import sources_of
from wirecheck.plan.model import Plan, Terminal

if TYPE_CHECKING:
    import networkx as nx


def build_circuit(plan: Plan) -> nx.MultiGraph[Any]:
    """The circuit of a plan.

    Parameters
    ----------
    plan : Plan
        A plan that was read without an error.

    Returns
    -------
    networkx.MultiGraph
        Nodes are `Terminal`. Edges have the key `(kind, ident)` and the attribute `element` (an `Element`); a source joins its
        poles with edges of kind `source` that carry `source` (a `Source`) and `volts`.
    """
    import networkx as nx  # late: 140 ms that a plan with errors does not need

    graph: nx.MultiGraph[Any] = nx.MultiGraph()
    for device in plan.devices.values():
        graph.add_nodes_from((Terminal(device.name, mark) for mark in device.marks), device=device.name)
    for element in elements_of(plan):
        graph.add_edge(element.a, element.b, key=element.key, element=element)
    for source in sources_of(plan):
        poles = list(source.poles)
        for p, q in zip(poles, poles[1:], strict=False):
            graph.add_edge(
                p, q, key=("source", f"{source.name} {p.mark}-{q.mark}"), source=source, volts=source.voltage_between(p, q)
            )
    return graph
