"""Sneak paths: the search over all states at once against every state by itself, the bounds, and what follows from them."""

from __future__ import annotations

from random import Random

import pytest

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour import Behaviour, sneaks
from wirecheck.behaviour.coils import CoilPart, NoVoltPart
from wirecheck.behaviour.followed import Followed
from wirecheck.behaviour.sneaks import Finder, Sneak, consumers_of, sneaks_of, verdict
from wirecheck.behaviour.soft import classes
from wirecheck.behaviour.space import numbers, sum_of
from wirecheck.errors import TooLarge
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

SUPPLY = ["G0: {kind: mains, phases: 1, voltage: 230 V}", "G1: {kind: dc-supply, voltage: 24 V DC}"]
FEED = ["G0:L G1:L", "G0:N G1:N"]
STOP = [
    "S1: {kind: push-button, role: stop, contacts: {11-12: NC}}",
    "S2: {kind: push-button, role: start, contacts: {13-14: NO}}",
]


def behaviour(devices: list[str], runs: list[str]) -> Behaviour:
    return Behaviour(read_plan_text(plan_text([*SUPPLY, *devices], [*FEED, *runs]), "sneak"))


# The bounds


@pytest.mark.parametrize(
    ("share", "current", "inside", "expected"),
    [
        (0.85, "DC", False, "pulls in"),
        (0.84, "DC", True, "may hold in"),
        (0.84, "DC", False, "uncertain"),
        (0.11, "DC", True, "may hold in"),
        (0.10, "DC", True, "may hold in"),
        (0.10, "DC", False, "uncertain"),
        (0.20, "AC", True, "may hold in"),
        (0.09, "DC", True, None),
        (0.21, "AC", True, "may hold in"),
        (0.19, "AC", True, None),
        (0.19, "AC", False, None),
    ],
)
def test_bounds_of_a_coil(share: float, current: str, inside: bool, expected: str | None) -> None:
    # Source: IEC 60947-4-1, 8.2.1.2, value from memory: closes from 85 %, has dropped out below 20 % (a.c.) or 10 % (d.c.)
    assert verdict(True, share, current, inside) == expected


def test_a_lamp_glows_or_does_not() -> None:
    assert verdict(False, 0.3, "DC", False) == "glows"
    assert verdict(False, 0.10, "AC", True) == "glows"
    assert verdict(False, 0.05, "DC", False) is None


# Every state by itself


def one_by_one(b: Behaviour, finder: Finder, domain: int) -> set[tuple[str, str, int]]:
    """Load, verdict and state number, each state solved."""
    found = set()
    for consumer in consumers_of(b.model, finder.impedances):
        i, part = consumer.impedance, b.model.parts[consumer.impedance.device]
        mark = "on" if isinstance(part, NoVoltPart) else "in"
        inside = part.state(b.space, mark) if isinstance(part, CoilPart) else 0
        hard = 0
        for source in b.model.sources:
            for p, q, _ in source.pairs():
                at = [b.model.supplies.at(source, pole, end) for pole, end in ((p, i.a), (q, i.b), (p, i.b), (q, i.a))]
                hard |= (at[0] & at[1] | at[2] & at[3]) & b.model.supplies.live[source.name]
        for number in numbers(domain & ~consumer.acts & ~hard):
            solution = finder.solution(number)
            volts = solution.volts(i.a, i.b, consumer.rated.current if consumer.rated else None)
            dc, ac = solution.between(i.a, i.b)
            current = (consumer.rated and consumer.rated.current) or ("DC" if abs(dc) > abs(ac) else "AC")
            coil = i.kind != "load" or b.plan.devices[i.device].kind == "solenoid"
            word = verdict(coil, volts / consumer.rated.value, current, bool(inside >> number & 1)) if consumer.rated else None
            if word:
                found.add((i.ident, word, number))
    return found


