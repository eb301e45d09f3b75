"""Engines that are broken on purpose, one function each: what the engine is held against must see it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.behaviour.test_faults_against_plain import Both
from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from wirecheck.behaviour import faults
from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.network import BOTH, Network
from wirecheck.behaviour.settle import Settling
from wirecheck.behaviour.space import minus
from wirecheck.circuit import Element
from wirecheck.plan import read_plan_text

HEAD = """\
wirecheck: 1
machine: {name: Band saw}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
"""

RACE = (
    HEAD
    + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
wires:
  - {number: 1, run: [G0:L, S1:14]}
  - {number: 2, run: [S1:13, K1:11, K2:11]}
  - {number: 3, run: [K1:12, K2:A1]}
  - {number: 4, run: [K2:12, K1:A1]}
  - {number: N, run: [K1:A2, K2:A2, G0:N]}
"""
)
"""Whichever relay is first keeps the other out. The button is fed at its second terminal."""

WELDS = (
    HEAD
    + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  Q1: {kind: contactor, coil: 230 V AC, mirror_contacts: true, poles: [1-2], contacts: {21-22: NC}}
  P1: {kind: lamp, voltage: 230 V, colour: WH}
  P2: {kind: lamp, voltage: 230 V, colour: WH}
wires:
  - {number: L, run: [G0:L, S1:13, Q1:1, Q1:21]}
  - {number: 1, run: [S1:14, Q1:A1]}
  - {number: 2, run: [Q1:2, P1:X1]}
  - {number: 3, run: [Q1:22, P2:X1]}
  - {number: N, run: [G0:N, Q1:A2, P1:X2, P2:X2]}
"""
)
"""A pole that welds keeps the lamp behind the mirror contact dark."""

STANDING = (
    HEAD
    + """\
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals, on_power_up_with_run: waits}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L, run: [G0:L, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: 1, run: [T1:P24, S1:13]}
  - {number: 2, run: [S1:14, T1:DI1]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
"""
)
"""With the selector at run before the power comes, the drive waits until it has been off."""


def complaints(text: str) -> list[str]:
    """What the engine and the plain one do not agree on."""
    plan = read_plan_text(text, "band saw")
    one, kept = fast(plan)
    return differences(one, plain(PlainEngine(plan), kept))


def in_one_order(self: Settling, states: int) -> int:
    """Settling that lets only the first thing move that wants to."""
    seen = front = states
    while front := front & self.restless:
        found, waits = 0, front
        for mask, by in self.shifts(self.moves):
            here = waits & mask
            waits = minus(waits, here)
            found |= here << by if by > 0 else here >> -by
        front = minus(found, seen)
        seen |= front
    return seen


def one_way(self: Network, element: Element, conducts: int) -> None:
    """A contact that conducts from its first terminal to its second only."""
    a, b = self.net(element.a), self.net(element.b)
    self._arcs.setdefault(a, []).append((b, conducts, BOTH, element.ident))


@pytest.mark.parametrize(
    ("text", "owner", "name", "broken", "wrong"),
    [
        (RACE, Settling, "passing", in_one_order, "reached by the second only"),
        (RACE, Network, "_connect", one_way, "reached by the second only"),
        (STANDING, DrivePart, "_lock", lambda *given: {}, "reached by the second only"),
    ],
    ids=["a race in one order", "a contact that conducts one way", "a drive that obeys a standing command"],
)
def test_a_broken_engine_is_seen(
    text: str, owner: type, name: str, broken: Callable[..., object], wrong: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert complaints(text) == []
    monkeypatch.setattr(owner, name, broken)
    assert any(c.startswith(wrong) for c in complaints(text))


def test_a_welded_pole_that_leaves_its_mirror_contact_free_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    def said() -> list[str]:
        plan = read_plan_text(WELDS, "band saw")
        (welded,) = (f for f in single_faults(plan) if f.text == "Q1:1-2 welded")
        return Both(plan).complaints(welded)

    assert said() == []
    monkeypatch.setattr(faults, "_kept_open", lambda *given: frozenset())
    assert any("energised" in complaint for complaint in said())


FAULTS = {
    "wire open": 9,
    "stuck open": 3,
    "welded": 3,
    "coil open": 1,
    "stuck in": 1,
    "earthed": 5,
    "source lost": 1,
}
"""The faults of `WELDS`, counted by hand: nine single wires; a button's contact, a pole and a mirror contact; one coil; the
conductors L, 1, 2, 3 and N; the mains."""


CABLED = STANDING.replace("wires:\n", "cables:\n  W1: {cores: 3}\nwires:\n").replace("S1:13]}", "S1:13], cable: W1}")
CABLED = CABLED.replace("T1:DI1]}", "T1:DI1], cable: W1}")
OF_CABLED = {
    "wire open": 7,
    "stuck open": 1,
    "welded": 1,
    "earthed": 7,
    "shorted": 1,
    "source lost": 2,
    "input stuck": 2,
}
"""Those of `CABLED`: seven single wires, and each of them its own conductor that can touch earth; one contact; 1 to 2 in the
cable; the mains and what the drive gives; its input on and off."""


def counted(text: str) -> dict[str, int]:
    kinds = [f.kind for f in single_faults(read_plan_text(text, "band saw"))]
    return {kind: kinds.count(kind) for kind in kinds}


@pytest.mark.parametrize("missing", ["_wires_open", "_contacts", "_coils", "_earthed", "_sources"])
def test_a_list_of_faults_without_one_kind_is_seen(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert counted(WELDS) == FAULTS
    monkeypatch.setattr(faults, missing, lambda *given: ())
    assert counted(WELDS) != FAULTS


@pytest.mark.parametrize("missing", ["_wires_open", "_contacts", "_earthed", "_shorted", "_sources", "_inputs"])
def test_a_list_of_faults_of_a_drive_without_one_kind_is_seen(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert counted(CABLED) == OF_CABLED
    monkeypatch.setattr(faults, missing, lambda *given: ())
    assert counted(CABLED) != OF_CABLED
