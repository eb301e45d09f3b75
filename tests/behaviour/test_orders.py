"""The orders that are left out change nothing: circuits settled with and without them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from tests.generators.relay_web import relay_web
from tests.generators.zone_line import zone_line
from wirecheck.behaviour.orders import Joints, Orders
from wirecheck.behaviour.single import Single
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Contact, Device, Plan, Terminal

SEEDS = range(60)
COILS = ("relay", "contactor", "timer-relay")


def _renamed(device: Device) -> Device:
    name = f"{device.name}b"
    values = dict(device.values)
    if "mechanical_interlock" in values:
        values["mechanical_interlock"] = f"{values['mechanical_interlock']}b"
    return replace(device, name=name, values=values, contacts=tuple(c._replace(device=name) for c in device.contacts))


def coupled(seed: int) -> Plan:
    """Two random circuits in one plan, and up to three wires of them cut by contacts of relays of either."""
    dice = Random(seed)
    one, two = (read_plan_text(random_circuit(s), f"random circuit {s}") for s in (seed, seed + 1000))
    devices = {**one.devices, **{f"{name}b": _renamed(device) for name, device in two.devices.items()}}
    wires = [*one.wires]
    wires += [replace(w, a=Terminal(f"{w.a.device}b", w.a.mark), b=Terminal(f"{w.b.device}b", w.b.mark)) for w in two.wires]
    coils = [name for name, device in devices.items() if device.kind in COILS]
    for i in range(dice.randrange(4) if coils else 0):
        name, cut = dice.choice(coils), dice.randrange(len(wires))
        ends, form = (f"x{i}a", f"x{i}b"), dice.choice(["NO", "NO", "NC"])
        contact = Contact(name, "-".join(ends), *ends, frozenset({"in" if form == "NO" else "out"}), form, devices[name].spot)
        devices[name] = replace(devices[name], contacts=(*devices[name].contacts, contact))
        wire = wires[cut]
        wires[cut : cut + 1] = [replace(wire, b=Terminal(name, ends[0])), replace(wire, a=Terminal(name, ends[1]))]
    return replace(one, devices=devices, wires=tuple(replace(wire, index=i) for i, wire in enumerate(wires)))


def disturbed(single: Single, number: int, dice: Random) -> int:
    """A state in which several hand-operated devices stand differently, all at once, so that much wants to move."""
    events = single.events()
    on = [e for e in events if single.plan.devices[e.device].kind == "mains" and e.position == "on"]
    for device, position in [
        *dice.sample(events, min(len(events), dice.choice([1, 2, 4, 6]))),
        *(on if dice.random() < 0.5 else []),
    ]:
        variable = single.variables.get(device)
        if variable and position in variable.codes and device not in single.movable:
            mask = (1 << variable.width) - 1 << variable.low
            number = number & ~mask | variable.codes.index(position) << variable.low
    return number


def compare(plan: Plan, seed: int, steps: int = 12) -> int:
    """How many of the steps had more than one outcome."""
    single, dice = Single(plan, sneaking=False), Random(seed)
    number, races = single.at_rest, 0
    for _ in range(steps):
        origin = disturbed(single, number, dice)
        few, all_orders = single.settle([origin]), single.settle([origin], every_order=True)
        assert set(few.rests) == set(all_orders.rests)
        assert bool(few.swings) == bool(all_orders.swings)
        assert set(few.came) <= set(all_orders.came)
        races += len(few.rests) > 1
        if few.rests:
            number = dice.choice(sorted(few.rests))
    return races


def web(seed: int) -> Plan:
    return read_plan_text(relay_web(seed), f"web {seed}")


@pytest.mark.parametrize("seed", SEEDS)
def test_no_outcome_of_coupled_circuits_is_lost(seed: int) -> None:
    compare(coupled(seed), seed)


@pytest.mark.parametrize("seed", range(150))
def test_no_outcome_of_a_web_is_lost(seed: int) -> None:
    compare(web(seed), seed, steps=6)


def test_webs_race_and_orders_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison is worth something: there are races, there are orders to leave out, and not all can be."""
    asked: list[tuple[int, int]] = []
    needed = Orders.needed

    def counting(orders: Orders, able: Collection[str], *more: object, **others: object) -> frozenset[str]:
        found = needed(orders, able, *more, **others)  # type: ignore[arg-type]
        asked.append((len(able), len(found)))
        return found

    monkeypatch.setattr(Orders, "needed", counting)
    assert sum(compare(web(seed), seed, steps=6) for seed in range(60)) > 15
    several = [(able, found) for able, found in asked if able > 1]
    assert sum(found < able for able, found in several) > 100
    assert sum(found == able for able, found in several) > 20


def orders_of(single: Single, number: int) -> Orders:
    model = single.model(number)
    joints = Joints(single.elements, lambda e: bool(model.conducts(e)), single.movable)
    return Orders(single.plan, joints, single.sources, single.movable, model.interlocks)


