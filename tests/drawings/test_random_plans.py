"""Plans wired at random, sense or nonsense: a drawing of any of them keeps its promises."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from tests.drawings.findings import finding
from tests.drawings.geometry import (
    device_boxes,
    devices_on_devices,
    off_the_sheet,
    slanted_wires,
    texts_on_texts,
    wires_on_wires,
    wires_through_devices,
    wires_through_texts,
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
    assert set(device_boxes(sheet)) == set(plan.devices)
    assert len([g for g in sheet.groups if g.kind == "wire-end"]) == 2 * len(plan.wires)
    assert devices_on_devices(sheet) == []
    assert texts_on_texts(sheet) == []
    assert wires_through_devices(sheet) == wires_through_texts(sheet) == wires_on_wires(sheet) == []
    assert slanted_wires(sheet) == []
    assert off_the_sheet(sheet) == []
