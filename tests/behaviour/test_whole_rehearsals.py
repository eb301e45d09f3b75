"""Whole rehearsals as a machinist reads them: every word held exactly."""

from __future__ import annotations

from wirecheck import pipeline
from wirecheck.outputs.rehearsal import render_rehearsal_text
from wirecheck.plan import read_plan_text


def played(text: str, *events: str, fault: str | None = None, after: int = 0) -> str:
    """What is printed between the first line and the caution."""
    plan = read_plan_text(text, "plan.yaml")
    printed = render_rehearsal_text(plan, pipeline.rehearse(plan, events, fault, after))
    first, steps = printed.split("\n\n", 1)
    assert first == "plan.yaml: played from rest, with the supply off and nothing touched."
    return steps.rpartition("\n\n")[0] + "\n"


TWO_WIRE = """\
wirecheck: 1
machine: {name: belt grinder of the club}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 10 A}
  S1: {kind: emergency-stop, contacts: {11-12: NC}}
  S4: {kind: selector, title: run, positions: [off, run], run_positions: [run], contacts: {13-14: {closed_in: [run]}}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward}
      safe_torque_off: {channels: [STO], common: COM}
    settings: {command_source: both, on_power_up_with_run: waits, after_safe_torque_off_with_run: waits}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L, run: [G0:L, F1:1]}
  - {number: L1, run: [F1:2, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: 1, run: [T1:P24, S4:13, S1:11]}
  - {number: 2, run: [S4:14, T1:DI1]}
  - {number: 3, run: [S1:12, T1:STO]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
"""


def test_a_drive_that_waits_a_keypad_and_a_fault_of_the_drive() -> None:
    assert (
        played(
            TWO_WIRE,
            "S4=run",
            "G0=on",
            "S4=off",
            "S4=run",
            "S1=pressed",
            "T1=keypad-run",
            "S1=released",
            "S4=off",
            "T1=keypad-run",
            "T1=keypad-run",
            "T1=faulted",
            "T1=faulted",
            "T1=healthy",
            "T1=keypad-stop",
            "T1=keypad-stop",
            "F1=tripped",
            "T1=keypad-run",
        )
        == """\
         rest
    live nothing
   motor M1 stands still

       1 S4=run   (run)
   moves nothing
    live nothing
   motor M1 stands still

       2 G0=on   (mains)
   moves T1 has power; T1 waits for a fresh run command
    live G0, T1 control supply
   motor M1 stands still

       3 S4=off   (run)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stands still

       4 S4=run   (run)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 133 V on each winding

       5 S1=pressed   (emergency stop)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops

       6 T1=keypad-run   (drive)
   moves nothing
    live G0, T1 control supply
   motor M1 stands still
    note T1=keypad-run does nothing now, for it is not ready to run

       7 S1=released   (emergency stop)
   moves T1 waits for a fresh run command
    live G0, T1 control supply
   motor M1 stands still

       8 S4=off   (run)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stands still

       9 T1=keypad-run   (drive)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 133 V on each winding

      10 T1=keypad-run   (drive)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 keeps running forward, 133 V on each winding
    note T1 runs by its keypad already: nothing changes

      11 T1=faulted   (drive)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops

      12 T1=faulted   (drive)
   moves nothing
    live G0, T1 control supply
   motor M1 stands still
    note T1 is faulted already: nothing changes

      13 T1=healthy   (drive)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 133 V on each winding

      14 T1=keypad-stop   (drive)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops

      15 T1=keypad-stop   (drive)
   moves nothing
    live G0, T1 control supply
   motor M1 stands still
    note T1 does not run by its keypad

      16 F1=tripped   (circuit breaker)
   moves T1 has no power
    live G0
   motor M1 stands still

      17 T1=keypad-run   (drive)
   moves nothing
    live G0
   motor M1 stands still
    note T1=keypad-run does nothing now, for it has no power
"""
    )


