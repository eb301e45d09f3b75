"""The program's engine, all states at once, against a plain one that looks at every state by itself."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.fast_engine import Seen, differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Plan

ROOT = Path(__file__).parents[2]
FOLDERS = ("examples/bad", "examples/good", "tests/benchmarks/plans", "tests/catalogue/arrangements")
PLANS = [path for folder in FOLDERS for path in sorted((ROOT / folder).glob("*.yaml"))]
SEEDS = range(500)


def plan_of(seed: int) -> Plan:
    return read_plan_text(random_circuit(seed), f"random circuit {seed}")


@cache
def both(seed: int) -> tuple[Seen, Seen]:
    plan = plan_of(seed)
    one, kept = fast(plan)
    return one, plain(PlainEngine(plan), kept)


@pytest.mark.parametrize("path", PLANS, ids=lambda p: p.stem)
def test_agrees_on_example(path: Path) -> None:
    plan = read_plan(path)
    one, kept = fast(plan)
    assert differences(one, plain(PlainEngine(plan), kept)) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_agrees_on_random_circuit(seed: int) -> None:
    assert differences(*both(seed)) == []


def test_random_circuits_are_worth_comparing() -> None:
    texts = {random_circuit(seed) for seed in SEEDS}
    assert len(texts) == len(SEEDS)
    seen = [both(seed)[1] for seed in SEEDS]
    assert sum(any(s.energised.values()) for s in seen) > 440
    assert sum(any(turn != "stopped" for m in s.motion.values() for turn in m.values()) for s in seen) > 240
    assert sum(s.races for s in seen) > 80
    assert sum(s.oscillates for s in seen) > 30
    assert sum(bool(s.shorts) for s in seen) > 60


def test_a_changed_contact_is_seen() -> None:
    """The comparison itself can fail."""
    text = random_circuit(0)
    one, kept = fast(plan_of(0))
    turned = text.replace(": NC", ": was NC").replace(": NO", ": NC").replace(": was NC", ": NO")
    assert turned != text
    assert differences(one, plain(PlainEngine(read_plan_text(turned, "turned")), kept)) != []
