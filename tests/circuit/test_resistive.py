"""The resistive solution against circuits worked by hand: Ohm's and Kirchhoff's laws, and what follows from them."""

from __future__ import annotations

import math

import pytest

from tests.circuit.networks import plan_text, solved, volts
from wirecheck.circuit.impedances import impedances_of
from wirecheck.circuit.resistive import eliminate
from wirecheck.plan import read_plan_text

G1 = "G1: {kind: dc-supply, voltage: 24 V DC}"
G0 = "G0: {kind: mains, phases: 1, voltage: 230 V, frequency: 50 Hz, earthing: TN}"
G3 = "G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN}"


def resistor(name: str, ohm: float) -> str:
    return f"{name}: {{kind: resistor, resistance: {ohm:g} ohm}}"


def relay(name: str, watts: float, rated: str = "24 V DC") -> str:
    return f"{name}: {{kind: relay, coil: {rated}, coil_power: {watts:g} W, contacts: {{13-14: NO}}}}"


def lamp(name: str, watts: float, rated: str = "24 V DC") -> str:
    return f"{name}: {{kind: lamp, voltage: {rated}, power: {watts:g} W}}"


def test_two_resistors_divide() -> None:
    found = solved([G1, resistor("R1", 100), resistor("R2", 300)], ["G1:+ R1:1", "R1:2 R2:1", "R2:2 G1:-"])
    assert volts(found, "R1:1", "R1:2") == pytest.approx(6)
    assert volts(found, "R2:1", "R2:2") == pytest.approx(18)
    assert found.shorts == ()


def test_a_coil_through_a_lamp_gets_what_the_powers_say() -> None:
    # 24 V, 1 W: 576 ohm; 24 V, 2 W: 288 ohm. The coil gets two thirds.
    found = solved([G1, relay("K1", 1), lamp("P1", 2)], ["G1:+ P1:X1", "P1:X2 K1:A1", "K1:A2 G1:-"])
    assert volts(found, "K1:A1", "K1:A2") == pytest.approx(16)
    assert volts(found, "P1:X1", "P1:X2") == pytest.approx(8)


def test_coils_in_series_share_by_their_powers() -> None:
    found = solved([G1, relay("K1", 1), relay("K2", 2)], ["G1:+ K1:A1", "K1:A2 K2:A1", "K2:A2 G1:-"])
    assert volts(found, "K1:A1", "K1:A2") == pytest.approx(16)


def test_a_lost_common_puts_two_loads_in_series() -> None:
    # P1 at plus and P2 at minus, their commons joined and wired nowhere else: 288 and 144 ohm.
    found = solved([G1, lamp("P1", 2), lamp("P2", 4)], ["G1:+ P1:X1", "P1:X2 P2:X2", "P2:X1 G1:-"])
    assert volts(found, "P1:X1", "P1:X2") == pytest.approx(16)
    assert volts(found, "P2:X1", "P2:X2") == pytest.approx(8)


def test_two_supplies_meet_through_loads() -> None:
    # Millman: node voltage = (24/100 + 12/200) / (1/100 + 1/200 + 1/300).
    devices = [G1, "G2: {kind: dc-supply, voltage: 12 V DC}", resistor("R1", 100), resistor("R2", 200), resistor("R3", 300)]
    found = solved(devices, ["G1:+ R1:1", "G2:+ R2:1", "R1:2 R2:2 R3:1", "R3:2 G1:- G2:-"])
    assert volts(found, "R3:1", "R3:2") == pytest.approx((24 / 100 + 12 / 200) / (1 / 100 + 1 / 200 + 1 / 300))


def test_supplies_stacked_in_series_add() -> None:
    found = solved([G1, "G2: {kind: dc-supply, voltage: 12 V DC}", resistor("R1", 100)], ["G1:+ R1:1", "G1:- G2:+", "R1:2 G2:-"])
    assert volts(found, "R1:1", "R1:2") == pytest.approx(36)


def test_two_supplies_without_a_common_drive_nothing() -> None:
    found = solved([G1, "G2: {kind: dc-supply, voltage: 12 V DC}", resistor("R1", 100)], ["G1:+ R1:1", "R1:2 G2:+"])
    assert volts(found, "R1:1", "R1:2") == pytest.approx(0)


