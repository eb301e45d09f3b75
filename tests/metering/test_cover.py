"""The choice of few columns against the least choice that a solver finds."""

from __future__ import annotations

import random

import pytest
from pysat.examples.hitman import Hitman

from wirecheck.metering.cover import cover


def held(columns: list[int], chosen: list[int]) -> int:
    found = 0
    for place in chosen:
        found |= columns[place]
    return found


@pytest.mark.parametrize("seed", range(60))
def test_everything_is_held_and_nothing_chosen_is_needless(seed: int) -> None:
    draw = random.Random(seed)
    rows = draw.randint(1, 40)
    columns = [
        sum(1 << r for r in range(rows) if draw.random() < draw.choice((0.05, 0.2, 0.5))) for _ in range(draw.randint(1, 40))
    ]
    chosen = cover(columns)
    assert held(columns, chosen) == held(columns, list(range(len(columns))))
    for place in chosen:
        assert held(columns, [p for p in chosen if p != place]) != held(columns, chosen)


def test_it_comes_close_to_the_least_choice() -> None:
    ours = least = 0
    for seed in range(40):
        draw = random.Random(seed)
        columns = [sum(1 << r for r in range(30) if draw.random() < 0.15) for _ in range(40)]
        sets = [[p for p, c in enumerate(columns) if c >> r & 1] for r in range(30)]
        with Hitman(bootstrap_with=[s for s in sets if s], htype="sorted") as solver:
            least += len(solver.get())
        ours += len(cover(columns))
    assert least <= ours <= 1.1 * least


def test_of_equal_columns_the_first_is_taken() -> None:
    assert cover([0b11, 0b11, 0b01]) == [0]
    assert cover([]) == []
    assert cover([0, 0]) == []
