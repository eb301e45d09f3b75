"""What a plan becomes as a whole: wires, cables, potentials, functions, acceptances, and what is assumed."""

from __future__ import annotations

import pytest

from tests.plan.texts import HEAD, SAW, errors_of, read, saw
from wirecheck.plan.model import Event, Quantity, Terminal


def test_a_run_of_three_is_two_wires() -> None:
    wires = [w for w in read(SAW).wires if w.number == "3"]
    assert [str(w) for w in wires] == ["wire 3 [S2:12–S3:13]", "wire 3 [S3:13–K1:13]"]
    assert len({w.run for w in wires}) == 1
    assert wires[0].a == Terminal("S2", "12")
    assert [w.index for w in read(SAW).wires] == list(range(len(read(SAW).wires)))


def test_a_wire_has_what_its_run_says() -> None:
    wire = next(
        w for w in read(saw("cable: W1}\n  - {number: 2", "cable: W1, core: BN}\n  - {number: 2")).wires if w.number == "1"
    )
    assert (wire.size_mm2, wire.size_text, wire.colour, wire.cable, wire.core) == (0.75, "0.75 mm2", "BU", "W1", "BN")
    assert (wire.spot.line, wire.spot.column) == (24, 5)


def test_a_core_has_the_size_of_its_cable_where_it_states_none() -> None:
    wire = next(w for w in read(saw("size: 0.75 mm2, colour: BU, cable: W1", "colour: BU, cable: W1")).wires if w.cable)
    assert (wire.size_mm2, wire.size_text) == (0.75, "0.75 mm2")
    other = next(
        w for w in read(saw("size: 0.75 mm2, colour: BU, cable: W1", "size: 1 mm2, colour: BU, cable: W1")).wires if w.cable
    )
    assert (other.size_mm2, other.size_text, other.stated_size) == (0.75, "0.75 mm2", "1 mm2")  # of two the smaller


def test_a_place_may_state_how_warm_it_gets() -> None:
    assert read(saw("box: {ip: IP54,", "box: {ip: IP54, ambient: 45 °C,")).places["box"].ambient_c == 45
    assert read(SAW).places["box"].ambient_c is None


def test_a_cable_place_and_machine_have_what_the_plan_says() -> None:
    text = saw("length: 3 m}", "length: 3 m, screened: true, voltage_rating: 500 V, insulation: PVC, method: B2, route: control}")
    text = text.replace("run_down_time: 2 s", "run_down_time: 2 s, spindle: {ratios: [0.5, 1.2], speed_limit: 2500 rpm}")
    plan = read(text)
    cable = plan.cables["W1"]
    assert (cable.cores, cable.size_mm2, cable.length_m, cable.screened) == (2, 0.75, 3.0, True)
    assert (cable.voltage_rating_v, cable.insulation, cable.method, cable.route) == (500.0, "PVC", "B2", "control")
    assert plan.places["box"].ip == "IP54"
    assert not plan.places["box"].swarf
    assert (plan.machine.name, plan.machine.region) == ("club bench saw", "IEC")
    assert plan.machine.values["spindle"] == {"ratios": (0.5, 1.2), "speed_limit": Quantity(2500.0, "rpm", "2500 rpm")}


def test_wire_gauges_are_read_where_the_region_is_na() -> None:
    plan = read(saw("run_down_time: 2 s", "region: NA").replace("size: 0.75 mm2, length", "size: 14 AWG, length"))
    assert plan.cables["W1"].size_mm2 == pytest.approx(2.08, rel=2e-3)  # ASTM B258, value from memory
    assert plan.cables["W1"].size_text == "14 AWG"


ISLAND = "{number: 4, run: [K1:22, P1:X1]}"