def test_an_unequal_bridge() -> None:
    # 100/200 beside 200/100 with 100 in the bridge; solved by hand: nodes at 24 x 4/7 and 24 x 3/7.
    parts = [resistor("R1", 100), resistor("R2", 200), resistor("R3", 200), resistor("R4", 100), resistor("R5", 100)]
    runs = ["G1:+ R1:1 R3:1", "R1:2 R2:1 R5:1", "R3:2 R4:1 R5:2", "R2:2 R4:2 G1:-"]
    assert volts(solved([G1, *parts], runs), "R5:1", "R5:2") == pytest.approx(24 / 7)


def test_a_capacitor_takes_alternating_current_and_no_direct_current() -> None:
    ohm = 1 / (2 * math.pi * 50 * 1e-6)
    parts = [resistor("R1", 1000), "C1: {kind: capacitor, capacitance: 1 uF}"]
    found = solved([G0, *parts], ["G0:L R1:1", "R1:2 C1:1", "C1:2 G0:N"])
    assert volts(found, "R1:1", "R1:2") == pytest.approx(230 * 1000 / math.hypot(1000, ohm))
    assert volts(found, "C1:1", "C1:2") == pytest.approx(230 * ohm / math.hypot(1000, ohm))
    found = solved([G1, *parts], ["G1:+ R1:1", "R1:2 C1:1", "C1:2 G1:-"])
    assert volts(found, "C1:1", "C1:2") == pytest.approx(24)


def test_three_lamps_in_star_without_the_neutral() -> None:
    # Equal lamps: 400/sqrt 3 each. One taken out: the other two share 400 V.
    lamps = [lamp(f"P{n}", 40, "230 V AC") for n in (1, 2, 3)]
    star = "P1:X2 P2:X2 P3:X2"
    found = solved([G3, *lamps], ["G0:L1 P1:X1", "G0:L2 P2:X1", "G0:L3 P3:X1", star])
    assert [volts(found, f"P{n}:X1", f"P{n}:X2") for n in (1, 2, 3)] == pytest.approx([400 / math.sqrt(3)] * 3)
    found = solved([G3, *lamps], ["G0:L1 P1:X1", "G0:L2 P2:X1", star])
    assert [volts(found, f"P{n}:X1", f"P{n}:X2") for n in (1, 2, 3)] == pytest.approx([200, 200, 0])


def test_a_phase_lost_ahead_of_a_motor_comes_back_through_its_windings() -> None:
    # Star, L1 open: the star point lies midway between L2 and L3, and so does U1: half the phase voltage, the other way round.
    motor = "M1: {kind: motor, power: 1.1 kW, plate: {star: 400 V}, links: [[U2, V2, W2]]}"
    runs = ["G0:L2 M1:V1", "G0:L3 M1:W1", "M1:U1 P1:X1", "P1:X2 G0:N"]
    found = solved([G3, motor, lamp("P1", 0.001, "230 V AC")], runs)
    assert volts(found, "P1:X1", "P1:X2") == pytest.approx(200 / math.sqrt(3), rel=1e-3)


def test_direct_and_alternating_voltage_are_kept_apart() -> None:
    parts = [G0, G1, resistor("R1", 100), resistor("R2", 100), resistor("R3", 100)]
    found = solved(parts, ["G0:L R1:1", "G1:+ R2:1", "R1:2 R2:2 R3:1", "G0:N G1:- R3:2"])
    assert volts(found, "R3:1", "R3:2", "AC") == pytest.approx(230 / 3)
    assert volts(found, "R3:1", "R3:2", "DC") == pytest.approx(8)
    assert volts(found, "R3:1", "R3:2") == pytest.approx(math.hypot(230 / 3, 8))


def test_a_diode_passes_one_way() -> None:
    parts = [G1, "V1: {kind: diode}", resistor("R1", 100), resistor("R2", 100)]
    forward = solved(parts, ["G1:+ V1:A", "V1:K R1:1", "R1:2 G1:-"])
    assert volts(forward, "R1:1", "R1:2") == pytest.approx(24, rel=1e-4)
    backward = solved(parts, ["G1:+ V1:K", "V1:A R1:1", "R1:2 G1:-"])
    assert volts(backward, "R1:1", "R1:2") == pytest.approx(0, abs=1e-4)


def test_of_two_supplies_behind_diodes_the_higher_one_feeds() -> None:
    parts = [G1, "G2: {kind: dc-supply, voltage: 12 V DC}", "V1: {kind: diode}", "V2: {kind: diode}", resistor("R1", 100)]
    found = solved(parts, ["G1:+ V1:A", "G2:+ V2:A", "V1:K V2:K R1:1", "R1:2 G1:- G2:-"])
    assert volts(found, "R1:1", "R1:2") == pytest.approx(24, rel=1e-4)
    assert volts(found, "V2:K", "V2:A") == pytest.approx(12, rel=1e-3)


