"""One state at a time, with a voltage that comes through a lamp: what pulls in, what may, what stays in, and in which words."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from tests.behaviour.test_sneaks import tangle
from wirecheck import pipeline
from wirecheck.behaviour.rehearsal import Played
from wirecheck.behaviour.single import Single
from wirecheck.behaviour.space import Move, numbers
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

INPUT = """\
wirecheck: 1
machine: {name: feeler of the club's tapping head}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: push-button, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 24 V DC, power: 2 W}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L, run: [G0:L, T1:L, G1:L]}
  - {number: N, run: [G0:N, T1:N, G1:N]}
  - {number: 1, run: ["G1:+", S1:13]}
  - {number: 2, run: [S1:14, P1:X1]}
  - {number: 3, run: [P1:X2, T1:DI1]}
  - {number: 0, run: ["G1:-", T1:COM]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
"""

RELAY = """\
wirecheck: 1
machine: {name: relay behind a lamp}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: push-button, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 24 V DC, power: 2 W}
  K1: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {13-14: NO}}
wires:
  - {number: L, run: [G0:L, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 1, run: ["G1:+", S1:13]}
  - {number: 2, run: [S1:14, P1:X1]}
  - {number: 3, run: [P1:X2, K1:A1]}
  - {number: 0, run: ["G1:-", K1:A2]}
"""
"""The lamp and the coil share 24 V: of 16 V, two thirds, nobody can say whether K1 pulls in."""


def last(text: str, *events: str) -> list[Played]:
    """All outcomes of the last event."""
    steps = pipeline.rehearse(read_plan_text(text, "bench"), ("G0=on", *events), None, 0)
    return [step for step in steps if step.event == events[-1]]


def test_an_input_that_gets_enough_through_a_lamp_is_named_by_its_terminal_and_acts() -> None:
    (pressed,) = last(INPUT, "S1=pressed")
    assert pressed.notes == ("T1:DI1 gets 22.6 V of 24 V through P1, and acts",)
    assert pressed.motion == {"M1": "forward"}


def test_an_input_is_made_for_what_its_drive_gives() -> None:
    """Where that is 110 V, nobody can say whether 22.6 V are enough."""
    stands, runs = last(INPUT.replace("common: COM, voltage: 24 V DC", "common: COM, voltage: 110 V DC"), "S1=pressed")
    assert (stands.motion, runs.motion) == ({"M1": "stopped"}, {"M1": "forward"})
    assert "T1:DI1 gets 22.6 V of 110 V through P1, and may act or not: both are followed" in stands.notes


def test_a_coil_between_enough_and_too_little_goes_in_or_does_not() -> None:
    stays, goes = last(RELAY, "S1=pressed")
    assert (stays.moved, goes.moved) == ((), ("K1",))
    assert "K1 gets 16.0 V of 24 V through P1, and may act or not: both are followed" in stays.notes
    assert "K1 gets 16.0 V of 24 V through P1, and may stay in or drop out: both are followed" in goes.notes


@pytest.mark.parametrize(
    ("watts", "moved"),
    [("0.1 W", {()}), ("2 W", {(), ("K1",)}), ("10 W", {("K1",)})],
)
def test_how_much_the_lamp_lets_through_decides(watts: str, moved: set[tuple[str, ...]]) -> None:
    assert {step.moved for step in last(RELAY.replace("power: 2 W", f"power: {watts}"), "S1=pressed")} == moved


def test_a_lamp_for_another_voltage_is_not_told_as_on() -> None:
    """G1 gives it 24 V by contacts alone; only one that is made for that lights."""
    joined = RELAY.replace("P1:X2, K1:A1", "P1:X2, K1:A2")
    assert last(joined, "S1=pressed")[0].loads == ("P1",)
    assert (
        last(joined.replace("P1: {kind: lamp, voltage: 24 V DC", "P1: {kind: lamp, voltage: 230 V"), "S1=pressed")[0].loads == ()
    )


MOMENT = """\
wirecheck: 1
machine: {name: two relays and a selector}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: selector, positions: [left, right], contacts: {11-12: {closed_in: [left]}, 13-14: {closed_in: [right]}}}
  K1: {kind: relay, coil: 230 V AC}
wires:
  - {number: L, run: [G0:L, S1:11, S1:13]}
  - {number: 1, run: [S1:12, S1:14, K1:A1]}
  - {number: N, run: [G0:N, K1:A2]}
