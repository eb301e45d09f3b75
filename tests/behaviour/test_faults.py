"""The list of single faults of a plan: which there are, what they are called, what each changes, and what is left out."""

from __future__ import annotations

from functools import cache

import pytest

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour.faults import EXCLUDED, Fault, excluded, fault_elements, single_faults
from wirecheck.circuit import Element, elements_of
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


@pytest.mark.parametrize(
    ("poles", "guided"), [("[1-2]", "false"), ("[1-2, 3-4]", "true")], ids=["one pole", "a break contact guided by them"]
)
def test_poles_do_not_weld_at_once_where_there_is_one_or_a_guided_break_contact_shows_it(poles: str, guided: str) -> None:
    words = f"mirror_contacts: false, forced_guided: {guided},"
    text = CONTACTOR.format(words=words).replace("[1-2, 3-4]", poles)
    if "3-4" not in poles:
        text = text.replace(" Q2:3,", "").replace("Q2:4", "Q2:14")
    plan = read_plan_text(text, "fan.yaml")
    assert "Q2 stuck in" in [f.text for f in single_faults(plan)]
    assert "Q2 poles welded" not in [f.text for f in single_faults(plan)]


PUMP = """\
wirecheck: 1
machine: {name: Coolant pump}
devices:
  X0: {kind: earth-bar}
  K9: {kind: safety-relay, voltage: 230 V AC, supply: [A1, A2], channels: [[S11, S12]], reset: automatic, contacts: {13-14: NO}}
  G0: {kind: mains, phases: 1, voltage: 230 V}
  S3: {kind: push-button, contacts: {11-12: NC, 23-24: NO}}
  V1: {kind: diode}
  Q2: {kind: contactor, coil: 230 V AC, mirror_contacts: false, poles: [1-2, 3-4]}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W]}
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward, DI2: unused, DI3: jog}
cables:
  W1: {cores: 3}
wires:
  - {number: L, run: ["G0:L", "S3:11", "K9:13"]}
  - {number: 1, run: ["S3:12", "V1:A"], cable: W1}
  - {number: 2, run: ["V1:K", "Q2:A1"], cable: W1}
  - {number: 2, run: ["Q2:A1", "Q2:1"], cable: W1}
  - {number: 3, run: ["Q2:3", "K9:14"]}
  - {number: 4, run: ["Q2:2", "T1:L"]}
  - {number: 5, run: ["Q2:4", "T1:N"]}
  - {number: 6, run: ["T1:P24", "T1:DI1", "T1:DI2"]}
  - {number: PE, run: ["G0:PE", "X0:1"]}
"""
WIRES = ["L G0:L S3:11", "L S3:11 K9:13", "1 S3:12 V1:A", "2 V1:K Q2:A1", "2 Q2:A1 Q2:1", "3 Q2:3 K9:14"]
WIRES += ["4 Q2:2 T1:L", "5 Q2:4 T1:N", "6 T1:P24 T1:DI1", "6 T1:DI1 T1:DI2", "PE G0:PE X0:1"]
EARTHED = ("L G0:L S3 K9", "1 S3:12 V1", "2 V1:K Q2", "3 Q2:3 K9", "4 Q2:2 T1", "5 Q2:4 T1", "6 T1:P24")


def broken(index: int, words: str) -> Fault:
    """A wire that breaks, by its number and ends."""
    number, a, b = words.split()
    devices = (a.partition(":")[0], b.partition(":")[0])
    key = ("wire", str(index))
    return Fault(f"wire {number} [{a}–{b}] open", "wire open", devices, (number,), removed=frozenset({key}))


def earthed(words: str) -> Fault:
    """A conductor that touches earth at the mains, by its number, its first end and the other devices on it."""
    number, first, *others = words.split()
    devices = (first.partition(":")[0], *others)
    return Fault(f"wire {number} earthed", "earthed", devices, (number,), joins=((terminal(first), terminal("G0:PE")),))


