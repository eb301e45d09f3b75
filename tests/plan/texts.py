"""Plans as text for the tests of the reader: a sound one to vary, and a mark that says where an error must be told."""

from __future__ import annotations

from typing import NamedTuple

from wirecheck.errors import PlanError, PlanErrors
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Device, Plan

NAME = "bench-saw.yaml"
MARK = "§"
"""Stands in a text just before the place that an error must name, and is taken out."""

HEAD = "wirecheck: 1\nmachine: {name: club bench saw}\n"

SAW = """\
wirecheck: 1
machine: {name: club bench saw, run_down_time: 2 s}
places:
  box: {ip: IP54, title: switch box}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  Q1: {kind: isolator, poles: [1-2, 3-4], place: box}
  X0: {kind: earth-bar}
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: emergency-stop, contacts: {11-12: NC}, direct_opening: true, latching: true}
  S2: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S3: {kind: push-button, role: start, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 21-22: NC}}
  P1: {kind: lamp, voltage: 24 V DC, colour: GN}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
cables:
  W1: {cores: 2, size: 0.75 mm2, length: 3 m}
wires:
  - {number: L01, run: [G0:L, Q1:1]}
  - {number: N01, run: [G0:N, Q1:3]}
  - {number: PE, run: [G0:PE, X0:1]}
  - {number: L02, run: [Q1:2, G1:L]}
  - {number: N02, run: [Q1:4, G1:N]}
  - {number: 1, run: ["G1:+", S1:11], size: 0.75 mm2, colour: BU, cable: W1}
  - {number: 2, run: [S1:12, S2:11]}
  - {number: 3, run: [S2:12, S3:13, K1:13]}
  - {number: 4, run: [S3:14, K1:14, K1:A1], cable: W1}
  - {number: 5, run: [K1:22, P1:X1]}
  - {number: 0V, run: ["G1:-", K1:A2, P1:X2]}
"""


class Expected(NamedTuple):
    """A text without its mark, and the place where the mark stood."""

    text: str
    line: int
    column: int


def marked(text: str) -> Expected:
    """Take the mark out of a text."""
    before, found, after = text.partition(MARK)
    assert found, "the text has no mark"
    assert MARK not in after, "the text has two marks"
    return Expected(before + after, before.count("\n") + 1, len(before) - before.rfind("\n"))


def read(text: str) -> Plan:
    """The plan in a text."""
    return read_plan_text(text, NAME)


def errors_of(text: str) -> tuple[PlanError, ...]:
    """The errors of a text, none where it can be read."""
    try:
        read(text)
    except PlanErrors as bad:
        return bad.errors
    return ()


def device(described: str, name: str = "D1") -> Device:
    """One device as it is read in a plan of its own."""
    return read(f"{HEAD}places: {{box: {{}}}}\ndevices:\n  {name}: {described}\nwires: []\n").devices[name]


def saw(old: str, new: str) -> str:
    """The sound plan with one thing put in place of another."""
    assert SAW.count(old) == 1, f"{old!r} stands {SAW.count(old)} times in the plan"
    return SAW.replace(old, new)
