"""Plans with all sizes, lengths and ratings, for what conductors carry and what protects them. None of them has a fault."""

from __future__ import annotations

DRILL = """\
wirecheck: 1
machine: {name: Pillar drill}
places: {panel: {ip: IP54}, drill: {ip: IP54}}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, frequency: 50 Hz, earthing: TN,
    protected_by: {rating: 16 A, curve: B}, fault_loop: 0.6 ohm}
  Q1: {kind: isolator, poles: [1-2, 3-4], place: panel}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 10 A, curve: C, place: panel}
  X0: {kind: earth-bar, place: panel}
  S1: {kind: selector, title: direction lever, role: direction, positions: [off, forward, reverse], place: panel,
    run_positions: [forward, reverse], contacts: {13-14: {closed_in: [forward]}, 23-24: {closed_in: [reverse]}}}
  T1:
    kind: drive
    place: panel
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V, current: 5.4 A}
    output: {terminals: [U, V, W], voltage: 230 V, current: 2.4 A, power: 0.37 kW}
    leakage: 2 mA
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC, current: 100 mA}
      inputs: {DI1: run-forward, DI2: run-reverse}
    settings: {command_source: terminals, both_directions: stop, restarts_itself_after_fault: false, motor_current: 1.9 A,
      on_power_up_with_run: waits, after_trip_reset_with_run: waits}
  M1: {kind: motor, power: 0.37 kW, frequency: 50 Hz, plate: {delta: 230 V, star: 400 V}, current: {delta: 1.9 A, star: 1.1 A},
    place: drill, links: [[U1, W2], [V1, U2], [W1, V2]]}
cables:
  W0: {cores: 3, size: 2.5 mm2, length: 3 m, method: C}
  W1: {cores: 4, size: 1.5 mm2, length: 2 m, method: C}
wires:
  - {number: L1, run: [G0:L, Q1:1], size: 2.5 mm2, cable: W0}
  - {number: N1, run: [G0:N, Q1:3], size: 2.5 mm2, cable: W0}
  - {number: PE, run: [G0:PE, X0:1], size: 2.5 mm2, colour: GNYE, cable: W0}
  - {number: L2, run: [Q1:2, F1:1], size: 2.5 mm2}
  - {number: L3, run: [F1:2, T1:L], size: 1.5 mm2}
  - {number: N2, run: [Q1:4, T1:N], size: 1.5 mm2}
  - {number: PE, run: [X0:2, T1:PE], size: 1.5 mm2, colour: GNYE}
  - {number: U, run: [T1:U, M1:U1], size: 1.5 mm2, cable: W1}
  - {number: V, run: [T1:V, M1:V1], size: 1.5 mm2, cable: W1}
  - {number: W, run: [T1:W, M1:W1], size: 1.5 mm2, cable: W1}
  - {number: PE, run: [X0:3, M1:PE], size: 1.5 mm2, colour: GNYE, cable: W1}
  - {number: 1, run: [T1:P24, S1:13, S1:23], size: 0.75 mm2}
  - {number: 2, run: [S1:14, T1:DI1], size: 0.75 mm2}
  - {number: 3, run: [S1:24, T1:DI2], size: 0.75 mm2}
"""
"""A drive on one phase, its motor, everything in 230 V and 24 V from the drive."""

