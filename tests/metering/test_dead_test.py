"""The dead test: what a meter reads with an error is what a plain look at the wrongly wired plan says."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest

from tests.oracles.wrong_wiring import may_read, paths_with
from wirecheck.metering.choosing import DeadTest, dead_test
from wirecheck.metering.dead import CLOSED, OHMS, OPEN, paths_of
from wirecheck.metering.errors import KINDS
from wirecheck.metering.matrix import Reading
from wirecheck.plan import read_plan
from wirecheck.plan.model import Terminal

ROOT = Path(__file__).parents[2]
ALL = sorted((ROOT / "examples").glob("[bg]*/*.yaml"))
SOME = [ROOT / "examples" / "good" / f"{name}.yaml" for name in ("lathe", "pillar-drill", "bench-grinder", "mill")]
BENCH = ROOT / "tests" / "benchmarks" / "plans" / "bench-lathe.yaml"


@cache
def known(path: Path) -> DeadTest:
    return dead_test(read_plan(path))


@pytest.mark.parametrize("path", SOME, ids=lambda p: p.stem)
def test_readings_with_an_error_are_those_of_the_wrongly_wired_plan(path: Path) -> None:
    test, plan, draw = known(path), read_plan(path), random.Random(1)
    by_kind = [[i for i, e in enumerate(test.errors) if e.kind == kind] for kind in KINDS]
    for number in (n for group in by_kind for n in draw.sample(group, min(12, len(group)))):
        wrong = paths_with(plan, test.errors[number])
        for candidate in test.readings:
            reads = test.matrix.reads(candidate.reading)
            levels = {level for level in (CLOSED, OHMS, OPEN) if reads.may(level) >> number & 1}
            assert levels == may_read(plan, wrong, candidate.reading, test.matrix.supply_on), (
                test.errors[number].text,
                candidate,
            )


@pytest.mark.parametrize("path", SOME, ids=lambda p: p.stem)
def test_an_error_that_counts_as_found_changes_a_reading_and_one_that_does_not_changes_none_of_those_taken(path: Path) -> None:
    test, plan, draw = known(path), read_plan(path), random.Random(2)
    numbers = draw.sample(range(len(test.errors)), 60) + [n for n in range(len(test.errors)) if not test.found >> n & 1][:20]
    for number in numbers:
        wrong = paths_with(plan, test.errors[number])
        seen = [
            c
            for c in test.readings
            if not may_read(plan, wrong, c.reading, test.matrix.supply_on) & set(range(c.least, c.most + 1))
        ]
        assert bool(seen) == bool(test.found >> number & 1), test.errors[number].text


@pytest.mark.parametrize("path", ALL, ids=lambda p: p.stem)
def test_the_plan_as_it_should_be_passes_its_own_test_and_earths_come_first(path: Path) -> None:
    test, plan = known(path), read_plan(path)
    for candidate in test.readings:
        expected = set(range(candidate.least, candidate.most + 1))
        assert may_read(plan, paths_of(plan), candidate.reading, test.matrix.supply_on) == expected
    first = [c.reading for c in test.readings[: test.earths]]
    assert first
    assert all(r.b.mark == "PE" and not r.setting for r in first)
    wired = {t for w in plan.wires for t in (w.a, w.b)}
    parts = {d.terminal("PE") for d in plan.devices.values() if "PE" in d.marks and d.kind != "mains"} & wired
    assert parts <= {r.b for r in first}


@pytest.mark.parametrize("path", ALL, ids=lambda p: p.stem)
def test_nothing_live_is_touched(path: Path) -> None:
    test, plan = known(path), read_plan(path)
    for reading in (c.reading for c in test.readings):
        assert not {reading.a, reading.b} & test.isolation.live
        assert not {e.device for e in reading.setting} & set(test.isolation.by)
    if not test.isolation.plug:
        assert test.isolation.by == ("Q1",)
        mains = next(d for d in plan.devices.values() if d.kind == "mains")
        assert {mains.terminal(m) for m in mains.marks if m != "PE"} <= test.isolation.live


def test_only_errors_on_the_supply_side_stay_unfound_in_the_lathe() -> None:
    test, plan = known(ROOT / "examples" / "good" / "lathe.yaml"), read_plan(ROOT / "examples" / "good" / "lathe.yaml")
    at_the_supply = {w.number for w in plan.wires if "G0" in (w.a.device, w.b.device)}
    left = [e for i, e in enumerate(test.errors) if not test.found >> i & 1]
    assert left
    assert all(set(e.wires) & at_the_supply for e in left)


@pytest.mark.parametrize("path", [*ALL, BENCH], ids=lambda p: p.stem)
def test_no_more_readings_than_wires_and_nearly_every_error_found(path: Path) -> None:
    test, plan = known(path), read_plan(path)
    assert len(test.readings) <= len(plan.wires)
    assert test.found.bit_count() >= 0.95 * len(test.errors)


def test_end_to_end_finds_less() -> None:
    """Testing every wire from end to end, at rest: more readings, and what goes past a switch is not seen."""
    for path in (*SOME, BENCH):
        test, plan = known(path), read_plan(path)
        live = test.isolation.live
        found = 0
        for wire in plan.wires:
            if not {wire.a, wire.b} & live:
                found |= test.matrix.told_from(Reading((), wire.a, wire.b), CLOSED, CLOSED)
        assert found.bit_count() < test.found.bit_count()


def test_a_run_of_three_a_change_over_and_a_link_are_errors_of_their_own() -> None:
    plan = read_plan(
        "x.yaml",
        "wirecheck: 1\nmachine: {name: x}\ndevices:\n"
        "  G0: {kind: mains, phases: 1, voltage: 230 V, plug: 13 A}\n"
        "  S1: {kind: push-button, contacts: {11-12-14: CO}}\n  H1: {kind: lamp}\n  H2: {kind: lamp}\n"
        "  X1: {kind: terminal-block, links: [[1, 2, 3]]}\n"
        "wires:\n  - {number: 1, run: [G0:L, X1:1, S1:11]}\n  - {number: 2, run: [S1:12, H1:X1]}\n"
        "  - {number: 3, run: [S1:14, H2:X1]}\n  - {number: N, run: [H1:X2, H2:X2, G0:N]}\n  - {number: 1, run: [X1:3, X1:4]}\n",
    )
    test = dead_test(plan)
    texts = [e.text for e in test.errors]
    assert "wire 1 [G0:L–X1:1] is missing or loose" in texts
    assert "wire 1 [X1:1–S1:11] is missing or loose" in texts
    assert "contact S1:11-12-14 is of the wrong form: make and break side exchanged" in texts
    assert "the link 1-2-3 of X1 is missing" in texts
    assert "wire 1 [G0:L–X1:1] is on X1:2 instead of X1:1" not in texts  # the link makes them one
    assert test.isolation.plug
    assert [texts[i] for i in range(len(texts)) if not test.found >> i & 1] == []


def test_where_nothing_isolates_the_sheet_asks_for_it() -> None:
    plan = read_plan(
        "x.yaml",
        "wirecheck: 1\nmachine: {name: x}\ndevices:\n  G0: {kind: mains, phases: 1, voltage: 230 V}\n  H1: {kind: lamp}\n"
        "wires:\n  - {number: 1, run: [G0:L, H1:X1]}\n  - {number: 2, run: [G0:N, H1:X2]}\n",
    )
    test = dead_test(plan)
    assert (test.isolation.by, test.isolation.plug, test.isolation.live) == ((), False, frozenset())
    from wirecheck.sheets.dead_test import dead_tables

    assert dead_tables(plan)[0].notes[0].startswith("1. The plan shows no isolator and no plug")


def test_a_contact_that_is_never_wired_is_no_error() -> None:
    lathe = known(ROOT / "examples" / "good" / "lathe.yaml")
    assert all(Terminal("Q1", "13") != t for e in lathe.errors for j in e.added for t in j)


def test_positions_that_come_about_by_themselves_are_told_as_what_a_hand_does() -> None:
    from wirecheck.sheets.dead_test import dead_tables

    plan = read_plan(Path(__file__).parents[1] / "benchmarks" / "plans" / "bench-lathe.yaml")
    how = next(note for note in dead_tables(plan)[0].notes if note.startswith("4."))
    assert how.endswith("Blown here: the fuse is taken out. Tripped here: the breaker is switched off by hand.")
    assert "plug is pulled" not in how