def test_zones_matter_to_each_other_only_through_their_neighbours() -> None:
    single = Single(read_plan_text(zone_line(3), "three zones"))
    on = single.encode({"G0": "on", "Q1": "on"})
    orders, model = orders_of(single, on), single.model(on)

    def closed(element: object) -> bool:
        return bool(model.conducts(element))  # type: ignore[arg-type]

    assert orders.certain
    assert len(orders.needed({"K100", "K200", "K300"}, closed)) == 1
    assert orders.needed({"Q102", "Q103"}, closed) == {"Q102", "Q103"}
    assert len(orders.needed({"Q102", "Q202"}, closed)) == 1


IN_PASSING = """\
wirecheck: 1
machine: {name: A short in passing}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: fuse, rating: 1 A}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K2: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
wires:
  - {number: 1, run: [G0:L, F1:1]}
  - {number: 2, run: [F1:2, K1:A1, K2:A1, K1:11]}
  - {number: 3, run: [K1:12, K2:13]}
  - {number: N, run: [K2:14, K1:A2, K2:A2, G0:N]}
"""


@pytest.mark.parametrize("names", [("K1", "K2"), ("K2", "K1")])
def test_a_short_in_passing_is_not_missed(names: tuple[str, str]) -> None:
    """The relays know nothing of each other, but where the second is faster than the first there is a short for a moment."""
    text = IN_PASSING.replace("K1", "Kx").replace("K2", names[1]).replace("Kx", names[0])
    single = Single(read_plan_text(text, "in passing"))
    settled = single.settle([single.encode({"G0": "on"})])
    assert {single.decode(n)["F1"] for n in settled.rests} == {"whole", "blown"}


SWITCHED = """\
wirecheck: 1
machine: {name: Two relays that a selector sets against each other}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: selector, positions: [apart, crossed], contacts: {11-12: {closed_in: [apart]}, 21-22: {closed_in: [apart]}}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K3: {kind: relay, coil: 230 V AC}
wires:
  - {number: 1, run: [G0:L, S2:13]}
  - {number: 2, run: [S2:14, K1:11, K2:11, S1:11, S1:21, K3:A1]}
  - {number: 3, run: [K1:12, S1:12, K2:A1]}
  - {number: 4, run: [K2:12, S1:22, K1:A1]}
  - {number: N, run: [G0:N, K1:A2, K2:A2, K3:A2]}
"""


def test_what_matters_to_each_other_is_asked_anew_where_a_hand_has_moved() -> None:
    single = Single(read_plan_text(SWITCHED, "switched"), sneaking=False)
    pressed = {"G0": "on", "S2": "pressed"}
    rests = {
        position: {
            tuple(single.decode(n)[k] for k in ("K1", "K2", "K3"))
            for n in single.settle([single.encode({**pressed, "S1": position})]).rests
        }
        for position in ("apart", "crossed")
    }
    assert rests == {"apart": {("in", "in", "in")}, "crossed": {("in", "out", "in"), ("out", "in", "in")}}


def test_of_all_sets_that_are_enough_the_smallest_is_tried() -> None:
    """K3, which matters to nobody, goes first; only then are there two orders."""
    single = Single(read_plan_text(SWITCHED, "switched"), sneaking=False)
    number = single.encode({"G0": "on", "S2": "pressed", "S1": "crossed"})
    model = single.model(number)
    assert orders_of(single, number).needed({"K1", "K2", "K3"}, lambda e: bool(model.conducts(e))) == {"K3"}


LOST = """\
wirecheck: 1
machine: {name: A relay that pulls in while another takes its voltage away}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}
  K1: {kind: relay, coil: VOLTS, contacts: {13-14: NO}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K3: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
  K4: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
DEVICES
wires:
  - {number: L, run: [G0:L, S1:13, K1:13, K3:13]}
  - {number: 1, run: [S1:14, K2:A1, K4:A1]}
  - {number: 2, run: [K1:14, K3:14, K3:A1]}
  - {number: N, run: [G0:N, K2:A2, K3:A2, K4:A2]}
WIRES
"""
"""K2 and K1 want to pull in. Where K1 is first it takes in K3, which holds itself; where K2 is first K1 never pulls in."""

DRIVE = """\
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals}"""


def lost(volts: str, devices: str, *runs: str) -> str:
    wires = "\n".join(f"  - {{number: {i}, run: [{run}]}}" for i, run in enumerate(runs, 5))
    return LOST.replace("VOLTS", volts).replace("DEVICES\n", f"{devices}\n" if devices else "").replace("WIRES", wires)