def tangle(seed: int, bonds: tuple[str, ...] = (), more: tuple[str, ...] = ()) -> Behaviour:
    """Buttons, relays and lamps between points drawn at random, behind a fuse at plus and another at minus; `more` devices."""
    dice = Random(seed)
    points: list[list[str]] = [["F1:2"], ["F2:2"], *([] for _ in range(dice.randint(2, 5)))]
    devices = [*more, "F1: {kind: fuse}", "F2: {kind: fuse}"]

    def between(a: str, b: str) -> None:
        for end, point in zip((a, b), dice.sample(points, 2), strict=True):
            point.append(end)

    for n in range(1, dice.randint(2, 4)):
        devices.append(f"S{n}: {{kind: push-button, contacts: {{13-14: NO, 21-22: NC}}}}")
        between(f"S{n}:13", f"S{n}:14")
        between(f"S{n}:21", f"S{n}:22")
    for n in range(1, dice.randint(2, 4)):
        watts = dice.choice([0.5, 1, 2, 5])
        devices.append(f"K{n}: {{kind: relay, coil: 24 V DC, coil_power: {watts} W, contacts: {{13-14: NO, 21-22: NC}}}}")
        between(f"K{n}:A1", f"K{n}:A2")
        between(*dice.choice([(f"K{n}:13", f"K{n}:14"), (f"K{n}:21", f"K{n}:22")]))
    for n in range(1, dice.randint(2, 5)):
        devices.append(f"P{n}: {{kind: lamp, voltage: 24 V DC, power: {dice.choice([0.5, 2, 10])} W}}")
        between(f"P{n}:X1", f"P{n}:X2")
    if dice.random() < 0.4:
        devices.append("V1: {kind: diode}")
        between("V1:A", "V1:K")
    return behaviour(devices, ["G1:+ F1:1", "G1:- F2:1", *bonds, *(" ".join(ends) for ends in points if len(ends) > 1)])


SECOND = ("G0:L G2:L", "G0:N G2:N")
HALF = ("G2: {kind: dc-supply, voltage: 12 V DC}",)


@pytest.mark.parametrize(
    ("bonds", "more", "seeds"),
    [
        ((), (), 120),
        (("G1:- G0:PE",), (), 120),
        ((*SECOND, "G2:- G1:-", "G2:+ P1:X2"), HALF, 25),
        ((*SECOND, "G2:- P1:X1", "G2:+ P1:X2"), HALF, 25),
    ],
    ids=["floating", "earthed", "two supplies with one return", "two supplies apart"],
)
def test_the_search_finds_what_every_state_by_itself_shows(bonds: tuple[str, ...], more: tuple[str, ...], seeds: int) -> None:
    sneaky = 0
    for seed in range(seeds):
        b = tangle(seed, bonds, more)
        finder = Finder(b.model)
        chosen = sum(1 << n for n in Random(seed).sample(numbers(b.passed), min(60, b.passed.bit_count())))
        quiet = sum(1 << n for n in numbers(chosen) if not finder.solution(n).shorts)
        seen = {(s.device, s.verdict, n) for s in finder.sneaks(b.passed) for n in numbers(s.states & quiet)}
        assert seen == one_by_one(b, finder, quiet), seed
        sneaky += bool(seen)
    assert sneaky > seeds / 4


def test_states_are_parted_by_every_set_that_tells_them_apart() -> None:
    assert sorted(classes(0b1111, [0b0011, 0b0101], 10) or []) == [0b0001, 0b0010, 0b0100, 0b1000]
    assert classes(0b1111, [0b0011, 0b0101], 3) is None


# What is quiet


def test_a_lamp_across_a_coil_and_a_spare_contact_are_quiet() -> None:
    relay = "K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 23-24: NO}}"
    b = behaviour(
        [*STOP, relay, "P1: {kind: lamp, voltage: 24 V DC}", "V1: {kind: diode}"],
        ["G1:+ S1:11", "S1:12 S2:13 K1:13", "S2:14 K1:14 K1:A1 P1:X1 V1:K", "G1:- K1:A2 P1:X2 V1:A"],
    )
    assert sneaks_of(b) == ()


