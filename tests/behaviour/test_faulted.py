"""One fault in the circuit: what it takes from each source and motor, when it can come, and which faults are taken as alike."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.behaviour.test_coils import HEAD, TIMER, how
from tests.behaviour.test_verdicts import FAN, POLISHER
from tests.circuit.networks import terminal
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultedModel, FaultSet
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.reach import LateReach
from wirecheck.behaviour.space import numbers
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Quantity


class Tried:
    """A plan's faults by their text, and the models with them."""

    def __init__(self, text: str) -> None:
        self.healthy = Behaviour(read_plan_text(text, "faulted"))
        self.set, self.space = FaultSet(self.healthy), self.healthy.space
        self.faults = {fault.text: fault for fault in single_faults(self.healthy.plan)}

    def model(self, text: str) -> FaultedModel:
        return self.set.model(self.faults[text])

    def key(self, text: str) -> object:
        return self.set.key(self.model(text))


@pytest.fixture(scope="module")
def fan() -> Tried:
    return Tried(FAN)


def test_what_reaches_the_ends_of_a_motor_with_and_without_a_fault(fan: Tried) -> None:
    """First which pole of the supply is at which end, then which ends are joined; U1 is linked to W2, V1 to U2, W1 to V2."""
    ends = ("U1", "U2", "V1", "V2", "W1", "W2")
    pulled = fan.space.at("Q2", "in")
    links = {frozenset({"U1", "W2"}), frozenset({"V1", "U2"}), frozenset({"W1", "V2"})}

    def joined(which: str) -> list[int]:
        return [fan.space.full if end == which or frozenset({end, which}) in links else 0 for end in ends]

    def power(line: Mapping[str, int], neutral: Mapping[str, int], earth: Mapping[str, int]) -> tuple[int, ...]:
        poles = [flood.get(end, 0) for flood in (line, neutral, earth) for end in ends]
        return (*poles, *(states for which in ends[1:] for states in joined(which)))

    at_u, at_v = dict.fromkeys(("U1", "W2"), pulled), dict.fromkeys(("V1", "U2"), pulled)
    full_u = dict.fromkeys(("U1", "W2"), fan.space.full)
    assert fan.set.none.power["M1"] == power(at_u, at_v, {})
    assert fan.model("wire L [G0:L–Q2:1] open").power["M1"] == power({}, at_v, {})
    assert fan.model("Q2:1-2 welded").power["M1"] == power(full_u, at_v, {})
    assert fan.model("wire U earthed").power["M1"] == power(at_u, at_v, full_u)


def test_a_short_that_nothing_clears_takes_the_voltage_while_it_lasts(fan: Tried) -> None:
    on, pulled, released = fan.space.at("G0", "on"), fan.space.at("Q2", "in"), fan.space.at("S3", "released")
    live = {
        text: fan.model(text).supplies.live["G0"] for text in ("wire U earthed", "wire 3 earthed", "wire N earthed", "G0 lost")
    }
    assert live == {"wire U earthed": on & ~pulled, "wire 3 earthed": on & ~released, "wire N earthed": on, "G0 lost": 0}


def test_a_fault_comes_where_what_welds_is_closed_and_what_sticks_is_in(fan: Tried) -> None:
    at, full = fan.space.at, fan.space.full
    found = {
        text: fan.model(text).able for text in ("Q2:1-2 welded", "S4:13-14 welded", "Q2 stuck in", "Q2 coil open", "G0 lost")
    }
    assert found == {
        "Q2:1-2 welded": at("Q2", "in"),
        "S4:13-14 welded": at("S4", "pressed"),
        "Q2 stuck in": at("Q2", "in"),
        "Q2 coil open": full,
        "G0 lost": full,
    }
    both = fan.faults["Q2:1-2 welded"] + fan.faults["S4:13-14 welded"]
    assert fan.set.model(both).able == at("Q2", "in") & at("S4", "pressed")
    assert fan.set.model(both, fan.faults["S4:13-14 welded"]).able == at("S4", "pressed")


def test_faults_with_one_key_are_those_that_act_alike_and_none_has_that_of_nothing(fan: Tried) -> None:
    quiet = ("wire L [G0:L–P1:X1] open", "wire PE [G0:PE–M1:PE] open", "wire N earthed")
    assert [fan.key(text) is None for text in quiet] == [False, True, False]  # a lamp goes dark, earth comes to the motor
    coil = ("wire L [G0:L–S3:11] open", "wire 3 [S3:12–S4:13] open", "S3:11-12 stuck open", "Q2 coil open")
    assert len({fan.key(text) for text in coil}) == 1
    others = ("Q2:1-2 welded", "Q2:3-4 welded", "S3:11-12 welded", "S4:13-14 welded", "Q2 stuck in", "wire U earthed", "G0 lost")
    assert len({fan.key(text) for text in (*others, coil[0])}) == len(others) + 1


