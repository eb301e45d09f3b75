"""The connection diagram: every device where it stands, every wire from number to number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from wirecheck.drawings.bundles import Frame
from wirecheck.drawings.choosing import best_layout
from wirecheck.drawings.colours import conductor
from wirecheck.drawings.devices import figure
from wirecheck.drawings.headings import heading, heading_texts
from wirecheck.drawings.jackets import jacket
from wirecheck.drawings.layout import Layout
from wirecheck.drawings.marking import Marking
from wirecheck.drawings.nets import Placed
from wirecheck.drawings.painting import OUTLINE, device_groups, terminals, wire_ends
from wirecheck.drawings.shapes import Group, Line, Pen, Sheet, rectangle
from wirecheck.drawings.sheet import compose, legend_height
from wirecheck.drawings.wiring import ends_of
from wirecheck.findings import Finding
from wirecheck.plan.model import Plan


def connection_sheet(plan: Plan, findings: Sequence[Finding] = ()) -> Sheet:
    """The plan's connection diagram on a sheet, with the findings marked where they are."""
    marking = Marking(plan, findings)
    figures = {d.name: replace(figure(d), findings=marking.of_device(d.name)) for d in plan.devices.values()}
    layout = best_layout(plan, figures, ends_of(plan, marking.of_wires()), legend_height(findings, 900))
    return compose(plan, list(groups(plan, layout, marking)), layout.size, findings)


def groups(plan: Plan, layout: Layout, marking: Marking) -> Iterator[Group]:
    """All groups of the drawing from back to front."""
    for frame in layout.frames:
        yield _frame_group(frame, plan)
    for bundle, centre in layout.bundles:
        if bundle.cable is not None:
            yield jacket(plan.cables[bundle.cable], centre, len(bundle.starts))
    for index, points in layout.wires.items():
        halo = marking.halo(index)
        if halo:
            yield Group("halo", plan.wires[index].number, (Line(points, halo),))
    for index in sorted(layout.wires):
        wire = plan.wires[index]
        data = {"from": str(wire.a), "to": str(wire.b), "colour": wire.colour, "size": wire.size_text, "cable": wire.cable or ""}
        title = f"wire {wire.number}: {wire.a} to {wire.b}, {wire.colour} {wire.size_text}"
        yield Group("wire", wire.number, tuple(conductor(layout.wires[index], wire.colour)), title, data)
    for frame in layout.frames:
        for placed in _placed(frame):
            colour, fill = marking.device_colours(placed.box.name)
            yield from device_groups(placed, Pen(colour, 1.8) if colour else OUTLINE, fill)
            yield from wire_ends(placed)
            yield from terminals(placed)
            yield from marking.marks(placed)


def _placed(frame: Frame) -> list[Placed]:
    return [
        replace(p, x=p.x + frame.content_left, top=p.top + frame.top, bottom=p.bottom + frame.top) for p in frame.layout.placed
    ]


def _frame_group(frame: Frame, plan: Plan) -> Group:
    pen = Pen("#333333", 0.9, (7.0, 2.5, 1.5, 2.5))
    outline = rectangle(frame.left, frame.top, frame.right, frame.bottom, pen, "#fcfcfa")
    name, _ = heading(plan, frame.name)
    return Group("place", name, (outline, *heading_texts(plan, frame.name, frame.left, frame.top)))
