"""The plan as a circuit: a networkx multigraph of terminals and elements, its sources, and what its windings get."""

from wirecheck.circuit.elements import CONDUCTS, Element, elements_of
from wirecheck.circuit.graph import build_circuit
from wirecheck.circuit.sources import Feed, Source, sources_of

__all__ = ["CONDUCTS", "Element", "Feed", "Source", "build_circuit", "elements_of", "sources_of"]