def test_one_that_sticks_and_one_that_moves_nothing_at_all_are_told_apart() -> None:
    """Q9 has neither wires at its coil nor at a contact: it can be in from the start, or not be in at all."""
    tried = Tried(FAN.replace("  P1:", "  Q9: {kind: relay, coil: 24 V DC}\n  P1:"))
    assert tried.key("Q9 coil open") is None
    assert tried.key("Q9 stuck in") is not None


@pytest.mark.parametrize(("mode", "there"), [("on-delay", {"K1": "in"}), ("off-delay", {"K1": "in", "K1 delayed": "in"})])
def test_a_timer_that_is_stuck_in_is_in_at_rest_with_what_acts_at_once(mode: str, there: Mapping[str, str]) -> None:
    tried = Tried(how(TIMER, mode))
    model = tried.model("K1 stuck in")
    assert model.stuck_at_rest == there
    assert model.at_rest == 1 << tried.space.encode(there)
    assert tried.model("K1 coil open").at_rest == 1


def test_a_coil_that_is_open_never_acts_and_one_that_is_stuck_stays_in(fan: Tried) -> None:
    a, b = terminal("Q2:A1"), terminal("Q2:A2")
    acts = fan.set.none.coil("Q2", a, b, None)
    assert acts
    assert fan.model("Q2 coil open").coil("Q2", a, b, None) == 0
    assert fan.model("Q2 stuck in").coil("Q2", a, b, None) == acts
    assert [fan.model(text).stays_in("Q2") for text in ("Q2 stuck in", "Q2 coil open")] == [True, False]
    assert not fan.model("Q2 stuck in").stays_in("Q3")
    assert fan.model("Q2 stuck in").coil("Q2", a, b, Quantity(24.0, "V", "24 V")) == 0


def test_contacts_that_weld_or_stick_open_conduct_always_or_never(fan: Tried) -> None:
    for text, full in (("Q2:1-2 welded", fan.space.full), ("Q2:1-2 stuck open", 0)):
        model = fan.model(text)
        of = model.healthy.element_by_contact
        assert (model.conducts(of["Q2:1-2"]), model.conducts(of["Q2:3-4"])) == (full, fan.space.at("Q2", "in"))


def test_an_input_is_stuck_at_the_level_of_its_fault() -> None:
    tried = Tried(POLISHER)
    of = terminal("T1:DI1")
    levels = {text: tried.model(text).input_level(of) for text in ("T1:DI1 stuck on", "T1:DI1 stuck off", "G0 lost")}
    assert levels == {"T1:DI1 stuck on": True, "T1:DI1 stuck off": False, "G0 lost": None}
    assert tried.model("T1:DI1 stuck on").input_level(terminal("T1:COM")) is None


def test_the_behaviour_with_a_fault_that_can_come_at_rest_has_all_of_that_with_it_from_the_start(fan: Tried) -> None:
    for text, covers in (("S3:11-12 welded", True), ("Q2 coil open", True), ("S4:13-14 welded", False), ("Q2 stuck in", False)):
        model = fan.model(text)
        first = fan.set.behaviour(model, from_start=True)
        later = fan.set.behaviour(model, from_start=False, other=first)
        alone = fan.set.behaviour(model, from_start=False)
        assert (later.covers, alone.covers, first.covers) == (covers, False, False)
        assert (first.covered_by is later) == covers
        assert (later.free, later.subjects) == (fan.healthy.free, fan.healthy.subjects)
        assert (later.reached, later.passed) == (alone.reached, alone.passed)
        assert (first.reached & ~later.reached == 0) or not covers
        for b in (first, later, alone):
            anew = Behaviour(fan.healthy.plan, reach=b.reach)
            for way in (None, "forward", "reverse"):
                assert b.moving("M1", way) & b.passed == anew.moving("M1", way) & b.passed


def test_a_trace_begins_without_the_fault_up_to_where_that_came(fan: Tried) -> None:
    model = fan.model("Q2 stuck in")
    later = fan.set.behaviour(model, from_start=False)
    bad = later.moving("M1") & later.at("S3", "pressed") & later.reached
    path = later.reach.trace(bad)
    assert path is not None
    shown = later.fault_trace(path)
    assert (shown.events, shown.fault_after) == (("G0=on", "S4=pressed", "S3=pressed"), 2)
    assert shown.after == path
    first = fan.set.behaviour(model, from_start=True)
    start = first.reach.trace(first.moving("M1"))
    assert start is not None
    begun = first.fault_trace(start)
    assert (begun.events, begun.fault_after) == (("G0=on",), 0)
    (before,) = begun.before
    assert before == (None, fan.space.encode({"Q2": "in"}))


TWO = (
    HEAD
    + """\
  G1: {kind: mains, phases: 1, voltage: 230 V}
  S1: {kind: push-button, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
wires:
  - {number: 1, run: ["G0:L", "S1:13"]}
  - {number: 2, run: ["S1:14", "P1:X1"]}
  - {number: 3, run: ["G1:L", "P2:X1"]}
  - {number: 4, run: ["G0:N", "P1:X2"]}
  - {number: 5, run: ["G1:N", "P2:X2"]}
"""
)