THREE_WIRE = """\
wirecheck: 1
machine: {name: lathe of the club}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S2: {kind: guard-switch, guards: chuck, contacts: {21-22: guard-closed}}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: forward, contacts: {13-14: NO}}
  S5: {kind: push-button, role: reverse, contacts: {13-14: NO}}
  S6: {kind: push-button, role: jog, contacts: {13-14: NO}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control:
      mode: three-wire
      logic: sinking
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward, DI2: run-reverse, DI3: run-permit, DI4: jog}
      start_on: edge
      safe_torque_off: {channels: [STO], common: COM}
    settings: {command_source: terminals, both_directions: stop}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L, run: [G0:L, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: 0, run: [T1:COM, S3:11, S4:13, S5:13, S6:13]}
  - {number: 1, run: [S4:14, T1:DI1]}
  - {number: 2, run: [S5:14, T1:DI2]}
  - {number: 3, run: [S3:12, T1:DI3]}
  - {number: 4, run: [S6:14, T1:DI4]}
  - {number: 5, run: [T1:P24, S2:21]}
  - {number: 6, run: [S2:22, T1:STO]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
"""


def test_a_drive_that_remembers_a_push_until_it_is_stopped() -> None:
    assert (
        played(
            THREE_WIRE,
            "S4=pressed",
            "G0=on",
            "S4=released",
            "S4=pressed",
            "S4=released",
            "S5=pressed",
            "S4=pressed",
            "S3=pressed",
            "S5=released",
            "S3=released",
            "S4=released",
            "S6=pressed",
            "S2=open",
            "S2=closed",
            "S6=released",
            "S5=pressed",
            fault="wire 3 [S3:12\u2013T1:DI3] open",
            after=16,
        )
        == """\
         rest
    live nothing
   motor M1 stands still

       1 S4=pressed   (forward push button)
   moves nothing
    live nothing
   motor M1 stands still

       2 G0=on   (mains)
   moves T1 has power; T1 waits for a fresh run command
    live G0, T1 control supply
   motor M1 stands still

       3 S4=released   (forward push button)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stands still

       4 S4=pressed   (forward push button)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 230 V on each winding

       5 S4=released   (forward push button)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 keeps running forward, 230 V on each winding

       6 S5=pressed   (reverse push button)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 runs reverse, 230 V on each winding

       7 S4=pressed   (forward push button)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 keeps running reverse, 230 V on each winding

       8 S3=pressed   (stop push button)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops

       9 S5=released   (reverse push button)
   moves nothing
    live G0, T1 control supply
   motor M1 stands still

      10 S3=released   (stop push button)
   moves T1 waits for a fresh run command
    live G0, T1 control supply
   motor M1 stands still

      11 S4=released   (forward push button)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stands still

      12 S6=pressed   (jog push button)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 230 V on each winding

      13 S2=open   (guard switch of chuck)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops

      14 S2=closed   (guard switch of chuck)
   moves T1 waits for a fresh run command
    live G0, T1 control supply
   motor M1 stands still

      15 S6=released   (jog push button)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stands still

      16 S5=pressed   (reverse push button)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs reverse, 230 V on each winding

   fault wire 3 [S3:12–T1:DI3] open
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops
"""
    )


FIRST_WINS = (
    TWO_WIRE.replace("{DI1: run-forward}", "{DI1: run-forward, DI2: run-reverse}")
    .replace("S4:14, T1:DI1", "S4:14, T1:DI1, T1:DI2")
    .replace("command_source: both,", "command_source: terminals, both_directions: first-wins,")
)


