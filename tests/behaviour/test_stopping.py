"""How a motor comes to rest, event by event: slowed down by its drive, or running down by itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.behaviour.test_behaviour import STARTS
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.stopping import able, drives_that_slow_down, idle_delays, late_torque_off
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Event

ROOT = Path(__file__).parents[2]
TWO_STAGES = "tests/catalogue/arrangements/two-stage-emergency-stop"
"""The emergency stop takes the run permit at once, and by the timer K3 the torque three seconds later."""

BY_DRIVE = (frozenset({"T1"}), False)
RUNS_DOWN = (frozenset[str](), True)
NOT_STOPPED = (frozenset[str](), False)


def behaviour(name: str) -> Behaviour:
    return Behaviour(read_plan(ROOT / f"{name}.yaml"))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (
            TWO_STAGES,
            {
                "S1=pressed": BY_DRIVE,
                "S3=pressed": BY_DRIVE,
                "K3=elapsed": RUNS_DOWN,
                "Q1=off": RUNS_DOWN,
                "S4=pressed": NOT_STOPPED,
            },
        ),
        (
            "examples/good/lathe",  # its emergency stop and its guard take the torque away at once
            {"S1=pressed": RUNS_DOWN, "S2=open": RUNS_DOWN, "S3=pressed": BY_DRIVE, "F1=tripped": RUNS_DOWN},
        ),
        ("examples/bad/lathe-emergency-stop-only-asks-the-drive", {"S1=pressed": BY_DRIVE, "S2=open": BY_DRIVE}),
        ("examples/good/bench-grinder", {"S1=pressed": RUNS_DOWN, "S3=pressed": NOT_STOPPED}),  # no drive
    ],
)
def test_a_drive_slows_down_where_it_keeps_its_power_and_its_torque(
    name: str, expected: dict[str, tuple[frozenset[str], bool]]
) -> None:
    b = behaviour(name)
    assert {event: drives_that_slow_down(b, "M1", Event(*event.split("="))) for event in expected} == expected


def test_an_event_that_the_plan_does_not_have_stops_nothing() -> None:
    assert drives_that_slow_down(behaviour("examples/good/lathe"), "M1", Event("S9", "pressed")) == NOT_STOPPED


def test_the_end_of_a_delay_takes_the_torque_of_a_drive_that_has_stopped() -> None:
    b = behaviour(TWO_STAGES)
    (late,) = late_torque_off(b)
    assert (late.drive, late.device, late.delay_s) == ("T1", "K3", 3.0)
    assert late.states
    for states in (b.reached, b.pending("K3"), able(b, "T1"), ~b.running("T1")):
        assert not late.states & ~states
    elapsed = next(r for r in b.events if r.event == Event("K3", "elapsed"))
    assert not b.after(elapsed, late.states) & able(b, "T1")


@pytest.mark.parametrize("name", ["examples/good/lathe", "examples/good/bench-grinder"])
def test_without_a_delay_nothing_is_taken_late(name: str) -> None:
    assert list(late_torque_off(behaviour(name))) == []


def with_the_timer(*changes: tuple[str, str]) -> Behaviour:
    text = (ROOT / f"{TWO_STAGES}.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return Behaviour(read_plan_text(text, "two stages"))


WAITS_AT_THE_WRONG_END = ("mode: off-delay", "mode: on-delay")


def test_a_timer_that_waits_when_it_pulls_in_and_drops_out_at_once_does_nothing_at_a_stop() -> None:
    b = with_the_timer(WAITS_AT_THE_WRONG_END)
    (idle,) = idle_delays(b)
    assert (idle.drive, idle.device, idle.delay_s, idle.idle) == ("T1", "K3", 0.0, True)
    assert idle.states
    for states in (b.reached, b.within("K3"), b.running("T1"), ~b.pending("K3")):
        assert not idle.states & ~states
    pressed = next(r for r in b.events if r.event == Event("S1", "pressed"))
    assert not b.after(pressed, idle.states) & able(b, "T1")
    assert list(late_torque_off(b)) == []


@pytest.mark.parametrize(
    "changes",
    [
        (),  # it waits when it drops out, as it must
        (WAITS_AT_THE_WRONG_END, ("11, run: [S1:22, S3:11]", "10, run: [S1:21, S3:11]")),  # S1 leaves the permit
        (WAITS_AT_THE_WRONG_END, ("14, run: [K3:18, T1:STO1]", "14, run: [T1:P24, T1:STO1]"),
         ("15, run: [K3:28, T1:STO2]", "15, run: [T1:P24, T1:STO2]")),  # nor has the timer to do with the torque
        (WAITS_AT_THE_WRONG_END, ("11, run: [S1:22, S3:11]", "14, run: [K3:18, S3:11]")),  # the timer takes the permit as well
    ],
)  # fmt: skip
def test_a_timer_of_a_stop_of_two_stages_is_idle_in_no_other_way(changes: tuple[tuple[str, str], ...]) -> None:
    assert list(idle_delays(with_the_timer(*changes))) == []


def test_a_drive_without_torque_off_can_slow_down_while_it_has_power() -> None:
    b = Behaviour(read_plan_text(STARTS, "bench"))
    assert not b.drive("T1").has_torque
    assert able(b, "T1") == b.drive("T1").bit(b.space, "power") != 0
    torque = with_the_timer()
    part = torque.drive("T1")
    assert (
        able(torque, "T1")
        == part.bit(torque.space, "power") & part.bit(torque.space, "torque")
        != part.bit(torque.space, "power")
    )
