"""Islands of small plans: what is at a net and what reaches it, and which islands a fault makes others, worked out by hand."""

from __future__ import annotations

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.sneaks import consumers_of
from wirecheck.circuit.impedances import impedances_of
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

MAINS = "G0: {kind: mains, phases: 1, voltage: 230 V}"
SUPPLIES = [f"G{n}: {{kind: dc-supply, voltage: 24 V DC}}" for n in (1, 2)]
BUTTONS = [f"S{n}: {{kind: push-button, contacts: {{13-14: NO}}}}" for n in (1, 2)]
LAMPS = [f"P{n}: {{kind: lamp, voltage: 24 V DC, power: 2 W}}" for n in (1, 2)]
RELAY = "K1: {kind: relay, coil: 24 V DC, coil_power: 2 W, contacts: {13-14: NO}}"
FEED = ["G0:L G1:L G2:L", "G0:N G1:N G2:N"]

L, N, PLUS, MINUS, SECOND_PLUS, SECOND_MINUS = range(6)


class Bench:
    """A plan with two supplies, its islands, and short words to ask for them."""

    def __init__(self, text: str) -> None:
        self.b = Behaviour(read_plan_text(text, "islands"))
        self.faults, self.loads = FaultSet(self.b), impedances_of(self.b.plan)
        self.islands = Islands(self.faults.none, self.loads)
        self.on, self.full = self.b.at("G0", "on"), self.b.space.full

    @classmethod
    def of(cls, devices: list[str], runs: list[str]) -> Bench:
        return cls(plan_text([MAINS, *SUPPLIES, *devices], [*FEED, *runs]))

    def net(self, text: str) -> Terminal:
        return self.islands.net(terminal(text))

    def pressed(self, button: str) -> int:
        return self.b.at(button, "pressed")

    def told(self, fault: str) -> dict[str, int]:
        """For the ends of loads what a fault is told to make another island, where it is."""
        (given,) = (f for f in single_faults(self.b.plan) if fault in f.text)
        model = self.faults.model(given)
        changed = self.islands.changed(model)
        ends = {end for i in self.loads for end in (i.a, i.b)}
        return {str(end): states for end in ends if (states := changed.get(model.network.net(end), 0))}


def one_return() -> Bench:
    """K1 hangs between plus of the one supply and the return of the other; P1 and P2 in a row behind S1, S2 beside P2."""
    runs = ["G1:+ K1:A1 S1:13", "G2:- K1:A2", "G1:- G2:-", "S1:14 P1:X1", "P1:X2 P2:X1 S2:13", "P2:X2 S2:14 G1:-"]
    return Bench.of([*BUTTONS, *LAMPS, RELAY], runs)


def test_the_rails_at_a_net_and_those_that_reach_it_through_loads() -> None:
    bench = one_return()
    on, s1, s2 = bench.on, bench.pressed("S1"), bench.pressed("S2")
    at, through = bench.islands.ties, bench.islands.reaches
    assert at(bench.net("K1:A1")) == {PLUS: on}
    assert at(bench.net("K1:A2")) == {MINUS: on, SECOND_MINUS: on}
    assert at(bench.net("P1:X1")) == {PLUS: on & s1}
    assert at(bench.net("P1:X2")) == {MINUS: on & s2, SECOND_MINUS: on & s2}
    assert through(bench.net("P1:X1")) == {MINUS: on & ~s1}
    assert through(bench.net("P1:X2")) == {PLUS: on & s1 & ~s2, MINUS: on & ~s2}
    assert through(bench.net("K1:A1")) == {}
    assert bench.islands.mixed_at(bench.net("P1:X2")) == on & s1 & ~s2
    assert bench.islands.mixed_at(bench.net("P1:X1")) == 0
    assert bench.islands.mixed == on & s1 & ~s2


def test_the_groups_that_are_ever_at_a_net_and_beyond_its_loads() -> None:
    bench = one_return()
    ever, beyond, several = bench.islands.ever, bench.islands.beyond, bench.islands.has_several
    assert ever(bench.net("K1:A2")) == {MINUS}
    assert ever(bench.net("P1:X2")) == {PLUS, MINUS}
    assert beyond(bench.net("K1:A1")) == {MINUS}
    assert beyond(bench.net("P1:X1")) == {PLUS, MINUS}
    assert beyond(bench.net("P2:X2")) == {PLUS, MINUS}
    assert not any(several(bench.net(end)) for end in ("K1:A1", "K1:A2", "P1:X1", "P1:X2"))