def test_where_two_commands_come_at_once_both_ways_are_told_and_what_the_drive_then_remembers() -> None:
    assert (
        played(FIRST_WINS, "G0=on", "S4=run", "S4=run", "S4=off")
        == """\
         rest
    live nothing
   motor M1 stands still

       1 G0=on   (mains)
   moves T1 has power
    live G0, T1 control supply
   motor M1 stands still

       2 S4=run   (run)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs forward, 133 V on each winding
    note outcome 1 of 2: which comes cannot be told; T1 backwards: no

       2 S4=run   (run)
   moves T1 runs
    live G0, T1 control supply, T1 output
   motor M1 runs reverse, 133 V on each winding
    note outcome 2 of 2: which comes cannot be told; T1 backwards: yes

       3 S4=run   (run)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 keeps running forward, 133 V on each winding
    note outcome 1 of 2: which comes cannot be told; T1 backwards: no
    note S4 is run already: nothing changes

       3 S4=run   (run)
   moves nothing
    live G0, T1 control supply, T1 output
   motor M1 keeps running reverse, 133 V on each winding
    note outcome 2 of 2: which comes cannot be told; T1 backwards: yes
    note S4 is run already: nothing changes

       4 S4=off   (run)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops
    note outcome 1 of 2: which comes cannot be told; T1 backwards: no

       4 S4=off   (run)
   moves T1 is stopped
    live G0, T1 control supply
   motor M1 stops
    note outcome 2 of 2: which comes cannot be told; T1 backwards: yes
"""
    )


RELAYS = """\
wirecheck: 1
machine: {name: surface grinder of the club}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  Q4: {kind: no-volt-release, poles: [1-2], voltage: 230 V AC}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: emergency-stop, contacts: {11-12: NC, 21-22: NC}}
  S2: {kind: push-button, title: reset, contacts: {13-14: NO}}
  S3: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: safety-relay, voltage: 24 V DC, channels: [[S11, S12], [S21, S22]], reset_loop: [Y1, Y2],
    reset: manual, contacts: {13-14: NO}}
  K2: {kind: timer-relay, mode: off-delay, delay: 2 s, coil: 24 V DC, contacts: {17-18: NO}}
  P1: {kind: lamp, voltage: 24 V DC}
  P2: {kind: lamp, voltage: 24 V DC}
wires:
  - {number: L, run: [G0:L, Q4:1]}
  - {number: L1, run: [Q4:2, Q4:A1, G1:L]}
  - {number: N, run: [G0:N, Q4:A2, G1:N]}
  - {number: 1, run: ["G1:+", K1:A1, K1:13, K2:17, S3:13]}
  - {number: 2, run: [K1:S11, S1:11]}
  - {number: 3, run: [S1:12, K1:S12]}
  - {number: 4, run: [K1:S21, S1:21]}
  - {number: 5, run: [S1:22, K1:S22]}
  - {number: 6, run: [K1:Y1, S2:13]}
  - {number: 7, run: [S2:14, K1:Y2]}
  - {number: 8, run: [K1:14, K2:A1, P1:X1]}
  - {number: 9, run: [K2:18, P2:X1]}
  - {number: 0, run: ["G1:-", K1:A2, K2:A2, P1:X2, P2:X2, S3:14]}
"""


