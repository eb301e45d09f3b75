"""When a motor turns and which way, and how it is fed then: each way in which it is joined to a source with its states."""

from __future__ import annotations

import pytest

from wirecheck.behaviour import Behaviour
from wirecheck.plan import read_plan_text

REVERSING = """\
wirecheck: 1
machine: {name: tapping head of the club}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN}
  Q1: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}
  S1: {kind: selector, positions: [off, ahead, astern], contacts: {13-14: {closed_in: [ahead]}, 23-24: {closed_in: [astern]}}}
  M1: {kind: motor, LINKS}
wires:
  - {number: L1, run: [G0:L1, Q1:1, Q2:1, S1:13, S1:23]}
  - {number: L2, run: [G0:L2, Q1:3, Q2:3]}
  - {number: L3, run: [G0:L3, Q1:5, Q2:5]}
  - {number: 1, run: [S1:14, Q1:A1]}
  - {number: 2, run: [S1:24, Q2:A1]}
  - {number: N, run: [G0:N, Q1:A2, Q2:A2]}
  - {number: U, run: [Q1:2, Q2:6, M1:U1]}
  - {number: V, run: [Q1:4, Q2:4, M1:V1]}
  - {number: W, run: [Q1:6, Q2:2, M1:W1]}
"""
STAR = "links: [[U2, V2], [V2, W2]]"
DELTA = "links: [[U1, W2], [V1, U2], [W1, V2]]"


def behaviour(links: str) -> Behaviour:
    return Behaviour(read_plan_text(REVERSING.replace("LINKS", links).replace(", }", "}"), "head"))


@pytest.mark.parametrize(("links", "winding_v"), [(STAR, 230.9), (DELTA, 400.0)])
def test_a_motor_turns_the_way_of_the_phases_and_each_way_of_feeding_it_is_told(links: str, winding_v: float) -> None:
    b = behaviour(links)
    motion, on = b.motion("M1"), b.at("G0", "on") & b.passed
    assert motion.forward & on == motion.forward & b.passed == on & b.within("Q1") & ~b.within("Q2") != 0
    assert motion.reverse & on == motion.reverse & b.passed == on & b.within("Q2") & ~b.within("Q1") != 0
    assert motion.moving == motion.forward | motion.reverse
    assert motion.idle == ()
    reached = [fed for fed in motion.fed if fed.states & b.reached]
    assert {(fed.source.name, fed.windings.direction) for fed in reached} == {("G0", "forward"), ("G0", "reverse")}
    assert {round(abs(volts), 1) for fed in reached for volts in fed.windings.volts.values()} == {winding_v}
    for fed in reached:
        assert fed.states & b.reached & ~b.within("Q1" if fed.windings.direction == "forward" else "Q2") == 0


def test_a_motor_whose_star_is_open_is_told_as_fed_to_no_end() -> None:
    b = behaviour("")
    motion = b.motion("M1")
    assert (motion.moving, motion.fed) == (0, ())
    assert {idle.source.name for idle in motion.idle} == {"G0"}
    states = 0
    for idle in motion.idle:
        assert not idle.windings.moving
        states |= idle.states
    assert states & b.reached == b.reached & (b.within("Q1") | b.within("Q2")) != 0


def test_a_motor_that_gets_two_phases_of_three_is_told_as_moving() -> None:
    b = Behaviour(read_plan_text("\n".join(REVERSING.replace("LINKS", STAR).splitlines()[:-1]) + "\n", "head"))
    motion = b.motion("M1")
    assert motion.moving & b.reached == b.reached & (b.within("Q1") | b.within("Q2")) != 0
    assert motion.idle == ()
    for fed in motion.fed:  # 400 V over two windings in a row
        assert sorted(round(abs(volts), 1) for volts in fed.windings.volts.values()) == [0.0, 200.0, 200.0]
