"""What each winding gets, by the program, by numpy and by a circuit simulator: named connections and random joins of the ends."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from pathlib import Path
from random import Random

import numpy as np
import pytest

from tests.circuit.test_resistive_against_spice import Drawn, simulated
from wirecheck.circuit.elements import windings_of
from wirecheck.circuit.windings import energise
from wirecheck.findings import Spot
from wirecheck.plan.model import Device

MARKS = ("U1", "V1", "W1", "U2", "V2", "W2")
LINES = [cmath.rect(400 / math.sqrt(3), math.radians(turn)) for turn in (0, -120, 120)]
TOLERANCE = 1e-3
SMALL_V = 1e-3
LEAK_OHM = 1e9

FED = {1: LINES[0], 2: LINES[1], 3: LINES[2]}
CONNECTIONS = {
    "star": (None, dict(zip(MARKS, (1, 2, 3, 4, 4, 4), strict=True)), FED),
    "delta": (None, dict(zip(MARKS, (1, 2, 3, 2, 3, 1), strict=True)), FED),
    "delta with one bar missing": (None, dict(zip(MARKS, (1, 2, 3, 2, 5, 1), strict=True)), FED),
    "star with one end open": (None, dict(zip(MARKS, (1, 2, 3, 4, 4, 5), strict=True)), FED),
    "star with one winding reversed": (None, dict(zip(MARKS, (1, 4, 3, 4, 2, 4), strict=True)), FED),
    "delta with one winding reversed": (None, dict(zip(MARKS, (1, 3, 3, 2, 2, 1), strict=True)), FED),
    "star on two phases": (None, dict(zip(MARKS, (1, 2, 5, 4, 4, 4), strict=True)), {1: LINES[0], 2: LINES[1]}),
    "two speeds, slow": ("dahlander", dict(zip(MARKS, (1, 2, 3, 4, 5, 6), strict=True)), FED),
    "two speeds, fast": ("dahlander", dict(zip(MARKS, (7, 7, 7, 1, 2, 3), strict=True)), FED),
    "two windings, slow": ("separate", dict(zip(MARKS, (1, 2, 3, 4, 5, 6), strict=True)), FED),
}
Case = tuple[str | None, Mapping[str, int], Mapping[int, complex]]


def motor(windings: str | None) -> Device:
    return Device("M1", "motor", Spot("random", 1, 1), marks=MARKS, values={"windings": windings} if windings else {})


def random_cases() -> list[Case]:
    dice = Random(11)
    found: list[Case] = []
    for number in range(600):
        groups = {mark: dice.randint(1, 6) for mark in MARKS}
        here = sorted(set(groups.values()))
        poles = dice.sample([*LINES, 0j], min(dice.randint(2, 4), len(here)))
        found.append(
            ((None, "dahlander", "separate")[number % 3], groups, dict(zip(dice.sample(here, len(poles)), poles, strict=True)))
        )
    return found


CASES: list[Case] = [*CONNECTIONS.values(), *random_cases()]


def ends(case: Case) -> list[tuple[int, int]]:
    """The windings as pairs of nodes; a star point that is not brought out is a node of its own."""
    windings, groups, _ = case
    known = {**groups, "*1": 101, "*2": 102}
    return [(known[a], known[b]) for a, b in windings_of(motor(windings))]


def by_numpy(case: Case) -> list[complex]:
    """Nodal analysis: every winding 1 ohm, every node with a leak to the neutral."""
    edges, fixed = ends(case), case[2]
    nodes = sorted({n for edge in edges for n in edge} | set(fixed))
    place = {node: i for i, node in enumerate(nodes)}
    matrix, right = np.eye(len(nodes), dtype=complex) / LEAK_OHM, np.zeros(len(nodes), dtype=complex)
    for a, b in edges:
        for here, there in ((a, b), (b, a)):
            matrix[place[here], place[here]] += 1
            matrix[place[here], place[there]] -= 1
    for node, volts in fixed.items():
        matrix[place[node]] = 0
        matrix[place[node], place[node]], right[place[node]] = 1, volts
    solved = np.linalg.solve(matrix, right)
    return [complex(solved[place[a]] - solved[place[b]]) for a, b in edges]


def deck(case: Case, number: int) -> Drawn:
    drawn = Drawn("AC", number)
    nodes = {n for edge in ends(case) for n in edge} | set(case[2])
    drawn.lines += [f"rl{drawn.node(n)} {drawn.node(n)} 0 {LEAK_OHM:g}" for n in nodes]
    drawn.lines += [f"r{number}_{i} {drawn.node(a)} {drawn.node(b)} 1" for i, (a, b) in enumerate(ends(case)) if a != b]
    for node, volts in case[2].items():
        drawn.lines.append(
            f"v{drawn.node(node)} {drawn.node(node)} 0 dc 0 ac {abs(volts):.12g} {math.degrees(cmath.phase(volts)):.9g}"
        )
    return drawn


def agree(case: Case, expected: list[complex]) -> bool:
    found = energise(motor(case[0]), case[1], case[2]).volts.values()
    return all(abs(ours - theirs) <= TOLERANCE * abs(theirs) + SMALL_V for ours, theirs in zip(found, expected, strict=True))


def test_windings_agree_with_numpy_within_a_thousandth() -> None:
    assert [case for case in CASES if not agree(case, by_numpy(case))] == []
    assert sum(abs(volts) > 1 for case in CASES for volts in by_numpy(case)) > 500


@pytest.mark.ngspice
def test_windings_agree_with_a_simulator_within_a_thousandth(tmp_path: Path) -> None:
    decks = [deck(case, number) for number, case in enumerate(CASES)]
    measured = simulated(decks, "ac lin 1 50 50", tmp_path)
    wrong = []
    for case, drawn in zip(CASES, decks, strict=True):
        expected = [measured[drawn.node(a)] - measured[drawn.node(b)] for a, b in ends(case)]
        if not agree(case, expected):
            wrong.append(case)
    assert wrong == []


@pytest.mark.parametrize(
    ("name", "volts"),
    [
        ("star", [230.9] * 3),
        ("delta", [400.0] * 3),
        ("delta with one bar missing", [400.0, 0.0, 400.0]),
        ("star with one end open", [200.0, 200.0, 0.0]),
        ("star on two phases", [200.0, 200.0, 0.0]),
        ("two speeds, slow", [200.0] * 6),
        ("two speeds, fast", [230.9] * 6),
        ("two windings, slow", [230.9] * 3 + [0.0] * 3),
    ],
)
def test_named_connections_by_hand(name: str, volts: list[float]) -> None:
    """400 V between lines: 400 / 1.732 = 230.9 V to a star point, 400 / 2 = 200 V on each of two in a row. Calculated."""
    case = CONNECTIONS[name]
    found = energise(motor(case[0]), case[1], case[2]).volts.values()
    assert [abs(v) for v in found] == pytest.approx(volts, abs=0.1)