def test_a_no_volt_switch_a_safety_relay_a_delay_and_a_supply_that_is_lost() -> None:
    assert (
        played(
            RELAYS,
            "G0=on",
            "Q4=start",
            "Q4=off",
            "S2=pressed",
            "S2=released",
            "S1=pressed",
            "K2=elapsed",
            "S1=released",
            "S2=pressed",
            "S3=pressed",
            "S3=released",
            "Q4=stop",
            "Q4=start",
        )
        == """\
         rest
    live nothing
coils in none

       1 G0=on   (mains)
   moves nothing
    live G0
coils in none

       2 Q4=start   (no volt release)
   moves Q4 is on
    live G0, G1
coils in Q4
   volts K1 24.0 V, without acting

       3 Q4=off   (no volt release, its start and stop are let go)
   moves nothing
    live G0, G1
coils in Q4
   volts K1 24.0 V, without acting

       4 S2=pressed   (reset)
   moves K1, K2 pull in; P1, P2 come on
    live G0, G1
coils in Q4, K1, K2
      on P1, P2

       5 S2=released   (reset)
   moves nothing
    live G0, G1
coils in Q4, K1, K2
      on P1, P2

       6 S1=pressed   (emergency stop)
   moves K1, K2 drop out; P1 goes off
    live G0, G1
coils in Q4
      on P2
   volts K1 24.0 V, without acting
    note the delay of K2 is running; K2=elapsed ends it

       7 K2=elapsed   (timer relay)
   moves P2 goes off
    live G0, G1
coils in Q4
   volts K1 24.0 V, without acting

       8 S1=released   (emergency stop)
   moves nothing
    live G0, G1
coils in Q4
   volts K1 24.0 V, without acting

       9 S2=pressed   (reset)
   moves K1, K2 pull in; P1, P2 come on
    live G0, G1
coils in Q4, K1, K2
      on P1, P2

      10 S3=pressed   (push button)
   moves K1, K2 drop out; G1 is lost to a short that nothing clears; P1, P2 go off
    live G0
coils in Q4
    note a short circuit across G1
    note the delay of K2 is running; K2=elapsed ends it

      11 S3=released   (push button)
   moves nothing
    live G0
coils in Q4
    note the delay of K2 is running; K2=elapsed ends it

      12 Q4=stop   (no volt release)
   moves Q4 is off; G1 can give voltage again
    live G0
coils in none
    note the delay of K2 is running; K2=elapsed ends it

      13 Q4=start   (no volt release)
   moves Q4 is on; K1, K2 pull in; P1, P2 come on
    live G0, G1
coils in Q4, K1, K2
      on P1, P2
"""
    )


CONTACTORS = """\
wirecheck: 1
machine: {name: tapping head of the club}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 6 A}
  S1: {kind: selector, positions: [off, near, far], contacts: {13-14: {closed_in: [near]}, 23-24: {closed_in: [far]}}}
  Q1: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: [G0:L, F1:1]}
  - {number: L1, run: [F1:2, S1:13, S1:23, Q1:1, Q2:1]}
  - {number: 2, run: [S1:14, Q1:A1]}
  - {number: 3, run: [S1:24, Q2:A1]}
  - {number: 4, run: [Q1:2, P1:X1]}
  - {number: 5, run: [Q2:2, P2:X1]}
  - {number: N, run: [G0:N, Q1:A2, Q2:A2, P1:X2, P2:X2]}
"""


def test_a_breaker_that_trips_again_and_one_that_holds_when_the_fault_is_switched_off() -> None:
    assert (
        played(CONTACTORS, "G0=on", "S1=near", "S1=far", "F1=on", "S1=off", "F1=on", fault="wire 3 earthed", after=2)
        == """\
         rest
    live nothing
coils in none

       1 G0=on   (mains)
   moves nothing
    live G0
coils in none

       2 S1=near   (selector)
   moves Q1 pulls in; P1 comes on
    live G0
coils in Q1
      on P1

   fault wire 3 earthed
   moves nothing
    live G0
coils in Q1
      on P1

       3 S1=far   (selector)
   moves F1 trips; Q1 drops out; P1 goes off
    live G0
coils in none
    note a short circuit across G0

       4 F1=on   (circuit breaker)
   moves nothing
    live G0
coils in none
    note F1 does not stay on: it is tripped again
    note a short circuit across G0

       5 S1=off   (selector)
   moves nothing
    live G0
coils in none

       6 F1=on   (circuit breaker)
   moves nothing
    live G0
coils in none
"""
    )


def test_a_relay_that_sticks_from_the_start_and_a_coil_that_opens_later() -> None:
    assert (
        played(CONTACTORS, "G0=on", "S1=near", "S1=far", fault="Q1 stuck in, then Q2 coil open", after=1)
        == """\
         rest
    live nothing
coils in none

   fault Q1 stuck in
   moves Q1 pulls in
    live nothing
coils in Q1
    note it is there before anything is switched on

       1 G0=on   (mains)
   moves P1 comes on
    live G0
coils in Q1
      on P1

   fault Q2 coil open
   moves nothing
    live G0
coils in Q1
      on P1

       2 S1=near   (selector)
   moves nothing
    live G0
coils in Q1
      on P1

       3 S1=far   (selector)
   moves nothing
    live G0
coils in Q1
      on P1
   volts Q2 230.0 V, without acting
"""
    )


