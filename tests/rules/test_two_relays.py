"""Where two contactors stand for two channels, each that sticks must show itself, whichever sticks first."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed
from wirecheck.facts import Facts
from wirecheck.findings import Finding
from wirecheck.plan import read_plan_text
from wirecheck.rules.claims.survives import also
from wirecheck.rules.loader import load_rules
from wirecheck.rules.runner import judge_rules

PRESS = """\
wirecheck: 1
machine: {name: Small press}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN, protected_by: {rating: 10 A, curve: C}}
  G1: {kind: dc-supply, voltage: 24 V DC, current: 2 A}
  S1: {kind: emergency-stop, contacts: {11-12: NC, 21-22: NC}, direct_opening: true, latching: true}
  S5: {kind: push-button, role: reset, contacts: {13-14: NO}}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  K1: {kind: safety-relay, supply: [A1, A2], channels: [[S11, S12], [S21, S22]], reset_loop: [S33, S34], voltage: 24 V DC,
    reset: monitored, cross_fault_detection: true, contacts: {13-14: NO, 23-24: NO, 33-34: NO}}
  K2: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 23-24: NO, 33-34: NO}}
  Q1: {kind: contactor, poles: [1-2, 3-4, 5-6], coil: 24 V DC, mirror_contacts: true, contacts: {21-22: NC}}
  Q2: {kind: contactor, poles: [1-2, 3-4, 5-6], coil: 24 V DC, mirror_contacts: true, contacts: {21-22: NC}}
  M1: {kind: motor, plate: {star: 400 V}, links: [[U2, V2, W2]]}
wires:
  - {number: L1, run: [G0:L1, Q1:1]}
  - {number: L2, run: [G0:L2, Q1:3]}
  - {number: L3, run: [G0:L3, Q1:5]}
  - {number: L4, run: [Q1:2, Q2:1]}
  - {number: L5, run: [Q1:4, Q2:3]}
  - {number: L6, run: [Q1:6, Q2:5]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: W, run: [Q2:6, M1:W1]}
  - {number: PE, run: [G0:PE, M1:PE, G1:PE, "G1:-"]}
  - {number: L1, run: [G0:L1, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 0V, run: ["G1:-", K1:A2, K2:A2, Q1:A2, Q2:A2]}
  - {number: 1, run: ["G1:+", K1:A1, K1:13, K1:23, S3:11]}
  - {number: 2, run: [K1:S11, S1:11]}
  - {number: 3, run: [S1:12, K1:S12]}
  - {number: 4, run: [K1:S21, S1:21]}
  - {number: 5, run: [S1:22, K1:S22]}
  - {number: 6, run: [K1:S33, Q1:21]}
  - {number: 7, run: [Q1:22, Q2:21]}
  - {number: 8, run: [Q2:22, S5:13]}
  - {number: 9, run: [S5:14, K1:S34]}
  - {number: 10, run: [S3:12, K1:33]}
  - {number: 11, run: [K1:34, S4:13, K2:13]}
  - {number: 12, run: [S4:14, K2:14, K2:A1]}
  - {number: 13, run: [K1:14, K2:23]}
  - {number: 14, run: [K2:24, Q1:A1]}
  - {number: 15, run: [K1:24, K2:33]}
  - {number: 16, run: [K2:34, Q2:A1]}
functions:
  emergency-stop: {when: S1=pressed, must: M1 stopped, required: {category: 3, level: d}}
"""

Q1, Q2 = (f"{q}: {{kind: contactor, poles: [1-2, 3-4, 5-6], coil: 24 V DC, mirror_contacts: true" for q in ("Q1", "Q2"))


def found(plan: str, *changes: tuple[str, str]) -> list[Finding]:
    (rule,) = (r for r in load_rules() if r.name == "stuck-relay-of-two-shows-itself")
    judgement = judge_rules([rule], Facts(read_plan_text(changed(plan, *changes), "plan.yaml")))
    assert judgement.incomplete == ()
    return list(judgement.findings)


def test_both_mirror_contacts_in_the_reset_loop_are_enough() -> None:
    assert found(PRESS) == []


@pytest.mark.parametrize(
    ("changes", "order"),
    [
        ([("run: [Q1:22, Q2:21]", "run: [Q1:22, Q2:22]")], "Q2 stuck in, then Q1 stuck in"),
        ([("run: [K1:S33, Q1:21]", "run: [K1:S33, Q1:22]")], "Q1 stuck in, then Q2 stuck in"),
        ([(Q2, Q2.replace("true", "false"))], "Q2 poles welded, then Q1 stuck in"),
        ([(Q1, Q1.replace("true", "false"))], "Q1 poles welded, then Q2 stuck in"),
    ],
)
def test_one_of_two_that_nothing_looks_at_is_told_and_comes_first(changes: list[tuple[str, str]], order: str) -> None:
    """The one in the reset loop may well stick second: while all runs, and on top of what nobody has learnt of."""
    (finding,) = found(PRESS, *changes)
    assert order in finding.message
    assert finding.severity == "danger"


def test_pairs_of_faults_are_parted_so_that_each_pair_can_be_seen() -> None:
    pairs = ["K1 stuck in, then K2 stuck in", "K2 stuck in, then K1 stuck in"]
    assert also(pairs) == " The same with K1 stuck in, then K2 stuck in; K2 stuck in, then K1 stuck in."
    assert also(["wire 1 open", "wire 2 open"]) == " The same with wire 1 open and wire 2 open."
