"""Which way a motor turns, by nodal analysis in the program and by relaxation here, for random joins of the winding ends."""

from __future__ import annotations

import cmath
from random import Random

import pytest

from tests.oracles.plain_windings import turning
from wirecheck.circuit.windings import energise
from wirecheck.findings import Spot
from wirecheck.plan.model import Device

MARKS = ("U1", "V1", "W1", "U2", "V2", "W2")
LINES = [cmath.rect(230, -2 * cmath.pi * k / 3) for k in range(3)]


@pytest.mark.parametrize("windings", [None, "dahlander", "separate"])
def test_direction_agrees(windings: str | None) -> None:
    motor = Device("M1", "motor", Spot("random", 1, 1), marks=MARKS, values={"windings": windings} if windings else {})
    dice = Random(7)
    told = set()
    for _ in range(2000):
        groups = {mark: dice.randint(1, 6) for mark in MARKS}
        if windings == "separate":  # one speed at a time; with both fed there is no direction to agree on
            groups |= dict.fromkeys(("U2", "V2", "W2"), 9)
        volts = dice.sample([*LINES, 0j], dice.randint(1, 4))
        fixed = dict(
            zip(
                dice.sample(sorted({*groups.values()} - {9}), min(len(volts), len({*groups.values()} - {9}))), volts, strict=False
            )
        )
        expected = turning(windings, groups, fixed) or "stopped"
        assert energise(motor, groups, fixed).direction == expected, (groups, fixed)
        told.add(expected)
    assert told == {"forward", "reverse", "stopped"}
