"""What is said of a step of a rehearsal besides how things then stand."""

from __future__ import annotations

import pytest

from wirecheck import pipeline
from wirecheck.behaviour import rehearsal
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.remarks import Outcome, differences, on_the_way, worst_motion
from wirecheck.behaviour.single import Single
from wirecheck.errors import TooLarge
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event, Plan

CHAIN = """\
wirecheck: 1
machine: {name: pilot lamp of the club's saw}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}, 21-22: {closed_in: ["off"]}}}
  K1: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
  K2: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 24 V DC}
wires:
  - {number: L, run: [G0:L, G1:L, S1:13, K1:13]}
  - {number: 1, run: [S1:14, K1:A1]}
  - {number: 2, run: [K1:14, K2:A1]}
  - {number: N, run: [G0:N, G1:N, K1:A2, K2:A2]}
  - {number: 3, run: ["G1:+", K2:13]}
  - {number: 4, run: [K2:14, P1:X1]}
  - {number: 0, run: ["G1:-", P1:X2, G0:PE]}
"""
"""The second relay, which the first one takes in, lights a lamp from a supply of its own with one side earthed."""


def test_a_short_that_comes_last_and_stands_is_told_as_standing() -> None:
    step = pipeline.rehearse(read_plan_text(CHAIN, "saw"), ["G0=on", "S1=run"], "wire 4 earthed", 1)[-1]
    assert step.changes == ("K1 pulls in", "K2 pulls in")
    assert step.notes == ("a short circuit across G1: nothing clears it, and while it lasts there is no voltage",)


def test_without_being_told_when_a_fault_comes_before_the_first_event() -> None:
    plan = read_plan_text(CHAIN, "saw")
    fault = next(f for f in single_faults(plan) if f.text == "K2 stuck in")
    steps = rehearsal.rehearse(plan, [Event("G0", "on")], [fault])
    assert [(step.event, step.fault) for step in steps] == [("rest", False), ("K2 stuck in", True), ("G0=on", False)]


def test_where_slow_contacts_are_too_much_to_follow_the_quick_ones_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    plan, events = read_plan_text(CHAIN, "saw"), [Event("G0", "on"), Event("S1", "run")]
    told = rehearsal.rehearse(plan, events)
    play = rehearsal.Rehearsal.play
    played: list[Plan] = []

    def only_once(self: rehearsal.Rehearsal, *given: object) -> object:
        if played:
            raise TooLarge("so much moves")
        played.append(self.plan)
        return play(self, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(rehearsal.Rehearsal, "play", only_once)
    assert rehearsal.rehearse(plan, events) == told
    assert played == [plan]


SAFETY = """\
wirecheck: 1
machine: {name: guard of the club's saw}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  K1: {kind: safety-relay, voltage: 230 V AC, channels: [[S11, S12]], reset: monitored}
  K2: {kind: relay, coil: 230 V AC}
  S1: {kind: push-button, contacts: {13-14: NO}}
wires:
  - {number: L, run: [G0:L, K1:A1, K2:A1]}
  - {number: N, run: [G0:N, K1:A2, K2:A2]}
"""


@pytest.mark.parametrize(
    ("codes", "told"),
    [
        (("out", "in", "ready"), ["K1 pulls in for a moment"]),
        (("armed", "in", "ready"), ["K1 pulls in for a moment"]),
        (("in", "ready", "in"), ["K1 drops out for a moment"]),
        (("out", "ready", "armed"), []),
        (("ready", "in", "in"), []),
    ],
)
def test_a_safety_relay_is_out_whatever_it_remembers(codes: tuple[str, ...], told: list[str]) -> None:
    single = Single(read_plan_text(SAFETY, "saw"))
    way = [single.encode({"K1": code}) for code in codes]
    assert list(on_the_way(single, Outcome(way[-1], [way[0]], way))) == told


def test_outcomes_are_told_apart_by_what_stands_differently_and_where_that_is_not_enough_by_all_that_does() -> None:
    single = Single(read_plan_text(SAFETY, "saw"))

    def said(*states: dict[str, str]) -> list[str]:
        return differences(single, [Outcome(single.encode(state), []) for state in states])

    assert said({"K2": "in"}, {"K1": "in"}) == ["they differ in K1, K2"] * 2
    assert said({"K1": "ready"}, {"K1": "out"}) == ["K1: ready", "K1: out"]
    both = "they differ in K2; K1: {}; K2: {}"
    assert said({"K2": "in"}, {"K1": "ready"}, {}) == [both.format(*c) for c in (("out", "in"), ("ready", "out"), ("out", "out"))]
    assert said({"S1": "pressed"}) == [""]


def test_what_runs_at_any_time_is_told_as_running_and_what_never_does_as_stopped() -> None:
    stands, runs = {"M1": "stopped", "M2": "stopped"}, {"M1": "reverse", "M2": "stopped"}
    assert worst_motion([stands, runs, stands]) == runs
    assert worst_motion([stands]) == stands