def test_two_coils_with_one_return_are_quiet_until_it_is_lost() -> None:
    devices = [
        "S1: {kind: push-button, contacts: {13-14: NO}}",
        "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}",
        "K2: {kind: relay, coil: 24 V DC, coil_power: 1 W}",
        "P1: {kind: lamp, voltage: 24 V DC, power: 1 W}",
    ]
    runs = ["G1:+ S1:13", "S1:14 K1:A1", "K2:A1 P1:X1", "K1:A2 K2:A2", "P1:X2 G1:-"]
    assert sneaks_of(behaviour(devices, [*runs, "K1:A2 G1:-"])) == ()
    found = sneaks_of(behaviour(devices, runs))
    assert {(s.device, round(s.volts, 2)) for s in found} == {("K1", 8.0), ("K2", 8.0), ("P1", 8.0)}
    assert {s.verdict for s in found} == {"uncertain", "glows"}


def test_two_supplies_that_meet_over_a_coil() -> None:
    b = behaviour(
        ["G2: {kind: dc-supply, voltage: 48 V DC}", "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}"],
        ["G0:L G2:L", "G0:N G2:N", "G1:+ K1:A2", "G2:+ K1:A1", "G1:- G2:-"],
    )
    (sneak,) = sneaks_of(b)
    assert (sneak.verdict, sneak.through) == ("pulls in", ())
    assert sneak.volts == pytest.approx(24)


# What is told


def test_all_that_is_told_of_a_sneak_path() -> None:
    # P1 states no power: 2 W at 24 V, 288 ohm, against the coil's 576: 16 V. With S1 another lamp is beside P1: 144 ohm, 19.2 V.
    devices = [
        "S1: {kind: push-button, contacts: {13-14: NO}}",
        "P1: {kind: lamp, voltage: 24 V DC}",
        "P2: {kind: lamp, voltage: 24 V DC, power: 2 W}",
        "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}",
    ]
    b = behaviour(devices, ["G1:+ P1:X1 S1:13", "S1:14 P2:X1", "P1:X2 P2:X2 K1:A1", "G1:- K1:A2"])
    on, out = b.at("G0", "on"), b.space.full & ~b.within("K1")
    assumed = "P1 power is not stated, 2 W is assumed"

    def at(*marks: str) -> tuple[Terminal, ...]:
        return tuple(map(terminal, marks))

    *lamps, first = sneaks_of(b)
    # K1 is never in, for nobody can say that it goes in; with S1 it gets 19.2 V, by way of P1, as the plan has it first.
    assert first == Sneak(
        device="K1",
        ends=(terminal("K1:A1"), terminal("K1:A2")),
        kind="coil",
        states=on & b.passed,
        volts=pytest.approx(19.2),  # type: ignore[arg-type]
        rated=24,
        verdict="uncertain",
        walk=at("G1:+", "P1:X1", "P1:X2", "P2:X2", "K1:A1", "K1:A2", "G1:-"),
        through=("P1",),
        assumed=(assumed,),
    )
    assert b.passed & ~out == 0
    assert first.share == pytest.approx(0.8)
    assert [(s.device, s.kind, s.verdict, s.states, s.through, s.assumed) for s in lamps] == [
        ("P1", "load", "glows", on & b.passed, ("K1",), (assumed,)),
        ("P2", "load", "glows", on & b.passed & b.at("S1", "pressed"), ("K1",), ()),
    ]
    assert [s.volts for s in lamps] == pytest.approx([8, 4.8])


@pytest.mark.parametrize(
    ("walk", "through", "said"),
    [(("G1:+", "K1:A1", "K1:A2", "G1:-"), (), "G1"), (("G1:+", "G2:-"), (), ""), (("G1:+", "G1:-"), ("P1",), ""), ((), (), "")],
)
def test_a_load_straight_across_one_device_is_told_by_it(walk: tuple[str, ...], through: tuple[str, ...], said: str) -> None:
    ends = terminal("K1:A1"), terminal("K1:A2")
    if walk:
        found = Sneak("K1", ends, "coil", 1, 24, 24, "pulls in", tuple(map(terminal, walk)), through)
        assert found.straight_from == said


