"""Plans wired at random, sense or nonsense: a drawing of any of them keeps its promises."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations
from random import Random

import pytest

from tests.drawings.findings import finding
from tests.drawings.geometry import (
    device_boxes,
    drawn_points,
    inside,
    legs,
    lie_on_each_other,
    overlap,
    passes,
    texts,
    wire_paths,
)
from tests.drawings.plans import every_kind
from wirecheck.drawings.connection import connection_sheet
from wirecheck.findings import SEVERITIES, Finding, Spot
from wirecheck.plan.model import Cable, Place, Plan, Terminal, Wire

SPOT = Spot("random.yaml", 1, 1)
SEEDS = range(10)
COLOURS = ("BK", "BU", "GNYE", "WH", "YE", "WH/BU", "")


@cache
def random_plan(seed: int) -> Plan:
    """Some devices of the sampler in some places, with wires between any of their terminals and cables around any of those."""
    draw = Random(seed)
    base = every_kind()
    places = [None, *(f"place {n}" for n in range(draw.randint(0, 7)))]
    names = draw.sample(sorted(base.devices), draw.randint(2, 24))
    devices = {n: replace(base.devices[n], place=draw.choice(places)) for n in names}
    cables = {f"W{n}": Cable(f"W{n}", SPOT, 7, 0.75, "0.75 mm2", 3.0, draw.random() < 0.5) for n in range(draw.randint(0, 12))}
    terminals = [Terminal(d.name, m) for d in devices.values() for m in d.marks]
    wires = []
    for index in range(draw.randint(1, 3 * len(devices))):
        a, b = draw.sample(terminals, 2)
        cable = draw.choice([None, None, *cables])
        wires.append(Wire(index, str(index), a, b, SPOT, index, 1.5, "1.5 mm2", draw.choice(COLOURS), cable))
    known = {p: Place(p, "somewhere", "IP54") for p in places if p}
    return replace(base, devices=devices, wires=tuple(wires), cables=cables, places=known)


def random_findings(plan: Plan, seed: int) -> list[Finding]:
    """Up to nine findings on some of the devices and wires."""
    draw = Random(seed)
    numbers = [w.number for w in plan.wires]
    return [
        finding(
            draw.choice(SEVERITIES),
            "Something about these. " * draw.randint(1, 20),
            tuple(n for n in plan.devices if draw.random() < 0.4),
            tuple(n for n in numbers if draw.random() < 0.3),
        )
        for _ in range(seed % 10)
    ]


@cache
def stars(count: int) -> Plan:
    """Two devices in two places with very many cables of one core between them."""
    base = every_kind()
    block = base.devices["X1"]
    marks = tuple(str(n) for n in range(count))
    devices = {n: replace(block, name=n, marks=marks, links=(), place=p) for n, p in (("X1", "here"), ("X2", "there"))}
    order = Random(1).sample(marks, count)
    cables = {f"W{m}": Cable(f"W{m}", SPOT, 1, 1.5, "1.5 mm2") for m in marks}
    wires = [
        Wire(n, m, Terminal("X1", m), Terminal("X2", far), SPOT, n, 1.5, "1.5 mm2", "BK", f"W{m}")
        for n, (m, far) in enumerate(zip(marks, order, strict=True))
    ]
    return replace(
        base, devices=devices, wires=tuple(wires), cables=cables, places={"here": Place("here"), "there": Place("there")}
    )


PLANS = [("random", seed) for seed in SEEDS] + [("many cables", 40)]


@pytest.mark.parametrize(("kind", "number"), PLANS)
def test_nothing_lies_on_anything_and_all_is_there(kind: str, number: int) -> None:
    plan = random_plan(number) if kind == "random" else stars(number)
    sheet = connection_sheet(plan, random_findings(plan, number))
    boxes, words = device_boxes(sheet), list(texts(sheet))
    courses = [(name, leg) for name, points in wire_paths(sheet) for leg in legs(points)]
    border = (5.9, 5.9, sheet.width - 5.9, sheet.height - 5.9)
    assert set(boxes) == set(plan.devices)
    assert len([g for g in sheet.groups if g.kind == "wire-end"]) == 2 * len(plan.wires)
    assert all(leg[0] == leg[2] or leg[1] == leg[3] for _, leg in courses)
    assert [(a, b) for a, b in combinations(boxes, 2) if overlap(boxes[a], boxes[b])] == []
    assert [(a.content, b.content) for (a, x), (b, y) in combinations(words, 2) if overlap(x, y, 0.3)] == []
    assert [(wire, name) for wire, leg in courses for name, box in boxes.items() if passes(leg, box)] == []
    assert [(wire, text.content) for wire, leg in courses for text, room in words if passes(leg, room, 0.2)] == []
    assert [(a, b) for (a, x), (b, y) in combinations(courses, 2) if a != b and lie_on_each_other(x, y)] == []
    assert [text.content for text, room in words if not inside(room, border)] == []
    assert [p for p in drawn_points(sheet) if not inside((*p, *p), border)] == []
