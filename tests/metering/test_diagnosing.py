"""Every single wiring error is put into plans, measured by the sheet, and looked for in what the readings explain."""

from __future__ import annotations

import random
from functools import cache
from itertools import combinations, count, islice
from pathlib import Path

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.wrong_wiring import may_read, paths_with
from wirecheck.metering.choosing import dead_test, settings_of
from wirecheck.metering.dead import OPEN
from wirecheck.metering.diagnosing import LEVELS, Diagnosis, Observed, diagnose, explaining, next_reading, ranked
from wirecheck.metering.matrix import Reading
from wirecheck.plan import read_plan
from wirecheck.plan.model import Plan

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("[bg]*/*.yaml"))
LATHE = ROOT / "examples" / "good" / "lathe.yaml"

MOST_WIRES = 10
"""Larger generated plans are left to the benchmark: the smaller ones have every sort of error as well."""


class Bench:
    """A plan with its dead test; every error is measured as the plan's readings would come out with it."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.test = plan, dead_test(plan)
        self.following: dict[int, Reading | None] = {}

    def shown(self, reading: Reading, number: int, draw: random.Random) -> Observed:
        """What the meter shows with an error; where it may show several things, one of them by lot."""
        reads = self.test.matrix.reads(reading)
        return Observed(reading, frozenset({draw.choice([level for level in LEVELS if reads.may(level) >> number & 1])}))

    def sheet(self, number: int, draw: random.Random) -> int:
        """What explains the filled-in sheet of a machine with this error."""
        return explaining(self.test.matrix, [self.shown(c.reading, number, draw) for c in self.test.readings])

    def followed(self, explains: int, number: int, draw: random.Random) -> int:
        """What is left after all the readings that are asked for next."""
        while explains.bit_count() > 1:
            if explains not in self.following:
                self.following[explains] = next_reading(self.plan, self.test, explains)
            reading = self.following[explains]
            if reading is None:
                break
            left = explains & explaining(self.test.matrix, [self.shown(reading, number, draw)])
            explains = left
        return explains


@cache
def bench(path: Path) -> Bench:
    return Bench(read_plan(path))


def generated() -> list[Plan]:
    plans = (read_plan("generated.yaml", random_circuit(seed)) for seed in count())
    return list(islice((p for p in plans if len(p.wires) <= MOST_WIRES), 100))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_the_true_error_is_among_those_that_explain_the_sheet(path: Path) -> None:
    at, draw = bench(path), random.Random(3)
    for number in range(len(at.test.errors)):
        explains = at.sheet(number, draw)
        assert explains >> number & 1, at.test.errors[number].text
        if at.test.found >> number & 1:
            assert not explains & at.test.matrix.healthy, at.test.errors[number].text


def judged(at: Bench, draw: random.Random) -> tuple[int, int, int]:
    """Of the errors that the sheet sees: how many there are that readings can tell from all others, how many of these come out
    alone or first, and how many of all do.
    """
    apart = first = seen = 0
    for number in range(len(at.test.errors)):
        explains = at.sheet(number, draw)
        if explains & at.test.matrix.healthy:
            continue
        left = at.followed(explains, number, draw)
        assert left >> number & 1, at.test.errors[number].text
        top = ranked(at.test.matrix, left)[0] == number
        apart, first, seen = apart + (left.bit_count() == 1), first + top, seen + 1
    return apart, first, seen


def test_further_readings_lead_to_the_true_error_in_an_example() -> None:
    apart, first, seen = judged(bench(ROOT / "examples" / "good" / "pillar-drill.yaml"), random.Random(4))
    assert apart >= 0.75 * seen  # the rest puts the same metal together: no meter tells which of two alike was meant
    assert first >= apart
    assert first >= 0.85 * seen


def test_further_readings_lead_to_the_true_error_in_a_hundred_generated_plans() -> None:
    draw, sums = random.Random(5), [0, 0, 0]
    for plan in generated():
        sums = [a + b for a, b in zip(sums, judged(Bench(plan), draw), strict=True)]
    apart, first, seen = sums
    assert seen > 4000
    assert first >= apart >= 0.7 * seen


def test_what_further_readings_do_not_tell_apart_no_reading_tells_apart() -> None:
    at, draw = bench(LATHE), random.Random(6)
    left = {
        at.followed(at.sheet(n, draw), n, draw) for n in draw.sample(range(len(at.test.errors)), 120) if at.test.found >> n & 1
    }
    groups = [ranked(at.test.matrix, one) for one in left if one.bit_count() > 1]
    assert groups
    ends = sorted({t for w in at.plan.wires for t in (w.a, w.b)} - at.test.isolation.live)
    settings = list(settings_of(at.plan, at.test.matrix.supply_on, at.test.isolation.by))
    for group in groups[:4]:
        paths = [paths_with(at.plan, at.test.errors[number]) for number in group[:3]]
        for setting in settings:
            for a, b in draw.sample(list(combinations(ends, 2)), 25):
                reading = Reading(setting, a, b)
                shown = [may_read(at.plan, p, reading, at.test.matrix.supply_on) for p in paths]
                assert set.intersection(*shown), [at.test.errors[n].text for n in group]


def measured(text: str) -> Diagnosis:
    """The diagnosis of the lathe with the error of this text, measured by the plain meter."""
    at = bench(LATHE)
    error = next(e for e in at.test.errors if e.text.startswith(text))
    paths = paths_with(at.plan, error)
    seen = [
        Observed(c.reading, frozenset({max(may_read(at.plan, paths, c.reading, at.test.matrix.supply_on))}))
        for c in at.test.readings
    ]
    return diagnose(at.plan, at.test, seen)


@pytest.mark.parametrize(
    "text",
    [
        "wire 3 [S2:12–T1:STO1] is missing",
        "contact S3:11-12 is of the wrong form",
        "the link U1-W2 of M1 is missing",
        "wire 7 [S4:14–T1:DI1] is on S4:13",
    ],
)
def test_a_plain_meter_on_the_wrong_machine_leads_to_the_error(text: str) -> None:
    found = measured(text)
    assert not found.healthy
    assert found.wrong
    assert any(error.text.startswith(text) for error in found.errors[:3])


def test_a_loose_wire_comes_before_what_seldom_happens() -> None:
    found = measured("wire 3 [S2:12–T1:STO1] is missing")
    assert found.errors[0].text == "wire 3 [S2:12–T1:STO1] is missing or loose"
    assert found.next is not None
    assert sorted(place for _, places in found.then for place in places) == list(range(len(found.errors)))


def test_readings_that_no_single_error_explains() -> None:
    at = bench(LATHE)
    seen = [Observed(c.reading, frozenset({OPEN})) for c in at.test.readings]
    found = diagnose(at.plan, at.test, seen)
    assert (found.errors, found.healthy, found.next) == ((), False, None)
    assert len(found.wrong) > 10


def test_readings_as_they_should_be_are_explained_by_no_error_at_all() -> None:
    at = bench(LATHE)
    seen = [Observed(c.reading, frozenset({c.most})) for c in at.test.readings]
    found = diagnose(at.plan, at.test, seen)
    assert found.healthy
    assert not found.wrong
    assert found.next is None
