"""What reaches what: the voltages that a consumer ever gets, and the poles that a terminal is ever joined to."""

from __future__ import annotations

from tests.behaviour.test_behaviour import SENSOR, STARTS
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.feeding import Touched, Way, consumers_of, ways_fed
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

BENCH = """\
wirecheck: 1
machine: {name: lamps of the club's workshop}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: IT}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: selector, positions: [left, "off", right], contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
  S2: {kind: push-button, contacts: {11-12: NC}}
  K1: {kind: relay, coil: 24 V DC}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: [G0:L, G1:L, S1:23]}
  - {number: N, run: [G0:N, G1:N, P1:X2]}
  - {number: N, run: [G0:N, "G1:-"]}
  - {number: 1, run: ["G1:+", S1:13, S2:11]}
  - {number: 2, run: [S1:14, S1:24, P1:X1]}
  - {number: 3, run: [S2:12, K1:A2]}
  - {number: N, run: [K1:A1, P1:X2, P2:X1]}
"""
"""P1 gets 24 V on the left and 230 V of the mains on the right; K1's coil is the other way round; P2 gets nothing."""


def told(way: Way) -> tuple[str, str, frozenset[str], float]:
    return str(way.element.device), way.source.name, frozenset(map(str, way.poles)), way.volts


def test_each_way_in_which_a_consumer_gets_voltage_is_told_once_with_its_states() -> None:
    b = Behaviour(read_plan_text(BENCH, "bench"))
    ways = list(ways_fed(b))
    left, mains, right = b.at("S1", "left"), frozenset({"G0:L", "G0:N"}), b.at("S1", "right")
    control, on = frozenset({"G1:+", "G1:-"}), b.reached & b.at("G0", "on")
    states = {told(way): way.states for way in ways}
    assert len(states) == len(ways)
    assert states == {
        ("K1", "G1", control, 24.0): on & b.at("S2", "released"),
        ("P1", "G0", mains, 230.0): on & right,
        ("P1", "G1", control, 24.0): on & left,
    }


def test_only_the_consumers_of_a_view_are_told() -> None:
    plan = read_plan_text(BENCH, "bench")
    for name in ("K1", "P1"):
        assert {told(way)[0] for way in ways_fed(Behaviour(plan, frozenset({name, "S1"})))} == {name}


def test_a_sensor_is_a_consumer_of_direct_voltage_at_the_terminals_of_its_supply() -> None:
    plan = read_plan_text(SENSOR.replace("voltage: 24 V DC, terminals", "voltage: 10-30 V, terminals"), "feeler")
    (sensor,) = (e for e in consumers_of(plan, ()) if e.device == "B1")
    assert (str(sensor.a), str(sensor.b), sensor.kind, sensor.ident) == ("B1:1", "B1:3", "load", "B1")
    assert sensor.rated is not None
    assert (sensor.rated.value, sensor.rated.high, sensor.rated.unit, sensor.rated.current) == (10.0, 30.0, "V", "DC")
    usual = read_plan_text(SENSOR.replace(", terminals: [1, 3, 4]", "").replace("B1:1", "B1:+").replace("B1:3", "B1:-"), "feeler")
    assert [(str(e.a), str(e.b)) for e in consumers_of(usual, ()) if e.device == "B1"] == [("B1:+", "B1:-")]
    unstated = read_plan_text(SENSOR.replace(" voltage: 24 V DC, terminals: [1, 3, 4]", ' terminals: ["1", "3", "4"]'), "feeler")
    assert [e.rated for e in consumers_of(unstated, ()) if e.device == "B1"] == [None]


def test_a_terminal_is_touched_by_every_pole_that_any_state_joins_to_it() -> None:
    b = Behaviour(read_plan_text(BENCH, "bench"))
    touched = Touched([b])

    def poles(terminal: str) -> list[tuple[str, str]]:
        return [(source.name, str(pole)) for source, pole in touched.poles(Terminal(*terminal.split(":")))]

    assert poles("P1:X1") == [("G0", "G0:L"), ("G1", "G1:+")]
    assert poles("P1:X2") == [("G0", "G0:N"), ("G1", "G1:-")]
    assert poles("S2:12") == [("G1", "G1:+")]
    assert poles("P2:X2") == []
    idle = Touched([Behaviour(read_plan_text(BENCH.replace("G0:L, G1:L, S1:23", "G0:L, S1:23"), "bench"))])
    assert [source.name for source, _ in idle.poles(Terminal("P1", "X1"))] == ["G0"]
    assert touched.poles(Terminal("P1", "X1")) == Touched([b, b]).poles(Terminal("P1", "X1"))


def test_what_hangs_on_the_output_of_a_drive_is_touched_by_it_even_where_it_never_runs() -> None:
    never = STARTS.replace("{DI1: run-forward}", "{DI1: external-trip}").replace(
        "command_source: both", "command_source: terminals"
    )
    b = Behaviour(read_plan_text(never, "bench"))
    assert not b.running("T1")
    touched = Touched([b])
    assert [str(pole) for _, pole in touched.poles(Terminal("M1", "V1"))] == ["T1:V"]
    assert [str(pole) for _, pole in touched.poles(Terminal("S1", "14"))] == ["T1:P24"]
    assert [str(pole) for _, pole in touched.poles(Terminal("T1", "L"))] == ["G0:L"]
