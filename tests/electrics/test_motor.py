"""What a motor gets and takes in its real connection, against figures worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import DELTA_BARS, ON_A_DRIVE, STAR_BARS, changed, example, number, numbers

IN_STAR = changed(ON_A_DRIVE, (DELTA_BARS, STAR_BARS))
ON_400_V = changed(
    ON_A_DRIVE,
    ("phases: 1, voltage: 230 V, frequency", "phases: 3, voltage: 400 V, frequency"),
    ("poles: [1-2, 3-4]", "poles: [1-2, 3-4, 5-6]"),
    ("terminals: [L, N], phases: 1, voltage: 200-240 V", "terminals: [L1, L2, L3], phases: 3, voltage: 380-480 V"),
    ("terminals: [U, V, W], voltage: 230 V", "terminals: [U, V, W], voltage: 400 V"),
    ("run: [G0:L, Q1:1]", "run: [G0:L1, Q1:1]"),
    ("run: [G0:N, Q1:3]", "run: [G0:L2, Q1:3]"),
    ("run: [Q1:2, T1:L]", "run: [Q1:2, T1:L1]"),
    ("run: [Q1:4, T1:N]", "run: [Q1:4, T1:L2]"),
    ("  - {number: PE", "  - {number: L3, run: [G0:L3, Q1:5]}\n  - {number: L4, run: [Q1:6, T1:L3]}\n  - {number: PE"),
)


def with_base(plan: str, volts: str, hertz: str) -> str:
    return changed(plan, ("waits}", f"waits, base_voltage: {volts}, base_frequency: {hertz}}}"))


def test_delta_on_its_own_voltage() -> None:
    found = number(ON_A_DRIVE, "winding voltage")
    assert (found.value, found.low, found.high) == pytest.approx((230, 207, 253))
    assert number(ON_A_DRIVE, "motor current").value == pytest.approx(3.3)
    assert number(ON_A_DRIVE, "motor torque").value == pytest.approx(100)
    assert number(ON_A_DRIVE, "full-torque frequency").value == pytest.approx(50)


def test_left_in_star_a_winding_gets_too_little_and_torque_is_a_third() -> None:
    """230 / 1.732 = 132.8 V; (230 / 400) squared = 33 %; 50 Hz times 230 / 400 = 28.75 Hz. Calculated."""
    found = number(IN_STAR, "winding voltage")
    assert found.value == pytest.approx(132.8, abs=0.05)
    assert found.too_low
    assert "Connect the motor in delta" in found.advice
    torque = number(IN_STAR, "motor torque")
    assert torque.value == pytest.approx(33.06, abs=0.01)
    assert "a third of its torque" in torque.working
    assert number(IN_STAR, "full-torque frequency").value == pytest.approx(28.75)
    assert number(IN_STAR, "motor current").value == pytest.approx(1.9)


def test_a_base_point_that_fits_the_star_is_no_wrong_voltage() -> None:
    """At 28.75 Hz the plate's 400 V at 50 Hz come to 230 V between the lines. Calculated."""
    found = number(with_base(IN_STAR, "230 V", "28.75 Hz"), "winding voltage")
    assert found.value == pytest.approx(132.8, abs=0.05)
    assert not found.too_low


def test_delta_at_87_hertz_keeps_current_and_gains_power() -> None:
    """400 V at 87 Hz is 229.9 V at 50 Hz; 50 times 400 / 230 = 86.96 Hz; 1.74 times the power. Calculated."""
    plan = with_base(ON_400_V, "400 V", "87 Hz")
    found = number(plan, "winding voltage")
    assert found.value == pytest.approx(229.9, abs=0.05)
    assert not found.too_low
    assert not found.too_high
    assert number(plan, "motor current").value == pytest.approx(3.3)
    full = number(plan, "full-torque frequency")
    assert full.value == pytest.approx(86.96, abs=0.01)
    assert "1.74 times the power of its plate" in full.working


def test_delta_on_400_volts_at_50_hertz_is_too_much_and_names_both_ways_out() -> None:
    found = number(with_base(ON_400_V, "400 V", "50 Hz"), "winding voltage")
    assert found.value == pytest.approx(400)
    assert found.too_high
    assert "in star" in found.advice
    assert "base_frequency of T1 to 87 Hz" in found.advice
    assert "burns" in found.effect


def test_a_drive_cannot_give_more_than_it_is_made_for() -> None:
    found = number(with_base(IN_STAR, "400 V", "50 Hz"), "winding voltage")
    assert found.value == pytest.approx(132.8, abs=0.05)


def test_the_missing_row_follows_from_the_other_one() -> None:
    """A plate with star figures alone: 400 / 1.732 = 230.9 V, 1.9 times 1.732 = 3.29 A in delta. Calculated."""
    plan = changed(ON_A_DRIVE, ("{delta: 230 V, star: 400 V}", "{star: 400 V}"), ("{delta: 3.3 A, star: 1.9 A}", "{star: 1.9 A}"))
    assert number(plan, "winding voltage").high == pytest.approx(230.94 * 1.1, abs=0.05)
    assert number(plan, "motor current").value == pytest.approx(3.291, abs=0.001)


def test_without_a_plate_it_asks() -> None:
    plan = changed(ON_A_DRIVE, ("plate: {delta: 230 V, star: 400 V}", "cooling: shaft-fan"))
    found = number(plan, "winding voltage")
    assert [missing.field for missing in found.missing] == ["M1 plate.delta"]
    assert not found.too_low


def test_a_wrong_connection_shows_each_winding_without_a_verdict() -> None:
    found = number(changed(ON_A_DRIVE, (DELTA_BARS, "links: [[U1, W2], [V1, U2]]")), "winding voltage")
    assert (found.low, found.high) == (None, None)
    assert "V1-V2 0 V" in found.working


def test_star_and_delta_of_a_starter_are_both_shown_and_the_star_is_passed() -> None:
    """400 / 1.732 = 230.9 V in star, 400 V in delta, of a 400/690 V motor. Calculated."""
    plan = example("motor-voltage-fits-its-connection", "Star, then delta")
    star, delta = numbers(plan, "winding voltage")
    assert (star.value, delta.value) == pytest.approx((230.9, 400), abs=0.05)
    assert star.low is None
    assert "a third of current and torque" in star.working
    assert (delta.low, delta.high) == pytest.approx((360, 440))


@pytest.mark.parametrize(
    ("delta", "star", "right"), [("3.3 A", "1.9 A", True), ("1.9 A", "3.3 A", False), ("4.5 A", "4.5 A", False)]
)
def test_the_two_currents_of_a_plate_are_held_against_each_other(delta: str, star: str, right: bool) -> None:
    plan = changed(ON_A_DRIVE, ("{delta: 3.3 A, star: 1.9 A}", f"{{delta: {delta}, star: {star}}}"))
    found = number(plan, "ratio of plate currents")
    assert (not found.too_low and not found.too_high) is right
