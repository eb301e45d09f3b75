"""What must stop which motion: for each group the events, and what each of them must stop."""

from __future__ import annotations

import pytest

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import causes, going_on, unstated
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text

SHOP = """\
wirecheck: 1
machine: {name: two blowers of the club's forge}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: emergency-stop, contacts: {11-12: NC}}
  S2: {kind: guard-switch, contacts: {21-22: guard-closed}}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  S5: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S6: {kind: selector, positions: [off, slow, service], run_positions: [slow], contacts: {13-14: {closed_in: [slow]}}}
  S7: {kind: selector, positions: [left, right], contacts: {13-14: {closed_in: [left]}}}
  S8: {kind: key-switch, positions: [off, run], run_positions: [run], contacts: {13-14: {closed_in: [run]}}}
  S9: {kind: push-button, role: stop, contacts: {11-12: NC}}
  Q1: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  Q4: {kind: no-volt-release, poles: [1-2], voltage: 230 V AC}
  X1: {kind: plug-connector, poles: [1-2, 3-4]}
  P1: {kind: lamp, voltage: 230 V}
  M1: {kind: motor}
  M2: {kind: motor}
wires:
  - {number: L, run: [G0:L, X1:1]}
  - {number: N, run: [G0:N, X1:3]}
  - {number: L1, run: [X1:2, S3:11, S5:11, Q1:1, Q4:1, Q4:A1, P1:X1]}
  - {number: N1, run: [X1:4, M1:U2, M2:U2, Q1:A2, Q2:A2, Q4:A2, P1:X2]}
  - {number: 1, run: [S3:12, S2:21]}
  - {number: 2, run: [S2:22, S6:13]}
  - {number: 3, run: [S6:14, Q1:A1]}
  - {number: 4, run: [S5:12, S8:13]}
  - {number: 5, run: [S8:14, Q2:A1]}
  - {number: 6, run: [Q4:2, Q2:1]}
  - {number: U, run: [Q1:2, M1:U1]}
  - {number: V, run: [Q2:2, M2:U1]}
functions:
  doors: {when: S2=open, must: M1 stopped}
  lights-out: {when: S4=pressed, must: P1 off}
"""
"""S3, S2 and S6 stop M1, S5, S8 and Q4 stop M2; S1 and S9 are not connected."""


@pytest.mark.parametrize(
    ("group", "expected"),
    [
        ("guards", {"S2=open": {"M1"}}),
        ("emergency-stops", {"S1=pressed": {"M1", "M2"}}),
        ("stops", {"S3=pressed": {"M1"}, "S5=pressed": {"M2"}, "S9=pressed": {"M1", "M2"}, "Q4=stop": {"M2"}}),
        ("selectors", {"S6=off": {"M1"}, "S6=service": {"M1"}, "S8=off": {"M2"}}),
        ("plugs", {"X1=parted": {"M1", "M2"}}),
    ],
)
def test_a_stop_stops_what_it_has_to_do_with_and_one_that_has_to_do_with_nothing_stops_all(
    group: str, expected: dict[str, set[str]]
) -> None:
    found = list(causes(Facts(read_plan_text(SHOP, "forge")), group))
    assert {str(c.event): {name for name, _ in c.must} for c in found} == expected
    assert {state for c in found for _, state in c.must} == {"stopped"}
    assert all(c.device.name == c.event.device for c in found)


def with_a_load(kind: str, *changes: tuple[str, str]) -> str:
    """A load behind a stop and a selector of its own, S10 and S11; S12 only lights a lamp."""
    text = SHOP.replace(
        "  M1: {kind: motor}\n",
        f"  M1: {{kind: motor}}\n  E1: {{kind: {kind}}}\n  P2: {{kind: lamp, voltage: 230 V}}\n"
        "  S10: {kind: push-button, role: stop, contacts: {11-12: NC}}\n"
        "  S11: {kind: selector, positions: [off, on], run_positions: [on],\n"
        "    contacts: {13-14: {closed_in: [on]}, 23-24: {closed_in: [on]}}}\n"
        "  S12: {kind: selector, positions: [off, on], run_positions: [on], contacts: {13-14: {closed_in: [on]}}}\n",
    ).replace(
        "wires:\n",
        "wires:\n  - {number: L1, run: [X1:2, S10:11, S12:13]}\n  - {number: 8, run: [S10:12, S11:13]}\n"
        "  - {number: 9, run: [S11:14, E1:X1]}\n  - {number: N1, run: [X1:4, E1:X2, P2:X2]}\n"
        "  - {number: 10, run: [S12:14, P2:X1]}\n",
    )
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return text


def asked(plan: str) -> dict[str, tuple[tuple[str, str], ...]]:
    """What S10, S11 and S12 must stop."""
    facts = Facts(read_plan_text(plan, "forge"))
    found = [*causes(facts, "stops"), *causes(facts, "selectors")]
    return {c.device.name: c.must for c in found if c.device.name in ("S10", "S11", "S12")}


EVERY_MOTOR = (("M1", "stopped"), ("M2", "stopped"))


@pytest.mark.parametrize("kind", ["pump", "fan"])
def test_a_selector_or_stop_of_a_pump_stops_the_pump_and_no_motor(kind: str) -> None:
    must = (("E1", "off"),)
    assert asked(with_a_load(kind)) == {"S10": must, "S11": must, "S12": EVERY_MOTOR}


