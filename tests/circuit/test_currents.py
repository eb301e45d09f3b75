"""Which wires carry which loads: against every simple path of the circuit, one by one, and against circuits read by hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import networkx as nx
import pytest

from tests.electrics.plans import changed
from tests.electrics.wired import DRILL, MILL, SANDER, adding
from wirecheck.circuit.currents import Currents
from wirecheck.plan import read_plan
from wirecheck.plan.model import Terminal

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(
    [
        *(ROOT / "examples").glob("good/*.yaml"),
        *(ROOT / "examples").glob("bad/*.yaml"),
        *(ROOT / "tests/benchmarks/plans").glob("*.yaml"),
    ]
)

REVERSING = adding(
    SANDER,
    "Q3: {kind: contactor, title: reverse, poles: [1-2, 3-4, 5-6], coil: 24 V AC, place: panel}",
    """number: L31, run: [Q2:1, Q3:1]
number: L33, run: [Q2:5, Q3:5]
number: L43, run: [Q3:2, F4:5]
number: L41, run: [Q3:6, F4:1]""",
)
"""Two lines change places through Q3."""


def currents(text: str) -> Currents:
    return Currents(read_plan("plan.yaml", text))


def carried(found: Currents, number: str) -> set[str]:
    """The devices whose currents go through any wire of a number."""
    wires = [wire for wire in found.plan.wires if wire.number == number]
    return {p.load.device for wire in wires for p in found.passages.get(wire.index, ())}


def by_paths(found: Currents) -> Iterator[tuple[int, str, Terminal]]:
    """The same by the definition: wire, device and end for every simple path from a pole to an end."""
    graph: nx.MultiGraph[Any] = nx.MultiGraph()
    for node, edges in found._graph.items():
        for to, element in edges:
            graph.add_edge(node, to, key=id(element), wire=element.wire)
    for load, _, pole, end in found.fed:
        avoid = found.ways[pole].avoid
        kept = graph.subgraph(n for n in graph if n not in avoid)
        start, goal = found.node(pole), found.node(end)
        if start == goal or start not in kept or goal not in kept:
            continue
        for path in nx.all_simple_edge_paths(kept, start, goal):
            for a, b, key in path:
                wire = kept.edges[a, b, key]["wire"]
                if wire is not None:
                    yield wire.index, load.device, end


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_passages_are_what_all_simple_paths_give(path: Path) -> None:
    found = Currents(read_plan(str(path)))
    ours = {(index, p.load.device, p.end) for index, passages in found.passages.items() for p in passages}
    assert ours == set(by_paths(found))
    assert ours


def test_passages_of_reversing_contactors_are_what_all_simple_paths_give() -> None:
    found = currents(REVERSING)
    assert {(i, p.load.device, p.end) for i, each in found.passages.items() for p in each} == set(by_paths(found))


def test_a_radial_circuit() -> None:
    found = currents(MILL)
    assert carried(found, "L1") == carried(found, "N1") == {"G1", "M2"}
    assert carried(found, "L4") == {"M2"}
    assert carried(found, "1") == carried(found, "0V") == {"Q2"}
    assert carried(found, "PE") == set()


def test_a_load_behind_one_contactor_does_not_go_through_another() -> None:
    """A second motor on the supply side of the reversing contactors: nothing of it goes through their outgoing wires."""
    more = adding(
        REVERSING,
        "M2: {kind: motor, current: {star: 9 A}, links: [[U2, V2, W2]]}",
        """number: 21, run: [Q3:1, M2:U1]
number: 22, run: [Q2:3, M2:V1]
number: 23, run: [Q3:5, M2:W1]""",
    )
    found = currents(more)
    assert carried(found, "L41") == carried(found, "L43") == {"M1"}
    assert "M2" in carried(found, "L31")
    assert carried(found, "21") == {"M2"}


def test_a_diode_across_a_coil_joins_nothing_and_one_in_the_line_does() -> None:
    across = adding(MILL, "R1: {kind: diode}", "number: 4, run: [Q2:A1, R1:K]\nnumber: 0V, run: [Q2:A2, R1:A]")
    found = currents(across)
    assert not [w for w in found.plan.wires if w.b.device == "R1" and found.passages.get(w.index)]
    series = changed(MILL, ("run: [Q2:14, Q2:A1]", "run: [Q2:14, R1:A]"))
    line = adding(series, "R1: {kind: diode}", "number: 5, run: [R1:K, Q2:A1]")
    assert carried(currents(line), "5") == {"Q2"}


def test_what_protects_ahead_of_a_wire_and_beyond_it() -> None:
    found = currents(SANDER)
    wires = {wire.number: wire for wire in found.plan.wires if wire.number not in ("L21", "L22")}
    (one,) = found.passages[wires["L33"].index]
    assert [e.device for e in one.ahead] == ["F1"]
    assert [e.device for e in one.beyond] == ["F4"]
    (coil,) = found.passages[wires["3"].index]
    assert [e.device for e in coil.ahead] == ["F3"]  # the contact 95-96 of the overload relay is no protection of this wire


def test_the_way_with_the_fewest_elements() -> None:
    found = currents(DRILL)
    way = found.way(Terminal("G0", "L"), Terminal("T1", "L"))
    assert [wire.number for wire in way] == ["L1", "L2", "L3"]
    assert found.way(Terminal("G0", "L"), Terminal("M1", "U1")) == ()