def test_a_short_that_nothing_clears_takes_the_voltage_for_as_long_as_it_lasts() -> None:
    assert (
        played(CONTACTORS, "G0=on", "S1=near", fault="wire L earthed", after=1)
        == """\
         rest
    live nothing
coils in none

       1 G0=on   (mains)
   moves nothing
    live G0
coils in none

   fault wire L earthed
   moves nothing
    live nothing
coils in none
    note a short circuit across G0: nothing clears it, and while it lasts there is no voltage

       2 S1=near   (selector)
   moves nothing
    live nothing
coils in none
    note a short circuit across G0: nothing clears it, and while it lasts there is no voltage
"""
    )


def test_what_goes_off_by_the_fault_itself_is_told() -> None:
    assert (
        played(CONTACTORS, "G0=on", "S1=near", "S1=far", fault="wire 4 open", after=2)
        == """\
         rest
    live nothing
coils in none

       1 G0=on   (mains)
   moves nothing
    live G0
coils in none

       2 S1=near   (selector)
   moves Q1 pulls in; P1 comes on
    live G0
coils in Q1
      on P1

   fault wire 4 [Q1:2–P1:X1] open
   moves P1 goes off
    live G0
coils in Q1

       3 S1=far   (selector)
   moves Q1 drops out; Q2 pulls in; P2 comes on
    live G0
coils in Q2
      on P2
"""
    )


BUZZING = """\
wirecheck: 1
machine: {name: drill of the club}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN}
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12: NC, 23-24: NO}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  K3: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
  Q1: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L1, run: [G0:L1, S1:13, Q1:1]}
  - {number: L2, run: [G0:L2, Q1:3]}
  - {number: L3, run: [G0:L3, Q1:5]}
  - {number: 1, run: [S1:14, K1:11, K2:11, K1:23]}
  - {number: 2, run: [K1:12, K2:A1]}
  - {number: 3, run: [K2:12, K1:A1]}
  - {number: 4, run: [K1:24, K3:11]}
  - {number: 5, run: [K3:12, K3:A1, Q1:A1]}
  - {number: U, run: [Q1:2, M1:U1]}
  - {number: V, run: [Q1:6, M1:V1]}
  - {number: W, run: [Q1:4, M1:W1]}
  - {number: N, run: [G0:N, K1:A2, K2:A2, K3:A2, Q1:A2]}
"""


def test_what_may_come_to_rest_or_not_goes_on_until_an_event_ends_it() -> None:
    assert (
        played(BUZZING, "G0=on", "S1=pressed", "S1=pressed", "S1=released")
        == """\
         rest
    live nothing
coils in none
   motor M1 stands still

       1 G0=on   (mains)
   moves nothing
    live G0
coils in none
   motor M1 stands still

       2 S1=pressed   (push button)
   moves K2 pulls in
    live G0
coils in K2
   motor M1 stands still

       2 S1=pressed   (push button)
   moves K3, Q1 keep moving
    live G0
coils in K1
   motor M1 runs reverse on and off
    note it never comes to rest, in another order of what moves first

       3 S1=pressed   (push button)
   moves nothing
    live G0
coils in K2
   motor M1 stands still
    note S1 is pressed already: nothing changes

       3 S1=pressed   (push button)
   moves K3, Q1 keep moving
    live G0
coils in K1
   motor M1 runs reverse on and off
    note it never comes to rest, in another order of what moves first
    note S1 is pressed already: nothing changes

       4 S1=released   (push button)
   moves K2 drops out
    live G0
coils in none
   motor M1 stops
    note after another outcome: K1 drops out
    note after another outcome: K1 drops out; K3 drops out
    note after another outcome: K1 drops out; Q1 drops out
    note after another outcome: K1 drops out; K3 drops out; Q1 drops out
"""
    )