def test_every_fault_says_all_that_it_changes() -> None:
    """S3 has a contact without wires, T1 an input that does nothing and one without a wire. K9 is certified."""
    plan = read_plan_text(PUMP, "pump")
    parts = [
        part
        for device, name in (("S3", "S3:11-12"), ("Q2", "Q2:1-2"), ("Q2", "Q2:3-4"))
        for part in (
            Fault(f"{name} stuck open", "stuck open", (device,), opened=frozenset({name})),
            Fault(f"{name} welded", "welded", (device,), closed=frozenset({name})),
        )
    ]
    assert list(single_faults(plan)) == [
        *(broken(index, words) for index, words in enumerate(WIRES)),
        *parts,
        Fault("Q2 poles welded", "welded", ("Q2",), closed=frozenset({"Q2:1-2", "Q2:3-4"})),
        Fault("Q2 coil open", "coil open", ("Q2",), coils=frozenset({"Q2"})),
        Fault("Q2 stuck in", "stuck in", ("Q2",), stuck=frozenset({"Q2"})),
        *(earthed(words) for words in EARTHED),
        Fault("W1: 1 shorted to 2", "shorted", ("S3", "V1", "Q2"), ("1", "2"), joins=((terminal("S3:12"), terminal("V1:K")),)),
        Fault("G0 lost", "source lost", ("G0",), lost=frozenset({"G0"})),
        Fault("T1 control supply lost", "source lost", ("T1",), lost=frozenset({"T1 control supply"})),
        Fault("T1:DI1 stuck on", "input stuck", ("T1",), inputs={terminal("T1:DI1"): True}),
        Fault("T1:DI1 stuck off", "input stuck", ("T1",), inputs={terminal("T1:DI1"): False}),
    ]


@pytest.mark.parametrize(
    ("devices", "earth"),
    [
        (["X0: {kind: earth-bar}", "U1: {kind: frame}"], "X0:4"),
        (["U1: {kind: frame}", "X0: {kind: earth-bar}"], "X0:4"),
        (["U1: {kind: frame}"], "U1:PE"),
        ([], None),
    ],
)
def test_where_no_mains_is_in_the_plan_the_earth_bar_or_the_frame_is_earth(devices: list[str], earth: str | None) -> None:
    others = ["G1: {kind: dc-supply, voltage: 24 V DC}", "P1: {kind: lamp, voltage: 24 V}"]
    runs = ["G1:+ P1:X1", "G1:- P1:X2", *(f"{d[:2]}:{'PE' if d[0] == 'U' else '4'} G1:-" for d in devices)]
    plan = read_plan_text(plan_text([*others, *devices], runs), "no mains")
    found = [(f.wires, f.joins) for f in single_faults(plan) if f.kind == "earthed"]
    assert found == ([(("1",), ((terminal("G1:+"), terminal(earth)),))] if earth else [])


def test_an_earth_bar_with_a_terminal_of_that_name_is_earth_there() -> None:
    devices = ["G1: {kind: dc-supply, voltage: 24 V DC}", "X0: {kind: earth-bar}", "P1: {kind: lamp, voltage: 24 V}"]
    plan = read_plan_text(plan_text(devices, ["G1:+ P1:X1", "G1:- P1:X2", "X0:4 G1:-", "X0:4 X0:PE"]), "earth bar")
    assert [f.joins for f in single_faults(plan) if f.kind == "earthed"] == [((terminal("G1:+"), terminal("X0:PE")),)]


def test_nothing_is_said_not_to_fail_where_there_is_nothing_of_the_sort() -> None:
    supply, button = "G0: {kind: mains, phases: 1, voltage: 230 V}", "S1: {kind: push-button, contacts: {13-14: NO}}"
    assert excluded(read_plan_text(plan_text([supply, button], ["G0:L S1:13"]), "button")) == ()


def test_a_drive_without_torque_off_inputs_is_not_said_to_be_certified() -> None:
    assert excluded(read_plan_text(PUMP, "pump")) == (
        "K9: taken as certified, no fault inside it is assumed",
        "wires inside one enclosure: not taken to touch each other; the cores of one cable are",
    )


