"""Nothing lies on anything else: a drawing can be read, and every wire followed with a finger."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from tests.drawings.findings import finding
from tests.drawings.geometry import (
    Rectangle,
    device_boxes,
    devices_on_devices,
    inside,
    off_the_sheet,
    slanted_wires,
    texts,
    texts_on_texts,
    wires_on_wires,
    wires_through_devices,
    wires_through_texts,
)
from tests.drawings.plans import EXAMPLES, NAMES, markup, plan_of, sheet_of
from tests.generators.zone_line import zone_line
from wirecheck.drawings.connection import connection_sheet
from wirecheck.drawings.shapes import Sheet
from wirecheck.findings import SEVERITIES
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

MARKED = ("mill", "lathe", "bench-grinder")
ALL = [*NAMES, "markup", *(f"{p} with findings" for p in EXAMPLES if p.stem in MARKED)]


@cache
def _sheet(name: str) -> Sheet:
    if name == "markup":
        return connection_sheet(markup())
    if name.endswith(" with findings"):
        return _with_findings(plan_of(name.removesuffix(" with findings")))
    return sheet_of(name)


def _with_findings(plan: Plan) -> Sheet:
    """A quarter of the devices and of the wires is named by each of four findings, and all of them by a fifth."""
    devices, wires = list(plan.devices), sorted({w.number for w in plan.wires})
    found = [
        finding(severity, "Something about these. " * 12, tuple(devices[n::4]), tuple(wires[n::4]))
        for n, severity in enumerate(SEVERITIES)
    ]
    return connection_sheet(plan, [*found, finding("danger", "All of them.", tuple(devices), tuple(wires))])


every_sheet = pytest.mark.parametrize("name", ALL, ids=[Path(n).name for n in ALL])


@every_sheet
def test_no_device_lies_on_another(name: str) -> None:
    assert devices_on_devices(_sheet(name)) == []


@every_sheet
def test_no_text_lies_on_another(name: str) -> None:
    assert texts_on_texts(_sheet(name)) == []


@every_sheet
def test_everything_is_on_the_sheet(name: str) -> None:
    assert off_the_sheet(_sheet(name)) == []


@every_sheet
def test_no_wire_passes_through_a_device(name: str) -> None:
    assert wires_through_devices(_sheet(name)) == []


@every_sheet
def test_no_wire_passes_through_a_text(name: str) -> None:
    assert wires_through_texts(_sheet(name)) == []


@every_sheet
def test_no_wire_lies_on_another(name: str) -> None:
    assert wires_on_wires(_sheet(name)) == []


@every_sheet
def test_every_wire_is_right_angled(name: str) -> None:
    assert slanted_wires(_sheet(name)) == []


@every_sheet
def test_a_device_stands_in_the_frame_of_its_place(name: str) -> None:
    sheet = _sheet(name)
    frames = [(p[0], p[1]) for p in drawn_frames(sheet)]
    for device, box in device_boxes(sheet).items():
        assert sum(inside(box, frame) for _, frame in frames) == 1, device


def drawn_frames(sheet: Sheet) -> list[tuple[str, Rectangle]]:
    """The frames of the places."""
    return [(g.name, _bounds(g.shapes[0])) for g in sheet.groups if g.kind == "place"]


def _bounds(shape: object) -> Rectangle:
    points = shape.points  # type: ignore[attr-defined]  # a frame's first shape is its outline
    return (points[0][0], points[0][1], points[2][0], points[2][1])


@pytest.mark.parametrize("name", NAMES[1:], ids=[Path(n).stem for n in NAMES[1:]])
def test_every_example_is_on_one_a3_sheet_in_letters_of_1_8_millimetres(name: str) -> None:
    sheet = _sheet(name)
    assert (sheet.width_mm, sheet.height_mm) == (420.0, 297.0)
    assert min(t.size for t, _ in texts(sheet)) * sheet.width_mm / sheet.width >= 1.8


@every_sheet
def test_letters_keep_their_size_on_every_sheet(name: str) -> None:
    sheet = _sheet(name)
    assert min(t.size for t, _ in texts(sheet)) * sheet.width_mm / sheet.width >= 1.8


@every_sheet
def test_a_frames_heading_is_in_the_frame(name: str) -> None:
    for group in _sheet(name).groups:
        if group.kind == "place":
            frame = _bounds(group.shapes[0])
            words = texts(replace(_sheet(name), groups=(group,)))
            assert [t.content for t, room in words if not inside(room, frame)] == []


def test_a_line_of_sixteen_zones_is_drawn_whole_and_nothing_lies_on_anything() -> None:
    plan = read_plan_text(zone_line(16), "line.yaml")
    sheet = connection_sheet(plan)
    assert set(device_boxes(sheet)) == set(plan.devices)
    assert devices_on_devices(sheet) == wires_on_wires(sheet) == wires_through_devices(sheet) == []
    ends = [g for g in sheet.groups if g.kind == "wire-end"]
    assert len(ends) == 2 * len(plan.wires)
