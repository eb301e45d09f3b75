"""Motors on mains and drives against books, standards and common practice, through whole plans.

LIEC II: T. R. Kuphaldt, Lessons In Electric Circuits, volume II (AC). DOE: US DOE-HDBK-1011/3-92, Electrical Science, volume 3.
"""

from __future__ import annotations

import pytest

from tests.electrics.plans import DELTA_BARS, ON_A_DRIVE, STAR_BARS, changed, number
from tests.published.test_three_phase import DELTA, MOTOR, STAR, lines
from wirecheck.circuit.windings import energise
from wirecheck.electrics.tables import table


def at(poles: int, hertz: int) -> str:
    return changed(ON_A_DRIVE, ("poles: 4", f"poles: {poles}"), ("waits}", f"waits, max_frequency: {hertz} Hz}}"))


@pytest.mark.parametrize(("poles", "hertz", "rpm"), [(4, 50, 1500), (4, 60, 1800), (2, 60, 3600), (10, 50, 600)])
def test_speed_without_load(poles: int, hertz: int, rpm: float) -> None:
    """Source: LIEC II ch. 13."""
    assert number(at(poles, hertz), "motor speed").value == pytest.approx(rpm)


def test_line_current_and_power_of_a_delta() -> None:
    """440 V, 200 A a phase, power factor 0.6: 346 A, 158.4 kW, 264 kVA. Source: DOE ES-09 example 1; it rounds, so 0.5 %."""
    legs = [volts * 200 / 440 for volts in energise(MOTOR, DELTA, lines(440 / 3**0.5)).volts.values()]
    line = abs(legs[0] - legs[2])
    assert line == pytest.approx(346, rel=5e-3)
    assert sum(abs(amps) * 440 for amps in legs) == pytest.approx(264_000, rel=5e-3)
    assert 3**0.5 * 440 * line * 0.6 == pytest.approx(158_400, rel=5e-3)


def test_line_voltage_and_power_of_a_star() -> None:
    """240 V a phase, 100 A, power factor 0.9: 415.7 V, 64.8 kW, 72 kVA. Source: DOE ES-09 example 2; it rounds, so 0.5 %."""
    phases = [abs(volts) for volts in energise(MOTOR, STAR, lines(240)).volts.values()]
    assert phases == pytest.approx([240] * 3)
    assert abs(lines(240)[1] - lines(240)[2]) == pytest.approx(415.7, rel=5e-3)
    assert sum(volts * 100 for volts in phases) == pytest.approx(72_000, rel=5e-3)
    assert sum(volts * 100 * 0.9 for volts in phases) == pytest.approx(64_800, rel=5e-3)


def test_star_on_230_volts_keeps_its_flux_to_a_third_of_its_torque_at_rated_speed() -> None:
    """132.8 V a winding, torque one third, full flux to 28.9 Hz (the plate 1.732 apart). Calculated; torque: LIEC."""
    plan = changed(ON_A_DRIVE, (DELTA_BARS, STAR_BARS), ("star: 400 V", "star: 398.4 V"))
    assert number(plan, "winding voltage").value == pytest.approx(132.8, abs=0.05)
    assert number(plan, "motor torque").value == pytest.approx(100 / 3, abs=0.02)
    assert number(plan, "full-torque frequency").value == pytest.approx(28.9, abs=0.05)


def test_400_690_motor_in_delta_on_a_230_volt_drive() -> None:
    """57.5 % of the voltage, full flux to 28.8 Hz. Calculated."""
    plan = changed(ON_A_DRIVE, ("{delta: 230 V, star: 400 V}", "{delta: 400 V, star: 690 V}"))
    assert number(plan, "winding voltage").value == pytest.approx(0.575 * 400)
    assert number(plan, "full-torque frequency").value == pytest.approx(28.8, abs=0.05)


def test_delta_at_400_volts_has_its_base_point_at_86_6_hertz() -> None:
    """Power times 1.732, delta current unchanged. Common practice, no source; calculated."""
    plan = changed(
        ON_A_DRIVE,
        ("{delta: 230 V, star: 400 V}", "{delta: 230.94 V, star: 400 V}"),
        ("terminals: [U, V, W], voltage: 230 V", "terminals: [U, V, W], voltage: 400 V"),
        ("waits}", "waits, base_frequency: 86.6 Hz, base_voltage: 400 V}"),
    )
    full = number(plan, "full-torque frequency")
    assert full.value == pytest.approx(86.6, abs=0.01)
    assert "1.73 times the power of its plate" in full.working
    assert number(plan, "motor current").value == pytest.approx(3.3)


def test_highest_speeds_of_small_motors() -> None:
    """5200, 3600, 2400 rpm for 2, 4, 6 poles up to shaft height 112. Source: IEC 60034-1, value from memory."""
    assert [row["most_rpm"] for row in table("motor-maximum-speed").rows] == [5200, 3600, 2400]
    assert table("motor-maximum-speed").memory


def test_which_motors_must_have_overload_protection() -> None:
    """Above 0.5 kW. Source: IEC 60204-1:2016, 7.3.1, value from memory. A breaker of 130 %: common practice, no source."""
    (row,) = table("motor-overload-duty").rows
    assert (row["above_w"], row["breaker_percent"]) == (500, 130)


def test_settings_of_overload_protection() -> None:
    """At most the rated current, with 5 % for rounding: common practice, no source. NFPA 70, 430.32: 115 %, value from memory."""
    assert table("motor-protection").rows[0]["most_percent"] == 105
    assert table("motor-protection-na").rows[0]["most_percent"] == 115
    assert table("motor-protection-na").memory


@pytest.mark.parametrize(
    ("limit", "value"),
    [
        ("lowest lasting speed with a fan on the shaft", 50),
        ("run-down behind a guard that is not locked", 3),
        ("ramp without a braking resistor by the run-down time", 20),
        ("run-down after an emergency stop by the ramp of the ordinary stop", 200),
    ],
)
def test_single_limits(limit: str, value: float) -> None:
    """Half of rated speed: drive handbooks. The others: common practice, no source."""
    row = table("motor-and-machine-limits").row(limit=limit)
    assert row is not None
    assert row["value"] == value
