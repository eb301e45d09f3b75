"""Three-phase arithmetic against books, through the program's own phasors.

LIEC II: T. R. Kuphaldt, Lessons In Electric Circuits, volume II (AC), chapter 10.
"""

from __future__ import annotations

import cmath

import pytest

from wirecheck.circuit.sources import phasor
from wirecheck.circuit.windings import energise, solve
from wirecheck.findings import Spot
from wirecheck.plan.model import Device

MOTOR = Device("M1", "motor", Spot("book", 1, 1), marks=("U1", "V1", "W1", "U2", "V2", "W2"))
STAR = {"U1": 1, "V1": 2, "W1": 3, "U2": 4, "V2": 4, "W2": 4}
DELTA = {"U1": 1, "V1": 2, "W1": 3, "U2": 2, "V2": 3, "W2": 1}
LOAD_OHM = 1.44


def lines(phase_v: float) -> dict[int, complex]:
    """Nodes 1, 2, 3 at the lines of a star source."""
    return {k + 1: phasor(phase_v, -120.0 * k) for k in range(3)}


def windings(joins: dict[str, int], line_v: float) -> list[float]:
    """The voltages over a motor's windings."""
    return [abs(v) for v in energise(MOTOR, joins, lines(line_v / 3**0.5)).volts.values()]


def test_star_source_and_star_load() -> None:
    """120 V a phase, 1.44 ohm: line 207.8 V, 83.33 A a line, 10 kW a load, neutral 0 A. Source: LIEC II ch. 10."""
    node = solve(lines(120), [(1, 4), (2, 4), (3, 4)])
    currents = [(node[k] - node[4]) / LOAD_OHM for k in (1, 2, 3)]
    assert abs(node[1] - node[2]) == pytest.approx(207.8, abs=0.1)
    assert [abs(i) for i in currents] == pytest.approx([83.33] * 3, abs=0.01)
    assert sum(abs(i) ** 2 * LOAD_OHM for i in currents) == pytest.approx(30_000, rel=1e-3)
    assert abs(sum(currents)) == pytest.approx(0, abs=1e-9)


def test_two_sources_with_a_common_return() -> None:
    """Two of 120 V, 120 degrees apart, 1.44 ohm each: 207.8 V between hots, return 83.33 A. Source: LIEC II ch. 10."""
    fixed = {1: phasor(120, 0), 2: phasor(120, -120), 9: 0j}
    node = solve(fixed, [(1, 9), (2, 9)])
    assert abs(node[1] - node[2]) == pytest.approx(207.8, abs=0.1)
    assert abs(node[1] + node[2] - 2 * node[9]) / LOAD_OHM == pytest.approx(83.33, abs=0.01)


def test_delta_source_and_delta_load() -> None:
    """120 V, 1.44 ohm a leg: 83.33 A a phase, 144.34 A a line. Source: LIEC II ch. 10."""
    legs = energise(MOTOR, DELTA, lines(120 / 3**0.5)).volts
    phase = [v / LOAD_OHM for v in legs.values()]
    assert [abs(i) for i in phase] == pytest.approx([83.33] * 3, abs=0.01)
    assert abs(phase[0] - phase[2]) == pytest.approx(144.34, abs=0.01)


def test_delta_source_with_one_winding_open() -> None:
    """All legs of a delta load still have 120 V. Source: LIEC II ch. 10, figure."""
    first, second = phasor(120, 0), phasor(120, -120)  # two windings in a row; the third is gone
    legs = energise(MOTOR, DELTA, {1: 0j, 2: first, 3: first + second}).volts
    assert [abs(v) for v in legs.values()] == pytest.approx([120] * 3)


def test_star_and_delta_of_ten_ohms_on_400_volts() -> None:
    """Star 230.9 V, 23.09 A, 16 kW; delta 40 A, 69.28 A, 48 kW.

    Source: T. Linsley, Basic Electrical Installation Work, polyphase example 1; the delta figures: calculated.
    """
    star, delta = windings(STAR, 400), windings(DELTA, 400)
    assert star == pytest.approx([230.9] * 3, abs=0.1)
    assert star[0] / 10 == pytest.approx(23.09, abs=0.01)
    assert sum(v * v / 10 for v in star) == pytest.approx(16_000)
    assert delta[0] / 10 == pytest.approx(40)
    assert delta[0] / 10 * 3**0.5 == pytest.approx(69.28, abs=0.01)
    assert sum(v * v / 10 for v in delta) == pytest.approx(48_000)


def test_motor_left_in_star_on_230_volts() -> None:
    """A 230/400 V motor has 132.8 V a winding, and with it a third of the torque.

    Calculated; that torque falls to a third: LIEC and common practice.
    """
    star = windings(STAR, 230)
    assert star == pytest.approx([132.8] * 3, abs=0.1)
    assert (star[0] / 230) ** 2 == pytest.approx(1 / 3)


def test_400_690_motor_in_delta_on_230_volts() -> None:
    """57.5 % of rated voltage a winding. Calculated."""
    assert windings(DELTA, 230)[0] / 400 == pytest.approx(0.575)


@pytest.mark.parametrize(("joins", "word"), [(STAR, "star"), (DELTA, "delta")])
def test_links_of_the_terminal_box(joins: dict[str, int], word: str) -> None:
    """Delta U1-W2, V1-U2, W1-V2; star U2-V2-W2; phase order U V W turns forward. Source: IEC 60034-8."""
    found = energise(MOTOR, joins, lines(230))
    assert (found.connection, found.right, found.direction) == (word, True, "forward")
    swapped = energise(MOTOR, joins, {1: lines(230)[2], 2: lines(230)[1], 3: lines(230)[3]})
    assert swapped.direction == "reverse"


def test_phasor_is_in_degrees() -> None:
    assert phasor(230, -120) == pytest.approx(cmath.rect(230, -2 * cmath.pi / 3))