def test_each_source_is_taken_by_its_own_short() -> None:
    tried = Tried(TWO)
    a, b, c, d = (terminal(text) for text in ("S1:14", "G0:N", "G1:L", "G1:N"))
    at = tried.space.at
    both = tried.set.model(Fault("both", "shorted", joins=((a, b), (c, d))))
    assert both.supplies.live == {"G0": at("G0", "on") & at("S1", "released"), "G1": 0}
    one = tried.set.model(Fault("one", "shorted", joins=((c, d),)))
    assert one.supplies.live == {"G0": at("G0", "on"), "G1": 0}
    lost = tried.set.model(Fault("lost", "source lost", lost=frozenset({"G1"})))
    assert lost.supplies.live == {"G0": at("G0", "on"), "G1": 0}
    assert lost.acting == (at("G0", "on") & at("S1", "pressed"), 0)
    shorted = tried.set.model(Fault("both", "shorted", joins=((a, b),), lost=frozenset({"G1"})))
    assert shorted.supplies.live == {"G0": at("G0", "on") & at("S1", "released"), "G1": 0}
    assert shorted.supplies.lost == {"G1"}


SAME_REACH = {
    "wire L [G0:L–P1:X1] open": (True, True),
    "wire U [Q2:2–M1:U1] open": (True, True),
    "Q2:1-2 welded": (True, False),  # it comes only while that is closed
    "Q2 coil open": (False, False),
    "Q2 stuck in": (False, False),
    "S3:11-12 welded": (False, False),
    "G0 lost": (False, False),
}
"""Whether nothing goes on otherwise with the fault from the start, and with it coming at any moment."""


def test_where_nothing_goes_on_otherwise_what_is_reached_is_known_already(fan: Tried) -> None:
    for text, same in SAME_REACH.items():
        model = fan.model(text)
        assert tuple(fan.set._same_reach(model, from_start) for from_start in (True, False)) == same
        for from_start, known in zip((True, False), same, strict=True):
            reached = fan.set.behaviour(model, from_start).reached
            assert reached == FaultSet(fan.healthy).behaviour(FaultedModel(fan.healthy.model, model.fault), from_start).reached
            assert reached == fan.healthy.reached or not known
            reach = fan.set.behaviour(model, from_start).reach
            assert isinstance(reach, LateReach)
            assert (reach._known is fan.healthy.reach) == known
            assert reach.settling._near is fan.set._near


def test_where_a_motor_gets_the_same_its_motion_is_known_already(fan: Tried) -> None:
    same = {text: fan.set._same_power(fan.model(text), "M1") for text in (*SAME_REACH, "wire U earthed", "wire 3 earthed")}
    assert {text for text, is_same in same.items() if is_same} == {
        "wire L [G0:L–P1:X1] open",
        "Q2 coil open",
        "Q2 stuck in",
        "S3:11-12 welded",
    }


def test_a_motion_that_is_known_or_that_another_behaviour_covers_is_not_worked_out_again(fan: Tried) -> None:
    for text, same in (("Q2 coil open", True), ("S3:11-12 welded", True), ("wire U [Q2:2–M1:U1] open", False)):
        model = fan.model(text)
        first = fan.set.behaviour(model, from_start=True)
        assert ("M1" in first._motion) == same
        later = fan.set.behaviour(model, from_start=False, other=first)
        assert first.motion("M1") is later.motion("M1")
        if same:
            assert first.motion("M1") is fan.set._motion["M1"]


def test_a_fuse_on_the_path_of_a_short_blows_and_the_source_lives_on() -> None:
    fused = FAN.replace("  S3: {kind", "  F1: {kind: fuse}\n  S3: {kind", 1).replace(
        "number: L, run: [G0:L, Q2:1]", "number: L1, run: [F1:2, Q2:1]"
    )
    tried = Tried(fused.replace("wires:\n", "wires:\n  - {number: L0, run: [G0:L, F1:1]}\n"))
    model = tried.model("wire U earthed")
    assert model.supplies.live["G0"] == tried.space.at("G0", "on")
    later = tried.set.behaviour(model, from_start=False)
    blown = later.at("F1", "blown") & later.reached
    assert tried.healthy.at("F1", "blown") & tried.healthy.reach.layers[1]  # somebody may take it out
    shown = later.reach.trace(later.within("Q2") & blown)
    assert shown is not None
    assert [str(rule.event) for rule, _ in shown if rule is not None] == ["G0=on", "S4=pressed"]


def test_a_drive_trips_when_its_output_is_shorted_and_its_output_is_live_until_then() -> None:
    tried = Tried(POLISHER)
    short = Fault("U shorted to V", "shorted", ("T1",), joins=((terminal("T1:U"), terminal("T1:V")),))
    model = tried.set.model(short)
    runs = tried.healthy.running("T1")
    assert runs
    assert model.supplies.live["T1 output"] == runs
    tripped = {number for move in model.trips for number in numbers(move.mask)}
    assert tripped == set(numbers(runs))
    later = tried.set.behaviour(model, from_start=True)
    assert later.running("T1") & later.reached == 0
    assert later.running("T1") & later.passed
