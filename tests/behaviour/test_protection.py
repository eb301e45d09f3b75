"""What a short does: which fuse or breaker is on its way, which of several may be first, and when the source is lost."""

from __future__ import annotations

import pytest

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.protection import cleared, uncleared
from wirecheck.behaviour.space import lowest, numbers
from wirecheck.plan import read_plan_text

BENCH = """\
wirecheck: 1
machine: {name: sockets of the club's bench}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 10 A}
  F2: {kind: fuse, rating: 1 A}
  F3: {kind: fuse, rating: 1 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  S3: {kind: push-button, contacts: {13-14: NO}}
  S4: {kind: push-button, contacts: {13-14: NO}}
wires:
  - {number: L, run: [G0:L, F1:1, S3:13]}
  - {number: L1, run: [F1:2, F2:1, S2:13, F3:1]}
  - {number: L2, run: [F2:2, S1:13]}
  - {number: L3, run: [F3:2, S4:13]}
  - {number: N, run: [G0:N, S1:14, S2:14, S3:14]}
  - {number: PE, run: [G0:PE, S4:14]}
"""
"""S1 is a short behind F1 and F2, S2 behind F1 alone, S3 behind nothing; S4 joins line and earth behind F1 and F3."""


def after(b: Behaviour, *events: str) -> set[tuple[str, ...]]:
    """How F1, F2, F3 can stand after the last event, and whether the mains is lost."""
    states = b.reach.layers[0]
    for event in events:
        states = b.after(next(r for r in b.events if str(r.event) == event), states)
        codes = [b.space.decode(n) for n in numbers(states)]
        states = states if event == events[-1] else 1 << lowest(states)
    lost = b.model.dead("G0")
    return {(c["F1"], c["F2"], c["F3"], c[lost]) for c in codes}


@pytest.mark.parametrize(
    ("event", "expected"),
    [
        ("S1=pressed", {("tripped", "whole", "whole", "no"), ("on", "blown", "whole", "no")}),
        ("S2=pressed", {("tripped", "whole", "whole", "no")}),
        ("S3=pressed", {("on", "whole", "whole", "yes")}),
        ("S4=pressed", {("tripped", "whole", "whole", "no"), ("on", "whole", "blown", "no")}),
    ],
)
def test_a_short_operates_what_is_on_its_way_or_takes_the_source(event: str, expected: set[tuple[str, ...]]) -> None:
    assert after(Behaviour(read_plan_text(BENCH, "bench")), "G0=on", event) == expected


def test_a_source_that_is_lost_comes_back_when_it_is_switched_off_and_on() -> None:
    b = Behaviour(read_plan_text(BENCH, "bench"))
    assert after(b, "G0=on", "S3=pressed", "S3=released") == {("on", "whole", "whole", "yes")}
    assert after(b, "G0=on", "S3=pressed", "S3=released", "G0=off") == {("on", "whole", "whole", "no")}
    assert after(b, "G0=on", "S3=pressed", "G0=off", "S3=released", "G0=on") == {("on", "whole", "whole", "no")}


def test_each_protective_device_clears_the_shorts_that_pass_it_and_no_other() -> None:
    b = Behaviour(read_plan_text(BENCH, "bench"))
    (mains,) = (s for s in b.model.sources if s.name == "G0")
    pressed = {name: b.at(name, "pressed") for name in ("S1", "S2", "S3", "S4")}
    live, breaker = b.model.supplies.live["G0"], b.at("F1", "on")
    first, other = breaker & b.at("F2", "whole") & pressed["S1"], breaker & b.at("F3", "whole") & pressed["S4"]
    found = {device: states & live for device, states in cleared(b.model, mains).items()}
    alone = ~pressed["S3"]  # beside a bare short the others carry current all the same
    assert {device: states & alone for device, states in found.items()} == {
        "F1": live & alone & (first | other | breaker & pressed["S2"]),
        "F2": live & alone & first,
        "F3": live & alone & other,
    }
    one, two, four = pressed["S1"], pressed["S2"], pressed["S4"]
    single = live & ~(one & two | one & four | two & four)  # two that meet make a ring
    assert uncleared(b.model, mains) & single == single & pressed["S3"] & ~(first | other | breaker & two)