def test_of_several_certified_devices_all_are_named() -> None:
    relay = "K%d: {kind: safety-relay, voltage: 230 V AC, supply: [A1, A2], channels: [[S11, S12]], contacts: {13-14: NO}}"
    off = "safe_torque_off: {channels: [STO1], common: STOC}"
    control = f"{{mode: two-wire, logic: sourcing, supply: {{plus: P24, common: COM, voltage: 24 V DC}}, {off}}}"
    drive = f"T%d: {{kind: drive, input: {{terminals: [L, N], phases: 1, voltage: 230 V}}, control: {control}}}"
    plan = read_plan_text(plan_text([relay % 1, relay % 2, drive % 1, drive % 2], []), "two of each")
    assert excluded(plan) == (
        "K1, K2: taken as certified, no fault inside it is assumed",
        "T1, T2 safe torque off: taken as certified, no fault inside it is assumed",
    )


def test_a_guided_break_contact_that_welds_keeps_no_other_break_contact_open() -> None:
    relay = "K1: {kind: relay, coil: 24 V DC, forced_guided: true, contacts: {11-12: NC, 21-22: NC, 33-34: NO}}"
    plan = read_plan_text(plan_text([relay, "X1: {kind: terminal-block}"], ["X1:1 K1:11 K1:21 K1:33 K1:12 K1:22 K1:34"]), "relay")
    assert {f.text: f.opened for f in single_faults(plan) if f.kind == "welded"} == {
        "K1:11-12 welded": {"K1:33-34"},
        "K1:21-22 welded": {"K1:33-34"},
        "K1:33-34 welded": {"K1:11-12", "K1:21-22"},
    }


def test_both_of_two_faults_are_there() -> None:
    a, b, c, d = (terminal(f"X1:{n}") for n in (1, 2, 3, 4))
    one = Fault(
        "one", "welded", ("Q1", "Q2"), ("1",), frozenset({("wire", "1")}), frozenset({"Q1:1"}), frozenset({"Q1:2"}),
        ((a, b),), frozenset({"K1"}), frozenset({"K2"}), frozenset({"G1"}), {a: True},
    )  # fmt: skip
    two = Fault(
        "two", "shorted", ("Q2", "Q3"), ("1", "2"), frozenset({("wire", "2")}), frozenset({"Q2:1"}), frozenset({"Q2:2"}),
        ((c, d),), frozenset({"K3"}), frozenset({"K4"}), frozenset({"G2"}), {b: False},
    )  # fmt: skip
    assert one + two == Fault(
        "one, then two", "shorted", ("Q1", "Q2", "Q3"), ("1", "2"), frozenset({("wire", "1"), ("wire", "2")}),
        frozenset({"Q1:1", "Q2:1"}), frozenset({"Q1:2", "Q2:2"}), ((a, b), (c, d)), frozenset({"K1", "K3"}),
        frozenset({"K2", "K4"}), frozenset({"G1", "G2"}), {a: True, b: False},
    )  # fmt: skip


def test_the_elements_with_a_fault_are_those_of_the_plan_without_what_it_takes_and_with_what_it_joins() -> None:
    plan = read_plan_text(PUMP, "pump")
    given = elements_of(plan)
    one, two = (f for f in single_faults(plan) if f.text in ("wire 3 [Q2:3–K9:14] open", "wire 4 earthed"))
    third = Fault("W1: 1 shorted to 3", "shorted", joins=((terminal("S3:12"), terminal("Q2:3")),))
    found = fault_elements(given, one + two + third)
    assert found[:-2] == tuple(e for e in given if e.key != ("wire", "5"))
    assert len(found) == len(given) + 1
    assert found[-2:] == (
        Element("link", "fault 0", terminal("Q2:2"), terminal("G0:PE")),
        Element("link", "fault 1", terminal("S3:12"), terminal("Q2:3")),
    )
    assert fault_elements(given, two)[: len(given)] == given
