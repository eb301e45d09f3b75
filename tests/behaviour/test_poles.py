"""What share of a motor's line current goes through the poles of a device, worked out by hand."""

from __future__ import annotations

import math

import pytest

from tests.circuit.networks import plan_text
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.poles import share_of_line
from wirecheck.behaviour.space import lowest
from wirecheck.plan import read_plan_text

DEVICES = [
    "G0: {kind: mains, phases: 3, voltage: 400 V}",
    "S1: {kind: selector, positions: [off, on], contacts: {13-14: {closed_in: [on]}}}",
    "Q1: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}",
    "Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}",
    "F1: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC}}",
    "F2: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC}}",
]
FEED = ["G0:L1 S1:13", "S1:14 Q1:A1 Q2:A1", "G0:N Q1:A2 Q2:A2", "G0:L1 Q1:1", "G0:L2 Q1:3", "G0:L3 Q1:5", "G0:PE M1:PE"]
STAR, DELTA, NO_BARS = "[[U2, V2], [V2, W2]]", "[[U1, W2], [V1, U2], [W1, V2]]", "[]"
IN_LINE = ["Q1:2 F1:1", "Q1:4 F1:3", "Q1:6 F1:5", "F1:2 M1:U1", "F1:4 M1:V1", "F1:6 M1:W1"]


def share(links: str, runs: list[str], device: str) -> float:
    """The share in the state in which the motor runs, all devices that are hand-operated but S1 at rest."""
    motor = f"M1: {{kind: motor, links: {links}}}"
    b = Behaviour(read_plan_text(plan_text([*DEVICES, motor], [*FEED, *runs]), "poles"))
    rest = b.at("F1", "normal") & b.at("F2", "normal") & b.reached
    (fed,) = [fed for fed in b.motion("M1").fed if fed.states & rest]
    return share_of_line(b, "M1", fed, lowest(fed.states & rest), device)


@pytest.mark.parametrize("links", [STAR, DELTA])
@pytest.mark.parametrize("device", ["F1", "Q1"])
def test_poles_in_the_lines_carry_all_of_them(links: str, device: str) -> None:
    assert share(links, IN_LINE, device) == pytest.approx(1)


def test_poles_inside_the_delta_carry_one_winding_and_those_ahead_of_it_the_line() -> None:
    # Of two windings at a corner the line carries the difference, a third of a turn apart: the root of three as much as one.
    inside = [*IN_LINE, "Q1:2 M1:W2", "Q1:4 M1:U2", "Q1:6 M1:V2"]
    assert share(NO_BARS, inside, "F1") == pytest.approx(1 / math.sqrt(3))
    assert share(NO_BARS, inside, "Q1") == pytest.approx(1)


def test_the_poles_of_the_star_point_carry_the_lines() -> None:
    point = [*IN_LINE, "M1:U2 Q2:1", "M1:V2 Q2:3", "M1:W2 Q2:5", "Q2:2 Q2:4 Q2:6"]
    assert share(NO_BARS, point, "Q2") == pytest.approx(1)


def test_where_the_windings_differ_the_largest_current_counts() -> None:
    # Delta with W1-W2 open at one end: two windings side by side with 400 V each. L2 carries their difference, L1 and L3 one.
    open_delta = [*IN_LINE, "M1:U2 M1:V1", "M1:V2 M1:W1"]
    assert share(NO_BARS, open_delta, "F1") == pytest.approx(1)
    # A pole that only L1 passes carries one winding: 400 of the 692.8 in L2.
    one_pole = ["Q1:2 F1:1", "F1:2 M1:U1", "Q1:4 M1:V1", "Q1:6 M1:W1", "M1:U2 M1:V1", "M1:V2 M1:W1"]
    assert share(NO_BARS, one_pole, "F1") == pytest.approx(1 / math.sqrt(3))


def test_half_windings_that_meet_at_an_end_add_up_there() -> None:
    # At low speed two halves in a row lie between each two lines: at a line two of them differ, in the midst a current goes on.
    assert share("[], windings: dahlander", IN_LINE, "F1") == pytest.approx(1)
    assert share("[], windings: dahlander", IN_LINE, "F2") == 0
    # Q2 beside F1 takes no part while it is in with nothing behind it.
    assert share("[], windings: dahlander", [*IN_LINE, "M1:U2 Q2:1"], "Q2") == 0


def test_what_is_not_on_the_way_or_carries_only_a_balance_of_nothing_has_no_share() -> None:
    assert share(STAR, IN_LINE, "F2") == 0
    assert share(DELTA, IN_LINE, "F2") == 0
    assert share(STAR, [*IN_LINE, "Q1:2 F2:1"], "F2") == 0
    # From the star point to the neutral goes the sum of three equal currents.
    assert share(STAR, [*IN_LINE, "M1:U2 F2:1", "F2:2 G0:N"], "F2") == 0
