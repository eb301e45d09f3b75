"""The same plan with slow contacts: which devices it can matter on, and what they then do between two positions."""

from __future__ import annotations

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.variants import at_once, slow_contact_devices, slow_plan, with_slow_contacts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

BENCH = """\
wirecheck: 1
machine: {name: lamps of the club's workshop}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: push-button, contacts: {11-12: NC, 13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO, 23-24: NO}}
  S3: {kind: limit-switch, contacts: {11-12: NC, 13-14: NO}}
  S4: {kind: selector, positions: [left, off, right], contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
  S5: {kind: selector, make_before_break: false, positions: [left, right],
    contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
  S6: {kind: key-switch, positions: [left, right], contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
  S7: {kind: selector, positions: [left, right], contacts: {13-14: {closed_in: [right]}}}
  S8: {kind: guard-switch, contacts: {11-12: guard-closed, 13-14: guard-open}}
  P1: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: [G0:L, S4:13, S4:23, S1:11, S1:13]}
  - {number: 1, run: [S4:14, S4:24, S1:12, S1:14, P1:X1]}
  - {number: N, run: [G0:N, P1:X2]}
"""
QUICK = "\n".join(line for line in BENCH.splitlines() if not any(f"  {name}: " in line for name in ("S1", "S3", "S4", "S6")))
QUICK = QUICK.replace("S4:13, S4:23, S1:11, S1:13", "S2:13").replace("S4:14, S4:24, S1:12, S1:14", "S2:14") + "\n"


def bench() -> Plan:
    return read_plan_text(BENCH, "bench")


def test_it_matters_on_buttons_with_both_forms_and_on_selectors_of_which_the_plan_says_nothing() -> None:
    assert slow_contact_devices(bench()) == ("S1", "S3", "S4", "S6")


def test_only_those_devices_are_slow_and_each_in_the_way_of_its_kind() -> None:
    plan, slow = bench(), slow_plan(bench())
    assert slow is not None
    changed = {name: device.values for name, device in slow.devices.items() if device != plan.devices[name]}
    assert {
        name: {k: v for k, v in values.items() if k not in plan.devices[name].values} for name, values in changed.items()
    } == {
        "S1": {"break_before_make": True},
        "S3": {"break_before_make": True},
        "S4": {"make_before_break": True},
        "S6": {"make_before_break": True},
    }
    assert all(plan.devices[name].values.items() <= values.items() for name, values in changed.items())
    assert (list(slow.devices), slow.wires) == (list(plan.devices), plan.wires)


def test_where_no_device_can_be_slow_the_behaviour_stays_as_it_is() -> None:
    plan = read_plan_text(QUICK, "quick")
    b = Behaviour(plan)
    assert (slow_contact_devices(plan), slow_plan(plan)) == ((), None)
    assert with_slow_contacts(b) is b


def test_the_slow_behaviour_is_of_the_same_view() -> None:
    b = Behaviour(bench(), frozenset({"P1"}), frozenset({"S8"}))
    slow = with_slow_contacts(b)
    assert slow.plan == slow_plan(b.plan)
    assert (slow.subjects, slow.free) == (b.subjects, b.free)


def test_all_contacts_at_once_pass_no_moment_in_which_all_are_open() -> None:
    b = with_slow_contacts(Behaviour(bench()))
    pressed = next(r for r in b.events if str(r.event) == "S1=pressed")
    lit = b.at("G0", "on") & b.at("S1", "released") & b.at("S4", "off") & b.reached
    before = lit & -lit
    dark = b.space.full & ~b.acting["P1"]
    assert b.reach.settling.fire(pressed, before)[1] & dark
    quick = at_once(b, pressed)
    assert (quick.event, len(quick.stages)) == (pressed.event, 1)
    assert not b.reach.settling.fire(quick, before)[1] & dark
    assert b.after(quick, before) == b.after(pressed, before) != 0
