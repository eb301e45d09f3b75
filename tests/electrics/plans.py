"""Small plans for the calculations, and the numbers of a plan by name."""

from __future__ import annotations

from wirecheck.electrics.number import Number
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.rules.examples import read_rule_file
from wirecheck.rules.loader import rule_files

ON_A_DRIVE = """\
wirecheck: 1
machine: {name: Bench lathe}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, frequency: 50 Hz, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  Q1: {kind: isolator, poles: [1-2, 3-4]}
  S1: {kind: selector, role: direction, positions: [off, forward], run_positions: [forward],
    contacts: {13-14: {closed_in: [forward]}}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward}
    settings: {command_source: terminals, on_power_up_with_run: waits}
  M1: {kind: motor, power: 0.75 kW, poles: 4, frequency: 50 Hz, speed: 1390 rpm, plate: {delta: 230 V, star: 400 V},
    current: {delta: 3.3 A, star: 1.9 A}, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L1, run: [G0:L, Q1:1]}
  - {number: N1, run: [G0:N, Q1:3]}
  - {number: L2, run: [Q1:2, T1:L]}
  - {number: N2, run: [Q1:4, T1:N]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
  - {number: PE, run: [G0:PE, T1:PE, M1:PE]}
  - {number: 1, run: [T1:P24, S1:13]}
  - {number: 2, run: [S1:14, T1:DI1]}
"""
"""A 230/400 V motor in delta on a drive that gives 230 V."""

DELTA_BARS, STAR_BARS = "links: [[U1, W2], [V1, U2], [W1, V2]]", "links: [[U2, V2, W2]]"


def example(rule: str, words: str) -> str:
    """The plan of a rule's example whose comment has these words."""
    _, examples = read_rule_file(next(path for path in rule_files() if path.stem == rule))
    return next(found.plan for found in examples if words in found.plan.partition("\n")[0])


def changed(plan: str, *changes: tuple[str, str]) -> str:
    """A plan with words put in place of others, each of which must be there."""
    for old, new in changes:
        assert old in plan, old
        plan = plan.replace(old, new, 1)
    return plan


def numbers(plan: str, name: str, device: str = "") -> list[Number]:
    """The numbers of a plan that have this name, of one device where that is named."""
    found = Facts(read_plan_text(plan, "plan.yaml")).numbers
    return [number for number in found if number.name == name and device in ("", number.device)]


def number(plan: str, name: str, device: str = "") -> Number:
    """The only number with this name."""
    (found,) = numbers(plan, name, device)
    return found
