"""What counts as a start, and how a motor's motion is told step by step."""

from __future__ import annotations

from tests.generators.zone_line import zone_line
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import about_to_stop
from wirecheck.behaviour.feeding import ways_fed
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.space import lowest
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event, Terminal

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


def test_a_trace_tells_all_that_moves_and_what_the_motor_does_and_not_the_device_that_is_operated() -> None:
    b = Behaviour(read_plan_text(STARTS, "bench"))
    told = {  # S3 is wired as a run command, so that the drive finds one when it gets its power
        "rest": (),
        "G0=on": (),
        "Q4=start": ("Q4 pulls in", "T1 has power", "T1 waits for a fresh run command"),
        "S3=pressed": ("T1 is stopped",),
        "S1=pressed": ("T1 runs",),
        "T1=faulted": ("T1 is stopped",),
        "T1=healthy": ("T1 runs",),
        "S1=released": ("T1 is stopped",),
        "T1=keypad-run": ("T1 runs",),
        "Q4=stop": ("Q4 drops out", "T1 has no power", "T1 is stopped"),
    }
    path: list[tuple[EventRule | None, int]] = [(None, 0)]
    for text in list(told)[1:]:
        rule = next(r for r in b.events if str(r.event) == text)
        path.append((rule, lowest(b.after(rule, 1 << path[-1][1]))))
    steps = b.steps(path)
    assert {step.event: step.moved for step in steps} == told
    assert [step.event for step in steps if step.motion == {"M1": "forward"}] == ["S1=pressed", "T1=healthy", "T1=keypad-run"]
    assert {tuple(step.motion.items()) for step in steps} == {(("M1", "forward"),), (("M1", "stopped"),)}
    assert b.changes(path[3][1], path[4][1]) == ("S1 pressed", "T1 runs")


def test_a_state_is_described_by_every_device_that_can_stand_differently() -> None:
    b = Behaviour(read_plan_text(STARTS.replace("on_power_up_with_run: waits", "after_permit_with_run: waits"), "bench"))
    buttons = {"S1": "released", "S2": "released", "S3": "released"}
    known = {"G0": "on", "Q4 latched": "in", "T1 power": "yes", "T1 forward": "yes"}
    assert b.describe(b.space.encode({**known, "S4": "slow"})) == {
        **buttons, "G0": "on", "S4": "slow", "Q4": "in", "T1": "healthy", "T1 power": "has power", "T1 run": "runs"
    }  # fmt: skip
    assert b.describe(b.space.encode({**known, "T1 waiting": "yes", "S1": "pressed"})) == {
        **buttons, "G0": "on", "S1": "pressed", "S4": "off", "Q4": "in", "T1": "healthy", "T1 power": "has power",
        "T1 run": "waits for a fresh run command",
    }  # fmt: skip
    assert b.describe(b.space.encode({"T1": "faulted"})) == {
        **buttons, "G0": "off", "S4": "off", "Q4": "out", "T1": "faulted", "T1 power": "has no power", "T1 run": "is stopped"
    }  # fmt: skip
    lamps = Behaviour(read_plan_text(DELAYS, "bench"))
    assert lamps.describe(lamps.space.encode({"G0": "on", "S1": "run", "K1": "in", "K2": "in", "K2 delayed": "in"})) == {
        "G0": "on", "S1": "run", "K1": "in", "K2": "in", "P1": "on", "P2": "on"
    }  # fmt: skip
    lit = lamps.space.encode({"G0": "on", "S1": "run", "K1": "in"})
    assert lamps.changes(lit, 0) == ("G0 goes off", "S1 goes off", "K1 drops out", "P1 goes off")
    assert lamps.describe(0) == {"G0": "off", "S1": "off", "K1": "out", "K2": "out", "P1": "off", "P2": "off"}


def test_a_start_is_held_while_a_start_button_is_pressed_that_comes_back_by_itself() -> None:
    b = Behaviour(read_plan_text(STARTS, "bench"))
    assert b.start_held == b.at("S1", "pressed") | b.at("S2", "pressed") | b.at("Q4", "start")
    assert b.at("S1", "pressed").bit_count() * 2 == b.space.full.bit_count()
    stays = Behaviour(
        read_plan_text(STARTS.replace("S2: {kind: push-button,", "S2: {kind: push-button, latching: true,"), "bench")
    )
    assert stays.start_held == stays.at("S1", "pressed") | stays.at("Q4", "start")
    reset = Behaviour(read_plan_text(STARTS.replace("role: jog", "role: reset"), "bench"))
    assert reset.start_held == reset.at("S1", "pressed") | reset.at("Q4", "start")


def test_a_relay_that_may_do_anything_starts_nothing_by_its_own() -> None:
    plan = read_plan_text(STARTS, "bench")
    free = Behaviour(plan, free=frozenset({"S1"}))
    assert not free.is_start(Event("S1", "pressed"))
    assert free.is_start(Event("S2", "pressed"))
    assert (free.subjects, Behaviour(plan, frozenset({"M1"})).subjects) == (frozenset(plan.devices), frozenset({"M1"}))


def test_a_device_is_in_a_position_in_the_states_that_say_so_and_never_in_one_that_it_does_not_have() -> None:
    b = Behaviour(read_plan_text(DELAYS, "bench"))
    half = b.space.full.bit_count() // 2
    assert b.at("S1", "run").bit_count() == b.within("K1").bit_count() == half
    assert (b.at("S1", "in"), b.at("K1", "in"), b.within("S1"), b.within("G0")) == (0, 0, 0, 0)
    lever = Behaviour(
        read_plan_text(DELAYS.replace("[off, run]", "[out, in]").replace("closed_in: [run]", "closed_in: [in]"), "bench")
    )
    assert lever.at("S1", "in") != lever.within("S1") == 0
    assert Behaviour(b.plan, reach=b.reach).reach is b.reach
    assert b.joined(Terminal("S1", "13"), Terminal("S1", "14")) == b.at("S1", "run")
    assert b.joined(Terminal("K2", "17"), Terminal("K2", "18")) == b.space.at("K2 delayed", "in")
    assert list(b.acting) == ["K1", "K2", "P1", "P2"]
    assert b.acting["K1"] == b.at("S1", "run") & b.at("G0", "on")
    assert not any(map(b.is_inert, b.plan.devices))


def test_a_delay_runs_from_the_moment_a_timer_pulls_in_until_its_contacts_follow() -> None:
    b = Behaviour(read_plan_text(DELAYS.replace("{15-16: NC}", "{15-16: NC, 23-24: {form: NO, on_delay: 5 s}}"), "bench"))
    waits = b.within("K2") & ~b.space.at("K2 delayed", "in")
    assert b.pending("K2") == waits
    for delay in (b.within("K1") & ~b.space.at("K1 delayed", "in"), b.within("K1") & ~b.space.at("K1:23-24", "closed")):
        assert b.pending("K1") & delay == delay != 0
        assert delay & ~waits & b.any_pending == delay & ~waits
    assert b.any_pending == b.pending("K1") | waits
    assert (b.pending("S1"), b.pending("P1")) == (0, 0)


def test_two_motors_turn_each_by_its_own_and_one_of_them_is_motion() -> None:
    b = Behaviour(read_plan_text(zone_line(2), "line"))
    assert b.motors == ("M100", "M200")
    assert b.any_motion == b.moving("M100") | b.moving("M200")
    for motor in b.motors:
        assert b.moving(motor) == b.moving(motor, "forward") | b.moving(motor, "reverse")
        assert 0 != b.moving(motor, "forward") != b.moving(motor, "reverse") != 0
        assert b.any_motion & ~b.moving(motor)


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