SPLICE = "  - {number: 8, run: [P1:X1, X8:1]}\n  - {number: 9, run: [X8:%s, K1:A1]}\n"
JOINED = {
    "a wire of another number": ("", "  - {number: 9, run: [P1:X1, K1:A1]}\n"),
    "a bar": ("  X8: {kind: earth-bar}\n", SPLICE % 2),
    "a link": ("  X8: {kind: terminal-block, links: [[1, 2]]}\n", SPLICE % 2),
    "a shared mark": ("  X8: {kind: terminal-block}\n", SPLICE % 1),
    "a plug": ("  X8: {kind: plug-connector, poles: [1-2]}\n", SPLICE % 2),
    "a pole that always conducts": ("  X8: {kind: line-filter, poles: [1-2]}\n", SPLICE % 2),
}


@pytest.mark.parametrize("by", JOINED)
def test_one_number_may_stand_wherever_metal_joins(by: str) -> None:
    device, wires = JOINED[by]
    text = saw("{number: 5, run: [K1:22, P1:X1]}", ISLAND).replace("  M1:", f"{device}  M1:", 1)
    assert "two potentials" in errors_of(text)[0].message
    assert errors_of(text + wires) == ()


def test_a_terminal_block_joins_nothing_but_what_shares_a_mark() -> None:
    text = saw("{number: 5, run: [K1:22, P1:X1]}", ISLAND).replace("  M1:", "  X8: {kind: terminal-block}\n  M1:", 1)
    (error,) = errors_of(text + "  - {number: 8, run: [P1:X1, X8:1]}\n  - {number: 9, run: [X8:2, K1:A1]}\n")
    assert "wire number 4 stands on two potentials: nothing always joins K1:22 to S3:14" in error.message


def test_an_earth_that_is_not_joined_is_no_error_of_the_text() -> None:
    """It is a danger, and the rules tell it."""
    assert errors_of(SAW + "  - {number: PE, run: [X0:7, M1:PE]}\n  - {number: PE, run: [P1:PE, G1:PE]}\n") == ()
    assert errors_of(SAW + "  - {number: E, run: [X0:7, M1:PE]}\n  - {number: E, run: [P1:PE, G1:PE], colour: GNYE}\n") == ()


F = f"{SAW}functions:\n  f: {{when: S1=pressed, must: M1 stopped,"
RISK = [("111", "a"), ("112", "b"), ("121", "b"), ("122", "c"), ("211", "c"), ("212", "d"), ("221", "d"), ("222", "e")]


@pytest.mark.parametrize(("risk", "level"), RISK)
def test_the_risk_graph_gives_the_level(risk: str, level: str) -> None:
    # ISO 13849-1, annex A: parameters seen, mapping from memory
    s, f, p = tuple(risk)
    plan = read(f"{F} risk: {{S: {s}, F: {f}, P: {p}}}}}\n")
    assert plan.functions[0].level == level


def test_a_stated_level_goes_before_the_risk_graph() -> None:
    plan = read(f"{F} required: {{level: b, category: 1}}, risk: {{S: 2, F: 2, P: 2}}}}\n")
    assert (plan.functions[0].level, plan.functions[0].category) == ("b", "1")
    plan = read(f"{F} required: {{category: B}}, risk: {{S: 1, F: 1, P: 1}}}}\n")
    assert (plan.functions[0].level, plan.functions[0].category) == ("a", "B")


def test_causes_and_demands_may_be_lists() -> None:
    plan = read(f"{SAW}functions:\n  f: {{when: [S1=pressed, Q1=off], must: [M1 stopped, P1 off, K1 off]}}\n")
    (function,) = plan.functions
    assert function.causes == (Event("S1", "pressed"), Event("Q1", "off"))
    assert function.must == (("M1", "stopped"), ("P1", "off"), ("K1", "off"))
    assert function.stated


def test_a_fan_that_is_stopped_is_off() -> None:
    text = saw("  M1:", "  E1: {kind: fan}\n  M1:")
    assert read(f"{text}functions:\n  f: {{when: S1=pressed, must: E1 stopped}}\n").functions[0].must == (("E1", "off"),)


