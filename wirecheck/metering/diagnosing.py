"""From readings back to the wiring errors that explain them, and the reading to take next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wirecheck.metering.choosing import DeadTest, settings_of
from wirecheck.metering.dead import CLOSED, OHMS, OPEN
from wirecheck.metering.errors import WiringError
from wirecheck.metering.matrix import Matrix, Reading
from wirecheck.plan.model import Plan, Terminal

LEVELS = (CLOSED, OHMS, OPEN)

MOST_STARTS = 16
"""From so many terminals at most the next reading is looked for."""

MOST_LOOKED_AT = 40
"""The terminals of so many explanations, the likeliest, are looked at for it."""


class Observed(NamedTuple):
    """A reading that was taken, and what the meter may have meant: more than one level where it read on a border."""

    reading: Reading
    levels: frozenset[int]


class Diagnosis(NamedTuple):
    """What explains the readings, the likeliest first; whether no error does; the readings that are not as they should be.

    `next` is the reading that best tells the explanations apart, with what each of them would make it read; None where no reading
    tells any more. `alike` are then sets of explanations that no reading tells apart.
    """

    errors: tuple[WiringError, ...]
    healthy: bool
    wrong: tuple[Observed, ...]
    next: Reading | None = None
    then: tuple[tuple[frozenset[int], tuple[int, ...]], ...] = ()


def diagnose(plan: Plan, test: DeadTest, observed: Sequence[Observed]) -> Diagnosis:
    """The single errors that explain all readings; none, and not healthy, where it takes more than one error."""
    explains = explaining(test.matrix, observed)
    healthy = bool(explains & test.matrix.healthy)
    wrong = tuple(o for o in observed if not o.levels & _expected(test.matrix, o.reading))
    numbers = ranked(test.matrix, explains & ~test.matrix.healthy)
    following = None if healthy else next_reading(plan, test, explains)
    then = _then(test.matrix, following, numbers) if following else ()
    return Diagnosis(tuple(test.errors[n] for n in numbers), healthy, wrong, following, then)


def explaining(matrix: Matrix, observed: Iterable[Observed]) -> int:
    """The errors with which all of this can be read."""
    found = matrix.full
    for reading, levels in observed:
        reads, may = matrix.reads(reading), 0
        for level in levels:
            may |= reads.may(level)
        found &= may
    return found


def ranked(matrix: Matrix, explains: int) -> list[int]:
    """The numbers of errors, those that happen most often first."""
    numbers = [n for n in range(len(matrix.errors)) if explains >> n & 1]
    return sorted(numbers, key=lambda n: (matrix.errors[n].likely, n))


def _expected(matrix: Matrix, reading: Reading) -> frozenset[int]:
    least, most = matrix.expected(reading)
    return frozenset(range(least, most + 1))


def next_reading(plan: Plan, test: DeadTest, explains: int) -> Reading | None:
    """The reading after which the fewest explanations remain in the worst case, of equals the one that is least trouble."""
    matrix, total = test.matrix, explains.bit_count()
    best: tuple[tuple[int, int, int], Reading] | None = None
    for reading in _tries(plan, test, explains):
        reads = matrix.reads(reading)
        remain = max((reads.may(level) & explains).bit_count() for level in LEVELS)
        if remain < total:
            apart = plan.devices[reading.a.device].place != plan.devices[reading.b.device].place
            key = (remain, len(reading.setting), int(apart))
            if best is None or key < best[0]:
                best = (key, reading)
            if remain <= (total + 1) // 2:  # no reading with two outcomes does better
                break
    return best[1] if best else None


def _tries(plan: Plan, test: DeadTest, explains: int) -> Iterator[Reading]:
    """Readings near what may be wrong: between terminals that the explanations touch, then from these to all others."""
    near = [t for t in _touched(test, explains, plan) if t not in test.isolation.live and plan.devices[t.device].kind != "mains"]
    starts = near[:MOST_STARTS]
    others = [t for t in test.reachable if t not in near]
    settings = list(settings_of(plan, test.matrix.supply_on, test.isolation.by))
    for ends in (near, others):
        for setting in settings:
            for place, start in enumerate(starts):
                for end in near[place + 1 :] if ends is near else others:
                    yield Reading(setting, start, end)


def _touched(test: DeadTest, explains: int, plan: Plan) -> list[Terminal]:
    """The terminals that the explanations change, those of the likeliest first."""
    wires = {f"wire {w.index}": (w.a, w.b) for w in plan.wires}
    contacts = {f"contact {c}": (d.terminal(c.a), d.terminal(c.b)) for d in plan.devices.values() for c in d.contacts}
    found: dict[Terminal, None] = {}
    for number in ranked(test.matrix, explains & ~test.matrix.healthy)[:MOST_LOOKED_AT]:
        error = test.errors[number]
        for ident in sorted((*error.removed, *error.turned)):
            found |= dict.fromkeys((*wires.get(ident, ()), *contacts.get(ident, ()), *_link(plan, ident)))
        found |= dict.fromkeys(t for joint in error.added for t in joint)
    return list(found)


def _link(plan: Plan, ident: str) -> tuple[Terminal, ...]:
    device, _, marks = ident.removeprefix("link ").partition(":")
    if not ident.startswith("link ") or device not in plan.devices:
        return ()
    a, _, b = marks.partition(" ")[0].partition("-")
    return Terminal(device, a), Terminal(device, b)


def _then(matrix: Matrix, reading: Reading, numbers: Sequence[int]) -> tuple[tuple[frozenset[int], tuple[int, ...]], ...]:
    """What each explanation would make a reading show: the levels, with the places of the explanations in their order."""
    reads = matrix.reads(reading)
    groups: dict[frozenset[int], list[int]] = {}
    for place, number in enumerate(numbers):
        levels = frozenset(level for level in LEVELS if reads.may(level) >> number & 1)
        groups.setdefault(levels, []).append(place)
    return tuple((levels, tuple(places)) for levels, places in groups.items())