def test_what_may_act_is_every_coil_input_and_load_that_is_made_for_something() -> None:
    drive = (
        "{{kind: drive, input: {{terminals: [L, N], phases: 1, voltage: 230 V}}, "
        "output: {{terminals: [U, V, W], voltage: 230 V}}, "
        "control: {{mode: two-wire, logic: {}, supply: {{plus: P24, common: COM, voltage: 24 V DC}}, "
        "inputs: {{DI1: run-forward}}}}}}"
    )
    devices = [
        f"T1: {drive.format('sourcing')}",
        f"T3: {drive.format('sinking')}",
        "T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 230 V, secondary_voltage: 24 V}",
        "S1: {kind: push-button, contacts: {13-14: NO, 23-24: NO}}",
        "K1: {kind: relay, coil: 24 V DC}",
        "P1: {kind: lamp, voltage: 24 V DC}",
        "A1: {kind: custom, elements: [{load: X1-X2, voltage: 12 V DC, power: 2 W}]}",
        "R1: {kind: resistor, resistance: 100 ohm}",
        "B1: {kind: sensor, output: PNP, form: NO, voltage: 24 V DC}",
        "M1: {kind: motor, links: [[U2, V2], [V2, W2]]}",
    ]
    runs = [
        "G0:L T1:L T3:L T2:1",
        "G0:N T1:N T3:N T2:2",
        "T1:U M1:U1",
        "T1:P24 S1:13",
        "S1:14 T1:DI1",
        "T3:DI1 S1:23",
        "S1:24 T3:COM",
    ]
    b = behaviour(devices, [*runs, "G1:+ K1:A1 P1:X1 A1:X1", "G1:- K1:A2 P1:X2 A1:X2"])
    on, pressed = b.at("G0", "on"), b.at("S1", "pressed")
    found = {c.impedance.ident: c for c in consumers_of(b.model, Finder(b.model).impedances)}
    # By a drive's own supply the closed path counts, whether or not there is power.
    acts = {"K1": on, "P1": on, "A1:X1-X2": 0, "T1:DI1-COM": pressed, "T3:DI1-P24": pressed}
    assert {ident: c.acts for ident, c in found.items()} == acts
    assert [c.kind for c in found.values()] == ["coil", "load", "load", "input", "input"]
    made_for = {ident: c.rated.value if c.rated else None for ident, c in found.items()}
    assert made_for == {**dict.fromkeys(acts, 24), "A1:X1-X2": 12}


def test_a_no_volt_release_that_is_on_may_be_held_so_and_one_that_is_off_may_not() -> None:
    # Its coil of 5 W has 115.2 ohm, P1 57.6: two thirds of 24 V. Through S1 and its own pole it has all of it.
    release = "Q4: {kind: no-volt-release, poles: [1-2], voltage: 24 V DC}"
    lamp = "P1: {kind: lamp, voltage: 24 V DC, power: 10 W}"
    b = behaviour([STOP[0], release, lamp], ["G1:+ S1:11 P1:X1", "S1:12 Q4:1", "Q4:2 Q4:A1 P1:X2", "G1:- Q4:A2"])
    told = {s.verdict: s for s in sneaks_of(b) if s.device == "Q4"}
    assert set(told) == {"may hold in", "uncertain"}
    assert told["may hold in"].share == pytest.approx(2 / 3)
    on = b.within("Q4")
    assert (told["may hold in"].states & ~on, told["uncertain"].states & on) == (0, 0)
    assert told["may hold in"].states & b.at("S1", "pressed")


@pytest.mark.parametrize(("frequency", "volts"), [("", 170.0), (", frequency: 60 Hz", 183.1)])
def test_what_a_capacitor_lets_through_hangs_on_the_frequency_of_the_mains(frequency: str, volts: float) -> None:
    # The coil: 230 V and 10 W, 5290 ohm. 0.66 uF at 50 Hz: 4823 ohm; at right angles the coil gets 5290 parts of 7159.
    mains = f"G0: {{kind: mains, phases: 1, voltage: 230 V{frequency}}}"
    devices = [mains, "C1: {kind: capacitor, capacitance: 0.66 uF}", "K1: {kind: relay, coil: 230 V AC, coil_power: 10 W}"]
    b = Behaviour(read_plan_text(plan_text(devices, ["G0:L C1:1", "C1:2 K1:A1", "K1:A2 G0:N"]), "capacitor"))
    (sneak,) = sneaks_of(b)
    assert (sneak.device, round(sneak.volts, 1)) == ("K1", volts)


