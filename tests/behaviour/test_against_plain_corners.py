"""Small plans on which a fast engine is easily wrong, against the plain one. Each came out of the random circuits, made small."""

from __future__ import annotations

import pytest

from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from wirecheck.plan import read_plan_text

CONTROL = """\
wirecheck: 1
machine: {name: corner}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  G1: {kind: dc-supply, voltage: 24 V DC}
"""
FEED = """\
wires:
  - {number: 1, run: ["G0:L", "G1:L"]}
  - {number: 2, run: ["G0:N", "G1:N"]}
"""
DRIVE = """\
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-reverse}}
    settings: {command_source: both, on_power_up_with_run: waits}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
"""

CORNERS = {
    "a coil whose two ends are joined to each other does not hold": (
        CONTROL
        + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, contacts: {11-12: NC, 23-24: NO}}
"""
        + FEED
        + """\
  - {number: 4, run: ["G1:+", "S1:13", "K1:23", "K1:11"]}
  - {number: 5, run: ["S1:14", "K1:24", "K1:A1"]}
  - {number: 6, run: ["K1:12", "S2:13"]}
  - {number: 0, run: ["G1:-", "K1:A2", "S2:14"]}
"""
    ),
    "a thermistor relay that cuts its own supply still remembers the trip": (
        CONTROL
        + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  B7: {kind: thermistor}
  K7: {kind: thermistor-relay, sensor: [T1, T2], reset: manual, contacts: {13-14: NO}}
"""
        + FEED
        + """\
  - {number: 4, run: ["G1:+", "S1:13", "K7:13"]}
  - {number: 5, run: ["S1:14", "K7:14", "K7:A1"]}
  - {number: 0, run: ["G1:-", "K7:A2"]}
  - {number: 7, run: ["K7:T1", "B7:1"]}
  - {number: 8, run: ["K7:T2", "B7:2"]}
"""
    ),
    "a late contact starts afresh however short its relay was out": (
        CONTROL
        + """\
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: {form: NO, on_delay: 2 s}, 21-22: NC}}
  K2: {kind: relay, coil: 24 V DC, contacts: {11-12: NC, 23-24: NO}}
  K4: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 23-24: NO}}
"""
        + FEED
        + """\
  - {number: 4, run: ["G1:+", "K2:11", "K4:13", "K1:13", "K2:23", "K4:23"]}
  - {number: 5, run: ["K2:12", "K4:14", "K1:A1"]}
  - {number: 6, run: ["K1:14", "K2:A1"]}
  - {number: 7, run: ["K2:24", "K1:21"]}
  - {number: 8, run: ["K1:22", "K4:24", "K4:A1"]}
  - {number: 0, run: ["G1:-", "K1:A2", "K2:A2", "K4:A2"]}
"""
    ),
    "a run from the keypad is forward, whatever direction a waiting command has": (
        """\
wirecheck: 1
machine: {name: corner}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  S1: {kind: selector, positions: [off, back], contacts: {13-14: {closed_in: [back]}}}
"""
        + DRIVE
        + """\
wires:
  - {number: 1, run: ["G0:L", "T1:L"]}
  - {number: 2, run: ["G0:N", "T1:N"]}
  - {number: 4, run: ["T1:P24", "S1:13"]}
  - {number: 5, run: ["S1:14", "T1:DI1"]}
  - {number: 6, run: ["T1:U", "M1:U1"]}
  - {number: 7, run: ["T1:V", "M1:V1"]}
  - {number: 8, run: ["T1:W", "M1:W1"]}
"""
    ),
    "a custom device with a coil is a relay": (
        CONTROL
        + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1:
    kind: custom
    elements: [{coil: A1-A2, voltage: 24 V DC}, {contact: 13-14, closed_in: [in]}, {contact: 21-22, closed_in: [out]}]
  P1: {kind: lamp, voltage: 24 V DC}
  P2: {kind: custom, elements: [{load: X1-X2, voltage: 24 V DC, power: 2 W}]}
"""
        + FEED
        + """\
  - {number: 3, run: ["G1:+", "S1:13", "K1:13", "K1:21"]}
  - {number: 4, run: ["S1:14", "K1:14", "K1:A1", "P2:X1"]}
  - {number: 5, run: ["K1:22", "P1:X1"]}
  - {number: 0, run: ["G1:-", "K1:A2", "P1:X2", "P2:X2"]}
"""
    ),
    "an early-breaking contact of a breaker opens before the others, as an isolator's does": (
        CONTROL
        + """\
  Q1: {kind: circuit-breaker, poles: [1-2], contacts: {13-14: NO, 23-24: {form: NO, early_break: true}}}
  K2: {kind: relay, coil: 24 V DC, contacts: {21-22: NC, 33-34: NO}}
  K3: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}
  K4: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 23-24: NO}}
"""
        + FEED
        + """\
  - {number: 3, run: ["G1:+", "Q1:13", "Q1:23", "K3:13", "K4:23", "K2:33"]}
  - {number: 4, run: ["Q1:14", "K2:21"]}
  - {number: 5, run: ["Q1:24", "K2:A1"]}
  - {number: 6, run: ["K2:22", "K4:13"]}
  - {number: 7, run: ["K4:14", "K3:A1", "K3:14"]}
  - {number: 8, run: ["K4:24", "K2:34", "K4:A1"]}
  - {number: 0, run: ["G1:-", "K2:A2", "K3:A2", "K4:A2"]}
"""
    ),
    "a diode across a coil is no short, though a short is possible elsewhere": (
        CONTROL
        + """\
  F2: {kind: fuse}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}
  R1: {kind: diode}
"""
        + FEED
        + """\
  - {number: 3, run: ["G1:+", "F2:1"]}
  - {number: 5, run: ["G1:-", "K1:A2", "R1:A", "S2:14"]}
  - {number: 6, run: ["F2:2", "S1:13", "S2:13"]}
  - {number: 7, run: ["S1:14", "K1:A1", "R1:K"]}
"""
    ),
}


@pytest.mark.parametrize("claim", CORNERS)
def test_corner(claim: str) -> None:
    plan = read_plan_text(CORNERS[claim], "corner")
    one, kept = fast(plan)
    assert differences(one, plain(PlainEngine(plan), kept)) == []