SANDER = """\
wirecheck: 1
machine: {name: Belt sander}
places: {panel: {ip: IP54}, sander: {ip: IP54}}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN,
    protected_by: {rating: 16 A, curve: C}, fault_loop: 0.5 ohm}
  Q1: {kind: isolator, poles: [1-2, 3-4, 5-6], place: panel}
  F1: {kind: circuit-breaker, title: motor, poles: [1-2, 3-4, 5-6], rating: 6 A, curve: D, place: panel}
  F2: {kind: circuit-breaker, title: control transformer, poles: [1-2, 3-4], rating: 2 A, curve: D, place: panel}
  T2: {kind: transformer, primary_voltage: 400 V, secondary_voltage: 24 V, power: 63 VA, place: panel}
  F3: {kind: fuse, title: control, rating: 2 A, class: T, place: panel}
  X0: {kind: earth-bar, place: panel}
  S1: {kind: push-button, title: stop, role: stop, contacts: {11-12: NC}, place: sander}
  S2: {kind: push-button, title: start, role: start, contacts: {13-14: NO}, place: sander}
  Q2: {kind: contactor, title: motor, coil: 24 V AC, coil_power: 6 W, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}, place: panel}
  F4: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC}, setting: 1.7 A, reset: manual, place: panel}
  M1: {kind: motor, power: 0.75 kW, plate: {delta: 230 V, star: 400 V}, current: {delta: 2.9 A, star: 1.7 A}, place: sander,
    links: [[U2, V2, W2]]}
cables:
  W0: {cores: 4, size: 2.5 mm2, length: 10 m, method: C}
  W1: {cores: 4, size: 1.5 mm2, length: 3 m, method: C}
  W2: {cores: 4, size: 0.75 mm2, length: 3 m, method: C}
wires:
  - {number: L11, run: [G0:L1, Q1:1], size: 2.5 mm2, cable: W0}
  - {number: L12, run: [G0:L2, Q1:3], size: 2.5 mm2, cable: W0}
  - {number: L13, run: [G0:L3, Q1:5], size: 2.5 mm2, cable: W0}
  - {number: PE, run: [G0:PE, X0:1], size: 2.5 mm2, colour: GNYE, cable: W0}
  - {number: L21, run: [Q1:2, F1:1], size: 2.5 mm2}
  - {number: L22, run: [Q1:4, F1:3], size: 2.5 mm2}
  - {number: L23, run: [Q1:6, F1:5], size: 2.5 mm2}
  - {number: L31, run: [F1:2, Q2:1], size: 1.5 mm2}
  - {number: L32, run: [F1:4, Q2:3], size: 1.5 mm2}
  - {number: L33, run: [F1:6, Q2:5], size: 1.5 mm2}
  - {number: L41, run: [Q2:2, F4:1], size: 1.5 mm2}
  - {number: L42, run: [Q2:4, F4:3], size: 1.5 mm2}
  - {number: L43, run: [Q2:6, F4:5], size: 1.5 mm2}
  - {number: U, run: [F4:2, M1:U1], size: 1.5 mm2, cable: W1}
  - {number: V, run: [F4:4, M1:V1], size: 1.5 mm2, cable: W1}
  - {number: W, run: [F4:6, M1:W1], size: 1.5 mm2, cable: W1}
  - {number: PE, run: [X0:2, M1:PE], size: 1.5 mm2, colour: GNYE, cable: W1}
  - {number: PE, run: [X0:3, T2:4], size: 1.5 mm2, colour: GNYE}
  - {number: L21, run: [Q1:2, F2:1], size: 1.5 mm2}
  - {number: L22, run: [Q1:4, F2:3], size: 1.5 mm2}
  - {number: L51, run: [F2:2, T2:1], size: 1.5 mm2}
  - {number: L52, run: [F2:4, T2:2], size: 1.5 mm2}
  - {number: 1, run: [T2:3, F3:1], size: 1 mm2}
  - {number: 2, run: [F3:2, F4:95], size: 1 mm2}
  - {number: 3, run: [F4:96, S1:11], size: 0.75 mm2, cable: W2}
  - {number: 4, run: [S1:12, S2:13], size: 0.75 mm2}
  - {number: 4, run: [S2:13, Q2:13], size: 0.75 mm2, cable: W2}
  - {number: 5, run: [S2:14, Q2:14], size: 0.75 mm2, cable: W2}
  - {number: 5, run: [Q2:14, Q2:A1], size: 0.75 mm2}
  - {number: 0V, run: [T2:4, Q2:A2], size: 1 mm2}
"""
"""A contactor on three phases, an overload relay, a control transformer with its fuse."""

