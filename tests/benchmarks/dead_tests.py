"""The dead test against testing every wire from end to end, on all examples: `python -m tests.benchmarks.dead_tests`.

With `--diagnose` also how every single error of every example is found again, which takes some minutes.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path
from time import process_time

from tests.metering.test_diagnosing import Bench, judged
from wirecheck.metering.choosing import DeadTest, dead_test
from wirecheck.metering.dead import CLOSED
from wirecheck.metering.matrix import Reading
from wirecheck.plan import read_plan
from wirecheck.plan.model import Plan

ROOT = Path(__file__).parents[2]
PLANS = [Path(__file__).parent / "plans" / "bench-lathe.yaml", *sorted((ROOT / "examples").glob("[bg]*/*.yaml"))]


def end_to_end(plan: Plan, test: DeadTest) -> int:
    """The errors that are found by measuring every wire from its one end to the other, nothing operated."""
    found = 0
    for wire in plan.wires:
        if not {wire.a, wire.b} & test.isolation.live:
            found |= test.matrix.told_from(Reading((), wire.a, wire.b), CLOSED, CLOSED)
    return found


def main() -> None:
    """Print a line for each plan, and the sums."""
    sums = [0] * 5
    for path in PLANS:
        plan = read_plan(path)
        began = process_time()
        test = dead_test(plan)
        seconds = process_time() - began
        own, other = test.found.bit_count(), end_to_end(plan, test).bit_count()
        numbers = [len(test.readings), len(plan.wires), own, other, len(test.errors)]
        sums = [a + b for a, b in zip(sums, numbers, strict=True)]
        print(f"{path.stem:48} {_words(numbers)}  {seconds:.1f} s")
        if "--diagnose" in sys.argv:
            apart, first, seen = judged(Bench(plan), random.Random(1))
            words = f"{seen} errors seen: {apart} told from all others, alone in the end; {first} alone or first"
            print(f"{'':48} {words}")
    print(f"{'all':48} {_words(sums)}")


def _words(numbers: list[int]) -> str:
    readings, wires, own, other, errors = numbers
    found = f"{own / errors:6.1%} of {errors:5} errors found, end to end {other / errors:6.1%}"
    return f"{readings:4} readings, {wires:4} wires, {readings / wires:.2f}; {found}"


if __name__ == "__main__":
    main()
