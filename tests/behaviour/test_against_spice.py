"""What is said to be energised, against voltages from a circuit simulator."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.fast_engine import Seen, fast, view_of
from tests.oracles.plain_engine import PlainEngine
from tests.oracles.spice import Island, told_by_conduction, voltages
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

LEAST, MOST = 0.85, 1.30
STATES = 2200


def plans() -> list[Plan]:
    """Random circuits without diodes, enough for that many states."""
    texts = [(seed, random_circuit(seed)) for seed in range(300)]
    return [read_plan_text(text, f"random circuit {seed}") for seed, text in texts if "kind: diode" not in text]


def islands(plan: Plan, number: int) -> list[Island]:
    """A dozen random states of one circuit."""
    engine = PlainEngine(plan)
    reached = sorted(engine.reach(60), key=lambda state: state.values)
    return [Island(engine, s) for s in Random(number).sample(reached, min(12, len(reached)))]


@pytest.mark.ngspice
def test_energised_is_full_voltage_and_dead_is_none(tmp_path: Path) -> None:
    chosen: list[tuple[Island, tuple[Seen, frozenset[str]]]] = []
    for number, plan in enumerate(plans()):
        answers = fast(plan)
        chosen += [(island, answers) for island in islands(plan, number)]
    chosen = chosen[:STATES]
    assert len(chosen) == STATES
    compared = {True: 0, False: 0}
    for (island, (seen, kept)), measured in zip(chosen, voltages([i for i, _ in chosen], tmp_path), strict=True):
        energised = island.engine.energised(island.state)
        assert seen.energised[view_of(island.engine, island.state, kept)] == energised
        for name, volts in measured.items():
            rated = island.engine.consumers[name].rating.low_v
            if rated is not None and told_by_conduction(island, name):
                where = (island.engine.plan.file, name, volts, sorted(island.engine.view(island.state)))
                assert (name in energised) == (LEAST * rated <= volts <= MOST * rated), where
                assert volts < 0.05 * rated or volts >= LEAST * rated, where
                compared[name in energised] += 1
    assert compared[True] > 450
    assert compared[False] > 2500