def test_voltages_are_against_earth_where_a_supply_is_earthed() -> None:
    parts = [G0, G1, "X0: {kind: earth-bar}", resistor("R1", 100)]
    found = solved(parts, ["G0:PE X0:1", "G1:+ X0:2", "G1:+ R1:1", "R1:2 G1:-"])
    assert volts(found, "G1:-", "X0:1") == pytest.approx(24)
    assert volts(found, "G1:+", "X0:1") == pytest.approx(0)


def test_what_floats_is_at_nothing() -> None:
    found = solved([G1, resistor("R1", 100), resistor("R2", 100)], ["G1:+ R1:1", "R1:2 G1:-"])
    assert volts(found, "R2:1", "R2:2") == 0


def test_a_dead_source_is_no_path() -> None:
    devices = [G1, "G2: {kind: dc-supply, voltage: 12 V DC}", resistor("R1", 100)]
    runs = ["G1:+ R1:1", "R1:2 G2:+", "G2:- G1:-"]
    assert volts(solved(devices, runs), "R1:1", "R1:2") == pytest.approx(12)
    assert volts(solved(devices, runs, dead=["G2"]), "R1:1", "R1:2") == pytest.approx(0)


def test_two_voltages_on_one_potential_are_a_short_and_not_solved_away() -> None:
    found = solved([G1, "G2: {kind: dc-supply, voltage: 12 V DC}"], ["G1:+ G2:+", "G1:- G2:-"])
    assert [short.volts for short in found.shorts] == pytest.approx([12])
    assert solved([G1], ["G1:+ G1:-"]).shorts
    assert not solved([G0], ["G0:N G0:PE"]).shorts
    assert solved([G1, "V1: {kind: diode}"], ["G1:+ V1:A", "G1:- V1:K"]).shorts
    assert not solved([G1, "V1: {kind: diode}"], ["G1:+ V1:K", "G1:- V1:A"]).shorts


def test_the_wiper_of_a_potentiometer_stands_in_the_middle() -> None:
    found = solved([G1, "R5: {kind: potentiometer, resistance: 5 kohm}"], ["G1:+ R5:3", "R5:1 G1:-"])
    assert volts(found, "R5:2", "R5:1") == pytest.approx(12)


@pytest.mark.parametrize(
    ("device", "ohm", "assumed"),
    [
        ("K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}", 576, False),
        ("K1: {kind: relay, coil: 24 V DC}", 576, True),
        ("K1: {kind: contactor, coil: 230 V AC, poles: [1-2]}", 230**2 / 5, True),
        ("K1: {kind: contactor, coil: 230 V AC, coil_power: 10 VA, poles: [1-2]}", 5290, False),
        ("P1: {kind: lamp, voltage: 24 V DC}", 288, True),
        ("P1: {kind: lamp, voltage: 230 V AC}", 10580, True),
        ("P1: {kind: heater, voltage: 230 V AC, power: 1 kW}", 52.9, False),
        ("R1: {kind: braking-resistor, resistance: 60 ohm}", 60, False),
        ("R1: {kind: resistor}", 1000, True),
        ("B1: {kind: sensor, voltage: 24 V DC}", 2400, True),
    ],
)
def test_resistance_from_the_values_of_the_plan(device: str, ohm: float, assumed: bool) -> None:
    (found,) = impedances_of(read_plan_text(plan_text([device], []), "one"))
    assert found.resistance_ohm == pytest.approx(ohm)
    assert bool(found.assumed) == assumed


def test_a_winding_has_the_impedance_of_its_plate() -> None:
    plate = "plate: {delta: 230 V, star: 400 V}, current: {delta: 4.5 A, star: 2.6 A}, power_factor: 0.8, frequency: 50 Hz"
    winding = impedances_of(read_plan_text(plan_text([f"M1: {{kind: motor, {plate}}}"], []), "motor"))[0]
    ohm = 230 * math.sqrt(3) / 4.5
    assert 1 / winding.admittance_s(50) == pytest.approx(complex(0.8 * ohm, 0.6 * ohm))
    assert 1 / winding.admittance_s(0) == pytest.approx(0.8 * ohm)


def test_equations_without_a_solution_of_their_own_leave_the_unknown_at_nothing() -> None:
    assert eliminate([[1 + 0j, 0j, 3 + 0j], [0j, 0j, 0j]]) == [3, 0]
