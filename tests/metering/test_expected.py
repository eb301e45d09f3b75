"""What the sheet says a reading should be."""

from __future__ import annotations

import pytest

from wirecheck.metering.choosing import candidate_of
from wirecheck.metering.dead import paths_of
from wirecheck.metering.expected import expected
from wirecheck.metering.matrix import Matrix, Reading
from wirecheck.plan import read_plan
from wirecheck.plan.model import Event, Terminal

PLAN = read_plan(
    "x.yaml",
    """\
wirecheck: 1
machine: {name: x}
devices:
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}
  K2: {kind: relay, coil: 24 V DC, coil_power: 2 W}
  K3: {kind: contactor, coil: 230 V AC, coil_power: 5 VA, poles: [1-2]}
  K4: {kind: timer-relay, coil: 24 V DC}
  R1: {kind: resistor, resistance: 120 ohm}
  R2: {kind: resistor, resistance: 1 ohm}
  M1: {kind: motor, plate: {delta: 230 V}, current: {delta: 4.5 A}, power_factor: 0.8, links: [[U2, V2, W2]]}
  H1: {kind: lamp, voltage: 24 V}
wires:
  - {number: 1, run: [S1:14, K1:A1, K2:A1]}
  - {number: 2, run: [K1:A2, K2:A2, R1:1]}
  - {number: 3, run: [R1:2, H1:X1, R2:1]}
  - {number: 4, run: [H1:X2, K4:A1]}
  - {number: 5, run: [R2:2, K4:A2]}
""",
)


def read(a: str, b: str, *events: Event) -> str | None:
    paths = paths_of(PLAN)
    matrix = Matrix(PLAN, paths, (), frozenset())
    one, two = (Terminal(*end.split(":")) for end in (a, b))
    candidate = candidate_of(matrix, Reading(events, one, two))
    return None if candidate is None else expected(matrix, paths, candidate)


@pytest.mark.parametrize(
    ("a", "b", "words"),
    [
        ("S1:14", "K2:A1", "closed"),
        ("S1:13", "S1:14", "open"),
        # 24 V squared over 1 W and over 2 W: 576 and 288 ohm, together 192
        ("K1:A1", "K1:A2", "about 192 ohm through coil K1 and coil K2"),
        ("K1:A1", "R1:2", "about 312 ohm through coil K1 and coil K2 and R1"),
        ("R2:1", "R2:2", "no more than a few ohms, through R2"),
        ("M1:U1", "M1:V1", "some ohms, not closed and not open, through the windings of M1"),
        ("K3:A1", "K3:A2", "some ohms, not closed and not open, through coil K3"),
        ("H1:X1", "H1:X2", "not closed"),
        ("K4:A1", "K4:A2", "not closed"),
        ("M1:U1", "K1:A1", "open"),
    ],
)
def test_what_the_meter_should_show(a: str, b: str, words: str) -> None:
    assert read(a, b) == words


def test_a_button_that_is_held_joins() -> None:
    assert read("S1:13", "S1:14", Event("S1", "pressed")) == "closed"
    assert read("S1:13", "K1:A2", Event("S1", "pressed")) == "about 192 ohm through coil K1 and coil K2"