def test_of_a_heater_nobody_says_that_a_stop_must_put_it_off() -> None:
    assert asked(with_a_load("heater")) == {"S10": (), "S11": (), "S12": EVERY_MOTOR}


def test_a_bridged_contact_was_meant_for_the_motors() -> None:
    # S11:23-24 stood in the run circuit of M1, and a wire goes round it.
    bridged = with_a_load("pump", ("run: [S2:22, S6:13]", "run: [S2:22, S6:13, S11:23, S11:24]"))
    assert asked(bridged) == {"S10": (("E1", "off"),), "S11": EVERY_MOTOR, "S12": EVERY_MOTOR}


def test_the_only_stop_in_the_plan_is_meant_for_the_motor_even_where_it_is_wired_to_a_pump() -> None:
    lone = with_a_load(
        "pump", ("Q4:2, Q2:1", "X1:2, Q2:1"), ("S5:12, S8:13", "X1:2, S8:13"), ("kind: key-switch", "kind: sensor")
    )
    lone = lone.replace("kind: sensor, positions: [off, run], run_positions: [run]", "kind: push-button")
    lone = lone.replace("contacts: {13-14: {closed_in: [run]}}", "contacts: {13-14: NO}")
    assert asked(lone) == {"S10": EVERY_MOTOR, "S11": EVERY_MOTOR, "S12": EVERY_MOTOR}


ONE_STOP = ("Q4:2, Q2:1", "X1:2, Q2:1"), ("S5:12, S8:13", "X1:2, S8:13")
"""M2 hangs on S8 alone, and whatever S8 is decides whether M2 has a stop."""
S8 = "S8: {kind: key-switch, positions: [off, run], run_positions: [run], contacts: {13-14: {closed_in: [run]}}}"
OF_THE_PUMP = {"S10": (("E1", "off"),), "S11": (("E1", "off"),), "S12": EVERY_MOTOR}
OF_THE_MOTORS = dict.fromkeys(("S10", "S11", "S12"), EVERY_MOTOR)


@pytest.mark.parametrize(
    ("device", "expected"),
    [
        (S8, OF_THE_PUMP),
        (S8.replace(" run_positions: [run],", ""), OF_THE_MOTORS),
        ("S8: {kind: foot-switch, contacts: {13-14: NO}}", OF_THE_PUMP),
        ("S8: {kind: push-button, role: start, contacts: {13-14: NO}}", OF_THE_MOTORS),
        ("S8: {kind: push-button, role: stop, contacts: {13-14: NC}}", OF_THE_PUMP),
    ],
)
def test_a_stop_of_a_pump_is_meant_for_the_pump_where_each_motor_has_a_stop_of_its_own(
    device: str, expected: dict[str, tuple[tuple[str, str], ...]]
) -> None:
    assert asked(with_a_load("pump", *ONE_STOP, (S8, device))) == expected


def test_a_function_of_an_emergency_stop_stands_among_the_emergency_stops_alone() -> None:
    text = SHOP.replace("  lights-out:", "  halt: {when: S1=pressed, must: M1 stopped}\n  lights-out:")
    facts = Facts(read_plan_text(text, "forge"))
    assert [c.device.name for c in causes(facts, "functions")] == ["S4"]
    (halt,) = causes(facts, "emergency-stops")
    assert (halt.must, halt.function and halt.function.name) == ((("M1", "stopped"),), "halt")


def test_a_function_that_names_the_guard_says_what_it_stops_and_goes_along() -> None:
    (guard,) = causes(Facts(read_plan_text(SHOP, "forge")), "guards")
    assert guard.function is not None
    assert guard.function.name == "doors"
    (other,) = causes(Facts(read_plan_text(SHOP.replace("S2=open", "S3=pressed"), "forge")), "guards")
    assert (other.function, {name for name, _ in other.must}) == (None, {"M1", "M2"})


def test_a_function_of_anything_but_a_guard_or_emergency_stop_is_a_cause_by_itself() -> None:
    (lights,) = causes(Facts(read_plan_text(SHOP, "forge")), "functions")
    assert (str(lights.event), lights.must, lights.function and lights.function.name) == (
        "S4=pressed",
        (("P1", "off"),),
        "lights-out",
    )


def test_what_must_be_off_goes_on_while_it_is_lit_in_or_turning() -> None:
    b = Behaviour(read_plan_text(SHOP, "forge"))
    on = b.reached & b.at("G0", "on") & b.at("X1", "mated")
    assert going_on(b, ("P1", "off")) & b.reached == on
    assert going_on(b, ("Q1", "off")) & b.reached == b.within("Q1") & b.reached != 0
    assert going_on(b, ("M1", "stopped")) == b.moving("M1") != 0
    # the moment before it drops out: the coil has no voltage any more, and the contactor is still in
    assert going_on(b, ("Q1", "off")) & ~b.acting["Q1"] != 0


def test_a_finding_rests_on_the_settings_that_are_not_stated() -> None:
    text = SHOP.replace(
        "  P1:",
        "  T1: {kind: drive, input: {terminals: [L, N], phases: 1, voltage: 230 V}, output: {terminals: [U, V, W]},\n"
        "    settings: {stop: {mode: coast}, on_power_up_with_run: waits}}\n  P1:",
    )
    drive = read_plan_text(text, "forge").devices["T1"]
    said = unstated(drive, {"on_power_up_with_run": "it runs", "after_trip_reset_with_run": "it goes on"})
    assert said == ("T1 after_trip_reset_with_run is not stated, so the worst is assumed: it goes on",)
