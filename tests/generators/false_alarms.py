"""Variants and single-edit defects of the correct plans, checked: what is found in each, and what the plain engine says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import NamedTuple

from tests.generators.arrangements import Arrangement, is_quiet, loud
from tests.generators.correct_variants import variant
from tests.generators.plan_data import write
from tests.generators.single_edits import Edit, Marks, single_edit
from tests.oracles.plain_danger import (
    Danger,
    Meant,
    TooManyStates,
    danger_with_a_fault,
    danger_without_fault,
    meant_by,
)
from wirecheck.errors import PlanErrors
from wirecheck.pipeline import check
from wirecheck.plan import read_plan_text

STATES = 6000
"""So many states the plain engine looks at; a plan that has more is not judged."""


class TriedVariant(NamedTuple):
    """A correct variant: of what plan, by which changes, and what was found that must not be."""

    base: str
    changes: tuple[str, ...]
    complaints: list[str]


class TriedDefect(NamedTuple):
    """A defect that could be judged: of what plan, its danger by the plain engine, and whether the program found one."""

    base: str
    edit: Edit
    danger: Danger | None
    found: bool
    incomplete: bool

    def __str__(self) -> str:
        return f"{self.base}: {self.edit.text}: {self.danger}"


def tried_variants(bases: Sequence[Arrangement], seeds: Iterable[int]) -> Iterator[TriedVariant]:
    """One variant for each seed, of the bases in turn; not of a base that is good only under its own rule."""
    for seed in seeds:
        base = bases[seed % len(bases)]
        made = variant(base.data, seed)
        plan = read_plan_text(write(made.data), f"variant {seed} of {base.name}")
        report = check(plan)
        complaints = loud(report.findings) + list(report.incomplete)
        if not complaints or is_quiet(base.text):
            yield TriedVariant(base.name, made.changes, complaints)


@cache
def _known(base: Arrangement) -> tuple[Meant, Marks] | None:
    """What a base is for, and its terminals; None where it is not fit to be judged by."""
    plan = read_plan_text(base.text, base.name)
    try:
        meant = meant_by(plan, STATES)
        fit = danger_without_fault(plan, meant, STATES) is None and is_quiet(base.text)
    except TooManyStates:
        return None
    return (meant, {d.name: d.marks for d in plan.devices.values()}) if fit else None


def tried_defects(bases: Sequence[Arrangement], seeds: Iterable[int], faults_for: int = 1) -> Iterator[TriedDefect]:
    """One defect for each seed, of the bases in turn, where the reader takes it and the plain engine can judge it.

    Single faults are tried where no danger shows without them and the program has found none: in one of `faults_for` such plans.
    """
    for seed in seeds:
        base = bases[seed % len(bases)]
        known = _known(base)
        edit = single_edit(base.data, known[1], seed) if known else None
        if known and edit:
            tried = _tried(base, known[0], edit, with_faults=seed % faults_for == 0)
            if tried:
                yield tried


def _tried(base: Arrangement, meant: Meant, edit: Edit, *, with_faults: bool) -> TriedDefect | None:
    try:
        plan = read_plan_text(write(edit.data), base.name)
        danger = danger_without_fault(plan, meant, STATES)
        report = check(plan)
        found = any(f.severity == "danger" for f in report.findings)
        if with_faults and not found and danger is None:
            danger = danger_with_a_fault(plan, meant, STATES)
    except (PlanErrors, TooManyStates, ValueError):  # refused by the reader, too large, or without one state at rest
        return None
    return TriedDefect(base.name, edit, danger, found, bool(report.incomplete))
