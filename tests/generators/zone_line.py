"""A line of machine zones of any length, as the text of a plan: the plan that grows, for measuring.

Each zone has an emergency stop, a guard, a stop, forward and reverse buttons, a pilot relay that the emergency stop and the guard
hold in, two reversing contactors with holding contacts, interlocked by each other and by the buttons, and a motor on its own
breaker. A contact of that breaker and one of the neighbour's pilot relay stand in its chain. The plan is correct: a check has
nothing to say at `malfunction` or above.
"""

from __future__ import annotations

import sys

MOST_ZONES = 16
"""The supply and the control transformer are sized for this many."""

SIZES = ((4, "63 VA", "2 A"), (8, "100 VA", "4 A"), (MOST_ZONES, "160 VA", "6 A"))
"""Up to how many zones which transformer and control fuse serve: 7 VA a zone, for one contactor and the pilot relay."""

HEAD = """\
wirecheck: 1
machine: {name: Line of @ zones, region: IEC, run_down_time: 1 s}
places: {panel: {ip: IP54}, station: {ip: IP65}, line: {ip: IP55}}
"""

SUPPLY = """\
  G0: {kind: mains, phases: 3, voltage: 400 V, frequency: 50 Hz, earthing: TN, protected_by: {rating: 25 A, curve: C}}
  Q1: {kind: isolator, poles: [1-2, 3-4, 5-6], rating: 40 A, lockable: true, colour: BK, place: panel}
  F2: {kind: circuit-breaker, poles: [1-2, 3-4], rating: 2 A, curve: D, place: panel}
  T2: {kind: transformer, primary: [1, 2], secondary: [3, 4], primary_voltage: 400 V, secondary_voltage: 24 V, power: POWER,
    place: panel}
  F3: {kind: fuse, rating: FUSE, class: T, place: panel}
  X0: {kind: earth-bar, place: panel}
  X1: {kind: terminal-block, title: 24 V, links: [MARKS], place: panel}
  X2: {kind: terminal-block, title: 0 V, links: [MARKS], place: panel}
  B0: {kind: frame, title: line frame, place: line}
  B1: {kind: frame, title: panel box, place: panel}
"""

ZONE = """\
  F@00: {kind: circuit-breaker, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}, rating: 4 A, curve: D, place: panel}
  S@01: {kind: emergency-stop, contacts: {11-12: NC}, direct_opening: true, latching: true, colour: RD, place: station}
  S@02: {kind: guard-switch, guards: zone @, type: 2, direct_opening: true, contacts: {11-12: guard-closed}, place: line}
  S@03: {kind: push-button, role: stop, colour: BK, contacts: {11-12: NC}, place: station}
  S@04: {kind: push-button, role: forward, colour: WH, contacts: {13-14: NO, 21-22: NC}, place: station}
  S@05: {kind: push-button, role: reverse, colour: GY, contacts: {13-14: NO, 21-22: NC}, place: station}
  K@00: {kind: relay, title: pilot, coil: 24 V AC, coil_power: 1 W, forced_guided: true, contacts: {13-14: NO, 23-24: NO},
    place: panel}
  Q@02: {kind: contactor, title: forward, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO, 21-22: NC}, mirror_contacts: true,
    coil: 24 V AC, coil_power: 6 W, mechanical_interlock: Q@03, rating: 9 A, category: AC-3, place: panel}
  Q@03: {kind: contactor, title: reverse, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO, 21-22: NC}, mirror_contacts: true,
    coil: 24 V AC, coil_power: 6 W, mechanical_interlock: Q@02, rating: 9 A, category: AC-3, place: panel}
  M@00: {kind: motor, place: line, power: 0.37 kW, poles: 4, frequency: 50 Hz, speed: 1370 rpm, power_factor: 0.74,
    plate: {delta: 230 V, star: 400 V}, current: {delta: 1.9 A, star: 1.1 A}, cooling: shaft-fan, insulation_class: F,
    sensor: none, links: [[U2, V2], [V2, W2]]}
"""

