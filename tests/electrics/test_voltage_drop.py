"""What is lost in cables, how much a coil gets, and which sections are strong enough: figures worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, number, numbers
from tests.electrics.wired import DRILL, MILL, MILL_ON_THREE_PHASES, SANDER
from wirecheck.electrics.resistance import HOT, ohm_per_km


def test_a_drive_on_one_phase_loses_in_two_conductors() -> None:
    """3 m of 2.5 mm2: 7.98 ohm/km by 1.1965 by 0.003 is 28.65 mohm; 5.4 A, twice: 0.3094 V, 0.1345 % of 230 V. Calculated."""
    found = number(DRILL, "voltage drop", "T1")
    assert found.value == pytest.approx(0.1345, abs=0.0002)
    assert found.high == 5


def test_a_motor_on_three_phases_loses_root_three_times_one_line() -> None:
    """1.7 A through 3 m of 1.5 mm2 (47.74 mohm) and 1.8575 A through 10 m of 2.5 mm2 (95.48 mohm): 0.2585 V. Calculated."""
    found = number(SANDER, "voltage drop", "M1")
    line = 1.7 * 0.04774 + (1.7 + 63 / 400) * 0.09548
    assert found.value == pytest.approx(1.7321 * line / 400 * 100, rel=1e-3)


def test_between_a_line_and_n_the_loss_is_a_share_of_the_voltage_of_a_phase() -> None:
    one, three = (number(plan, "voltage drop", "M2") for plan in (MILL, MILL_ON_THREE_PHASES))
    assert one.value is not None
    assert three.value == pytest.approx(one.value, rel=0.01)
    assert " of 231 V" in three.working


def test_a_coil_between_a_line_and_n_is_looked_at() -> None:
    """90 % of 230.94 V are 207.8 V."""
    plan = changed(
        MILL_ON_THREE_PHASES,
        ("coil: 24 V DC, coil_power: 5 W", "coil: 230 V AC, coil_power: 5 W"),
        ('["G1:+", F2:1]', "[F1:2, F2:1]"),
        ('["G1:-", Q2:A2]', "[Q1:4, Q2:A2]"),
    )
    found = number(plan, "coil voltage at the lowest supply", "Q2")
    assert found.value == pytest.approx(207.8, abs=0.2)


def test_what_a_24_volt_coil_gets_at_the_end_of_its_wires() -> None:
    """The d.c. supply keeps 24 V; 0.2083 A through two cores of 4 m of 0.75 mm2 (124.4 mohm each) lose 0.0519 V. Calculated."""
    found = number(MILL, "coil voltage at the lowest supply")
    assert found.value == pytest.approx(24 - 2 * 0.12444 * 5 / 24, abs=0.001)
    assert found.low == pytest.approx(20.4)


def test_a_transformer_falls_with_the_mains() -> None:
    """90 % of 24 V are 21.6 V; 0.25 A through two cores of 3 m of 0.75 mm2 (93.33 mohm each) lose 0.0467 V. Calculated."""
    found = number(SANDER, "coil voltage at the lowest supply")
    assert found.value == pytest.approx(21.6 - 2 * 0.09333 * 0.25, abs=0.001)


def test_without_a_length_there_is_nothing_to_say() -> None:
    plan = changed(DRILL, (", length: 3 m", ""), (", length: 2 m", ""))
    assert numbers(plan, "voltage drop") == []


def test_without_a_current_the_drop_is_not_known() -> None:
    plan = changed(
        DRILL, (", voltage: 200-240 V, current: 5.4 A", ", voltage: 200-240 V"), (", current: 2.4 A, power: 0.37 kW}", "}")
    )
    found = number(plan, "voltage drop", "T1")
    assert found.value is None
    assert [m.field for m in found.missing] == ["T1 input.current"]


def test_resistance_of_a_size_between_and_beyond_the_table() -> None:
    assert ohm_per_km(1.5) == 13.3
    assert ohm_per_km(2.08) == 13.3  # 14 AWG: the next smaller size
    assert ohm_per_km(32) == pytest.approx(0.605)
    assert ohm_per_km(0.25) == pytest.approx(78)
    assert pytest.approx(1.1965) == HOT


@pytest.mark.parametrize(
    ("old", "new", "size", "low"),
    [
        ("run: [T1:P24, S1:13, S1:23], size: 0.75 mm2", "run: [T1:P24, S1:13, S1:23], size: 0.14 mm2", 0.14, 0.2),
        ("run: [F1:2, T1:L], size: 1.5 mm2", "run: [F1:2, T1:L], size: 0.5 mm2", 0.5, 0.75),
        ("run: [T1:U, M1:U1], size: 1.5 mm2, cable: W1", "run: [T1:U, M1:U1], size: 0.75 mm2", 0.75, 1.0),
    ],
    ids=["control inside", "power inside", "single core outside"],
)
def test_the_smallest_section(old: str, new: str, size: float, low: float) -> None:
    (found,) = [n for n in numbers(changed(DRILL, (old, new)), "conductor section") if n.too_low]
    assert (found.value, found.low) == (size, low)


def test_the_smallest_american_sizes() -> None:
    """18 AWG in a power circuit, where 16 AWG is the least. NFPA 79, 12.6, value from memory."""
    plan = changed(
        DRILL,
        ("machine: {name: Pillar drill}", "machine: {name: Pillar drill, region: NA}"),
        ("run: [F1:2, T1:L], size: 1.5 mm2", "run: [F1:2, T1:L], size: 18 AWG"),
    )
    found = [n for n in numbers(plan, "conductor section") if "L3" in n.wires]
    assert any(n.too_low and "16 AWG" in n.working for n in found)
