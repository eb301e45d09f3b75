"""Plans for the drawings' tests, of a workshop of our own invention."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from wirecheck.drawings.connection import connection_sheet
from wirecheck.drawings.shapes import Sheet
from wirecheck.pipeline import check, to_mark
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Plan

EVERY_KIND = """\
wirecheck: 1
machine: {name: Sampler of every kind, drawing: TW-99, revision: A, author: the club, date: 2026-02-01, place: back room}
places: {board: {ip: IP54, title: test board, swarf: true, coolant: true}, bench: {ip: IP20}}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, frequency: 50 Hz, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  G9: {kind: mains, phases: 2, voltage: 230 V}
  F5: {kind: residual-current-device, poles: [1-2, 3-4], type: F, trip_current: 30 mA, place: board}
  Q1: {kind: isolator, poles: [1-2, 3-4], contacts: {13-14: {form: NO, early_break: true}}, rating: 25 A,
    lockable: true, place: board}
  R6: {kind: line-filter, poles: [1-2, 3-4], rating: 16 A, leakage: 3 mA, place: board}
  R7: {kind: line-reactor, poles: [1-2, 3-4], rating: 16 A, place: board}
  X5: {kind: plug-connector, poles: [1-2, 3-4, 11-12], first_make: [11-12], place: board}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 16 A, curve: C, place: board}
  X0: {kind: earth-bar, place: board}
  T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 230 V, secondary_voltage: 24 V,
    power: 63 VA, place: board}
  G1: {kind: dc-supply, voltage: 24 V DC, current: 1.5 A, place: board}
  F2: {kind: fuse, rating: 1 A, class: F, place: board}
  Q2: {kind: contactor, poles: [1-2, 3-4, 5-6], coil: 24 V DC, rating: 9 A, category: AC-3, contacts: {13-14: NO,
    21-22: NC}, place: board}
  F4: {kind: overload-relay, poles: [1-2, 3-4, 5-6], contacts: {95-96: NC, 97-98: NO}, setting: 2.6 A, reset: manual,
    place: board}
  Q4: {kind: no-volt-release, poles: [1-2, 3-4], voltage: 230 V AC, rating: 12 A, place: board}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 21-22-24: CO}, place: board}
  K2: {kind: safety-relay, supply: [A1, A2], channels: [[S11, S12], [S21, S22]], reset_loop: [S33, S34], voltage: 24 V DC,
    reset: monitored, contacts: {13-14: NO, 23-24: NO}, place: board}
  K3: {kind: timer-relay, coil: 24 V DC, delay: 2 s, mode: off-delay, contacts: {13-14: NO, 17-18: NO}, place: board}
  K4: {kind: timer-relay, coil: 24 V DC, delay: 2 s, mode: on-delay, contacts: {15-16: NC}, place: board}
  K5: {kind: thermistor-relay, voltage: 24 V DC, sensor: [T1, T2], reset: manual, contacts: {11-14: NO}, place: board}
  D1: {kind: diode, voltage: 200 V, current: 1 A, place: board}
  X1: {kind: terminal-block, links: [[1, 2]], place: board}
  S1: {kind: emergency-stop, contacts: {11-12: NC, 21-22: NC}, direct_opening: true, latching: true, colour: RD, place: bench}
  S2: {kind: guard-switch, guards: chuck, type: 2, direct_opening: true, contacts: {11-12: guard-closed,
    13-14: guard-open}, place: bench}
  S4: {kind: push-button, role: start, colour: WH, contacts: {13-14: NO}, place: bench}
  S5: {kind: selector, positions: [off, forward, reverse], run_positions: [forward, reverse],
    contacts: {13-14: {closed_in: [forward]}, 23-24: {closed_in: [off, reverse]}}, place: bench}
  S6: {kind: key-switch, role: mode, positions: [off, on], contacts: {13-14: {closed_in: [on]}}, place: bench}
  S7: {kind: foot-switch, role: jog, contacts: {13-14: NO}, place: bench}
  B8: {kind: limit-switch, contacts: {11-12: NC}, place: bench}
  B2: {kind: thermal-switch, contacts: {1-2: NC}, place: bench}
  B3: {kind: sensor, output: PNP, form: NO, voltage: 24 V DC, senses: spindle turns, place: bench}
  B5: {kind: sensor, output: NPN, form: NC, voltage: 24 V DC, place: bench}
  B4: {kind: thermistor, place: bench}
  P1: {kind: lamp, voltage: 24 V DC, power: 1 W, colour: GN, place: bench}
  P2: {kind: buzzer, voltage: 24 V DC, power: 2 W, place: bench}
  Y1: {kind: solenoid, voltage: 24 V DC, power: 10 W, place: bench}
  E1: {kind: fan, voltage: 230 V AC, power: 20 W, place: bench}
  M5: {kind: pump, voltage: 230 V AC, power: 60 W, place: bench}
  E2: {kind: heater, voltage: 230 V AC, power: 50 W, place: bench}
  E3: {kind: load, voltage: 230 V AC, power: 100 W, place: bench}
  R3: {kind: resistor, resistance: 1 kohm, power: 2 W, place: bench}
  R4: {kind: braking-resistor, resistance: 100 ohm, power: 200 W, place: bench}
  R5: {kind: potentiometer, resistance: 5 kohm, place: bench}
  C1: {kind: capacitor, capacitance: 10 uF, place: bench}
  U1: {kind: frame, title: lathe bed, place: bench}
  A1: {kind: custom, positions: [up, down], elements: [{contact: 1-2, closed_in: [down]}, {load: 5-6,
    voltage: 24 V DC}, {link: [7, 8]}],
    place: bench}
  T1:
    kind: drive
    place: board
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V, current: 11.5 A}
    output: {terminals: [U, V, W], voltage: 230 V, current: 6 A, power: 1.1 kW, max_frequency: 200 Hz}
    control:
      mode: three-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC, current: 100 mA}
      inputs: {DI1: run-forward, DI2: {does: run-permit, acts_when: open}, DI3: {does: external-trip, acts_when: open}}
      reference: {plus: V10, wiper: AI1, common: ACOM, voltage: 10 V DC, current: 10 mA}
      safe_torque_off: {channels: [STO1, STO2], common: STOC}
      relays: {RA-RC: {form: NO, acts_on: healthy}, RD-RE: {form: NC, acts_on: fault}}
      brake_resistor: {terminals: [B1, B2], minimum: 60 ohm}
      thermistor: [TH1, TH2]
  M1: {kind: motor, place: bench, power: 1.1 kW, poles: 4, frequency: 50 Hz, speed: 1420 rpm, plate: {delta: 230 V, star: 400 V},
    current: {delta: 4.5 A, star: 2.6 A}, cooling: shaft-fan, sensor: thermistor, links: [[U1, W2], [V1, U2], [W1, V2]]}
  M2: {kind: motor, place: bench, windings: dahlander, power: {low: 0.8 kW, high: 1.1 kW}, poles: 4/2, frequency: 50 Hz,
    speed: {low: 1400 rpm, high: 2800 rpm}, plate: {delta: 400 V, double-star: 400 V}, current: {low: 2 A,
    high: 2.5 A}, sensor: none}