SUPPLY_CABLE = """\
  W0: {cores: 4, size: 6 mm2, length: 4 m, method: C, voltage_rating: 500 V, insulation: PVC, route: supply}
"""

CABLES = """\
  W@01: {cores: 4, size: 1.5 mm2, length: 4 m, method: C, voltage_rating: 500 V, insulation: PVC, route: motor}
  W@02: {cores: 10, size: 0.75 mm2, length: 4 m, method: C, voltage_rating: 500 V, insulation: PVC, route: control}
  W@03: {cores: 2, size: 0.75 mm2, length: 4 m, method: C, voltage_rating: 500 V, insulation: PVC, route: control}
"""

SUPPLY_WIRES = """\
  - {number: L11, run: [G0:L1, Q1:1], size: 6 mm2, colour: BN, cable: W0}
  - {number: L12, run: [G0:L2, Q1:3], size: 6 mm2, colour: BK, cable: W0}
  - {number: L13, run: [G0:L3, Q1:5], size: 6 mm2, colour: GY, cable: W0}
  - {number: PE, run: [G0:PE, X0:1], size: 6 mm2, colour: GNYE, cable: W0}
  - {number: PE, run: [X0:2, B0:PE], size: 6 mm2, colour: GNYE}
  - {number: PE, run: [X0:3, B1:PE], size: 6 mm2, colour: GNYE}
  - {number: PE, run: [X0:4, T2:PE], size: 1.5 mm2, colour: GNYE}
  - {number: PE, run: [X0:5, T2:4], size: 1.5 mm2, colour: GNYE}
  - {number: L21, run: [Q1:2, F2:1], size: 6 mm2, colour: BK}
  - {number: L22, run: [Q1:4, F2:3], size: 6 mm2, colour: BK}
  - {number: C1, run: [F2:2, T2:1], size: 1.5 mm2, colour: BK}
  - {number: C2, run: [F2:4, T2:2], size: 1.5 mm2, colour: BK}
  - {number: 1, run: [T2:3, F3:1], size: 1.5 mm2, colour: RD}
  - {number: 2, run: [F3:2, X1:0], size: 1.5 mm2, colour: RD}
  - {number: 0V, run: [T2:4, X2:0], size: 1.5 mm2, colour: RD}
  - {number: L21, run: [Q1:2, F100:1], size: 6 mm2, colour: BK}
  - {number: L22, run: [Q1:4, F100:3], size: 6 mm2, colour: BK}
  - {number: L23, run: [Q1:6, F100:5], size: 6 mm2, colour: BK}
  - {number: 2, run: [X1:1, F100:13], size: 0.75 mm2, colour: RD}
"""

NEIGHBOUR_WIRES = """\
  - {number: L21, run: [F%00:1, F@00:1], size: 6 mm2, colour: BK}
  - {number: L22, run: [F%00:3, F@00:3], size: 6 mm2, colour: BK}
  - {number: L23, run: [F%00:5, F@00:5], size: 6 mm2, colour: BK}
  - {number: 2, run: [X1:@, K%00:23], size: 0.75 mm2, colour: RD}
  - {number: "@03", run: [K%00:24, F@00:13], size: 0.75 mm2, colour: RD}
"""