def test_a_coil_that_states_no_voltage_is_made_for_what_makes_it_act_and_its_kind_is_that_of_what_it_gets() -> None:
    relay = "K1: {kind: relay, coil_power: 1 W, contacts: {13-14: NO}}"
    lamp = "P1: {kind: lamp, voltage: 24 V DC, power: 0.17 W}"
    # Taken as 24 V, 576 ohm, behind 3388 ohm: 14.5 %, above a tenth; of alternating current it would be too little.
    b = behaviour([relay, lamp], ["G1:+ P1:X1", "P1:X2 K1:A1", "G1:- K1:A2"])
    assert [(s.device, s.verdict, s.rated, round(s.volts, 2)) for s in sneaks_of(b) if s.device == "K1"] == [
        ("K1", "uncertain", 24, 3.49)
    ]
    turned = behaviour([relay, lamp], ["G1:+ P1:X1", "P1:X2 K1:A2", "G1:- K1:A1 G0:PE"])  # its first end is at earth
    assert [(s.device, s.verdict) for s in sneaks_of(turned) if s.device == "K1"] == [("K1", "uncertain")]
    transformer = "T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 230 V, secondary_voltage: 24 V}"
    runs = ["G0:L T2:1", "G0:N T2:2", "T2:3 P1:X1", "P1:X2 K1:A1", "T2:4 K1:A2"]
    assert [s.device for s in sneaks_of(behaviour([relay, lamp.replace("DC", "AC"), transformer], runs))] == ["P1"]


def test_a_coil_that_states_no_voltage_is_made_for_that_of_the_source_that_has_poles_at_both_its_ends() -> None:
    devices = [
        "G2: {kind: dc-supply, voltage: 48 V DC}",
        STOP[1],
        "P1: {kind: lamp, voltage: 48 V DC, power: 2 W}",
        "K1: {kind: relay, coil_power: 1 W}",
    ]
    b = behaviour(devices, ["G0:L G2:L", "G0:N G2:N", "G2:+ S2:13 P1:X1", "S2:14 P1:X2 K1:A1", "K1:A2 G2:-"])
    # Its resistance is taken from 24 V, 576 ohm, behind 1152 of the lamp: 16 V of 48.
    assert {(s.rated, round(s.volts, 1)) for s in sneaks_of(b) if s.device == "K1"} == {(48, 16.0)}


def test_too_many_networks_around_a_load_are_named_by_it(monkeypatch: pytest.MonkeyPatch) -> None:
    b = held(lamp_w=2)
    monkeypatch.setattr(sneaks, "MOST_CLASSES", 1)
    with pytest.raises(TooLarge) as raised:
        sneaks_of(b)
    assert str(raised.value) == "the voltages at K1: more than 1 networks of loads around it"


def test_only_loads_at_the_nets_asked_for_are_looked_at_and_in_the_states_given_for_them() -> None:
    b = held(lamp_w=2)
    net, finder = b.model.network.net, Finder(b.model)
    some = b.at("S1", "pressed")
    found = list(finder.sneaks(b.space.full, {net(terminal("K1:A1")): some}))
    assert {s.device for s in found} == {"K1"}
    every = [s for s in finder.sneaks(b.space.full) if s.device == "K1"]
    assert sum_of(s.states for s in found) == sum_of(s.states for s in every) & some != 0
    assert {s.device for s in every} | {"P1"} == {s.device for s in finder.sneaks(b.space.full)}
    assert list(finder.sneaks(b.space.full, {})) == []


