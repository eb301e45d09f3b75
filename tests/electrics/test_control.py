"""The control circuit's numbers: each against a calculation by hand, and what is asked for where a value is missing."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, example, numbers
from tests.electrics.plans import number as one
from wirecheck.electrics.number import Number

VOLTAGE, LOAD, REFERENCE = "voltage at a coil or load", "load of a control supply", "load of a reference"
CONTACT, POLES = "current of a contact", "current of a contactor"
PLUG, GUARD, CABLE = "leakage current on the plug", "leakage current behind a residual-current device", "voltage in a cable"

STARTER = example("nothing-gets-too-high-a-voltage", "Each gets")
RELAY = example("nothing-gets-too-high-a-voltage", "24 V d.c. on")
KNOB = example("speed-knob-suits-the-reference", "5 kohm")
PUMP = example("contacts-carry-what-they-switch", "500 W")
MOTOR_POLES = example("contactors-carry-what-they-switch", "12 A")
ON_A_PLUG = example("machine-on-a-plug-leaks-little", "2 mA")
GUARDED = example("residual-current-device-is-not-used-up-by-leakage", "3 mA")
MIXED = example("cable-is-rated-for-its-highest-voltage", "500 V")


def asked(number: Number) -> list[str]:
    return [missing.field for missing in number.missing]


def test_a_coil_works_from_85_to_110_percent_of_its_voltage() -> None:
    """24 V: 20.4 V to 26.4 V."""
    coil = one(STARTER, VOLTAGE, "Q2")
    assert (coil.value, coil.low, coil.high) == pytest.approx((24.0, 20.4, 26.4))
    assert "value from memory" in coil.source
    assert not coil.too_high
    assert not coil.too_low


@pytest.mark.parametrize(
    ("volts", "low", "high"), [("26 V", False, False), ("27 V", False, True), ("21 V", False, False), ("20 V", True, False)]
)
def test_the_secondary_decides_what_the_coil_gets(volts: str, low: bool, high: bool) -> None:
    coil = one(changed(STARTER, ("secondary_voltage: 24 V", f"secondary_voltage: {volts}")), VOLTAGE, "Q2")
    assert (coil.too_low, coil.too_high) == (low, high)


def test_a_coil_that_hangs_on_two_voltages_has_both() -> None:
    """Between two phases 400 V, between phase and neutral 230.9 V: 400 divided by the root of three."""
    plan = changed(
        STARTER,
        ("coil: 24 V AC", "coil: 230 V AC"),
        (
            "F2: {kind: fuse, title: control, rating: 2 A}",
            "S5: {kind: selector, positions: [a, b], contacts: {1-2: {closed_in: [a]}, 3-4: {closed_in: [b]}}}",
        ),
        ('run: ["T2:3", F2:1]', "run: [Q1:2, S1:11]"),
        ("  - {number: 2, run: [F2:2, S1:11]}\n", ""),
        ('run: ["T2:4", Q2:A2]', 'run: [Q2:A2, "S5:2", "S5:4"]'),
        (
            "  - {number: PE, run: [X0:2, M1:PE]}",
            '  - {number: N, run: [G0:N, "S5:1"]}\n  - {number: L12, run: [Q1:4, "S5:3"]}\n  - {number: PE, run: [X0:2, M1:PE]}',
        ),
    )
    assert sorted(n.value or 0.0 for n in numbers(plan, VOLTAGE, "Q2")) == [pytest.approx(230.94, abs=0.01), pytest.approx(400)]


def test_a_sensor_bears_no_more_than_its_range() -> None:
    sensor = example("sensor-suits-the-drive-logic", "PNP")
    within = one(sensor, VOLTAGE, "B3")
    assert (within.value, within.low, within.high) == (24.0, 10.0, 30.0)
    assert one(changed(sensor, ("voltage: 10-30 V", "voltage: 5-12 V")), VOLTAGE, "B3").too_high


def test_of_the_wrong_kind_of_current_no_voltage_is_worked_out() -> None:
    assert numbers(changed(RELAY, ("coil: 24 V DC", "coil: 24 V AC")), VOLTAGE, "K1") == []


def test_a_relay_of_1_w_takes_42_milliampere_of_24_v() -> None:
    """1 W / 24 V = 41.7 mA."""
    load = one(RELAY, LOAD, "G1")
    assert (load.value, load.high) == pytest.approx((1 / 24, 1.5))


def test_coils_that_never_act_together_are_not_added() -> None:
    """Two coils of 6 W on 24 V: 0.25 A each. The transformer of 63 VA gives 2.625 A."""
    plan = changed(
        STARTER,
        (
            "coil: 24 V AC, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}",
            "coil: 24 V AC, coil_power: 6 W, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO, 21-22: NC}",
        ),
        (
            "  M1: {kind: motor",
            "  Q3: {kind: contactor, coil: 24 V AC, coil_power: 6 W, contacts: {13-14: NO}}\n  M1: {kind: motor",
        ),
        ("run: [S1:12, S3:13, Q2:13]", "run: [S1:12, S3:13, Q2:13, Q2:21]"),
        ('run: ["T2:4", Q2:A2]}', 'run: ["T2:4", Q2:A2, Q3:A2]}\n  - {number: 7, run: [Q2:22, Q3:A1]}'),
    )
    load = one(plan, LOAD, "T2")
    assert (load.value, load.high) == pytest.approx((0.25, 2.625))


def test_an_estimate_alone_overloads_nothing_and_is_asked_for() -> None:
    plan = example("control-supplies-carry-their-load", "not stated")
    load = one(plan, LOAD, "T1")
    assert load.value is None
    assert asked(load) == ["K1 coil_power"]
    # On a supply that could feed it even so, nothing is asked.
    roomy = changed(plan, ("voltage: 24 V DC, current: 100 mA}", "voltage: 24 V DC, current: 500 mA}"))
    assert asked(one(roomy, LOAD, "T1")) == []


def beside_the_contactor(device: str, *wires: str) -> str:
    """The plan in which a contactor of unknown power hangs on the drive's 100 mA, with one more device there."""
    plan = example("control-supplies-carry-their-load", "not stated")
    return changed(plan, ("  T1:\n", f"  {device}\n  T1:\n")) + "".join(f"  - {{{wire}}}\n" for wire in wires)


