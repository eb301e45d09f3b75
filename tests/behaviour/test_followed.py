"""What acts by voltage through other loads is taken in as it is found, and leads on until nothing new appears."""

from __future__ import annotations

import pytest

from tests.behaviour.test_lost import COMMON, POWER, SUPPLY, found_in, numbered, plan
from tests.behaviour.test_sneaks import held
from tests.circuit.networks import plan_text
from wirecheck.behaviour import Behaviour, followed
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.followed import Acting, Followed, FollowedFault, SneakModel, sort_of
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.sneaks import GLOWS, MAY_HOLD, PULLS_IN, UNCERTAIN, Sneak
from wirecheck.circuit.impedances import impedances_of
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal


def sneak(kind: str, verdict: str, states: int, device: str = "K1", mark: str = "A1") -> Sneak:
    ends = Terminal(device, mark), Terminal(device, "A2")
    return Sneak(device, ends, kind, states, 16.0, 24.0, verdict, (), ("P1", "K2"))


# What is taken in


def test_of_a_coil_every_voltage_above_drop_out_holds_and_enough_pulls() -> None:
    acting = Acting(uncertain_pulls=False)
    assert acting.moved is False
    assert acting.take([]) is False
    assert acting.take([sneak("coil", UNCERTAIN, 0b0001)]) is False
    assert (acting.holds, acting.pulls, acting.moved) == ({"K1": 0b0001}, {}, False)
    assert acting.take([sneak("coil", MAY_HOLD, 0b0010)]) is True
    assert (acting.holds, acting.pulls, acting.moved) == ({"K1": 0b0011}, {}, True)
    assert acting.take([sneak("coil", PULLS_IN, 0b0100), sneak("coil", UNCERTAIN, 0b1000)]) is True
    assert (acting.holds, acting.pulls, acting.inputs) == ({"K1": 0b1111}, {"K1": 0b0100}, {})
    assert acting.take([sneak("coil", PULLS_IN, 0b0001), sneak("coil", PULLS_IN, 0b1000, "K3")]) is True
    assert acting.pulls == {"K1": 0b0101, "K3": 0b1000}


def test_what_has_moved_once_has_moved_though_nothing_more_does() -> None:
    acting = Acting(uncertain_pulls=False)
    acting.take([sneak("coil", PULLS_IN, 0b0001)])
    assert acting.take([sneak("coil", UNCERTAIN, 0b0010)]) is False
    assert acting.moved is True


def test_where_what_may_pull_in_does_an_uncertain_coil_or_input_acts() -> None:
    acting = Acting(uncertain_pulls=True)
    assert acting.take([sneak("coil", UNCERTAIN, 0b0001), sneak("input", UNCERTAIN, 0b0010, "T1", "DI1")]) is True
    assert (acting.holds, acting.pulls) == ({"K1": 0b0001}, {"K1": 0b0001})
    assert acting.inputs == {Terminal("T1", "DI1"): 0b0010}


def test_an_input_acts_from_enough_on_alone_and_each_by_itself() -> None:
    acting = Acting(uncertain_pulls=False)
    assert acting.take([sneak("input", UNCERTAIN, 0b0001, "T1", "DI1")]) is False
    assert acting.take([sneak("input", PULLS_IN, 0b0010, "T1", "DI1"), sneak("input", PULLS_IN, 0b0100, "T1", "DI2")]) is True
    acting.take([sneak("input", PULLS_IN, 0b1000, "T1", "DI1")])
    assert acting.inputs == {Terminal("T1", "DI1"): 0b1010, Terminal("T1", "DI2"): 0b0100}
    assert (acting.holds, acting.pulls) == ({}, {})


def test_a_lamp_or_solenoid_moves_nothing_that_the_circuit_knows_of() -> None:
    acting = Acting(uncertain_pulls=True)
    assert acting.take([sneak("load", GLOWS, 0b0001, "P1"), sneak("load", PULLS_IN, 0b0010, "Y1")]) is False
    assert (acting.holds, acting.pulls, acting.inputs, acting.moved) == ({}, {}, {}, False)
    assert acting.take([sneak("load", PULLS_IN, 0b0010, "Y1"), sneak("coil", MAY_HOLD, 0b0100)]) is True


def test_what_acts_is_told_at_rest_of_a_coil_that_is_in_and_of_any_input_of_the_device() -> None:
    b = held(lamp_w=2)
    acting, every = Acting(uncertain_pulls=False), b.space.full
    inside = b.within("K1") & b.reached
    acting.take([sneak("coil", MAY_HOLD, inside)])
    assert acting.at(b, "K1") == inside
    acting.take([sneak("coil", PULLS_IN, every)])
    assert acting.at(b, "K1") == b.within("K1") & b.reached
    assert acting.at(b, "P1") == 0
    on, pressed = b.at("G0", "on"), b.at("S1", "pressed")
    acting.take([sneak("input", PULLS_IN, on, "P1", "X1"), sneak("input", PULLS_IN, pressed, "P1", "X2")])
    assert acting.at(b, "P1") == (on | pressed) & b.reached
    assert acting.at(b, "P2") == 0


