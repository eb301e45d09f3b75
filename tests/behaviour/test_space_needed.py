"""How many variable bits a device needs: each that is spared halves the states to look at."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.circuit.networks import plan_text
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.model import bits_of
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Event

CONTACTS = {
    "{13-14: {closed_in: ['on']}}": 1,  # on its way it is as at `off`
    "{13-14: {closed_in: ['on']}, 23-24: {closed_in: ['on']}}": 1,
    "{13-14: {closed_in: ['on']}, 21-22: {closed_in: ['off']}}": 2,  # on its way neither is closed
    "{13-14: {closed_in: ['on', 'off']}}": 2,  # open on the way alone
}


@pytest.mark.parametrize("contacts", CONTACTS)
def test_a_selector_has_a_moment_between_only_where_it_is_like_no_position(contacts: str) -> None:
    selector = f"S1: {{kind: selector, positions: ['off', 'on'], contacts: {contacts}}}"
    plan = read_plan_text(plan_text([SUPPLY, selector], ["G0:L S1:13"]), "selector")
    assert bits_of(plan, frozenset({"S1"})) == CONTACTS[contacts]


SUPPLY = "G0: {kind: mains, phases: 1, voltage: 230 V}"


@pytest.mark.parametrize("reset", ["automatic", "manual", "monitored"])
def test_a_safety_relay_remembers_in_two_bits(reset: str) -> None:
    marks = "supply: [A1, A2], channels: [[S11, S12], [S21, S22]], reset_loop: [S33, S34]"
    relay = f"K1: {{kind: safety-relay, {marks}, reset: {reset}}}"
    plan = read_plan_text(plan_text([SUPPLY, relay], ["G0:L K1:A1", "G0:N K1:A2"]), "safety relay")
    assert bits_of(plan, frozenset({"K1"})) == 2


LARGE = Path(__file__).parents[1] / "benchmarks" / "large" / "lathe-with-safety-relay.yaml"


def test_a_lathe_of_many_devices_is_looked_at_in_every_state() -> None:
    """27 bits: both torque-off channels and the line contactor hang on the safety relay, so what opens its channels stops M1."""
    b = Behaviour(read_plan(LARGE))
    assert b.space.bits == 27
    moving = b.moving("M1") & b.reached
    ways = [b.moving("M1", way) & b.reached for way in ("forward", "reverse")]
    assert all(ways)
    assert moving == ways[0] | ways[1]
    for stop in (Event("S1", "pressed"), Event("S2", "open"), Event("S3", "pressed"), Event("Q1", "off"), Event("M1", "hot")):
        rule = next(rule for rule in b.events if rule.event == stop)
        assert b.after(rule, moving)
        assert not b.after(rule, moving) & b.moving("M1")
    press = next(rule for rule in b.events if rule.event == Event("S4", "pressed"))
    assert b.after(press, b.reached & ~moving) & ways[0]