@pytest.mark.parametrize("watts", ["", ", power: 3 W"])
def test_a_guess_beside_a_load_that_is_too_much_alone_hides_nothing(watts: str) -> None:
    """3 W / 24 V are 125 mA, more than 100 mA whatever the contactor takes. A lamp that states no power is asked for too."""
    lamp = f"P1: {{kind: lamp, voltage: 24 V DC{watts}}}"
    load = one(beside_the_contactor(lamp, "number: 1, run: [T1:P24, P1:X1]", "number: 0V, run: [T1:COM, P1:X2]"), LOAD, "T1")
    assert load.value == (pytest.approx(0.125) if watts else None)
    assert asked(load) == ([] if watts else ["K1 coil_power", "P1 power"])


def test_no_power_of_a_sensor_is_asked_for() -> None:
    """It has no key for that: 10 mA are taken."""
    wires = ("number: 1, run: [T1:P24, 'B3:+']", "number: 0V, run: [T1:COM, 'B3:-']")
    load = one(beside_the_contactor("B3: {kind: sensor, output: PNP, form: NO, voltage: 24 V DC}", *wires), LOAD, "T1")
    assert asked(load) == ["K1 coil_power"]


@pytest.mark.parametrize("kind", ["safety-relay", "thermistor-relay", "timer-relay", "no-volt-release", "contactor", "relay"])
def test_what_a_coil_takes_can_be_written_where_it_is_asked_for(kind: str) -> None:
    more = ", channels: [[S11, S12]]" if kind == "safety-relay" else ", poles: [1-2]" if kind == "no-volt-release" else ""
    wires = ("number: 1, run: [T1:P24, K9:A1]", "number: 0V, run: [T1:COM, K9:A2]")
    volts = "voltage" if kind in ("safety-relay", "thermistor-relay", "no-volt-release") else "coil"

    def load(watts: str) -> Number:
        device = f"K9: {{kind: {kind}{more}, {volts}: 24 V DC{watts}, contacts: {{13-14: NO}}}}"
        if kind == "no-volt-release":
            device = device.replace(", contacts: {13-14: NO}", "")
        return one(beside_the_contactor(device, *wires), LOAD, "T1")

    assert asked(load("")) == ["K1 coil_power", "K9 coil_power"]
    assert load(", coil_power: 3 W").value == pytest.approx(0.125)


def test_the_inputs_of_a_drive_are_no_load_of_its_own_supply() -> None:
    assert numbers(KNOB, LOAD, "T1") == []


def test_a_knob_takes_what_ohms_law_says() -> None:
    """10 V / 5 kohm = 2 mA."""
    knob = one(KNOB, REFERENCE)
    assert (knob.value, knob.high) == pytest.approx((0.002, 0.010))
    assert asked(one(changed(KNOB, (", resistance: 5 kohm", "")), REFERENCE)) == ["R1 resistance"]