OUTPUT = """\
wirecheck: 1
machine: {name: belt grinder of the club}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: fuse, rating: 10 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals, restarts_itself_after_fault: false, after_trip_reset_with_run: waits}
wires:
  - {number: L, run: [G0:L, F1:1]}
  - {number: L1, run: [F1:2, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: 1, run: [T1:P24, S1:13]}
  - {number: 2, run: [S1:14, T1:DI1]}
  - {number: U, run: [T1:U, S2:13]}
  - {number: V, run: [T1:V, S2:14]}
"""


def test_a_drive_trips_on_a_short_of_its_own_output_and_takes_no_fuse_with_it() -> None:
    b = Behaviour(read_plan_text(OUTPUT, "grinder"))
    states = b.reach.layers[0]
    told = []
    for event in ("G0=on", "S2=pressed", "S1=pressed", "S2=released"):
        states = b.after(next(r for r in b.events if str(r.event) == event), states)
        (code,) = (b.space.decode(n) for n in numbers(states))
        told.append((code["T1"], code["F1"], code["T1 power"]))
    assert told == [("healthy", "whole", "yes")] * 2 + [("faulted", "whole", "yes")] * 2


TWO_POLES = """\
wirecheck: 1
machine: {name: socket of the club's bench}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2, 3-4], rating: 10 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  S3: {kind: push-button, contacts: {13-14: NO}}
wires:
  - {number: L, run: [G0:L, F1:1, S3:13]}
  - {number: N, run: [G0:N, F1:3, S2:14]}
  - {number: L1, run: [F1:2, S1:13, S2:13]}
  - {number: N1, run: [F1:4, S1:14, S3:14]}
"""


def test_a_breaker_clears_what_passes_either_of_its_poles() -> None:
    """S1 is a short behind both poles, S2 behind the first alone, S3 behind the second alone."""
    b = Behaviour(read_plan_text(TWO_POLES, "bench"))
    (mains,) = (s for s in b.model.sources if s.name == "G0")
    whole = b.model.supplies.live["G0"] & b.at("F1", "on")
    assert set(cleared(b.model, mains)) == {"F1"}
    either = b.at("S1", "pressed") | b.at("S2", "pressed") | b.at("S3", "pressed")
    assert cleared(b.model, mains)["F1"] & whole == whole & either != 0
    assert uncleared(b.model, mains) & whole == 0


DIODES = """\
wirecheck: 1
machine: {name: lamp of the club's bench}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  G1: {kind: dc-supply, voltage: 24 V DC}
  F1: {kind: fuse, rating: 1 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  V1: {kind: diode}
  V2: {kind: diode}
wires:
  - {number: L, run: [G0:L, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 1, run: ["G1:+", V1:A]}
  - {number: 2, run: [V1:K, F1:1]}
  - {number: 3, run: [F1:2, S1:13]}
  - {number: 4, run: [S1:14, V2:A]}
  - {number: 0, run: ["G1:-", V2:K]}
"""


@pytest.mark.parametrize(
    ("text", "fuse"),
    [
        (DIODES, "blown"),
        (DIODES.replace("V1:A", "V1:x").replace("V1:K", "V1:A").replace("V1:x", "V1:K"), "whole"),
        (DIODES.replace("V2:A", "V2:x").replace("V2:K", "V2:A").replace("V2:x", "V2:K"), "whole"),
    ],
    ids=["forwards", "the first blocks", "the second blocks"],
)
def test_the_current_of_a_short_passes_diodes_forwards_and_no_other(text: str, fuse: str) -> None:
    b = Behaviour(read_plan_text(text, "lamp"))
    states = b.reach.layers[0]
    for event in ("G0=on", "S1=pressed"):
        states = b.after(next(r for r in b.events if str(r.event) == event), states)
    (code,) = (b.space.decode(n) for n in numbers(states))
    assert (code["F1"], code.get(b.model.dead("G1"), "no")) == (fuse, "no")
