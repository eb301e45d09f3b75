"""Correct variants are quiet, and dangerous defects are found to be dangerous, by the judgement of the plain engine.

A sample; `python -m tests.benchmarks.false_alarms` tries them all.
"""

from __future__ import annotations

import re
from collections import Counter

import pytest

from tests.generators.arrangements import ROOT, Arrangement, small_machines, whole_plans
from tests.generators.correct_variants import CHANGES, variant
from tests.generators.false_alarms import STATES, tried_defects, tried_variants
from tests.generators.plan_data import parse, write
from tests.generators.single_edits import SORTS
from tests.oracles.plain_danger import danger_with_a_fault, danger_without_fault, meant_by
from wirecheck.behaviour import Behaviour
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan
from wirecheck.rules.examples import examples_in

PARTS = range(4)
VARIANTS = 60
"""Tried in each part; of some bases none is made."""

DEFECTS = 30
FAULTS_FOR = 15
"""With single faults the plain engine takes seconds for a plan: only one in so many is tried with them here."""


def plan_of(arrangement: Arrangement) -> Plan:
    return read_plan_text(arrangement.text, arrangement.name)


def without_places(plan: Plan) -> str:
    return re.sub(r"Spot\([^)]*\)|lines=\(.*\)$", "", repr(plan), flags=re.DOTALL)


@pytest.mark.parametrize("arrangement", whole_plans(), ids=lambda a: a.name)
def test_a_plan_written_again_is_the_same_plan(arrangement: Arrangement) -> None:
    again = write(parse(arrangement.text))
    assert without_places(plan_of(arrangement)) == without_places(read_plan_text(again, arrangement.name))


@pytest.mark.parametrize("arrangement", whole_plans(), ids=lambda a: a.name)
def test_a_variant_of_a_whole_plan_can_be_read_and_is_another_plan(arrangement: Arrangement) -> None:
    plan = read_plan_text(write(variant(arrangement.data, arrangement.name).data), arrangement.name)
    assert without_places(plan) != without_places(plan_of(arrangement))


@pytest.mark.parametrize("part", PARTS)
def test_correct_variants_are_quiet(part: int) -> None:
    tried = list(tried_variants(small_machines(), seeds(part, VARIANTS)))
    assert [t for t in tried if t.complaints] == []
    assert len(tried) >= 50


def seeds(part: int, count: int) -> range:
    return range(part * count, (part + 1) * count)


def test_the_variants_tried_have_every_change() -> None:
    bases = small_machines()
    tried = [variant(bases[seed % len(bases)].data, seed) for part in PARTS for seed in seeds(part, VARIANTS)]
    changes = Counter(change for v in tried for change in v.changes)
    assert set(changes) >= set(CHANGES) - {"other colours"}  # most small machines state no colours
    assert min(changes[c] for c in CHANGES if c != "other colours") >= 5


def test_a_variant_works_as_the_plan_that_it_was_made_of() -> None:
    """Variants that never move would be quiet as well."""
    for number, base in enumerate(small_machines()[::20]):
        plan = read_plan_text(write(variant(base.data, number).data), base.name)
        assert turning(plan) == turning(plan_of(base)), base.name


def turning(plan: Plan) -> Counter[tuple[str, ...]]:
    """In which directions motors are seen to turn, motor by motor without their names."""
    b = Behaviour(plan)
    motors = [d.name for d in plan.devices.values() if d.kind == "motor"]
    return Counter(tuple(d for d in ("forward", "reverse") if b.moving(m, d) & b.reached) for m in motors)


@pytest.mark.parametrize("part", PARTS)
def test_dangerous_defects_are_found_to_be_dangerous(part: int) -> None:
    bases = small_machines()[part::24]  # few, for what each is for has to be found out
    tried = list(tried_defects(bases, seeds(part, DEFECTS), FAULTS_FOR))
    dangerous = [t for t in tried if t.danger]
    assert [str(t) for t in dangerous if not t.found] == []
    assert len(dangerous) >= DEFECTS // 8
    assert len([t for t in tried if not t.found]) >= DEFECTS // 8
    assert len({t.edit.sort for t in tried}) >= len(SORTS) - 1


LATHE = next(a for a in whole_plans() if a.name == "bench-lathe")

KNOWN = {
    "nothing wrong": ("", "", None),
    "holding contact ahead of the stop": ("5,   run: [S4:13,", "4,   run: [S3:11,", ("M1 is not stopped", "S3=pressed")),
    "start with a break contact": ("WH, contacts: {13-14: NO}", "WH, contacts: {13-14: NC}", ("M1 starts", "Q1=on")),
    "contact of the guard the wrong way": ("{11-12: guard-closed, 21-22: guard-closed}", "{11-12: guard-open, 21-22: guard-open}",
                                           ("M1 is not stopped", "S2=open")),
    "holding contact is a break contact": ("{13-14: NO, 23-24: NO}", "{13-14: NC, 23-24: NO}", ("M1 starts", "Q1=on")),
    "a setting on which nothing hangs": ("on_power_up_with_run: waits", "on_power_up_with_run: starts", None),
}  # fmt: skip
"""What is wrong with the lathe, as an edit of its text, and the danger that it is known to be: common practice, no source."""


@pytest.mark.parametrize(("old", "new", "danger"), KNOWN.values(), ids=KNOWN.keys())
def test_the_judge_of_danger_sees_what_is_known_to_be_wrong(old: str, new: str, danger: tuple[str, str] | None) -> None:
    assert old in LATHE.text
    plan = read_plan_text(LATHE.text.replace(old, new, 1), "edited")
    found = danger_without_fault(plan, meant_by(plan_of(LATHE), STATES), STATES)
    assert (found and (found.what.partition(" while")[0], found.event)) == danger


@pytest.mark.parametrize("name", ["earth-fault-starts-nothing", "earth-fault-loses-no-stop", "broken-wire-loses-no-stop"])
def test_the_judge_of_danger_sees_what_one_fault_does(name: str) -> None:
    """Where the rule's good and bad example differ in the fault alone (IEC 60204-1:2016, 9.4.3)."""
    examples = examples_in(ROOT / "rules" / f"{name}.yaml")
    good, bad = (next(e for e in examples if bool(e.findings) == wrong) for wrong in (False, True))
    plans = [read_plan_text(e.plan, e.name) for e in (good, bad)]
    meant = meant_by(plans[0], STATES)
    assert [danger_without_fault(p, meant, STATES) for p in plans] == [None, None]
    fine, wrong = (danger_with_a_fault(p, meant, STATES) for p in plans)
    assert fine is None
    assert wrong
    assert re.search("earthed" if "earth" in name else "open", wrong.fault)