def test_a_sneak_path_is_told_from_another_by_device_verdict_and_the_loads_on_the_way() -> None:
    assert sort_of(sneak("coil", MAY_HOLD, 0b0001)) == ("K1", "may hold in", frozenset({"K2", "P1"}))


# What follows

SHORT = """\
wirecheck: 1
machine: {name: two contactors and a button across the supply}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  F1: {kind: fuse}
  S1: {kind: push-button, contacts: {13-14: NO, 23-24: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: contactor, coil: 230 V AC, mechanical_interlock: K2, contacts: {11-12: NC}}
  K2: {kind: contactor, coil: 230 V AC, contacts: {13-14: NO}}
wires:
  - {number: 1, run: [G0:L, F1:1]}
  - {number: 2, run: [F1:2, S1:13, S1:23, S2:13]}
  - {number: 3, run: [S1:14, K1:A1]}
  - {number: 4, run: [S1:24, K2:A1]}
  - {number: 5, run: [S2:14, K2:13]}
  - {number: N, run: [G0:N, K1:A2, K2:A2, K2:14]}
"""


def test_where_nothing_acts_by_a_sneak_path_all_moves_as_without() -> None:
    plain = Behaviour(read_plan_text(SHORT, "short")).model
    model = SneakModel(plain, Acting(uncertain_pulls=True))
    assert model.moves == plain.moves
    assert model.trips == plain.trips != []
    assert model.events == plain.events
    assert model.shorts() == plain.shorts() != {}
    assert (model.tripping, model.dying, model.interlocks) == (plain.tripping, plain.dying, plain.interlocks)


def test_only_what_acts_by_a_sneak_path_is_held_pulled_or_fed_by_it() -> None:
    b = held(lamp_w=2)
    acting = Acting(uncertain_pulls=False)
    pressed, on = b.at("S1", "pressed"), b.at("G0", "on")
    acting.take([sneak("coil", MAY_HOLD, pressed), sneak("input", PULLS_IN, on, "T1", "DI1")])
    model, ends = SneakModel(b.model, acting), (Terminal("K1", "A1"), Terminal("K1", "A2"))
    assert (model.held("K1"), model.held("K2")) == (pressed, 0)
    assert (model.input_fed(Terminal("T1", "DI1")), model.input_fed(Terminal("T1", "DI2"))) == (on, 0)
    assert model.coil("K1", *ends, None) == b.model.coil("K1", *ends, None)
    acting.take([sneak("coil", PULLS_IN, on)])
    assert model.coil("K1", *ends, None) == b.model.coil("K1", *ends, None) | on


def test_one_sneak_path_that_leads_to_another_too_often_is_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = held(lamp_w=2)
    monkeypatch.setattr(followed, "MOST_ROUNDS", 3)
    found = Followed(plain, uncertain_pulls=False)  # by what is found new states are reached; there it is as well; no more appear
    assert found.behaviour.passed & ~plain.passed
    monkeypatch.setattr(followed, "MOST_ROUNDS", 1)
    with pytest.raises(TooLarge) as raised:
        Followed(plain, uncertain_pulls=False)
    assert str(raised.value) == "the sneak paths of network: each of 1 leads to a further one"
    lost = plan(COMMON)
    with pytest.raises(TooLarge) as raised:
        [list(each) for _, each in Facts(lost).fault_sneaks]
    assert (
        str(raised.value)
        == f"the sneak paths of network: each of 1 leads to a further one, with {numbered(lost, 'K1:A2', 'P1:X2')}"
    )


class Lost:
    """The lost common of `tests/behaviour/test_lost.py`, and what is followed of it."""

    def __init__(self, runs: list[str] = COMMON) -> None:
        self.plan = plan(runs)
        self.b, self.loads = Behaviour(self.plan), impedances_of(self.plan)
        self.faults = FaultSet(self.b)
        (self.fault,) = (f for f in single_faults(self.plan) if f.text == numbered(self.plan, "K1:A2", "P1:X2"))
        self.within = Islands(self.faults.none, self.loads).changed(self.faults.model(self.fault))


def test_what_a_fault_lets_act_is_worked_out_anew_as_it_was() -> None:
    lost = Lost()
    for uncertain in (False, True):
        found = FollowedFault(lost.faults, lost.fault, lost.within, lost.loads, uncertain_pulls=uncertain)
        assert found.from_start.again is not None
        assert found.any_time.again is not None
        assert found.from_start.again().passed == found.from_start.passed
        assert found.any_time.again().passed == found.any_time.passed
        assert (found.from_start.from_start, found.any_time.from_start) == (True, False)
        assert (found.from_start.again().from_start, found.any_time.again().from_start) == (True, False)