@pytest.mark.parametrize(
    ("link", "volts"),
    [
        (["G1:- S2:13", "S2:14 P3:X1", "P3:X2 G2:-"], {12}),
        (["G2:- S2:13", "S2:14 P3:X1", "P3:X2 G1:-"], {12}),
        (["G1:- P3:X1", "P3:X2 P4:X1", "P4:X2 S2:13", "S2:14 G2:-"], {9.6}),
        (["G1:- S3:11", "G1:+ S3:13", "S3:12 S3:14 P3:X1", "P3:X2 P4:X1", "P4:X2 S2:13", "S2:14 G2:-"], {9.6, 19.2}),
    ],
    ids=["by one lamp", "by one lamp at the other side", "by two lamps", "by two lamps from either pole"],
)
def test_two_supplies_act_upon_each_other_only_while_something_links_them_too(link: list[str], volts: set[float]) -> None:
    # K1 (576 ohm) and P1 (288) lie between 24 V and 48 V. With S2 the way back is by P3 (288): K1 gets half of the 24 V between.
    # By P3 and P4 it is 576 parts of 1440, and of 48 V where S3 puts P3 to plus.
    devices = [
        "G2: {kind: dc-supply, voltage: 48 V DC}",
        STOP[1],
        "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}",
        "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}",
        "S3: {kind: push-button, contacts: {11-12: NC, 13-14: NO}}",
        "P3: {kind: lamp, voltage: 24 V DC, power: 2 W}",
        "P4: {kind: lamp, voltage: 24 V DC, power: 2 W}",
    ]
    b = behaviour(devices, ["G0:L G2:L", "G0:N G2:N", "G2:+ P1:X1", "P1:X2 K1:A1", "K1:A2 G1:+", *link])
    found = [s for s in sneaks_of(b) if s.device == "K1"]
    assert {(s.verdict, round(s.volts, 3)) for s in found} == {("uncertain", each) for each in volts}
    assert sum_of(s.states for s in found) == b.passed & b.at("G0", "on") & b.at("S2", "pressed")


# What follows


def held(lamp_w: float) -> Behaviour:
    relay = "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {13-14: NO, 23-24: NO}}"
    return behaviour(
        [*STOP, relay, f"P1: {{kind: lamp, voltage: 24 V DC, power: {lamp_w} W}}", "P2: {kind: lamp, voltage: 24 V DC}"],
        ["G1:+ S1:11 P1:X1 K1:23", "S1:12 S2:13 K1:13 P1:X2", "S2:14 K1:14 K1:A1", "K1:24 P2:X1", "G1:- K1:A2 P2:X2"],
    )


def test_a_coil_with_too_high_a_voltage_has_it_by_no_sneak_path() -> None:
    # Another rule tells of the voltage; no load and no second supply has a part in it.
    devices = [
        "T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 230 V, secondary_voltage: 230 V}",
        "K1: {kind: relay, coil: 24 V AC, coil_power: 1 W}",
    ]
    b = behaviour(devices, ["G0:L T2:1", "G0:N T2:2", "T2:3 K1:A1", "T2:4 K1:A2 G0:PE"])
    assert sneaks_of(b) == ()


def test_a_diode_across_a_coil_hides_no_sneak_path() -> None:
    devices = [
        "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}",
        "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}",
        "V1: {kind: diode}",
    ]
    b = behaviour(devices, ["G1:- G0:PE", "G1:+ P1:X1", "P1:X2 K1:A1 V1:K", "G1:- K1:A2 V1:A"])
    assert {(s.device, s.verdict, round(s.volts)) for s in sneaks_of(b)} == {("K1", "uncertain", 16), ("P1", "glows", 8)}


def test_a_coil_held_in_through_a_lamp_stays_in_when_that_is_followed() -> None:
    plain = held(lamp_w=2)
    followed = Followed(plain, uncertain_pulls=False)
    stopped = plain.at("S1", "pressed") & plain.at("S2", "released")
    assert not plain.within("K1") & plain.reached & stopped
    assert followed.behaviour.within("K1") & followed.behaviour.reached & stopped
    assert followed.acts("K1") & stopped
    assert followed.acts("K1") & followed.behaviour.acting["P2"]


