"""The list of single faults of a plan: which there are, what they are called, what each changes, and what is left out."""

from __future__ import annotations

from functools import cache

import pytest

from wirecheck.behaviour.faults import EXCLUDED, Fault, excluded, single_faults
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

MIXER = """\
wirecheck: 1
machine: {name: Sand mixer}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  F1: {kind: fuse, rating: 2 A}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: emergency-stop, direct_opening: true, contacts: {11-12: NC, 21-22: NC}}
  S2: {kind: guard-switch, contacts: {11-12: guard-closed}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 21-22: NC}}
  K8: {kind: safety-relay, voltage: 24 V DC, supply: [A1, A2], channels: [[S11, S12]], reset: automatic, contacts: {13-14: NO}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W]}
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward, DI2: {does: run-permit, acts_when: open}, DI3: preset, DI4: jog}
      safe_torque_off: {channels: [STO1], common: STOC}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
cables:
  W2: {cores: 3}
wires:
  - {number: L, run: [G0:L, F1:1]}
  - {number: L2, run: [F1:2, T1:L, G1:L]}
  - {number: N, run: [G0:N, T1:N, G1:N]}
  - {number: PE, run: [G0:PE, T1:PE, "G1:-", T1:COM]}
  - {number: 11, run: ["G1:+", S1:11], cable: W2}
  - {number: 12, run: [S1:12, S2:11], cable: W2}
  - {number: 13, run: [S2:12, S4:13, K1:13]}
  - {number: 14, run: [S4:14, K1:14, K1:A1, K8:A1], cable: W2}
  - {number: 0V, run: ["G1:-", K1:A2, K8:A2, T1:STOC]}
  - {number: 15, run: [K8:S11, K8:S12]}
  - {number: 16, run: [T1:P24, K8:13, T1:DI3]}
  - {number: 17, run: [K8:14, T1:DI1, T1:DI2, T1:STO1]}
  - {number: U, run: [T1:U, M1:U1]}
"""


@cache
def mixer() -> Plan:
    return read_plan_text(MIXER, "mixer.yaml")


@cache
def faults() -> dict[str, Fault]:
    return {fault.text: fault for fault in single_faults(mixer())}


def texts(kind: str) -> list[str]:
    return [fault.text for fault in faults().values() if fault.kind == kind]


def test_every_wire_of_a_run_breaks_by_itself() -> None:
    found = texts("wire open")
    assert len(found) == len(mixer().wires) == 25
    assert "wire 12 [S1:12–S2:11] open" in found
    assert [f for f in found if f.startswith("wire 13 ")] == ["wire 13 [S2:12–S4:13] open", "wire 13 [S4:13–K1:13] open"]


def test_contacts_stick_open_and_weld() -> None:
    assert texts("stuck open") == [
        "F1:1-2 stuck open",
        "S1:11-12 stuck open",
        "S2:11-12 stuck open",
        "S4:13-14 stuck open",
        "K1:13-14 stuck open",
    ]
    assert texts("welded") == ["S2:11-12 welded", "S4:13-14 welded", "K1:13-14 welded"]


def test_a_contact_without_wires_has_no_fault() -> None:
    assert not any("S1:21-22" in text or "K1:21-22" in text for text in faults())


def test_a_fuse_is_not_taken_to_weld() -> None:
    assert "F1:1-2 welded" not in faults()


def test_a_direct_opening_contact_is_tried_apart() -> None:
    assert texts(EXCLUDED) == ["S1:11-12 welded"]


def test_coils_are_open_or_stuck_in() -> None:
    assert texts("coil open") == ["K1 coil open"]
    assert texts("stuck in") == ["K1 stuck in"]


def test_a_safety_relay_has_no_fault_inside() -> None:
    inside = [text for text in faults() if text.startswith("K8")]
    assert inside == []


def test_every_conductor_that_is_not_earth_already_can_be_earthed() -> None:
    found = texts("earthed")
    assert "wire 12 earthed" in found
    assert found == [f"wire {n} earthed" for n in ("L", "L2", "N", "11", "12", "13", "14", "15", "16", "17", "U")]


def test_each_pair_of_cores_of_one_cable_is_shorted() -> None:
    assert texts("shorted") == ["W2: 11 shorted to 12", "W2: 11 shorted to 14", "W2: 12 shorted to 14"]


def test_each_supply_is_lost() -> None:
    assert texts("source lost") == ["G0 lost", "G1 lost", "T1 control supply lost"]


