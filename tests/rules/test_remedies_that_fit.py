"""What a finding says fits the plan: who stops whom, and a remedy that the plan does not have already."""

from __future__ import annotations

from tests.electrics.plans import example
from tests.rules.test_wiring_rules import found

COOLING = example("cooling-down-starts-nothing", "The hot motor drops Q2")


def test_a_hot_motor_stops_itself() -> None:
    plan = COOLING.rstrip("\n") + "\nfunctions:\n  motor-hot: {when: M1=hot, must: M1 stopped}\n"
    messages = [f.message for f in found("stuck-parts-that-are-accepted", plan) if f.devices[0] == "M1"]
    assert [m.startswith("a hot M1 no longer stops itself with ") for m in messages] == [True]
