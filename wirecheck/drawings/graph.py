"""The diagram as a DOT graph to be laid out or searched with other tools: devices with ports, wires as edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import TYPE_CHECKING

from wirecheck.drawings.captions import key_data
from wirecheck.drawings.colours import CORE_COLOURS, UNKNOWN
from wirecheck.drawings.devices import closed_at_rest
from wirecheck.drawings.lettering import clean, wrap
from wirecheck.drawings.sheet import SEVERITY_COLOURS
from wirecheck.findings import NOTICE, Finding, severity_rank
from wirecheck.plan.model import Device, Plan, Terminal, Wire

if TYPE_CHECKING:
    from graphviz import Graph


def to_dot(plan: Plan, findings: Sequence[Finding] = ()) -> str:
    """The plan as DOT text: places as clusters, devices as tables with a port for each terminal, wires as edges."""
    from graphviz import Graph  # late: only a drawing needs it

    graph = Graph("connection", graph_attr=_look(plan, findings), node_attr={"shape": "plain", "fontname": "Helvetica"})
    graph.attr("edge", fontname="Helvetica", fontsize="8")
    nodes = {name: f"d{n}" for n, name in enumerate(plan.devices)}
    for number, place in enumerate(dict.fromkeys(d.place for d in plan.devices.values())):
        inside = [d for d in plan.devices.values() if d.place == place]
        if place is None:
            _add_devices(graph, inside, nodes, findings)
            continue
        with graph.subgraph(name=f"cluster_{number}") as cluster:
            cluster.attr(label=_html(f"<B>{_text(place)}</B>"), style="dashed", fontname="Helvetica")
            _add_devices(cluster, inside, nodes, findings)
    ports = {Terminal(d.name, m): f"{nodes[d.name]}:p{n}" for d in plan.devices.values() for n, m in enumerate(d.marks)}
    for wire in plan.wires:
        graph.edge(
            ports.get(wire.a, nodes[wire.a.device]), ports.get(wire.b, nodes[wire.b.device]), **_edge(plan, wire, findings)
        )
    return str(graph.source)


def _look(plan: Plan, findings: Sequence[Finding]) -> dict[str, str]:
    lines = [f"<B>{_text(plan.machine.name)}</B>: connection diagram, drawn at rest"]
    lines += [_text(f"{n}. {f.severity}: {f.message}") for n, f in enumerate(findings, 1)]
    lines += [_text(line) for line in wrap(NOTICE, 8, 600)]
    return {
        "label": _html("<BR ALIGN='LEFT'/>".join([*lines, ""])),
        "labelloc": "b",
        "rankdir": "TB",
        "fontname": "Helvetica",
        "fontsize": "10",
    }


def _html(markup: str) -> str:
    """A label that the graph language takes as markup; all that comes from a plan in it has been escaped before."""
    return f"<{markup}>"


def _text(value: str) -> str:
    return escape(clean(value), quote=True)


def _add_devices(graph: Graph, devices: Sequence[Device], nodes: dict[str, str], findings: Sequence[Finding]) -> None:
    for device in devices:
        graph.node(nodes[device.name], label=_html("".join(_table(device, findings))))


def _table(device: Device, findings: Sequence[Finding]) -> Iterator[str]:
    on = [(n, f) for n, f in enumerate(findings, 1) if device.name in f.devices]
    worst = max((f.severity for _, f in on), key=severity_rank, default="")
    colour = SEVERITY_COLOURS.get(worst, "#000000")
    columns = max(len(device.marks), 1)
    yield f'<TABLE BORDER="0" CELLBORDER="1" CELLSPACING="0" COLOR="{colour}"><TR><TD COLSPAN="{columns}">'
    yield f"<B>{_text(device.name)}</B> {_text(device.title or device.kind)}"
    yield "".join(f"<BR/>{_text(line)}" for line in key_data(device))
    yield "".join(f"<BR/>{_text(c.name)} {'closed' if closed_at_rest(device, c) else 'open'}" for c in device.contacts)
    yield f"<BR/>findings {' '.join(str(n) for n, _ in on)}" if on else ""
    cells = "".join(f'<TD PORT="p{n}">{_text(m) or "?"}</TD>' for n, m in enumerate(device.marks)) or "<TD></TD>"
    yield f"</TD></TR><TR>{cells}</TR></TABLE>"


def _edge(plan: Plan, wire: Wire, findings: Sequence[Finding]) -> dict[str, str]:
    on = [n for n, f in enumerate(findings, 1) if wire.number in f.wires or str(wire) in f.wires]
    number = _html(_text(wire.number) or "?")
    cable = wire.cable if wire.cable in plan.cables else None
    parts = [wire.colour, wire.size_text, f"cable {cable}" if cable else "", f"findings {' '.join(map(str, on))}" if on else ""]
    middle = _text(", ".join(p for p in parts if p))
    out = {"taillabel": number, "headlabel": number, "color": CORE_COLOURS.get(wire.colour.split("/")[0], UNKNOWN)}
    if wire.colour.startswith("WH"):
        out["color"] = "#000000:#ffffff:#000000"
    return out | ({"label": _html(middle)} if middle else {}) | ({"penwidth": "3"} if on else {})
