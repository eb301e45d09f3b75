"""Rules on wiring at their edges: arrangements that look wrong and are fine, and the fault that lies next to each."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, example
from wirecheck.facts import Facts
from wirecheck.findings import Finding, severity_rank
from wirecheck.plan import read_plan_text
from wirecheck.rules.assembly import fold
from wirecheck.rules.loader import load_rules
from wirecheck.rules.runner import judge_rules

RULES = {rule.name: rule for rule in load_rules()}

PUMP = example("neutral-is-not-switched-alone", "Isolator and contactor")
STARTER = example("control-supply-has-one-bond", "One bond")
RELAY = example("control-supply-has-one-bond", "Two supplies")
KNOB = example("clockwise-is-faster", "The low end")
DRIVE = example("broken-knob-wire-is-thought-of", "No knob")


def found(rule: str, plan: str) -> list[Finding]:
    judgement = judge_rules([RULES[rule]], Facts(read_plan_text(plan, "plan.yaml")))
    assert judgement.incomplete == ()
    return fold(judgement.findings)


def test_an_overload_relay_between_coil_and_neutral_is_let_pass() -> None:
    plan = changed(
        PUMP,
        ("  P1: {kind: pump", "  F4: {kind: overload-relay, poles: [1-2], contacts: {95-96: NC}}\n  P1: {kind: pump"),
        ("run: [Q1:4, Q2:3, Q2:A2]", "run: [Q1:4, Q2:3, F4:95]"),
        ("  - {number: PE, run: [G0:PE", "  - {number: 9, run: [F4:96, Q2:A2]}\n  - {number: PE, run: [G0:PE"),
    )
    assert found("neutral-is-not-switched-alone", plan) == []
    assert [f.devices for f in found("neutral-is-not-switched-alone", plan.replace("overload-relay", "circuit-breaker"))] == [
        ("F4",)
    ]


def test_a_supply_without_a_neutral_has_none_to_switch() -> None:
    plan = example("isolator-opens-every-phase", "two poles")
    assert found("neutral-is-not-switched-alone", plan) == []


def test_a_lamp_across_a_coil_is_no_current_through_earth() -> None:
    plan = changed(
        STARTER,
        ("  B0: {kind", "  P1: {kind: lamp, voltage: 24 V}\n  B0: {kind"),
        ('["T2:4", Q2:A2]', '["T2:4", Q2:A2, P1:X2]'),
        ("run: [S3:14, Q2:14, Q2:A1]", "run: [S3:14, Q2:14, Q2:A1, P1:X1]"),
    )
    assert found("no-current-goes-home-through-earth", plan) == []
    to_earth = changed(plan, (", P1:X2]}", "]}\n  - {number: PE, run: [X0:7, P1:X2]}"))
    assert [f.devices for f in found("no-current-goes-home-through-earth", to_earth)] == [("P1", "T2")]


def test_with_sinking_logic_it_is_plus_that_may_be_earthed() -> None:
    sinking = example("drive-inputs-are-switched-on-the-right-rail", "Sinking")
    (finding,) = found("control-supply-is-earthed-on-one-side", sinking)
    assert finding.severity == "advice"
    assert "Join T1:P24 to the earth bar" in finding.remedy


FLOATING = {
    "transformer": example("control-supply-is-earthed-on-one-side", "Neither side"),
    "d.c. supply and sourcing drive": example("control-supply-is-earthed-on-one-side", "minus of the d.c. supply"),
    "sinking drive": example("drive-inputs-are-switched-on-the-right-rail", "Sinking"),
    "d.c. supply, earthed, and sinking drive": changed(
        example("drive-inputs-are-switched-on-the-right-rail", "Sinking"),
        ("  B0: {kind", "  G1: {kind: dc-supply, voltage: 24 V DC}\n  P1: {kind: lamp, voltage: 24 V DC}\n  B0: {kind"),
        ("run: [Q1:2, T1:L]", "run: [Q1:2, T1:L, G1:L]"),
        ("run: [Q1:4, T1:N]", "run: [Q1:4, T1:N, G1:N]"),
        (
            "  - {number: 1,",
            '  - {number: 9, run: ["G1:+", P1:X1]}\n  - {number: 0V, run: ["G1:-", P1:X2, X0:12]}\n  - {number: 1,',
        ),
    ),
}


def all_found(plan: str) -> list[Finding]:
    judgement = judge_rules([*RULES.values()], Facts(read_plan_text(plan, "plan.yaml")))
    assert judgement.incomplete == ()
    return [*judgement.findings]


@pytest.mark.parametrize("plan", FLOATING.values(), ids=FLOATING)
def test_who_joins_a_floating_supply_to_earth_as_told_meets_nothing_worse(plan: str) -> None:
    before = all_found(plan)
    floating = [f for f in before if f.rule == "control-supply-is-earthed-on-one-side"]
    assert floating
    wires = []
    for n, finding in enumerate(floating):
        pole = finding.remedy.removeprefix("Join ").partition(" to the earth bar")[0]
        wires.append(f'  - {{number: PE, run: [X0:{20 + n}, "{pole}"]}}\n')
    after = all_found(plan.rstrip("\n") + "\n" + "".join(wires))
    loud = {f.rule for f in after if severity_rank(f.severity) >= severity_rank("malfunction")}
    assert loud <= {f.rule for f in before}
    assert "control-supply-is-earthed-on-one-side" not in {f.rule for f in after}


def test_plus_of_one_supply_on_minus_of_another_is_two_sources_meeting() -> None:
    # By way of earth as well: one is earthed at minus, the other at plus.
    plan = changed(RELAY, ("run: [X0:6, T1:COM]", "run: [X0:6, T1:P24]"))
    (finding,) = found("one-source-on-a-potential", plan)
    assert "G1:- is joined to T1:P24" in finding.message


def test_a_drive_whose_own_supply_is_not_used_need_not_be_earthed() -> None:
    plan = changed(
        RELAY,
        ("run: [T1:P24, K1:23]", "run: [F2:2, K1:23]"),
        ("  - {number: PE, run: [X0:6, T1:COM]}\n", ""),
        ('run: ["G1:-", K1:A2, R1:A]', 'run: ["G1:-", K1:A2, R1:A, T1:COM]'),
    )
    assert found("control-supply-is-earthed-on-one-side", plan) == []
    assert found("drive-inputs-have-a-way-back", plan) == []


def test_sinking_inputs_from_another_supply_need_its_plus() -> None:
    plan = changed(
        RELAY,
        ("logic: sourcing", "logic: sinking"),
        ("run: [T1:P24, K1:23]", 'run: ["G1:-", K1:23]'),
        ("  - {number: PE, run: [X0:6, T1:COM]}\n", ""),
    )
    (finding,) = found("drive-inputs-have-a-way-back", plan)
    assert "T1:P24 has no way back to G1:+" in finding.message
    joined = changed(plan, ('run: ["G1:+", F2:1]', 'run: ["G1:+", F2:1, T1:P24]'))
    assert found("drive-inputs-have-a-way-back", joined) == []


def test_an_input_that_is_tied_down_for_good_is_meant_so() -> None:
    plan = changed(
        DRIVE,
        ("DI2: {does: run-permit", "DI3: jog, DI2: {does: run-permit"),
        ("  - {number: 3,", "  - {number: 0V, run: [T1:COM, T1:DI3]}\n  - {number: 3,"),
    )
    assert found("drive-inputs-are-switched-on-the-right-rail", plan) == []


@pytest.mark.parametrize(
    ("wire", "effect"),
    [
        ("wire 4 [T1:ACOM\u2013R1:1] open", "full speed at every position of the knob"),
        ("wire 6 [T1:V10\u2013R1:3] open", "no speed signal: the lowest speed at every position"),
    ],
)
def test_a_knob_tells_what_each_of_its_wires_does(wire: str, effect: str) -> None:
    (finding,) = found("broken-knob-wire-is-thought-of", KNOB)
    assert len(finding.evidence.cases) == 3
    assert finding.evidence.cases[wire] == effect


def test_a_knob_behind_a_selector_is_not_judged_by_its_metal() -> None:
    plan = changed(
        KNOB,
        ("  B0: {kind", "  S8: {kind: selector, positions: [slow, knob], contacts: {1-2: {closed_in: [knob]}}}\n  B0: {kind"),
        ("run: [T1:AI1, R1:2]", 'run: [T1:AI1, "S8:1"]}\n  - {number: 7, run: ["S8:2", R1:2]'),
    )
    names = [name for name, rule in RULES.items() if rule.kind == "speed-knob"]
    assert [f for name in names for f in found(name, plan)] == []


def test_a_thermal_switch_in_series_with_a_thermistor_is_understood_by_its_input() -> None:
    plan = changed(
        example("temperature-switch-is-no-thermistor", "with thermistors"),
        ("  B0: {kind", "  B1: {kind: thermal-switch, contacts: {1-2: NC}}\n  B0: {kind"),
        ("run: [T1:TH1, M1:TP1]", 'run: [T1:TH1, "B1:1"]}\n  - {number: 12, run: ["B1:2", M1:TP1]'),
    )
    assert found("temperature-switch-is-no-thermistor", plan) == []


def test_a_thermistor_relay_takes_thermistors_and_no_switches() -> None:
    plan = changed(
        RELAY,
        ("kind: motor,", "kind: motor, sensor: thermistor,"),
        ("  R1: {kind: diode", "  K5: {kind: thermistor-relay, voltage: 24 V DC, contacts: {11-14: NO}}\n  R1: {kind: diode"),
        (
            "run: [F2:2, S3:11]",
            (
                "run: [F2:2, K5:A1, K5:11]}\n  - {number: 7, run: [K5:14, S3:11]}\n"
                "  - {number: 8, run: [K5:T1, M1:TP1]}\n  - {number: 9, run: [K5:T2, M1:TP2]"
            ),
        ),
        ('run: ["G1:-", K1:A2, R1:A]', 'run: ["G1:-", K1:A2, R1:A, K5:A2]'),
    )
    names = [name for name, rule in RULES.items() if rule.kind == "temperature-sensor-is-wired-right"]
    assert [f for name in names for f in found(name, plan)] == []
    bimetal = plan.replace("sensor: thermistor", "sensor: opens-when-hot")
    assert [f.devices for f in found("temperature-switch-is-no-thermistor", bimetal)] == [("M1", "K5")]


@pytest.mark.parametrize(("kind", "rule"), [("AC", "sees-the-drive"), ("A", "sees-the-drive"), ("F", "sees-the-drive")])
def test_behind_a_drive_with_three_phases_only_type_b_will_do(kind: str, rule: str) -> None:
    plan = changed(
        example("residual-current-device-sees-the-drive", "Type F"),
        ("phases: 1, voltage: 230 V, frequency", "phases: 3, voltage: 230 V, frequency"),
        ("terminals: [L, N], phases: 1", "terminals: [L, N, L3], phases: 3"),
        ("poles: [1-2, 3-4], type: F", f"poles: [1-2, 3-4, 5-6], type: {kind}"),
        ("run: [G0:L, Q1:1]", "run: [G0:L1, Q1:1]"),
        ("run: [G0:N, Q1:3]", "run: [G0:L2, Q1:3]}\n  - {number: L7, run: [G0:L3, F5:5]}\n  - {number: L8, run: [F5:6, T1:L3]"),
    )
    (finding,) = found(f"residual-current-device-{rule}", plan)
    assert "Fit type B," in finding.remedy
    assert found(f"residual-current-device-{rule}", plan.replace(f"type: {kind},", "type: B,")) == []


def test_all_coils_without_suppression_are_one_finding() -> None:
    plan = changed(
        RELAY,
        ("  R1: {kind: diode, title: across the coil}\n", "  K2: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}\n"),
        ("K1:A1, R1:K", "K1:A1, K2:A1"),
        ("K1:A2, R1:A", "K1:A2, K2:A2"),
    )
    assert [f.devices for f in found("direct-current-coils-are-suppressed", plan)] == [("K1", "K2")]


def test_a_diode_across_a_coil_for_alternating_current_is_a_short() -> None:
    plan = changed(
        STARTER,
        ("  B0: {kind", "  R1: {kind: diode}\n  B0: {kind"),
        ('["T2:4", Q2:A2]', '["T2:4", Q2:A2, R1:A]'),
        ("run: [S3:14, Q2:14, Q2:A1]", "run: [S3:14, Q2:14, Q2:A1, R1:K]"),
    )
    assert "R1" in found("no-short-across-a-supply", plan)[0].devices


def test_what_hangs_on_the_output_is_seen_though_the_drive_never_runs() -> None:
    plan = changed(
        DRIVE,
        ("  B0: {kind", "  C1: {kind: capacitor}\n  B0: {kind"),
        ("run: [T1:U, M1:U1]", 'run: [T1:U, M1:U1, "C1:1"]'),
        ("  - {number: 3, run: [S4:14, T1:DI1]}\n", ""),
    )
    assert [f.devices for f in found("nothing-but-the-motor-on-a-drive-output", plan)] == [("C1", "T1")]


def test_a_resistor_whose_switch_drops_the_run_relay_is_half_watched() -> None:
    chain = example("cooling-down-starts-nothing", "in one chain")
    (finding,) = found("braking-resistor-can-be-cut-off", chain)
    assert (finding.severity, finding.devices) == ("advice", ("R1", "T1", "B1"))


def test_a_contactor_that_opens_only_the_neutral_of_a_load_is_found() -> None:
    """Its own pole stands in the phase, of something else; and the load is named with its terminal."""
    past = changed(PUMP, ("run: [Q2:2, P1:X1]", "run: [Q2:1, P1:X1]"))
    told = found("neutral-is-not-switched-alone", past)
    assert [(f.severity, f.devices) for f in told] == [("danger", ("Q2", "P1"))]
    assert "it opens the neutral of P1 (coolant), and the phase at P1:X1 comes past it" in told[0].message
    both_ahead = changed(past, ("run: [Q2:4, P1:X2]", "run: [Q2:3, P1:X2]"))
    assert found("neutral-is-not-switched-alone", both_ahead) == []


def test_a_core_is_reckoned_with_the_smaller_of_two_sizes() -> None:
    bad = example("cores-have-the-size-of-their-cable", "0.75 mm2")
    for plan, size, stated in (
        (bad, 0.75, "2.5 mm2"),
        (bad.replace("size: 0.75 mm2", "size: 4 mm2"), 2.5, "2.5 mm2"),
        (bad.replace("size: 0.75 mm2", "size: 2.4 mm2"), 2.5, ""),
    ):
        wires = read_plan_text(plan, "plan.yaml").wires
        assert (wires[0].size_mm2, wires[0].stated_size) == (size, stated)
        assert wires[2].stated_size == ""  # it says nothing itself