cables:
  W1: {cores: 5, size: 1.5 mm2, length: 3 m, screened: true, method: C}
  W2: {cores: 7, size: 0.75 mm2}
wires:
  - {number: L1, run: [G0:L, F5:1], size: 2.5 mm2, colour: BN}
  - {number: N1, run: [G0:N, F5:3], size: 2.5 mm2, colour: BU}
  - {number: PE, run: [G0:PE, X0:1], size: 2.5 mm2, colour: GNYE}
  - {number: L2, run: [F5:2, Q1:1], size: 2.5 mm2, colour: BK}
  - {number: N2, run: [F5:4, Q1:3], size: 2.5 mm2, colour: BU}
  - {number: L3, run: [Q1:2, R6:1], colour: BK}
  - {number: U, run: [T1:U, M1:U1], size: 1.5 mm2, colour: BK, cable: W1, core: 1}
  - {number: V, run: [T1:V, M1:V1], size: 1.5 mm2, colour: WH, cable: W1, core: 2}
  - {number: W, run: [T1:W, M1:W1], size: 1.5 mm2, colour: WH/BU, cable: W1, core: 3}
  - {number: PE, run: [X0:2, M1:PE], size: 1.5 mm2, colour: GNYE, cable: W1}
  - {number: 12, run: [S1:11, X1:1], size: 0.75 mm2, colour: YE, cable: W2}
  - {number: 13, run: [S1:12, X1:2], size: 0.75 mm2, cable: W2}
  - {number: 13, run: [X1:2, K1:A1, K1:13], size: 0.75 mm2, colour: VT}
  - {number: 14, run: [K1:22, K1:14]}
  - {number: PE, run: [X0:3, U1:PE], size: 1.5 mm2, colour: GNYE}
  - {number: 15, run: [S4:13, S5:13], size: 0.75 mm2, colour: TQ}
  - {number: 16, run: [S4:14, S7:13], size: 0.75 mm2, colour: PK, cable: W2}
"""
"""A plan with every kind of device, for its picture and not for its sense."""

NAMES_THAT_ARE_MARKUP = """\
wirecheck: 1
machine: {name: '<script>alert("x")</script>"&]]>'}
places: {panel: {title: '<b>&amp;"]]>'}}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, title: '<script>"&]]>', place: panel}
  E1: {kind: load, title: "a\\u0007b\\u202ec \\"; }; <!-- --", place: panel}
wires:
  - {number: 1, run: [G0:L, E1:X1], colour: BK, size: 1.5 mm2}
  - {number: 2, run: [G0:N, E1:X2], colour: BU, size: 1.5 mm2}
"""
"""Titles that would be markup, or would end a string, if they were written as they are."""


ROOT = Path(__file__).parents[2]
EXAMPLES = [*sorted(ROOT.glob("examples/[bg]*/*.yaml")), *ROOT.glob("tests/benchmarks/plans/*.yaml")]
NAMES = ["sampler", *(str(p) for p in EXAMPLES)]


@cache
def plan_of(name: str) -> Plan:
    """The sampler, or an example by its path."""
    return every_kind() if name == "sampler" else read_plan(name)


@cache
def sheet_of(name: str) -> Sheet:
    """A plan's drawing with the findings of its check, the sampler's without any; it is made once for all tests."""
    plan = plan_of(name)
    return connection_sheet(plan, () if name == "sampler" else to_mark(check(plan)))


def every_kind() -> Plan:
    """The plan with every kind of device."""
    return read_plan_text(EVERY_KIND, "sampler.yaml")


def markup() -> Plan:
    """The plan whose names would be markup."""
    return read_plan_text(NAMES_THAT_ARE_MARKUP, "markup.yaml")
