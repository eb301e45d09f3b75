"""Every fault of every plan there is, both engines: there from the start, and coming at any moment.

Run by hand:

    python -m tests.benchmarks.all_faults [--jobs 2] [--circuits 500] [--only lathe]

The tests do the same with all faults of the smaller examples and with some of everything else; this takes some forty minutes
of processor time. It prints a line for each plan and what the two engines do not agree on; exit status 1 where there is anything.
"""

from __future__ import annotations

import argparse
import gc
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

from tests.behaviour.test_faults_against_plain import Both
from tests.generators.random_circuits import random_circuit
from wirecheck.behaviour.faults import single_faults
from wirecheck.plan import read_plan_text

ROOT = Path(__file__).parents[2]
FOLDERS = ("examples/good", "examples/bad", "tests/benchmarks/plans", "tests/catalogue/arrangements")


class Compared(NamedTuple):
    """What came of one plan."""

    name: str
    states: int
    faults: int
    seconds: float
    complaints: tuple[str, ...]


def plans(circuits: int, only: str) -> Iterator[tuple[str, str]]:
    """Name and text of every plan."""
    files = [path for folder in FOLDERS for path in sorted((ROOT / folder).glob("*.yaml"))]
    every = [(str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")) for path in files]
    every += [(f"random circuit {seed}", random_circuit(seed)) for seed in range(circuits)]
    yield from ((name, text) for name, text in every if only in name)


def compare(given: tuple[str, str]) -> Compared:
    """All faults of one plan, both ways."""
    name, text = given
    gc.collect()
    gc.disable()  # it would look through all that the engines remember, again and again
    began = time.process_time()
    both, faults = Both(read_plan_text(text, name)), single_faults(read_plan_text(text, name))
    complaints = tuple(c for fault in faults for c in both.complaints(fault))
    gc.enable()
    return Compared(name, len(both.states), len(faults), time.process_time() - began, complaints)


def main() -> None:
    """Compare all, tell."""
    parser = argparse.ArgumentParser(description="All faults of all plans in both engines.")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--circuits", type=int, default=500)
    parser.add_argument("--only", default="", help="plans with this in their name")
    given = parser.parse_args()
    seen = []
    with ProcessPoolExecutor(given.jobs) as pool:
        for one in pool.map(compare, plans(given.circuits, given.only)):
            seen.append(one)
            print(f"{one.name}: {one.faults} faults, {one.states} states without any, {one.seconds:.1f} s", flush=True)
            print(*(f"   {complaint}" for complaint in one.complaints), sep="\n", end="\n" if one.complaints else "", flush=True)
    faults, seconds = sum(one.faults for one in seen), sum(one.seconds for one in seen)
    wrong = sum(bool(one.complaints) for one in seen)
    print(f"{len(seen)} plans, {faults} faults, each both ways, {seconds:.0f} s of processor time: {wrong} plans not agreed on")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