def test_what_is_free_in_a_part_stays_free_when_its_sneak_paths_are_followed() -> None:
    plain = held(lamp_w=2)
    part = Behaviour(plain.plan, plain.subjects, frozenset({"K9"}), plain.reach)
    assert Followed(part, uncertain_pulls=False).behaviour.free == {"K9"}


def test_a_coil_with_too_little_drops_out_when_that_is_followed() -> None:
    plain = held(lamp_w=0.1)
    followed = Followed(plain, uncertain_pulls=False)
    assert followed.acts("K1") == 0
    assert followed.behaviour.reached == plain.reached


def test_a_coil_that_may_pull_in_is_followed_both_ways() -> None:
    relay = "K1: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {13-14: NO}}"
    plain = behaviour([relay, "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}"], ["G1:+ P1:X1", "P1:X2 K1:A1", "G1:- K1:A2"])
    assert {s.verdict for s in sneaks_of(plain)} == {"uncertain", "glows"}
    assert not Followed(plain, uncertain_pulls=False).acts("K1")
    assert Followed(plain, uncertain_pulls=True).acts("K1")


def test_a_safety_relay_and_a_no_volt_switch_are_followed_too() -> None:
    safety = "K2: {kind: safety-relay, voltage: 24 V DC, channels: [[S11, S12]], reset: automatic, contacts: {13-14: NO}}"
    plain = behaviour(
        [safety, "P1: {kind: lamp, voltage: 24 V DC, power: 60 W}"], ["G1:+ P1:X1", "P1:X2 K2:A1", "G1:- K2:A2", "K2:S11 K2:S12"]
    )
    assert Followed(plain, uncertain_pulls=False).acts("K2")
    plain = behaviour(
        ["Q4: {kind: no-volt-release, poles: [1-2], voltage: 24 V DC}", "P1: {kind: lamp, voltage: 24 V DC, power: 60 W}"],
        ["G1:+ P1:X1", "P1:X2 Q4:A1", "G1:- Q4:A2"],
    )
    assert Followed(plain, uncertain_pulls=False).acts("Q4") & plain.at("Q4", "off")


def test_volts_of_one_state_are_those_of_coils_loads_and_windings() -> None:
    plain = held(lamp_w=2)
    stopped = plain.at("G0", "on") & plain.at("S1", "pressed") & plain.at("S2", "released")
    (number,) = numbers(stopped & plain.reached)
    assert Finder(plain.model).volts(number) == pytest.approx({"K1": 0, "P1": 0, "P2": 0})
    followed = Followed(plain, uncertain_pulls=False).behaviour
    (number,) = numbers(stopped & followed.reached & followed.within("K1"))
    assert Finder(followed.model).volts(number) == pytest.approx({"K1": 16, "P1": 8, "P2": 24})


def test_volts_of_windings_are_told_by_their_ends_and_none_of_resistors_and_inputs() -> None:
    devices = [
        "G0: {kind: mains, phases: 3, voltage: 400 V}",
        SUPPLY[1],
        "M1: {kind: motor, links: [[U2, V2], [V2, W2]]}",
        "R1: {kind: resistor, resistance: 100 ohm}",
        "C1: {kind: capacitor, capacitance: 1 uF}",
        "K1: {kind: relay, coil: 24 V DC}",
    ]
    runs = ["G0:L1 M1:U1 R1:1 G1:L C1:1", "G0:L2 M1:V1 R1:2", "G0:L3 M1:W1", "G0:N G1:N C1:2", "G1:+ K1:A1", "G1:- K1:A2"]
    b = Behaviour(read_plan_text(plan_text(devices, runs), "windings"))
    (number,) = numbers(b.reached & b.at("G0", "on"))
    winding = 400 / 3**0.5
    assert Finder(b.model).volts(number) == pytest.approx(
        {"M1:U1-U2": winding, "M1:V1-V2": winding, "M1:W1-W2": winding, "K1": 24}
    )