def test_a_coil_that_may_pull_in_leads_further_where_it_does() -> None:
    lost = Lost()
    certain, bold = (
        FollowedFault(lost.faults, lost.fault, lost.within, lost.loads, uncertain_pulls=each) for each in (False, True)
    )
    fed = lost.b.at("G0", "on") & lost.b.at("S3", "on") & lost.b.at("S1", "released")
    assert certain.from_start.reached & fed & ~lost.b.within("K1")
    assert not (bold.from_start.reached & fed & ~lost.b.within("K1"))
    stopped = lost.b.at("S1", "pressed") & lost.b.at("S2", "released") & lost.b.within("K1")
    assert certain.any_time.reached & stopped
    assert not (lost.b.reached & stopped)


def test_what_is_known_without_the_fault_does_nothing_with_it_and_again_neither() -> None:
    lost = Lost()
    found = FollowedFault(lost.faults, lost.fault, lost.within, lost.loads)
    known = {sort_of(s) for s in found.sneaks if s.device == "K1"}
    quiet = FollowedFault(lost.faults, lost.fault, lost.within, lost.loads, known=known)
    assert {s.device for s in found.sneaks} - {s.device for s in quiet.sneaks} == {"K1"}
    assert quiet.acting.moved is found.acting.moved is True  # K2 is held in too
    stopped = lost.b.at("S1", "pressed") & lost.b.at("S2", "released") & lost.b.within("K1") & lost.b.at("S3", "on")
    assert found.any_time.reached & stopped
    assert not (quiet.any_time.reached & stopped)
    assert quiet.any_time.again is not None
    assert quiet.any_time.again().passed == quiet.any_time.passed


def test_what_moves_nothing_is_as_the_fault_alone_and_only_the_islands_given_are_looked_at() -> None:
    lost = Lost()
    every = {sort_of(s) for s in FollowedFault(lost.faults, lost.fault, lost.within, lost.loads).sneaks}
    quiet = FollowedFault(lost.faults, lost.fault, lost.within, lost.loads, known=every)
    assert (quiet.sneaks, quiet.acting.moved) == ([], False)
    assert (quiet.from_start.from_start, quiet.any_time.from_start) == (True, False)
    model = lost.faults.model(lost.fault)
    alone = lost.faults.behaviour(model, from_start=True), lost.faults.behaviour(model, from_start=False)
    assert (quiet.from_start.passed, quiet.any_time.passed) == (alone[0].passed, alone[1].passed)
    net = model.network.net(Terminal("K1", "A1"))
    near = FollowedFault(lost.faults, lost.fault, {net: lost.within[net]}, lost.loads)
    assert {s.device for s in near.sneaks} == {"K1", "P1"}
    assert FollowedFault(lost.faults, lost.fault, {}, lost.loads).sneaks == []


def test_a_fault_that_leads_to_where_rails_meet_without_it_too_lets_act_what_is_there() -> None:
    """K3 is in while S3 is off; stuck in, it puts P1 (288 ohm) and K1 (576) in a row where S3 is on, where it never is else."""
    selector = "S3: {kind: selector, positions: [off, on], contacts: {11-12: {closed_in: [off]}, 13-14: {closed_in: [on]}}}"
    devices = [
        *(d for d in SUPPLY if not d.startswith("S3")),
        selector,
        "K1: {kind: contactor, coil: 24 V DC, coil_power: 1 W, poles: [1-2, 3-4, 5-6]}",
        "K3: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {13-14: NO}}",
        "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}",
    ]
    runs = [*POWER, "G1:+ S1:11 S3:11 S3:13", "S1:12 S2:13", "S2:14 K1:A1", "S3:12 K3:A1", "S3:14 K3:13", "K3:14 P1:X1"]
    runs += ["P1:X2 K1:A1", "G1:- K1:A2 K3:A2", "G0:PE M1:PE"]
    found = found_in(read_plan_text(plan_text(devices, runs), "astray"))
    assert set(found) == {"K3 stuck in", "K3:13-14 welded", "S3:11-12 welded", "S3:13-14 welded"}
    told = {(s.device, s.verdict, round(s.share, 3)) for s in found["K3 stuck in"].sneaks}
    assert told == {("K1", "uncertain", 0.667), ("K1", "may hold in", 0.667), ("P1", "glows", 0.333)}
    assert found["K3 stuck in"].doubtful is not None
    assert set(found["K3 stuck in"].doubtful.effect.starts) == {"M1"}


def test_where_a_fault_leads_to_rails_that_meet_without_it_too_all_loads_are_looked_at() -> None:
    lost = Lost()
    model = lost.faults.model(lost.fault)
    some = {model.network.net(Terminal("P1", "X2")): 0b0110}
    assert followed._looked_at(some, model, lost.loads, 0) is some
    nets = {model.network.net(end) for i in lost.loads for end in (i.a, i.b)}
    wide = followed._looked_at(some, model, lost.loads, 0b1010)
    assert wide == {net: 0b1110 if net in some else 0b1010 for net in nets}