"""


def test_a_relay_that_drops_out_while_the_selector_turns_is_told() -> None:
    (turned,) = last(MOMENT, "S1=right")
    assert (turned.moved, turned.notes) == ((), ("K1 drops out for a moment",))


TWO_INPUTS = INPUT.replace("inputs: {DI1: run-forward}", "inputs: {DI1: run-forward, DI2: run-reverse}").replace(
    "wires:\n",
    """\
  S2: {kind: push-button, contacts: {13-14: NO}}
  P2: {kind: lamp, voltage: 24 V DC, power: 2 W}
  P3: {kind: lamp, voltage: 24 V DC, power: 2 W}
  K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}
wires:
  - {number: 1, run: ["G1:+", S2:13]}
  - {number: 5, run: [S2:14, P2:X1]}
  - {number: 6, run: [P2:X2, T1:DI2]}
  - {number: 2, run: [S1:14, P3:X1]}
  - {number: 7, run: [P3:X2, K1:A1]}
  - {number: 0, run: ["G1:-", K1:A2]}
""",
)
"""Each input behind a lamp of its own; K1 behind a third lamp gets its voltage together with the first input."""


def test_of_a_coil_and_two_inputs_each_acts_by_its_own_voltage_alone() -> None:
    stays, goes = last(TWO_INPUTS, "S1=pressed")
    assert (stays.moved, goes.moved) == ((), ("K1",))
    assert (stays.motion, goes.motion) == ({"M1": "forward"}, {"M1": "forward"})
    acts = "T1:DI1 gets 22.6 V of 24 V through P1, and acts"
    assert set(stays.notes) >= {acts, "K1 gets 16.0 V of 24 V through P3, and may act or not: both are followed"}
    assert set(goes.notes) >= {acts, "K1 gets 16.0 V of 24 V through P3, and may stay in or drop out: both are followed"}
    (backwards,) = last(TWO_INPUTS, "S2=pressed")
    assert (backwards.moved, backwards.motion) == ((), {"M1": "reverse"})
    assert backwards.notes == ("T1:DI2 gets 22.6 V of 24 V through P2, and acts",)


def test_an_input_with_too_little_does_not_act_by_the_voltage_of_a_coil() -> None:
    """A lamp of 0.01 W has 57.6 kilohm, of 24 V it leaves 1.8 V to the input; one of 60 W has 9.6 ohm, and leaves K1 23.6 V."""
    lamp = "{kind: lamp, voltage: 24 V DC, power: 2 W}"
    weak = TWO_INPUTS.replace(f"P1: {lamp}", f"P1: {lamp.replace('2 W', '0.01 W')}")
    weak = weak.replace(f"P3: {lamp}", f"P3: {lamp.replace('2 W', '60 W')}")
    (pressed,) = last(weak, "S1=pressed")
    assert (pressed.moved, pressed.motion) == (("K1",), {"M1": "stopped"})
    assert set(pressed.notes) == {"P1 gets 22.2 V of 24 V through T1, and acts", "K1 gets 23.6 V of 24 V through P3, and acts"}


# State by state


def test_what_must_move_and_what_may_is_what_the_voltage_of_each_coil_says() -> None:
    """Poles at both its ends, or 85 % through other loads, take a relay in; from a tenth on it may go in, or drop out if in."""
    seen = Counter[str]()
    for seed in range(30):
        b, dice = tangle(seed), Random(seed)
        single = Single(b.plan)
        on = b.at("G0", "on") & b.at("F1", "whole") & b.at("F2", "whole")
        states = numbers(on)
        for number in dice.sample(states, min(8, len(states))):
            codes = b.space.decode(number)
            model = single.model(single.encode(codes))
            solution = model.finder.solution(0)
            if solution.shorts:
                continue
            must, may = dict[str, list[Move]](), dict[str, list[Move]]()
            for name in (n for n, d in b.plan.devices.items() if d.kind == "relay"):
                ends = Terminal(name, "A1"), Terminal(name, "A2")
                full = bool(b.acting[name] >> number & 1)
                share, inside = solution.volts(*ends) / 24, codes[name] == "in"
                word = "in" if full or share >= 0.85 else "out" if share < 0.1 else "either"
                moves = [Move(1, (single.variables[name].low,))]
                must |= {name: moves} if word == ("out" if inside else "in") else {}
                may |= {name: moves} if word == "either" else {}
                seen[f"{word} {'at' if full else 'without'} poles, {codes[name]}"] += 1
                assert (bool(model.coil(name, *ends, None)), bool(model.held(name))) == (
                    word == "in",
                    word == "either" and inside,
                )
                with model.bold():
                    assert bool(model.coil(name, *ends, None)) == (word == "in" or (word == "either" and not inside))
                    assert not model.held(name)
            assert (model.moving.must, model.moving.may) == (must, may), (seed, number)
            assert (model.perceived.must, model.perceived.may) == ({}, {})
    assert len(seen) == 8, seen