WIRES = """\
  - {number: L@31, run: [F@00:2, Q@02:1, Q@03:1], size: 1.5 mm2, colour: BK}
  - {number: L@32, run: [F@00:4, Q@02:3, Q@03:3], size: 1.5 mm2, colour: BK}
  - {number: L@33, run: [F@00:6, Q@02:5, Q@03:5], size: 1.5 mm2, colour: BK}
  - {number: L@41, run: [Q@02:2, Q@03:6], size: 1.5 mm2, colour: BK}
  - {number: L@42, run: [Q@02:4, Q@03:4], size: 1.5 mm2, colour: BK}
  - {number: L@43, run: [Q@02:6, Q@03:2], size: 1.5 mm2, colour: BK}
  - {number: L@41, run: [Q@02:2, M@00:U1], size: 1.5 mm2, colour: BK, cable: W@01}
  - {number: L@42, run: [Q@02:4, M@00:V1], size: 1.5 mm2, colour: BK, cable: W@01}
  - {number: L@43, run: [Q@02:6, M@00:W1], size: 1.5 mm2, colour: BK, cable: W@01}
  - {number: PE, run: [X0:@00, M@00:PE], size: 1.5 mm2, colour: GNYE, cable: W@01}
  - {number: 2, run: [X1:@, S@01:11], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@01", run: [S@01:12, S@02:11], size: 0.75 mm2, colour: RD, cable: W@03}
  - {number: "@02", run: [S@02:12, K@00:A1], size: 0.75 mm2, colour: RD, cable: W@03}
  - {number: "@12", run: [F@00:14, K@00:13], size: 0.75 mm2, colour: RD}
  - {number: "@04", run: [K@00:14, S@03:11], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@05", run: [S@03:12, S@04:13, S@05:13], size: 0.75 mm2, colour: RD}
  - {number: "@05", run: [S@05:13, Q@02:13], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@05", run: [Q@02:13, Q@03:13], size: 0.75 mm2, colour: RD}
  - {number: "@06", run: [S@05:21, S@04:14], size: 0.75 mm2, colour: RD}
  - {number: "@06", run: [S@04:14, Q@02:14], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@07", run: [S@05:22, Q@03:21], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@08", run: [Q@03:22, Q@02:A1], size: 0.75 mm2, colour: RD}
  - {number: "@09", run: [S@04:21, S@05:14], size: 0.75 mm2, colour: RD}
  - {number: "@09", run: [S@05:14, Q@03:14], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@10", run: [S@04:22, Q@02:21], size: 0.75 mm2, colour: RD, cable: W@02}
  - {number: "@11", run: [Q@02:22, Q@03:A1], size: 0.75 mm2, colour: RD}
  - {number: 0V, run: [X2:@, K@00:A2, Q@02:A2, Q@03:A2], size: 1 mm2, colour: RD}
"""

FUNCTIONS = """\
  emergency-stop-@: {when: S@01=pressed, must: M@00 stopped}
  guard-@: {when: S@02=open, must: M@00 stopped}
"""


def zone_line(zones: int) -> str:
    """The text of a plan of `zones` zones, 1 to 16."""
    if not 1 <= zones <= MOST_ZONES:
        raise ValueError(f"{zones} zones: 1 to {MOST_ZONES}")
    each = range(1, zones + 1)
    power, fuse = next((power, fuse) for most, power, fuse in SIZES if zones <= most)
    marks = ", ".join(map(str, range(zones + 1)))
    return "".join(
        (
            _of(HEAD, zones),
            "devices:\n",
            SUPPLY.replace("POWER", power).replace("FUSE", fuse).replace("MARKS", f"[{marks}]"),
            *(_of(ZONE, zone) for zone in each),
            "cables:\n",
            SUPPLY_CABLE,
            *(_of(CABLES, zone) for zone in each),
            "wires:\n",
            SUPPLY_WIRES,
            *(_of(NEIGHBOUR_WIRES, zone) for zone in each[1:]),
            *(_of(WIRES, zone) for zone in each),
            "functions:\n",
            *(_of(FUNCTIONS, zone) for zone in each),
        )
    )


def _of(template: str, zone: int) -> str:
    """A template with the zone's number and its neighbour's."""
    return template.replace("@", str(zone)).replace("%", str(zone - 1))


if __name__ == "__main__":
    sys.stdout.write(zone_line(int(sys.argv[1]) if len(sys.argv) > 1 else MOST_ZONES))