MILL = """\
wirecheck: 1
machine: {name: Milling machine}
places: {panel: {ip: IP54}, mill: {ip: IP54}}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, frequency: 50 Hz, earthing: TN,
    protected_by: {rating: 20 A, curve: C}, fault_loop: 0.4 ohm}
  Q1: {kind: isolator, poles: [1-2, 3-4], place: panel}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 16 A, curve: C, place: panel}
  G1: {kind: dc-supply, voltage: 24 V DC, current: 5 A, place: panel}
  F2: {kind: fuse, rating: 2 A, class: F, place: panel}
  X0: {kind: earth-bar, place: panel}
  S1: {kind: push-button, title: stop, role: stop, contacts: {11-12: NC}, place: mill}
  S2: {kind: push-button, title: start, role: start, contacts: {13-14: NO}, place: mill}
  Q2: {kind: contactor, title: coolant, coil: 24 V DC, coil_power: 5 W, poles: [1-2, 3-4], contacts: {13-14: NO}, place: panel}
  M2: {kind: pump, title: coolant pump, voltage: 230 V AC, power: 90 W, terminals: [X1, X2, PE], place: mill}
cables:
  W0: {cores: 3, size: 4 mm2, length: 8 m, method: C}
  W2: {cores: 4, size: 0.75 mm2, length: 4 m, method: C}
  W3: {cores: 3, size: 2.5 mm2, length: 4 m, method: C}
wires:
  - {number: L1, run: [G0:L, Q1:1], size: 4 mm2, cable: W0}
  - {number: N1, run: [G0:N, Q1:3], size: 4 mm2, cable: W0}
  - {number: PE, run: [G0:PE, X0:1], size: 4 mm2, colour: GNYE, cable: W0}
  - {number: L2, run: [Q1:2, F1:1], size: 4 mm2}
  - {number: L3, run: [F1:2, G1:L], size: 2.5 mm2}
  - {number: N2, run: [Q1:4, G1:N], size: 2.5 mm2}
  - {number: L3, run: [F1:2, Q2:1], size: 2.5 mm2}
  - {number: N2, run: [Q1:4, Q2:3], size: 2.5 mm2}
  - {number: L4, run: [Q2:2, M2:X1], size: 2.5 mm2, cable: W3}
  - {number: N4, run: [Q2:4, M2:X2], size: 2.5 mm2, cable: W3}
  - {number: PE, run: [X0:2, M2:PE], size: 2.5 mm2, colour: GNYE, cable: W3}
  - {number: PE, run: [X0:3, G1:PE], size: 2.5 mm2, colour: GNYE}
  - {number: PE, run: [X0:4, "G1:-"], size: 1 mm2, colour: GNYE}
  - {number: 1, run: ["G1:+", F2:1], size: 1 mm2}
  - {number: 2, run: [F2:2, S1:11], size: 0.75 mm2, cable: W2}
  - {number: 3, run: [S1:12, S2:13], size: 0.75 mm2}
  - {number: 3, run: [S2:13, Q2:13], size: 0.75 mm2, cable: W2}
  - {number: 4, run: [S2:14, Q2:14], size: 0.75 mm2, cable: W2}
  - {number: 4, run: [Q2:14, Q2:A1], size: 0.75 mm2}
  - {number: 0V, run: ["G1:-", Q2:A2], size: 1 mm2}
"""
"""A pump on one phase, switched by a contactor on a 24 V d.c. supply."""

MILL_ON_THREE_PHASES = MILL.replace("phases: 1, voltage: 230 V", "phases: 3, voltage: 400 V").replace("[G0:L, ", "[G0:L1, ")
"""The same between one line and N of a mains of 400 V: 231 V."""


def adding(plan: str, devices: str, wires: str) -> str:
    """A plan with more devices and wires, each on a line of its own."""
    more = "".join(f"  {line}\n" for line in devices.split("\n"))
    runs = "".join(f"  - {{{line}}}\n" for line in wires.split("\n"))
    assert plan.count("\ncables:\n") == 1
    return plan.replace("\ncables:\n", f"\n{more}cables:\n") + runs