def test_two_groups_are_at_a_net_together_only_where_contacts_bring_them_at_once() -> None:
    runs = ["G1:+ S1:13", "G2:+ S2:13", "S1:14 S2:14 P1:X1", "P1:X2 G1:- G2:-", "G2:+ P2:X1", "P2:X2 G1:-"]
    bench = Bench.of([*BUTTONS, *LAMPS], runs)
    assert bench.islands.ties(bench.net("P1:X1")) == {
        PLUS: bench.on & bench.pressed("S1"),
        SECOND_PLUS: bench.on & bench.pressed("S2"),
    }
    assert bench.islands.has_several(bench.net("P1:X1")) is True
    assert bench.islands.has_several(bench.net("P1:X2")) is False
    switch = "S3: {kind: selector, positions: [one, two], contacts: {11-12: {closed_in: [one]}, 13-14: {closed_in: [two]}}}"
    turned = Bench.of([switch, *LAMPS], ["G1:+ S3:11", "G2:+ S3:13", "S3:12 S3:14 P1:X1", "P1:X2 G1:- G2:-", "P2:X1 P2:X2 G1:-"])
    assert turned.islands.ever(turned.net("P1:X1")) == {PLUS, SECOND_PLUS, MINUS}  # minus while neither contact is closed
    assert turned.islands.has_several(turned.net("P1:X1")) is False


def test_behind_a_diode_a_net_is_tied_to_plus_alone_and_never_where_the_voltage_alternates() -> None:
    diodes = [f"V{n}: {{kind: diode}}" for n in (1, 2, 3)]
    runs = ["G1:+ V1:A", "V1:K P1:X1", "P1:X2 G1:- V2:A", "V2:K P2:X1", "P2:X2 G2:-", "G0:L V3:A", "V3:K K1:A1", "K1:A2 G0:N"]
    bench = Bench.of([*LAMPS, *diodes, RELAY], runs)
    assert bench.islands.ties(bench.net("V1:K")) == {PLUS: bench.on}
    assert bench.islands.ties(bench.net("V2:K")) == {}
    assert bench.islands.ties(bench.net("V3:K")) == {}
    assert bench.islands.ties(bench.net("V2:A")) == {MINUS: bench.on}


def test_what_may_act_is_all_that_can_get_a_sneak_path_and_no_winding_resistor_or_supply() -> None:
    drive = (
        "T1: {kind: drive, input: {terminals: [L, N], phases: 1, voltage: 230 V}, "
        "output: {terminals: [U, V, W], voltage: 230 V}, "
        "control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, "
        "inputs: {DI1: run-forward}}}"
    )
    devices = [
        "A1: {kind: custom, elements: [{load: X1-X2, voltage: 24 V DC, power: 2 W}]}",
        "A2: {kind: custom, elements: [{coil: A1-A2, voltage: 24 V DC}, {contact: 13-14, closed_in: [in]}]}",
        "R1: {kind: resistor, resistance: 100 ohm}",
        "C1: {kind: capacitor, capacitance: 1 uF}",
        "M1: {kind: motor, links: [[U2, V2], [V2, W2]]}",
        "T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 230 V, secondary_voltage: 24 V}",
        "K2: {kind: safety-relay, voltage: 24 V DC, channels: [[S11, S12]], contacts: {13-14: NO}}",
        "Y1: {kind: solenoid, voltage: 24 V DC}",
    ]
    bench = Bench.of([*LAMPS, RELAY, drive, *devices], ["G0:L T1:L T2:1", "G0:N T1:N T2:2", "T1:U M1:U1"])
    acting = {i.ident for i in bench.islands.consumers}
    assert {c.impedance.ident for c in consumers_of(bench.faults.none, bench.loads)} <= acting
    assert {i.device for i in bench.islands.consumers} == {"P1", "P2", "K1", "T1", "A1", "A2", "K2", "Y1"}


