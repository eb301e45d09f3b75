"""The way of the current to what gets its voltage through other loads: terminal by terminal, from the live side on."""

from __future__ import annotations

import pytest

from tests.circuit.networks import plan_text
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.sneaks import Sneak, sneaks_of
from wirecheck.plan import read_plan_text

DC = ["G0: {kind: mains, phases: 1, voltage: 230 V}", "G1: {kind: dc-supply, voltage: 24 V DC}"]
FEED = ["G0:L G1:L", "G0:N G1:N"]


def lamp(name: str, watts: float = 1) -> str:
    return f"{name}: {{kind: lamp, voltage: 24 V DC, power: {watts} W}}"


def relay(name: str) -> str:
    return f"{name}: {{kind: relay, coil: 24 V DC, coil_power: 1 W}}"


def sneaks(devices: list[str], runs: list[str]) -> dict[str, Sneak]:
    plan = read_plan_text(plan_text([*DC, *devices], [*FEED, *runs]), "walks")
    return {s.device: s for s in sneaks_of(Behaviour(plan))}


def walk(sneak: Sneak) -> str:
    return " ".join(map(str, sneak.walk))


THREE = {
    "P1": "G1:+ P1:X1 P1:X2 K1:A1 K1:A2 P2:X1 P2:X2 G1:-",
    "K1": "G1:+ P1:X1 P1:X2 K1:A1 K1:A2 P2:X1 P2:X2 G1:-",
    "P2": "G1:+ P1:X1 P1:X2 K1:A1 K1:A2 P2:X1 P2:X2 G1:-",
}


@pytest.mark.parametrize("turned", [False, True], ids=["as drawn", "every load turned round"])
def test_loads_in_a_row_have_one_way_and_name_the_others_in_order(turned: bool) -> None:
    """Of each the way is the same, whichever end of it is the live one."""
    runs = ["G1:+ P1:X1", "P1:X2 K1:A1", "K1:A2 P2:X1", "P2:X2 G1:-"]
    swap = str.maketrans("12", "21")

    def drawn(text: str) -> str:
        words = text.split()
        return " ".join(w[:-1] + w[-1].translate(swap) if turned and w[0] in "PK" else w for w in words)

    found = sneaks([lamp("P1"), relay("K1"), lamp("P2")], [drawn(run) for run in runs])
    assert {name: walk(s) for name, s in found.items()} == {name: drawn(text) for name, text in THREE.items()}
    assert {name: s.through for name, s in found.items()} == {"P1": ("K1", "P2"), "K1": ("P1", "P2"), "P2": ("P1", "K1")}


def test_the_way_passes_the_contacts_that_are_closed_and_none_that_is_open() -> None:
    buttons = ["S1: {kind: push-button, contacts: {11-12: NC}}", "S2: {kind: push-button, contacts: {13-14: NO}}"]
    runs = ["G1:+ P1:X1 P2:X1 S2:13", "P1:X2 S1:11", "S1:12 K1:A1 S2:14", "P2:X2 G1:-", "K1:A2 G1:-"]
    found = sneaks([*buttons, lamp("P1", 2), lamp("P2"), relay("K1")], runs)
    assert walk(found["K1"]) == "G1:+ P1:X1 P1:X2 S1:11 S1:12 K1:A1 K1:A2 G1:-"
    assert found["K1"].through == ("P1",)


def test_of_two_ways_the_one_through_fewer_loads_is_told() -> None:
    runs = ["G1:+ P3:X1 P1:X1", "P1:X2 P2:X1", "P2:X2 P3:X2 K1:A1", "K1:A2 G1:-"]
    found = sneaks([lamp("P1", 10), lamp("P2", 10), lamp("P3"), relay("K1")], runs)
    assert walk(found["K1"]) == "G1:+ P3:X1 P3:X2 K1:A1 K1:A2 G1:-"


def test_current_goes_on_through_a_diode_in_its_direction() -> None:
    devices = [lamp("P1", 2), relay("K1"), "V1: {kind: diode}"]
    found = sneaks(devices, ["G1:+ P1:X1", "P1:X2 V1:A", "V1:K K1:A1", "K1:A2 G1:-"])
    assert walk(found["K1"]) == "G1:+ P1:X1 P1:X2 V1:A V1:K K1:A1 K1:A2 G1:-"


def test_a_diode_that_blocks_is_no_part_of_the_way() -> None:
    """The short way to minus by the diode is closed to the current, which goes through the other lamp."""
    devices = [lamp("P1", 2), lamp("P2", 2), relay("K1"), "V1: {kind: diode}"]
    found = sneaks(devices, ["G1:+ P1:X1", "P1:X2 K1:A1", "K1:A2 P2:X1 V1:K", "P2:X2 G1:- V1:A"])
    assert walk(found["K1"]) == "G1:+ P1:X1 P1:X2 K1:A1 K1:A2 P2:X1 P2:X2 G1:-"
    assert found["K1"].through == ("P1", "P2")


def test_the_current_of_an_alternating_supply_is_told_from_the_live_side() -> None:
    devices = [f"{name}: {{kind: lamp, voltage: 230 V, power: 10 W}}" for name in ("P1", "P2", "P3")]
    plan = read_plan_text(
        plan_text(
            ["G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}", *devices],
            ["G0:N P1:X1", "P1:X2 P2:X1", "P2:X2 P3:X1", "P3:X2 G0:L"],
        ),
        "walks",
    )
    found = sneaks_of(Behaviour(plan))
    assert {walk(s) for s in found} == {"G0:L P3:X2 P3:X1 P2:X2 P2:X1 P1:X2 P1:X1 G0:N"}
    assert [s.through for s in found] == [("P3", "P2"), ("P3", "P1"), ("P2", "P1")]


def test_a_current_that_returns_by_earth_goes_on_to_the_pole_of_its_own_source() -> None:
    """The earth of the mains is a pole as well, and comes first on the way; no current of the control supply ends there."""
    found = sneaks([lamp("P1", 2), relay("K1"), lamp("P9")], ["G1:+ P1:X1", "P1:X2 K1:A1", "K1:A2 G0:PE", "G0:PE G1:-"])
    assert walk(found["K1"]) == "G1:+ P1:X1 P1:X2 K1:A1 K1:A2 G0:PE G1:-"
    assert set(found) == {"K1", "P1"}  # P9 hangs nowhere
    turned = sneaks([lamp("P1", 2), relay("K1")], ["G0:PE K1:A1", "G0:PE G1:-", "K1:A2 P1:X2", "P1:X1 G1:+"])
    assert walk(turned["K1"]) == "G1:+ P1:X1 P1:X2 K1:A2 K1:A1 G0:PE G1:-"
