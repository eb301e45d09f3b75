"""One state in words: voltages that come through other loads, what is different between two states."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from wirecheck import pipeline
from wirecheck.behaviour.single import Single
from wirecheck.behaviour.sneaks import GLOWS, MAY_HOLD, PULLS_IN, UNCERTAIN, Sneak
from wirecheck.behaviour.telling import Told, changes, in_words
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event, Terminal

ENDS = (Terminal("T1", "DI1"), Terminal("T1", "COM"))


def sneak(verdict: str, volts: float, through: tuple[str, ...] = ("P1",), kind: str = "load") -> Sneak:
    return Sneak("T1", ENDS, kind, 1, volts, 100.0, verdict, (), through)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (sneak(PULLS_IN, 90.0), "T1 gets 90.0 V of 100 V through P1, and acts"),
        (sneak(PULLS_IN, 90.0, kind="coil"), "T1 gets 90.0 V of 100 V through P1, and acts"),
        (sneak(PULLS_IN, 90.0, kind="input"), "T1:DI1 gets 90.0 V of 100 V through P1, and acts"),
        (sneak(UNCERTAIN, 50.0), "T1 gets 50.0 V of 100 V through P1, and may act or not: both are followed"),
        (sneak(MAY_HOLD, 50.0), "T1 gets 50.0 V of 100 V through P1, and may stay in or drop out: both are followed"),
        (sneak(GLOWS, 84.9), "T1 gets 84.9 V of 100 V through P1, too little to act"),
        (sneak(GLOWS, 85.0), "T1 gets 85.0 V of 100 V through P1, and acts"),
        (sneak(GLOWS, 130.0), "T1 gets 130.0 V of 100 V through P1, and acts"),
        (sneak(GLOWS, 130.1), "T1 gets 130.1 V of 100 V through P1, far more than it is made for"),
        (sneak(GLOWS, 50.04, ("P1", "K2")), "T1 gets 50.0 V of 100 V through P1 and K2, too little to act"),
        (sneak(GLOWS, 90.0, ()), "T1 gets 90.0 V of 100 V through two supplies that meet, and acts"),
    ],
)
def test_a_voltage_through_other_loads_says_how_much_it_is_through_what_and_what_comes_of_it(told: Sneak, words: str) -> None:
    assert in_words(told) == words


BENCH = """\
wirecheck: 1
machine: {name: lamps of the club's workshop}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: push-button, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 230 V, power: 100 W}
  P2: {kind: lamp, voltage: RATED, power: 1 W}
wires:
  - {number: L, run: [G0:L, S1:13]}
  - {number: 1, run: [S1:14, P1:X1]}
  - {number: 2, run: [P1:X2, P2:X1]}
  - {number: N, run: [G0:N, P2:X2]}
"""


@pytest.mark.parametrize(
    ("rated", "on", "note", "volts"),
    [
        # 529 ohms and 52 900: the small lamp gets 100 of 101 parts of 230 V.
        ("230 V", ("P2",), "P2 gets 227.7 V of 230 V through P1, and acts", {"P1": 2.3, "P2": 227.7}),
        # 529 ohms and 24 V * 24 V / 1 W = 576: it gets 576 of 1105 parts; the large one has the rest, 110.1 V, 48 % of its own.
        ("24 V", (), "P2 gets 119.9 V of 24 V through P1, far more than it is made for", {"P1": 110.1, "P2": 119.9}),
    ],
)
def test_a_lamp_behind_a_lamp_is_on_where_it_gets_what_it_is_made_for(
    rated: str, on: tuple[str, ...], note: str, volts: Mapping[str, float]
) -> None:
    step = pipeline.rehearse(read_plan_text(BENCH.replace("RATED", rated), "lamps"), ["G0=on", "S1=pressed"])[-1]
    assert step.loads == on
    assert note in step.notes
    assert dict(step.volts) == volts


def test_what_is_different_is_told_but_for_what_the_event_did() -> None:
    single = Single(read_plan_text(BENCH.replace("RATED", "230 V"), "lamps"))
    before, now = Told(single, single.encode({})), Told(single, single.encode({"G0": "on", "S1": "pressed"}))
    assert changes(before, now, None) == (("G0", "S1"), ("G0 is on", "S1 goes to pressed", "P2 comes on"))
    assert changes(before, now, Event("S1", "pressed")) == (("G0",), ("G0 is on", "P2 comes on"))
    assert changes(before, now, Event("S1", "released")) == changes(before, now, None)
    assert changes(before, now, Event("P2", "on")) == changes(before, now, None)
    assert changes(now, now, None) == ((), ())