DC = "  G1: {kind: dc-supply, voltage: 24 V DC}"
BY_DC = lost("24 V DC", DC, "G0:L, K2:11", "K2:12, G1:L", "G0:N, G1:N", '"G1:+", K1:A1', '"G1:-", K1:A2')
WAYS = {
    "its own circuit": lost("230 V AC", "", "G0:L, K2:11", "K2:12, K1:A1", "G0:N, K1:A2"),
    "its other end": lost("230 V AC", "", "G0:N, K2:11", "K2:12, K1:A2", "G0:L, K1:A1"),
    "behind another contact": lost("230 V AC", "", "G0:L, K2:11", "K2:12, K4:13", "K4:14, K1:A1", "G0:N, K1:A2"),
    "before another contact": lost("230 V AC", "", "G0:L, K4:13", "K4:14, K2:12", "K2:11, K1:A1", "G0:N, K1:A2"),
    "the supply": BY_DC,
    "the other side of the supply": lost(
        "24 V DC", DC, "G0:N, K2:11", "K2:12, G1:N", "G0:L, G1:L", '"G1:+", K1:A1', '"G1:-", K1:A2'
    ),
    "the drive that feeds it": lost(
        "230 V AC", DRIVE, "G0:L, T1:L", "G0:N, T1:N", "T1:P24, K2:11", "K2:12, T1:DI1", "T1:U, K1:A1", "T1:V, K1:A2"
    ),
    "the feed of the drive that feeds it": lost(
        "230 V AC", DRIVE, "G0:L, K2:11", "K2:12, T1:L", "G0:N, T1:N", "T1:P24, T1:DI1", "T1:U, K1:A1", "T1:V, K1:A2"
    ),
}


@pytest.mark.parametrize("swapped", [False, True])
@pytest.mark.parametrize("way", WAYS)
def test_a_race_is_seen_by_whatever_way_the_one_takes_the_voltage_of_the_other(way: str, swapped: bool) -> None:
    text = WAYS[way]
    if swapped:  # the names decide who is looked at first
        text = text.replace("K1", "Kx").replace("K2", "K1").replace("Kx", "K2")
    fast, slow = ("K2", "K1") if swapped else ("K1", "K2")
    single = Single(read_plan_text(text, way), sneaking=False)
    begun = {"G0": "on", "S1": "run", "K4": "in"}
    if "T1" in single.parts:
        begun |= {"T1 power": "yes", "T1 forward": "yes"}
    rests = single.settle([single.encode(begun)]).rests
    assert {tuple(single.decode(n)[name] for name in (fast, slow, "K3")) for n in rests} == {
        ("out", "in", "in"),
        ("out", "in", "out"),
    }


HELD_OUT = """\
wirecheck: 1
machine: {name: A relay that holds itself unless another is first}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}
  K0: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
  K1: {kind: relay, coil: VOLTS, contacts: {11-12: NC}}
  K2: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}
DEVICES
wires:
  - {number: L, run: [G0:L, S1:13, K0:13]}
  - {number: 1, run: [S1:14, K2:A1, K1:11]}
  - {number: 2, run: [K1:12, K0:14, K0:A1]}
  - {number: N, run: [G0:N, K0:A2, K2:A2]}
WIRES
"""
"""K0 and K2 want to pull in, and K2 takes in K1, which keeps K0 out if it is not in before."""


def held_out(volts: str, devices: str, *runs: str) -> str:
    wires = "\n".join(f"  - {{number: {i}, run: [{run}]}}" for i, run in enumerate(runs, 5))
    return HELD_OUT.replace("VOLTS", volts).replace("DEVICES\n", f"{devices}\n" if devices else "").replace("WIRES", wires)


HELPS = {
    "its own circuit": held_out("230 V AC", "", "G0:L, K2:13", "K2:14, K1:A1", "G0:N, K1:A2"),
    "the supply": held_out("24 V DC", DC, "G0:L, K2:13", "K2:14, G1:L", "G0:N, G1:N", '"G1:+", K1:A1', '"G1:-", K1:A2'),
    "the drive that feeds it": held_out(
        "230 V AC", DRIVE, "G0:L, T1:L", "G0:N, T1:N", "T1:P24, K2:13", "K2:14, T1:DI1", "T1:U, K1:A1", "T1:V, K1:A2"
    ),
    "the feed of the drive that feeds it": held_out(
        "230 V AC", DRIVE, "G0:L, K2:13", "K2:14, T1:L", "G0:N, T1:N", "T1:P24, T1:DI1", "T1:U, K1:A1", "T1:V, K1:A2"
    ),
}


@pytest.mark.parametrize("way", HELPS)
def test_who_gives_a_third_its_voltage_is_tried_first_whatever_way_it_does(way: str) -> None:
    single = Single(read_plan_text(HELPS[way], way), sneaking=False)
    drive = {"T1 power": "yes"} if way == "the drive that feeds it" else {}
    begun = single.encode({"G0": "on", "S1": "run", **drive})
    model = single.model(begun)
    assert orders_of(single, begun).needed({"K0", "K2"}, lambda e: bool(model.conducts(e))) == {"K2"}
    rests = single.settle([begun]).rests
    assert {tuple(single.decode(n)[name] for name in ("K0", "K1", "K2")) for n in rests} == {
        ("in", "in", "in"),
        ("out", "in", "in"),
    }
