"""What counts as a start, and how a motor's motion is told step by step."""

from __future__ import annotations

from tests.generators.zone_line import zone_line
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import about_to_stop
from wirecheck.behaviour.feeding import ways_fed
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.space import lowest
from wirecheck.plan import read_plan_text

STARTS = """\
wirecheck: 1
machine: {name: Bench}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: push-button, role: start, contacts: {13-14: NO}}
  S2: {kind: push-button, role: jog, contacts: {13-14: NO}}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: selector, positions: [off, slow, fast], run_positions: [slow, fast], contacts: {13-14: {closed_in: [slow]}}}
  Q4: {kind: no-volt-release, poles: [1-2], voltage: 230 V AC}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: both, on_power_up_with_run: waits}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L, run: [G0:L, Q4:1]}
  - {number: L1, run: [Q4:2, Q4:A1, T1:L]}
  - {number: N, run: [G0:N, Q4:A2, T1:N]}
  - {number: 1, run: [T1:P24, S1:13, S2:13, S3:11, S4:13]}
  - {number: 2, run: [S1:14, S2:14, S3:12, S4:14, T1:DI1]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
"""


def test_starts_are_buttons_pressed_run_positions_a_switch_put_on_and_a_keypad() -> None:
    b = Behaviour(read_plan_text(STARTS, "bench"))
    starts = {str(rule.event) for rule in b.events if b.is_start(rule.event)}
    assert starts == {"S1=pressed", "S2=pressed", "S4=slow", "S4=fast", "Q4=start", "T1=keypad-run"}


def test_each_step_says_whether_the_motor_runs_and_which_way() -> None:
    b = Behaviour(read_plan_text(zone_line(1), "line"))
    for way in ("forward", "reverse"):
        path = b.reach.trace(b.moving("M100", way))
        assert path is not None
        assert [step.motion["M100"] for step in b.steps(path)] == ["stopped"] * (len(path) - 1) + [way]


DELAYS = """\
wirecheck: 1
machine: {name: Bench}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}
  K1: {kind: timer-relay, mode: on-delay, delay: 1 s, coil: 230 V AC, contacts: {15-16: NC}}
  K2: {kind: timer-relay, mode: on-delay, delay: 2 s, coil: 230 V AC, contacts: {17-18: NO}}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: [G0:L, S1:13, K2:17]}
  - {number: 1, run: [S1:14, K1:A1, K2:A1, K1:15]}
  - {number: 2, run: [K1:16, P1:X1]}
  - {number: 3, run: [K2:18, P2:X1]}
  - {number: N, run: [G0:N, K1:A2, K2:A2, P1:X2, P2:X2]}
"""


def test_what_a_running_delay_will_end_counts_as_stopped_whatever_other_delay_runs() -> None:
    b = Behaviour(read_plan_text(DELAYS, "bench"))
    lit = b.acting["P1"] & b.reached
    soon = about_to_stop(b, lit, b.acting["P1"])
    assert lit
    assert soon == lit & b.pending("K1") != 0
    assert about_to_stop(b, b.acting["P2"] & b.reached, b.acting["P2"]) == 0


def test_a_trace_tells_when_a_drive_gets_its_power_and_loses_it() -> None:
    b = Behaviour(read_plan_text(STARTS, "bench"))
    on, started, off = (next(r for r in b.events if str(r.event) == text) for text in ("G0=on", "Q4=start", "Q4=stop"))
    path: list[tuple[EventRule | None, int]] = [(None, 0)]
    states = b.reach.layers[0]
    for rule in (on, started, off):
        states = b.after(rule, states)
        path.append((rule, lowest(states)))
    told = [[words for words in step.moved if "power" in words] for step in b.steps(path)]
    assert told == [[], [], ["T1 has power"], ["T1 has no power"]]


SENSOR = """\
wirecheck: 1
machine: {name: Feeler}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  G1: {kind: dc-supply, voltage: 24 V DC}
  B1: {kind: sensor, output: PNP, form: NO, voltage: 24 V DC, terminals: [1, 3, 4]}
wires:
  - {number: L, run: [G0:L, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 1, run: ["G1:+", B1:1]}
  - {number: 0, run: ["G1:-", B1:3]}
"""


def test_a_sensor_is_fed_at_the_terminals_that_the_plan_gives_it() -> None:
    (fed,) = (way for way in ways_fed(Behaviour(read_plan_text(SENSOR, "feeler"))) if way.element.device == "B1")
    assert {str(fed.element.a), str(fed.element.b)} == {"B1:1", "B1:3"}
    assert (fed.source.name, fed.volts) == ("G1", 24.0)