@pytest.mark.parametrize(
    ("device", "event"),
    [
        ("K3: {kind: timer-relay}", "K3=elapsed"),
        ("K5: {kind: thermistor-relay, reset: manual}", "K5=reset"),
        ("Q4: {kind: no-volt-release, poles: [1-2]}", "Q4=stop"),
        ("T1: {kind: drive}", "T1=keypad-stop"),
        ("T1: {kind: drive}", "T1=faulted"),
    ],
)
def test_a_cause_may_be_any_event_of_a_device(device: str, event: str) -> None:
    text = saw("  M1:", f"  {device}\n  M1:")
    assert str(read(f"{text}functions:\n  f: {{when: {event}, must: M1 stopped}}\n").functions[0].causes[0]) == event


def test_without_functions_every_emergency_stop_and_guard_is_one() -> None:
    text = saw("  M1:", "  S8: {kind: guard-switch, direct_opening: true}\n  M2: {kind: motor}\n  M1:")
    for plan in (read(text), read(text + "functions: {}\n"), read(text + "functions:\n")):
        assert [(f.causes, f.stated, f.level, f.category) for f in plan.functions] == [
            ((Event("S1", "pressed"),), False, None, None),
            ((Event("S8", "open"),), False, None, None),
        ]
        assert all(f.must == (("M2", "stopped"), ("M1", "stopped")) for f in plan.functions)
        assert plan.assumed[-1] == (
            "safety functions: S1, S8 must stop every motor, with nothing required beyond fail-safe behaviour "
            "(none stated in the plan)"
        )


def test_a_pump_is_named_where_no_function_says_that_it_must_stop() -> None:
    plan = read(saw("  M1:", "  M3: {kind: pump, voltage: 230 V AC}\n  M1:"))
    assert "; not counted as a motor: M3 (pump); where it must stop too, say so under functions" in plan.assumed[-1]
    assert all(must == ("M1", "stopped") for f in plan.functions for must in f.must)


def test_a_pump_that_no_stated_function_of_an_emergency_stop_asks_to_stop_is_named() -> None:
    pump = saw("  M1:", "  M3: {kind: pump, voltage: 230 V AC}\n  S8: {kind: guard-switch, direct_opening: true}\n  M1:")
    line = (
        "emergency stop: M3 (pump) may go on turning; where it must stop too, say so under functions "
        "(no function of the plan asks for it)"
    )
    stop = "functions:\n  emergency-stop: {when: S1=pressed, must: "
    assert read(f"{pump}{stop}M1 stopped}}\n").assumed[-1] == line
    assert line not in read(f"{pump}{stop}[M1 stopped, M3 off]}}\n").assumed
    guard = "functions:\n  guard: {when: S8=open, must: [M1 stopped, M3 off]}\n"
    assert line in read(pump + guard).assumed
    assert line not in read(saw("  M1:", "  P9: {kind: lamp}\n  M1:") + f"{stop}M1 stopped}}\n").assumed


def test_what_is_accepted_is_read() -> None:
    plan = read(f"{SAW}accepted:\n  - {{rule: a-rule, devices: [S1, M1], because: club decision, by: chair, date: 2024-05-01}}\n")
    (accepted,) = plan.accepted
    assert (accepted.rule, accepted.devices, accepted.because, accepted.by) == ("a-rule", ("S1", "M1"), "club decision", "chair")
    assert accepted.date == "2024-05-01"


DRIVE = (
    "  T1: {kind: drive, control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM}, inputs: {DI1: run-forward, "
    "DI2: run-reverse, DI3: {does: run-permit, acts_when: open}}, safe_torque_off: {channels: [STO1, STO2], "
    "common: STOC}}, settings: {%s}}\n"
)
DRIVEN = "  - {number: 21, run: [T1:P24, T1:DI1]}\n  - {number: 22, run: [T1:COM, T1:DI2]}\n"