@pytest.mark.parametrize(
    ("rating", "category", "amps", "asks"),
    [
        ("12 A", "AC-3", 11.0, []),
        ("9 A", "AC-3", 11.0, []),  # too little, and known to be
        ("25 A", "AC-1", None, ["Q2 category"]),  # 11 A are more than 40 % of it
        ("32 A", "AC-1", 11.0, []),  # 40 % of 32 A are 12.8 A
        ("9 A", "AC-1", 11.0, []),
    ],
)
def test_the_category_says_whether_a_rating_holds_for_motors(
    rating: str, category: str, amps: float | None, asks: list[str]
) -> None:
    poles = one(changed(MOTOR_POLES, ("rating: 12 A, category: AC-3", f"rating: {rating}, category: {category}")), POLES)
    assert (poles.value, asked(poles)) == (amps, asks)
    assert poles.too_high == (rating == "9 A")


def test_a_contact_carries_what_its_load_takes() -> None:
    """500 W / 230 V = 2.17 A."""
    contact = one(PUMP, CONTACT)
    assert (contact.value, contact.high) == pytest.approx((500 / 230, 3.0))


@pytest.mark.parametrize(
    ("rating", "asks"),
    [
        ("1 A DC-13", []),
        ("0.5 A AC-15", []),  # 42 mA are less than a tenth of it
        ("0.3 A AC-15", ["K2 contacts.13-14.rating"]),
        ("300 mA DC-1", []),  # of a resistive rating a fifth, 60 mA, will do for a coil
        ("0.2 A DC-1", ["K2 contacts.13-14.rating"]),
        ("0.2 A", []),
    ],
)
def test_the_kind_of_current_and_the_coil_count_for_a_contact(rating: str, asks: list[str]) -> None:
    plan = changed(
        RELAY,
        (
            "S4: {kind: push-button, title: start, role: start, contacts: {13-14: NO}}",
            f"K2: {{kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {{13-14: {{form: NO, rating: {rating}}}}}}}",
        ),
        ("run: [S3:12, S4:13, K1:13]", "run: [S3:12, K2:A1, K2:13, K1:13]"),
        ("run: [S4:14, K1:14, K1:A1, R1:K]", "run: [K2:14, K1:14, K1:A1, R1:K]"),
        ('run: ["G1:-", K1:A2, R1:A]', 'run: ["G1:-", K1:A2, R1:A, K2:A2]'),
    )
    assert asked(one(plan, CONTACT, "K2")) == asks


def test_leakage_on_a_plug() -> None:
    """2 mA of a drive and 2.5 mA of a filter are 4.5 mA, and 3.5 mA are allowed."""
    assert one(ON_A_PLUG, PLUG).value == pytest.approx(0.002)
    more = changed(
        ON_A_PLUG,
        ("  X0: {kind: earth-bar}\n", "  X0: {kind: earth-bar}\n  R2: {kind: line-filter, poles: [1-2, 3-4], leakage: 2.5 mA}\n"),
        ("run: [Q1:2, T1:L]}", 'run: [Q1:2, "R2:1"]}\n  - {number: L3, run: ["R2:2", T1:L]}'),
        ("run: [Q1:4, T1:N]}", 'run: [Q1:4, "R2:3"]}\n  - {number: N3, run: ["R2:4", T1:N]}'),
    )
    together = one(more, PLUG)
    assert (together.value, together.high, together.too_high) == pytest.approx((0.0045, 0.0035, True))
    # What is known already is too much: the rest need not be asked for.
    assert asked(one(changed(more, ("leakage: 2 mA", "leakage: unknown"), ("leakage: 2.5 mA", "leakage: 4 mA")), PLUG)) == []
    assert asked(one(changed(more, ("leakage: 2 mA", "leakage: unknown")), PLUG)) == ["T1 leakage"]


def test_leakage_behind_a_residual_current_device() -> None:
    """30 % of 30 mA are 9 mA."""
    found = one(GUARDED, GUARD)
    assert (found.value, found.high) == pytest.approx((0.003, 0.009))


def test_what_is_not_behind_a_residual_current_device_does_not_leak_through_it() -> None:
    aside = changed(GUARDED, ("run: [F5:2, T1:L]", "run: [Q1:2, T1:L]"), ("run: [F5:4, T1:N]", "run: [Q1:4, T1:N]"))
    assert numbers(aside, GUARD) == []


def test_a_cable_is_held_against_its_highest_core() -> None:
    cable = one(MIXED, CABLE)
    assert (cable.value, cable.high) == (230.0, 500.0)
    assert asked(one(changed(MIXED, (", voltage_rating: 500 V", "")), CABLE)) == ["W2 voltage_rating"]


def test_a_core_of_a_star_point_voltage_counts_against_earth() -> None:
    """400 V between phases are 230.9 V against earth."""
    plan = changed(
        STARTER,
        ("wires:\n", "cables:\n  W1: {cores: 3, size: 1.5 mm2, voltage_rating: 300 V}\nwires:\n"),
        ("run: [Q2:2, M1:U1]}", "run: [Q2:2, M1:U1], cable: W1}"),
    )
    cable = one(plan, CABLE)
    assert cable.value == pytest.approx(400 / 3**0.5)
    assert not cable.too_high
