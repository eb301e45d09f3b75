"""The cause-and-effect chart and the live test, held against the plan played event by event, one state at a time."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest

from tests.generators.random_circuits import random_circuit
from wirecheck import pipeline
from wirecheck.behaviour.rehearsal import Played
from wirecheck.facts import Facts
from wirecheck.findings import Report
from wirecheck.plan import read_plan
from wirecheck.sheets.all import all_tables
from wirecheck.sheets.cause_chart import cause_chart, undecided
from wirecheck.sheets.effects import OFF, ON, Cause, causes_of
from wirecheck.sheets.live_test import is_tried, live_steps, live_test

ROOT = Path(__file__).parents[2] / "examples"
NAMES = ["good/lathe", "good/pillar-drill", "good/mill", "good/bench-grinder", "bad/sander-guard-closing-restarts"]
HEAVY = ["good/surface-grinder"]


@cache
def facts(name: str) -> Facts:
    return Facts(read_plan(ROOT / f"{name}.yaml"))


@cache
def causes(name: str) -> dict[str, Cause]:
    return {cause.event: cause for cause in causes_of(facts(name))}


def row(name: str, event: str) -> dict[str, str]:
    chart = cause_chart(facts(name))
    return next(dict(zip(chart.columns, r, strict=True)) for r in chart.rows if r[1] == event)


@pytest.mark.parametrize(
    ("name", "event", "motor", "back"),
    [
        ("good/lathe", "S2=open", "stops: torque off (0)", "stays stopped"),
        ("good/lathe", "S3=pressed", "stops: ramp 2 s (2)", "stays stopped"),
        ("good/lathe", "S4=pressed", "forward / goes over to forward", "runs on"),
        ("good/lathe", "Q1=off", "stops: power off (0)", "stays stopped"),
        ("good/mill", "S6=pressed", "forward", "stops"),
        ("good/pillar-drill", "S1=forward", "forward / goes over to forward", "stops"),
        ("good/bench-grinder", "F4=tripped", "stops: power off (0)", "stays stopped"),
        ("bad/sander-guard-closing-restarts", "S4=open", "stops: power off (0)", "STARTS AGAIN"),
    ],
)
def test_what_a_cause_does(name: str, event: str, motor: str, back: str) -> None:
    found = row(name, event)
    assert (next(v for k, v in found.items() if k.startswith("M1")), found["put back"]) == (motor, back)


def test_a_reset_acts_when_it_is_let_go() -> None:
    found = row("good/surface-grinder", "S5=pressed")
    assert found["K8"] == "in when put back"
    assert next(v for k, v in found.items() if k.startswith("M1")) == ""


def test_a_broken_wire_says_what_it_does_to_its_function() -> None:
    chart = cause_chart(facts("good/lathe"))
    wires = [r for r in chart.rows if r[0] == "broken wires"]
    assert wires
    assert all(r[3] == "stops, or cannot start" for r in wires)
    lost = cause_chart(facts("bad/sander-guard-energises-to-stop"))
    assert any("LOST" in cell for r in lost.rows if r[0] == "broken wires" for cell in r)


def moving(step: Played, motor: str) -> bool:
    return step.motion[motor] != "stopped"


def in_or_on(step: Played, name: str, what: str) -> bool:
    return moving(step, name) if what == "motor" else name in step.coils or name in step.loads


def walk(name: str, draw: random.Random) -> list[str]:
    """A walk that mostly runs: start, let go or not, something happens, put back or not."""
    b = facts(name).view_of("M1")
    starts = [str(r.event) for r in b.events if b.is_start(r.event)]
    events = ["G0=on", "Q1=on"]
    for _ in range(5):
        for event in (draw.choice(starts), draw.choice(list(causes(name)))):
            events += [event, *([_rest(name, event)] if draw.random() < 0.7 else [])]
    return events


def _rest(name: str, event: str) -> str:
    device = facts(name).plan.devices[event.partition("=")[0]]
    on = device.kind in ("mains", "isolator")
    keep = device.kind in ("selector", "key-switch")
    return event if keep else f"{device.name}={device.positions[1 if on else 0]}"


@pytest.mark.parametrize("name", NAMES)
def test_walks_at_random_never_do_what_the_chart_does_not_say(name: str) -> None:
    """What changes with no start held has its cell, and what the chart says stops has stopped, in whatever state it comes."""
    plan, chart, changed, stopped = facts(name).plan, causes(name), 0, 0
    effects = {d.name: d.kind for d in plan.devices.values() if d.kind in ("motor", "relay", "contactor")}
    momentary = {
        d.name for d in plan.devices.values() if d.role in ("start", "forward", "reverse", "jog") and d.kind != "selector"
    }
    for seed in range(15):
        events = walk(name, random.Random(seed))
        steps = pipeline.rehearse(plan, events)
        if any(step.outcomes != 1 for step in steps):
            continue
        at = {n: d.positions[0] for n, d in plan.devices.items() if d.positions}
        for before, after in zip(steps, steps[1:], strict=False):
            device, _, position = after.event.partition("=")
            new, at[device] = at[device] != position, position
            held = any(at[n] == plan.devices[n].positions[1] for n in momentary)
            if after.event not in chart or not new:
                continue
            for effect, kind in effects.items():
                was, now = (in_or_on(step, effect, kind) for step in (before, after))
                cells = chart[after.event].cells.get(effect, ())
                if was != now and not (now and held):
                    assert (ON if now else OFF) in {cell.turns for cell in cells}, (seed, after.event, effect)
                    changed += 1
                if was and any(c.turns == OFF and "or not" not in c.words and not ("held" in c.words and held) for c in cells):
                    assert not now, (seed, after.event, effect)
                    stopped += 1
    assert changed > 20
    assert stopped > 10


@pytest.mark.parametrize("name", [*NAMES, *HEAVY])
def test_every_step_of_the_live_test_plays_as_the_sheet_says(name: str) -> None:
    plan, played = facts(name).plan, 0
    for step in live_steps(facts(name)):
        if not step.covers:
            continue
        way, _, then = step.do.partition(", then ")
        events = way.rpartition(": ")[2].split()
        steps = pipeline.rehearse(plan, [*events, *([then] if then else [])])
        at = steps[len(events)] if all(s.outcomes == 1 for s in steps) else None
        if at is None:
            continue
        for event, effect in step.covers:
            assert event in events
            if plan.devices[effect].kind != "motor":
                continue
            assert moving(at, effect) == (not step.expected.startswith(f"{effect} stops")), step
            if then:
                again = "STARTS AGAIN" in step.expected or "starts again" in step.expected
                assert moving(steps[-1], effect) == again, step
        played += 1
    assert played > 5


@pytest.mark.parametrize("name", [*NAMES, *HEAVY])
def test_the_live_test_tries_every_cell_that_a_person_can_try(name: str) -> None:
    covered = {pair for step in live_steps(facts(name)) for pair in step.covers}
    wanted = {(c.event, effect) for c in causes(name).values() if is_tried(facts(name), c) for effect in c.cells}
    assert wanted
    assert wanted <= covered


@pytest.mark.parametrize("name", NAMES)
def test_every_stop_is_tried_from_every_way_of_running(name: str) -> None:
    steps = [s for s in live_steps(facts(name)) if s.stage == "3 no belt" and s.covers]
    ways = {s.do.partition(":")[0] for s in steps if " by " in s.do}
    assert ways
    for stop in ("emergency-stop", "guard-switch"):
        for device in facts(name).of_kind(stop):
            event = f"{device.name}={device.positions[1]}"
            tried = {s.do.partition(":")[0] for s in steps if any(e == event for e, _ in s.covers)}
            assert tried == ways, event


def test_the_stages_are_in_the_order_of_first_power_and_nothing_live_is_lifted() -> None:
    sheet = live_test(facts("good/mill"))
    stages = [r[1] for r in sheet.rows]
    assert list(dict.fromkeys(stages)) == ["1 control only", "2 no motor", "3 no belt", "4 whole, chuck empty"]
    assert stages == sorted(stages)
    lifted = [r[2] for r in sheet.rows if "Lift" in r[2]]
    assert lifted
    assert all("lock off" in words and "G0" not in words and "PE" not in words for words in lifted)


@pytest.mark.parametrize(("name", "reverses"), [("good/lathe", True), ("good/bench-grinder", False)])
def test_before_reverse_is_tried_somebody_looks_how_the_chuck_is_held(name: str, reverses: bool) -> None:
    rows = [(r[1], f"{r[2]} {r[3]}") for r in live_test(facts(name)).rows]
    shaft = next(i for i, (stage, words) in enumerate(rows) if stage == "3 no belt" and "which way the shaft of M1" in words)
    spindle = next(i for i, (stage, words) in enumerate(rows) if stage.startswith("4") and "which way the spindle" in words)
    held = [i for i, (_, words) in enumerate(rows) if "Screwed on, it comes off in reverse" in words]
    assert bool(held) == reverses
    tried = [i for i, (stage, words) in enumerate(rows) if stage.startswith("4") and " by " in words and "=pressed" in words]
    assert tried
    assert shaft < min([*held, spindle]) <= spindle < tried[0]


def test_where_not_everything_could_be_decided_no_chart_is_made() -> None:
    table = undecided(["too many states"])
    assert table.rows == ()
    assert "too many states" in table.notes


@pytest.mark.parametrize("seed", [0, 1, 5, 8, 24, 34, 36])
def test_every_cell_is_tried_and_no_document_fails_on_circuits_drawn_by_lot(seed: int) -> None:
    known = Facts(read_plan("drawn.yaml", random_circuit(seed)))
    names = [table.name for table in all_tables(known, Report("drawn.yaml", ()), lambda _: [])]
    assert len(names) == len(set(names)) == 12
    covered = {pair for step in live_steps(known) for pair in step.covers}
    assert {(c.event, effect) for c in causes_of(known) if is_tried(known, c) for effect in c.cells} <= covered