def test_each_wired_input_that_does_something_sticks_at_both_levels() -> None:
    assert texts("input stuck") == ["T1:DI1 stuck on", "T1:DI1 stuck off", "T1:DI2 stuck on", "T1:DI2 stuck off"]


def test_no_fault_comes_twice() -> None:
    assert len(faults()) == len(single_faults(mixer()))


def test_a_fault_names_the_devices_and_wires_that_it_touches() -> None:
    fault = faults()["wire 12 [S1:12–S2:11] open"]
    assert (fault.devices, fault.wires) == (("S1", "S2"), ("12",))
    assert faults()["W2: 11 shorted to 14"].wires == ("11", "14")


def test_what_is_taken_not_to_fail_is_said() -> None:
    assert excluded(mixer()) == (
        "S1:11-12, S1:21-22: not taken to weld, being direct opening (as the plan states)",
        "K8: taken as certified, no fault inside it is assumed",
        "T1 safe torque off: taken as certified, no fault inside it is assumed",
        "wires inside one enclosure: not taken to touch each other; the cores of one cable are",
    )


def test_two_faults_together_are_both() -> None:
    one, two = faults()["K1 stuck in"], faults()["wire 12 [S1:12–S2:11] open"]
    both = one + two
    assert both.text == "K1 stuck in, then wire 12 [S1:12–S2:11] open"
    assert (both.stuck, both.removed) == (one.stuck, two.removed)


def test_two_stuck_inputs_are_both_stuck() -> None:
    one, two = [f for f in single_faults(mixer()) if f.kind == "input stuck"][:2]
    assert one.inputs
    assert two.inputs
    assert (one + two).inputs == {**one.inputs, **two.inputs}
    assert (one + faults()["K1 stuck in"]).inputs == one.inputs


CONTACTOR = """\
wirecheck: 1
machine: {{name: Fan}}
devices:
  G0: {{kind: mains, phases: 1, voltage: 230 V}}
  Q2: {{kind: contactor, coil: 230 V AC, {words} poles: [1-2, 3-4], contacts: {{13-14: NO, 21-22: NC}}}}
  X1: {{kind: terminal-block}}
wires:
  - {{number: 1, run: [G0:L, Q2:1, Q2:3, Q2:13, Q2:21]}}
  - {{number: 2, run: [Q2:2, X1:1]}}
  - {{number: 3, run: [Q2:4, X1:2]}}
  - {{number: 4, run: [Q2:14, X1:3]}}
  - {{number: 5, run: [Q2:22, X1:4]}}
"""


@pytest.mark.parametrize(
    ("words", "kept_open"),
    [
        ("", {}),
        ("mirror_contacts: true,", {"Q2:1-2": {"Q2:21-22"}, "Q2:3-4": {"Q2:21-22"}}),
        (
            "forced_guided: true,",
            {
                "Q2:1-2": {"Q2:21-22"},
                "Q2:3-4": {"Q2:21-22"},
                "Q2:13-14": {"Q2:21-22"},
                "Q2:21-22": {"Q2:1-2", "Q2:3-4", "Q2:13-14"},
            },
        ),
    ],
)
def test_a_welded_contact_keeps_those_open_that_are_linked_with_it(words: str, kept_open: dict[str, set[str]]) -> None:
    """Forced-guided contacts are linked both ways (IEC 61810-3), mirror contacts with the main poles only (IEC 60947-4-1,
    annex F; both value from memory)."""
    plan = read_plan_text(CONTACTOR.format(words=words), "fan.yaml")
    welded = {f.text.removesuffix(" welded"): f for f in single_faults(plan) if f.kind == "welded"}
    assert set(welded) == {"Q2:1-2", "Q2:3-4", "Q2:13-14", "Q2:21-22"}
    assert {name: set(f.opened) for name, f in welded.items() if f.opened} == kept_open
    assert all(f.closed == {name} for name, f in welded.items())


@pytest.mark.parametrize(
    ("words", "poles"),
    [("", []), ("mirror_contacts: true,", []), ("mirror_contacts: false,", ["Q2:1-2", "Q2:3-4"])],
)
def test_the_poles_weld_at_once_with_the_break_contact_free_where_the_plan_says_that_nothing_mirrors_them(
    words: str, poles: list[str]
) -> None:
    plan = read_plan_text(CONTACTOR.format(words=words), "fan.yaml")
    found = [f for f in single_faults(plan) if f.text == "Q2 poles welded"]
    assert [sorted(f.closed) for f in found] == ([poles] if poles else [])
    assert not any(f.opened for f in found)