def assumed(settings: str, wires: str = DRIVEN, old: str = "", new: str = "") -> list[str]:
    """What is assumed of the drive, without `(not stated in the plan)`."""
    text = f"{HEAD}devices:\n{(DRIVE % settings).replace(old, new) if old else DRIVE % settings}wires:\n{wires}"
    ending = " (not stated in the plan)"
    return [
        line.removesuffix(ending).removeprefix("T1 ")
        for line in read(text).assumed
        if line.startswith("T1 ") and line.endswith(ending)
    ]


def test_the_worst_case_of_a_drive_is_assumed_where_nothing_is_stated() -> None:
    assert assumed("") == [
        "command_source: both",
        "both_directions: unknown",
        "restarts_itself_after_fault: true",
        "on_power_up_with_run: starts",
        "after_trip_reset_with_run: starts",
    ]


def test_only_what_the_wiring_of_a_drive_makes_matter_is_assumed() -> None:
    permit = "  - {number: 23, run: [T1:P24, T1:DI3]}\n"
    torque = "  - {number: 24, run: [T1:P24, T1:STO1]}\n"
    most = "command_source: terminals, both_directions: stop, restarts_itself_after_fault: false, on_power_up_with_run: waits"
    most += ", after_trip_reset_with_run: waits"
    assert assumed(most) == []
    one = DRIVEN.replace("22,", "21,").replace("T1:COM", "T1:DI1")
    assert assumed(most, one + permit) == ["after_permit_with_run: starts"]
    assert assumed(most, one + torque) == ["after_safe_torque_off_with_run: starts"]
    assert assumed(most.replace(", both_directions: stop", ""), "  - {number: 21, run: [T1:P24, T1:DI1]}\n") == []
    assert assumed("command_source: keypad") == ["restarts_itself_after_fault: true"]
    assert assumed("command_source: terminals, both_directions: stop, restarts_itself_after_fault: true") == [
        "on_power_up_with_run: starts"
    ]


def test_a_three_wire_drive_that_starts_on_an_edge_needs_no_settings() -> None:
    most = "command_source: terminals, both_directions: stop, restarts_itself_after_fault: false"
    edge = assumed(most, old="mode: two-wire", new="mode: three-wire, start_on: edge")
    assert edge == []
    level = assumed(most, old="mode: two-wire", new="mode: three-wire")
    assert level == ["start_on: level", "on_power_up_with_run: starts", "after_trip_reset_with_run: starts"]


def test_the_level_of_a_stopping_input_is_assumed() -> None:
    most = "command_source: keypad, restarts_itself_after_fault: false"
    wires = DRIVEN + "  - {number: 22, run: [T1:DI2, T1:DI3]}\n"
    assert assumed(most, wires, "{does: run-permit, acts_when: open}", "run-permit") == ["DI3 acts_when: open"]


@pytest.mark.parametrize(
    ("device", "lines"),
    [
        ("{kind: emergency-stop}", ["direct_opening: false", "latching: false"]),
        ("{kind: emergency-stop, latching: unknown, contacts: {11-12: {form: NC, direct_opening: true}}}", ["latching: false"]),
        ("{kind: guard-switch}", ["direct_opening: false"]),
        ("{kind: safety-relay, channels: [[a, b]]}", ["reset: automatic"]),
        ("{kind: thermistor-relay}", ["reset: automatic"]),
        ("{kind: mains, phases: 1}", ["earthing: TN"]),
        ("{kind: mains, phases: 1, earthing: IT}", []),
        ("{kind: push-button}", []),
    ],
)
def test_the_worst_case_of_a_device_is_assumed(device: str, lines: list[str]) -> None:
    plan = read(f"{HEAD}devices:\n  D1: {device}\nwires: []\n")
    assert [line for line in plan.assumed if line.startswith("D1")] == [f"D1 {line} (not stated in the plan)" for line in lines]
