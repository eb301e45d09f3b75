"""What a finding says fits the plan: who stops whom, and a remedy that the plan does not have already."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.electrics.plans import changed, example
from tests.rules.test_wiring_rules import found

COOLING = example("cooling-down-starts-nothing", "The hot motor drops Q2")


def test_a_hot_motor_stops_itself() -> None:
    plan = COOLING.rstrip("\n") + "\nfunctions:\n  motor-hot: {when: M1=hot, must: M1 stopped}\n"
    messages = [f.message for f in found("stuck-parts-that-are-accepted", plan) if f.devices[0] == "M1"]
    assert [m.startswith("A hot M1 no longer stops itself with ") for m in messages] == [True]


BELT = """\
wirecheck: 1
machine: {name: Belt sander}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  K5: {kind: thermistor-relay, voltage: 230 V AC, sensor: [T1, T2], reset: automatic, contacts: {11-14: NO}}
  B7: {kind: thermal-switch, contacts: {1-2: NC}}
  S1: {kind: push-button, title: stop, role: stop, contacts: {11-12: NC}}
  S3: {kind: push-button, title: start, role: start, contacts: {13-14: NO}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}}
  M1: {kind: motor, power: 0.37 kW, sensor: thermistor, plate: {delta: 230 V, star: 400 V}, links: [[U2, V2, W2]]}
wires:
  - {number: 1, run: [G0:L1, Q2:1, K5:A1, K5:11]}
  - {number: 2, run: [G0:L2, Q2:3]}
  - {number: 3, run: [G0:L3, Q2:5]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: W, run: [Q2:6, M1:W1]}
  - {number: PE, run: [G0:PE, M1:PE]}
  - {number: 4, run: [K5:14, S1:11]}
  - {number: 5, run: [S1:12, B7:2, S3:13, Q2:13]}
  - {number: 6, run: [S3:14, Q2:14, Q2:A1]}
  - {number: 7, run: [K5:T1, M1:TP1]}
  - {number: 8, run: [K5:T2, M1:TP2]}
  - {number: N, run: [G0:N, K5:A2, Q2:A2]}
functions:
  too-hot: {when: B7=hot, must: M1 stopped}
"""


def test_the_current_shown_is_that_of_the_contactor_and_not_the_supply_of_a_relay_on_its_way() -> None:
    """The supply of K5 stays whatever happens; what keeps the motor going is the coil of Q2, by way of its contact."""
    told = found("stated-function-stops-what-it-must", BELT)[0]
    assert told.devices == ("B7", "Q2", "M1")
    assert (told.evidence.walk[0], told.evidence.walk[-1]) == ("G0:L1", "Q2:A1")
    assert "K5:14" in told.evidence.walk
    assert told.wires == ("1", "4", "5", "6")


AHEAD = (Path(__file__).parents[1] / "catalogue/arrangements/line-contactor-for-the-emergency.yaml").read_text(encoding="utf-8")
BEHIND = changed(AHEAD, ("run: [S3:11, S4:13]", "run: [S3:12, S4:13]"), ("number: 10, run: [S3:12", "number: 11, run: [S3:12"))


@pytest.mark.parametrize("rule", ["held-start-is-not-a-start", "held-start-makes-no-race"])
def test_a_start_that_is_fed_through_the_stop_is_to_be_fed_from_ahead_of_it(rule: str) -> None:
    """The drive acts on a change already; fed from ahead the rule finds nothing more, so the remedy is one."""
    told = found(rule, BEHIND)[0]
    assert "eed S4:13 from ahead of S3" in told.remedy
    assert "use a drive" not in told.remedy
    assert "each other" not in told.remedy
    assert found(rule, AHEAD) == []


def test_two_starts_that_are_held_are_to_lock_each_other_out() -> None:
    plan = example("held-start-makes-no-race", "Both buttons held")
    assert "Interlock the starts with each other" in found("held-start-makes-no-race", plan)[0].remedy


def test_where_contact_speed_decides_both_outcomes_are_shown() -> None:
    plan = example("contact-speed-does-not-matter", "The break contacts got into the wrong places")
    told = found("contact-speed-does-not-matter", plan)[0]
    last = told.evidence.steps[-1]
    assert last.motion == {}
    assert last.notes[-1].startswith("where its contacts are all open for a moment M1 ")
    assert ", and where its contacts change at one moment M1 " in last.notes[-1]
    assert len(set(last.notes[-1].split(" M1 ")[1:])) == 2
    assert "makes differ" not in told.why


TIED = example("earth-fault-starts-nothing", "DI1 acts when it is tied")


def test_an_earth_fault_that_takes_a_supply_for_a_time_says_so() -> None:
    """The return is earthed already. The lamp shorts P24 while the drive has a fault, and its end looks like a fresh command."""
    assert "to the earth bar at one point" in found("earth-fault-starts-nothing", TIED)[0].remedy
    lamp = changed(
        TIED,
        ("logic: sinking", "logic: sourcing"),
        ("inputs: {DI1: run-forward}", "inputs: {DI1: run-forward}\n      relays: {RA-RB: {form: NO, acts_on: fault}}"),
        ("  M1: {kind: motor", "  P1: {kind: lamp, voltage: 24 V DC}\n  M1: {kind: motor"),
        ("run: [T1:COM, S4:13]", "run: [T1:P24, S4:13, T1:RA]"),
        ("  - {number: 2,", "  - {number: 3, run: [T1:RB, P1:X1]}\n  - {number: 4, run: [P1:X2, T1:COM]}\n  - {number: 2,"),
    )
    told = found("earth-fault-starts-nothing", lamp)[0]
    notes = [note for step in told.evidence.steps for note in step.notes]
    assert "T1:P24 is shorted by the fault and has no voltage" in notes
    assert notes.index("T1:P24 has voltage again") > notes.index("T1:P24 is shorted by the fault and has no voltage")
    assert told.remedy.startswith("Feed what hangs on wire 3 from elsewhere, or through a fuse of its own")
    assert "earth bar" not in told.remedy
