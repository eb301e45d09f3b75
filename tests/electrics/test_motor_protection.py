"""What overload protection is set to, where it sits: against shares of the plate's current that are worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import DELTA_BARS, ON_A_DRIVE, STAR_BARS, changed, example, number, numbers

NAME = "motor protection setting"
TOO_HIGH, TOO_LOW = "motor-protection-is-not-set-too-high", "motor-protection-is-not-set-too-low"
SET = changed(ON_A_DRIVE, ("waits}", "waits, motor_current: 3.3 A}"))


def test_the_drive_is_set_to_the_row_of_the_real_connection() -> None:
    """70 to 105 % of 3.3 A: 2.31 to 3.465 A. Calculated."""
    found = number(SET, NAME)
    assert (found.value, found.low, found.high) == pytest.approx((3.3, 2.31, 3.465))
    assert not found.too_high


def test_where_the_connection_itself_is_wrong_nothing_is_said_of_the_setting() -> None:
    found = number(changed(SET, (DELTA_BARS, STAR_BARS)), NAME)
    assert (found.low, found.high) == (None, None)


def test_what_is_not_set_is_asked_for_unless_something_else_protects_the_motor() -> None:
    (asked,) = number(ON_A_DRIVE, NAME).missing
    assert asked.field == "T1 settings.motor_current"
    assert numbers(changed(ON_A_DRIVE, ("power: 0.75 kW", "power: 0.75 kW, sensor: thermistor")), NAME) == []


def test_inside_the_delta_a_relay_sees_one_winding() -> None:
    """6.5 A / 1.732 = 3.753 A; at most 105 % of that, 3.940 A. Calculated."""
    found = number(example(TOO_HIGH, "Inside the delta"), NAME)
    assert found.high == pytest.approx(3.753 * 1.05, abs=0.001)
    assert "sits inside the delta" in found.working


def test_in_the_lines_of_the_same_starter_it_sees_all_of_it() -> None:
    found = number(example(TOO_LOW, "The relay sits in the line"), NAME)
    assert found.low == pytest.approx(6.5 * 0.7)
    assert found.too_low


def test_in_north_america_the_code_allows_more() -> None:
    """115 % of the rated current: NFPA 70, 430.32(A)(1), value from memory."""
    plan = changed(SET, ("name: Bench lathe}", "name: Bench lathe, region: NA}"))
    found = number(plan, NAME)
    assert found.high == pytest.approx(3.3 * 1.15)
    assert "value from memory" in found.source


TWO_SPEEDS = """\
wirecheck: 1
machine: {name: Milling machine with two speeds}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN}
  S1: {kind: selector, role: speed, positions: [off, slow, fast], run_positions: [slow, fast],
    contacts: {13-14: {closed_in: [slow]}, 23-24: {closed_in: [fast]}}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6], contacts: {21-22: NC}}
  Q3: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6], contacts: {21-22: NC}}
  Q4: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4]}
  F4: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC}, setting: 2.8 A}
  F5: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC}, setting: 3.4 A}
  M1: {kind: motor, windings: dahlander, poles: 4/2, frequency: 50 Hz, plate: {delta: 400 V, double-star: 400 V},
    current: {low: 2.8 A, high: 3.4 A}, power: {low: 1.1 kW, high: 1.5 kW}}
wires:
  - {number: L21, run: [G0:L1, Q2:1, Q3:1]}
  - {number: L22, run: [G0:L2, Q2:3, Q3:3]}
  - {number: L23, run: [G0:L3, Q2:5, Q3:5]}
  - {number: 31, run: [Q2:2, F4:1]}
  - {number: 32, run: [Q2:4, F4:3]}
  - {number: 33, run: [Q2:6, F4:5]}
  - {number: 41, run: [Q3:2, F5:1]}
  - {number: 42, run: [Q3:4, F5:3]}
  - {number: 43, run: [Q3:6, F5:5]}
  - {number: 1U, run: [F4:2, M1:U1, Q4:1]}
  - {number: 1V, run: [F4:4, M1:V1, Q4:2]}
  - {number: 1V, run: [Q4:2, Q4:3]}
  - {number: 1W, run: [F4:6, M1:W1, Q4:4]}
  - {number: 2U, run: [F5:2, M1:U2]}
  - {number: 2V, run: [F5:4, M1:V2]}
  - {number: 2W, run: [F5:6, M1:W2]}
  - {number: PE, run: [G0:PE, M1:PE]}
  - {number: 1, run: [G0:L1, S1:13, S1:23]}
  - {number: 2, run: [S1:14, Q3:21]}
  - {number: 3, run: [Q3:22, Q2:A1]}
  - {number: 4, run: [S1:24, Q2:21]}
  - {number: 5, run: [Q2:22, Q3:A1, Q4:A1]}
  - {number: N, run: [G0:N, Q2:A2, Q3:A2, Q4:A2]}
"""


def test_each_speed_has_a_relay_and_a_row_of_its_own() -> None:
    """In delta two half windings in a row, 200 V each; in double star 400 / 1.732 = 230.9 V each. Calculated."""
    slow, fast = numbers(TWO_SPEEDS, NAME)
    assert (slow.device, fast.device) == ("F4", "F5")
    assert (slow.high, fast.high) == pytest.approx((2.8 * 1.05, 3.4 * 1.05))
    volts = [found.value for found in numbers(TWO_SPEEDS, "winding voltage")]
    assert volts == pytest.approx([200, 230.9], abs=0.05)
    speeds = [found.value for found in numbers(TWO_SPEEDS, "motor speed")]
    assert speeds == pytest.approx([1500, 3000])  # four poles, two poles


def test_one_relay_cannot_protect_both_speeds() -> None:
    both = changed(
        TWO_SPEEDS,
        ("[G0:L1, Q2:1, Q3:1]", "[F4:2, Q2:1, Q3:1]"),
        ("[G0:L2, Q2:3, Q3:3]", "[F4:4, Q2:3, Q3:3]"),
        ("[G0:L3, Q2:5, Q3:5]", "[F4:6, Q2:5, Q3:5]"),
        ("[Q2:2, F4:1]", "[G0:L1, F4:1]"),
        ("[Q2:4, F4:3]", "[G0:L2, F4:3]"),
        ("[Q2:6, F4:5]", "[G0:L3, F4:5]"),
        ("[F4:2, M1:U1, Q4:1]", "[Q2:2, M1:U1, Q4:1]"),
        ("[F4:4, M1:V1, Q4:2]", "[Q2:4, M1:V1, Q4:2]"),
        ("[F4:6, M1:W1, Q4:4]", "[Q2:6, M1:W1, Q4:4]"),
        ("setting: 2.8 A", "setting: 3.4 A"),
    )
    slow, fast = numbers(both, NAME, "F4")
    assert slow.too_high
    assert not fast.too_high


def test_a_motor_on_the_mains_without_a_relay_has_no_overload_protection() -> None:
    rule = "motor-has-overload-protection"
    assert number(example(rule, "Only the breaker"), "motor overload protection").value == 0
    small = number(example(rule, "about the motor's own current"), "motor overload protection")
    assert (small.value, small.too_low) == (1, False)
    assert numbers(example(rule, "An overload relay"), "motor overload protection") == []
    assert numbers(ON_A_DRIVE, "motor overload protection") == []
