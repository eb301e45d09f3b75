"""Drive and motor: supply, output, settings, speeds, braking and stopping, against figures worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import DELTA_BARS, ON_A_DRIVE, STAR_BARS, changed, example, number, numbers


def with_settings(plan: str, words: str) -> str:
    return changed(plan, ("waits}", f"waits, {words}}}"))


def with_spindle(plan: str, words: str) -> str:
    return changed(plan, ("name: Bench lathe}", f"name: Bench lathe, {words}}}"))


def test_output_current_is_held_against_the_real_connection() -> None:
    plan = changed(ON_A_DRIVE, ("[U, V, W], voltage: 230 V}", "[U, V, W], voltage: 230 V, current: 2.4 A}"))
    delta, star = number(plan, "drive output current"), number(changed(plan, (DELTA_BARS, STAR_BARS)), "drive output current")
    assert (delta.value, delta.high, delta.too_high) == (3.3, 2.4, True)
    assert (star.value, star.too_high) == (1.9, False)


def test_power_counts_only_where_a_current_is_not_known() -> None:
    plan = changed(ON_A_DRIVE, ("[U, V, W], voltage: 230 V}", "[U, V, W], voltage: 230 V, power: 0.55 kW}"))
    assert [m.field for m in number(plan, "drive output current").missing] == ["T1 output.current"]
    assert number(plan, "drive output power").too_high
    known = changed(plan, ("power: 0.55 kW}", "power: 0.55 kW, current: 4.2 A}"))
    assert numbers(known, "drive output power") == []


def test_motors_that_run_together_are_added() -> None:
    plan = example("drive-can-carry-its-motor", "Two motors run together")
    assert number(plan, "drive output current").value == pytest.approx(3.3 + 1.9)


def test_spindle_speed_without_load_in_the_fastest_step() -> None:
    """120 times 100 Hz by 4 poles is 3000 rpm, times 1.3 is 3900 rpm; 2500 rpm are reached at 64 Hz. Calculated."""
    plan = with_settings(
        with_spindle(ON_A_DRIVE, "spindle: {ratios: [0.5, 1.3], speed_limit: 2500 rpm}"), "max_frequency: 100 Hz"
    )
    found = number(plan, "spindle speed")
    assert found.value == pytest.approx(3900)
    assert found.too_high
    assert "at most 64 Hz" in found.advice
    assert found.at.line == 2


def test_poles_follow_from_the_speed_of_the_plate() -> None:
    """1390 rpm at 50 Hz: the next speed without load is 1500 rpm, four poles. Calculated."""
    plan = with_settings(changed(ON_A_DRIVE, ("poles: 4, frequency", "frequency")), "max_frequency: 60 Hz")
    assert number(plan, "motor speed").value == pytest.approx(1800)


def test_what_decides_about_the_spindle_is_asked_for() -> None:
    plan = with_spindle(ON_A_DRIVE, "spindle: {ratios: [1.3]}")
    assert {m.field for m in number(plan, "spindle speed").missing} == {
        "T1 settings.max_frequency",
        "machine spindle.speed_limit",
    }
    assert numbers(ON_A_DRIVE, "spindle speed") == []


def test_the_makers_own_limit_of_a_motor_comes_before_the_usual_one() -> None:
    """Four poles: 3600 rpm. Source: IEC 60034-1, value from memory."""
    plan = with_settings(ON_A_DRIVE, "max_frequency: 130 Hz")
    found = number(plan, "motor speed")
    assert (found.value, found.high) == pytest.approx((3900, 3600))
    assert "value from memory" in found.source
    stated = number(changed(plan, ("poles: 4, frequency", "poles: 4, max_speed: 4500 rpm, frequency")), "motor speed")
    assert stated.high == 4500


def test_a_shaft_fan_hardly_cools_below_half_speed() -> None:
    """Half of 50 Hz. Source: drive handbooks, common practice."""
    plan = with_settings(changed(ON_A_DRIVE, ("poles: 4", "cooling: shaft-fan, poles: 4")), "min_frequency: 20 Hz")
    assert number(plan, "lowest frequency").low == pytest.approx(25)
    sensed = changed(plan, ("cooling: shaft-fan", "cooling: shaft-fan, sensor: thermistor"))
    assert number(sensed, "lowest frequency").low is None
    assert numbers(changed(plan, ("cooling: shaft-fan", "cooling: separate-fan")), "lowest frequency") == []


@pytest.mark.parametrize(
    ("words", "ohm"), [("120 ohm where", 120.0), ("Two of 120 ohm in parallel", 60.0), ("Two of 60 ohm in a row", 120.0)]
)
def test_braking_resistors_count_as_what_they_make_together(words: str, ohm: float) -> None:
    """In parallel 120 times 120 by 240 is 60 ohm, in a row 60 and 60 are 120 ohm. Calculated."""
    found = number(example("braking-resistance-is-large-enough", words), "braking resistance")
    assert found.value == pytest.approx(ohm)
    assert found.too_low is (ohm < 100)


def test_a_resistor_of_unknown_size_is_asked_for() -> None:
    plan = changed(example("braking-resistance-is-large-enough", "120 ohm where"), ("resistance: 120 ohm, ", ""))
    assert [m.field for m in number(plan, "braking resistance").missing] == ["R1 resistance"]


def test_supply_voltage_and_lines_of_a_drive() -> None:
    """Between two lines 400 V, from one of them to neutral 400 / 1.732 = 230.9 V. Calculated."""
    wrong = number(example("drive-gets-no-more-than-its-supply-voltage", "between two lines"), "drive supply voltage")
    assert (wrong.value, wrong.high) == pytest.approx((400, 264))
    right = number(example("drive-gets-no-more-than-its-supply-voltage", "line and neutral"), "drive supply voltage")
    assert right.value == pytest.approx(230.9, abs=0.05)
    assert number(example("drive-gets-all-its-lines", "three phases on one phase"), "drive supply lines").value == 2


def test_what_stays_in_the_capacitors() -> None:
    """230 V times 1.414: 325 V; at 253 V mains 358 V. Source: calculated; seen in manuals."""
    found = number(ON_A_DRIVE, "voltage left in the drive")
    assert found.value == pytest.approx(325, abs=0.5)
    assert "358 V" in found.working


def test_a_delayed_torque_off_is_held_against_the_ramp() -> None:
    found = number(example("torque-off-waits-for-the-ramp", "1 s of a ramp of 3 s"), "torque-off delay")
    assert (found.value, found.low) == (1, 3)
    assert found.events()


def test_a_delay_of_the_wrong_kind_waits_for_nothing() -> None:
    """Set to wait when it pulls in, it drops out at once: the second stage of the stop comes with the first."""
    mode = ("mode: off-delay, delay: 1 s", "mode: on-delay, delay: 9 s")
    both = ("run: [T1:P24, K1:13]", "run: [T1:P24, S2:21]"), ("run: [K1:14, S3:11]", "run: [S2:22, S3:11]")
    contacts = ("latching: true, contacts: {11-12: NC}", "latching: true, contacts: {11-12: NC, 21-22: NC}")
    plan = changed(example("torque-off-waits-for-the-ramp", "1 s of a ramp of 3 s"), mode, contacts, *both)
    found = number(plan, "torque-off delay")
    assert (found.value, found.low) == (0, 3)
    assert "off-delay" in found.advice
    assert found.events()


def test_a_delay_that_alone_takes_the_torque_is_no_second_stage() -> None:
    mode = ("mode: off-delay, delay: 1 s", "mode: on-delay, delay: 9 s")
    alone = ("run: [T1:P24, K1:13]", "run: [T1:P24, S3:11]"), ("  - {number: 7, run: [K1:14, S3:11]}\n", "")
    plan = changed(example("torque-off-waits-for-the-ramp", "1 s of a ramp of 3 s"), mode, *alone)
    assert numbers(plan, "torque-off delay") == []


def test_behind_a_guard_counts_how_the_motor_really_stops() -> None:
    guarded = example("guard-keeps-hands-out-until-standstill", "runs down for 9 s")
    assert number(guarded, "run-down behind a guard").value == 9
    ramped = changed(
        guarded,
        ("inputs: {DI1: run-forward, DI2: run-reverse}", "inputs: {DI1: run-forward, DI2: run-reverse, DI3: run-permit}"),
        ("[S2:12, T1:STO1, T1:STO2]", "[S2:12, T1:DI3]"),
        ("[T1:COM, T1:STOC]", "[T1:COM, T1:STOC]}\n  - {number: 6, run: [T1:P24, T1:STO1, T1:STO2]"),
        ("after_trip_reset_with_run: waits,", "after_trip_reset_with_run: waits, stop: {mode: ramp, time: 2 s},"),
    )
    assert number(ramped, "run-down behind a guard").value == 2


def test_where_the_run_down_time_is_not_stated_it_is_asked_for() -> None:
    plan = example("guard-keeps-hands-out-until-standstill", "asked for")
    (asked,) = number(plan, "run-down behind a guard").missing
    assert asked.field == "machine run_down_time"


def test_an_emergency_stop_that_lets_it_run_down_is_held_against_the_ramp() -> None:
    """Twice the ramp of 2 s. Calculated."""
    rule = "emergency-stop-is-no-slower-than-the-everyday-stop"
    found = number(example(rule, "The lever stops within 2 s"), "run-down after an emergency stop")
    assert (found.value, found.high, found.too_high) == (20, 4, True)
    assert numbers(example(rule, "Two stages"), "run-down after an emergency stop") == []


def test_an_input_current_that_is_not_stated_is_estimated_and_said_to_be_so() -> None:
    """3.1 VA for each of 1500 W, by 230 V: 20.2 A. Calculated; the share: several manuals, common practice."""
    rule = "estimated-load-fits"
    found = number(example(rule, "not stated"), "load by estimate")
    assert found.value == pytest.approx(20.2, abs=0.05)
    assert found.high == 13
    assert any("estimated" in words for words in found.uncertain)
    assert numbers(example(rule, "any estimate"), "load by estimate") == []