def test_a_wire_between_two_returns_parts_their_supplies_and_what_hangs_between_both() -> None:
    bench = one_return()
    row = bench.on & bench.pressed("S1") & ~bench.pressed("S2")
    # K1 then lies between plus of the one supply and minus of the other. What hangs in a row between the poles of one
    # supply is looked at anew as well, for one of two joined poles has gone from it.
    rows = dict.fromkeys(("P1:X1", "P1:X2", "P2:X1", "P2:X2"), row)
    assert bench.told("[G1:-–G2:-] open") == {"K1:A2": bench.on, **rows}


def test_a_coil_alone_between_two_supplies_is_told_where_their_returns_are_parted() -> None:
    bench = Bench.of([RELAY], ["G1:+ K1:A1", "K1:A2 G2:-", "G2:- G1:-"])
    assert bench.told("[G2:-–G1:-] open") == {"K1:A2": bench.on}
    assert bench.told("[K1:A2–G2:-] open") == {}


def test_what_hangs_on_a_coil_by_a_contact_alone_is_looked_at_with_it() -> None:
    # A wire puts the midst of R1 and R2 to minus; where it is open, plus comes by both to K1 while S1 and S2 are closed.
    resistors = [f"R{n}: {{kind: resistor, resistance: 100 ohm}}" for n in (1, 2)]
    runs = ["G1:+ R1:1", "R1:2 R2:1 G1:-", "R2:2 S1:13", "S1:14 K1:A1", "K1:A2 S2:13", "S2:14 G1:-"]
    bench = Bench.of([*BUTTONS, RELAY, *resistors], runs)
    ends = ("R1:1", "R1:2", "R2:1", "R2:2", "K1:A1", "K1:A2")
    assert bench.told("[R2:1–G1:-] open") == dict.fromkeys(ends, bench.on & bench.pressed("S1") & bench.pressed("S2"))


def test_where_no_two_rails_border_what_is_cut_off_nothing_is_told() -> None:
    bench = one_return()
    assert bench.told("[S2:14–G1:-] open") == {}  # P1 and P2 hang on plus alone
    assert bench.told("[P1:X2–P2:X1] open") == {}
    assert bench.told("[G1:+–K1:A1] open") == {}
    assert bench.told("K1 coil open") == {}


def test_an_earthed_conductor_between_two_lamps_of_a_floating_supply_brings_two_sources_to_each() -> None:
    bench = one_return()
    number = next(w.number for w in bench.b.plan.wires if str(w.a) == "P1:X2")
    # Earth and minus meet over P2, plus and earth over P1 while S1 is pressed; with S2 pressed earth is at minus itself.
    meet = bench.on & ~bench.pressed("S2")
    assert bench.told(f"wire {number} earthed") == {"P1:X2": meet, "P2:X1": meet}


def test_a_short_between_mains_and_an_earthed_supply_makes_one_island_of_what_were_two() -> None:
    # L by R1 to one core, K1 from the other to the earthed minus, which is at N's potential: R1 and K1 are then in a row, unless
    # S1 has put plus to K1. What hangs on L alone moves nothing before.
    devices = [*BUTTONS, RELAY, "R1: {kind: resistor, resistance: 100 ohm}"]
    runs = ["G0:L R1:1", "G1:+ S1:13", "S1:14 K1:A1", "K1:A2 G1:- G0:PE", "R1:2 S2:13", "G2:- G0:PE"]
    text = plan_text([MAINS, *SUPPLIES, *devices], [*FEED, *runs]).replace("wires:", "cables:\n  W1: {cores: 2}\nwires:")
    for pair in ('S1:14", "K1:A1"]', 'R1:2", "S2:13"]'):
        assert text.count(pair) == 1
        text = text.replace(pair, pair + ", cable: W1")
    bench = Bench(text)
    told = bench.told("W1: ")
    row = bench.on & ~bench.pressed("S1")
    assert {end: told[end] & row for end in ("R1:2", "K1:A1")} == {"R1:2": row, "K1:A1": row}
    # With S1 pressed plus is at K1, and L and plus meet over R1.
    assert told["R1:2"] == bench.on
