"""Few readings that find every wiring error that can be found: candidates, then the one that finds most, again and again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wirecheck.metering.cover import cover
from wirecheck.metering.dead import CLOSED, OHMS, OPEN, Path, joins, paths_of, states_in
from wirecheck.metering.errors import WiringError, wiring_errors
from wirecheck.metering.isolation import Isolation, isolation_of
from wirecheck.metering.matrix import Matrix, Reading, Setting
from wirecheck.plan.model import Event, Plan, Terminal
from wirecheck.plan.potentials import Joined

BY_HAND = frozenset(
    {
        "push-button", "foot-switch", "limit-switch", "selector", "key-switch", "emergency-stop", "guard-switch", "isolator",
        "circuit-breaker", "residual-current-device", "fuse", "overload-relay", "plug-connector", "custom",
    }
)  # fmt: skip
"""What a person can put into its other positions with the supply off: pressed, turned, opened, taken out, tripped by its test."""

MOST_STARTS = 90
"""From so many terminals at most readings are looked for with nothing operated, those at the ends of wires' ways first."""

MOST_STARTS_OPERATED, ALL_STARTS_OPERATED = 12, 240
"""So many for one device operated, and for all of them together."""

WORK = 250_000
"""Starts times errors: in a large plan fewer starts are looked at, so that the sheet is there in reasonable time."""


MOST_PAIRS = 12
"""So many pairs of devices operated together are tried for an error that nothing simpler finds."""

MOST_TRIES = 120
"""So many searches of that sort at most."""

PLAIN = ((CLOSED, CLOSED), (OPEN, OPEN), (CLOSED, OHMS), (OHMS, OHMS), (OHMS, OPEN))
"""What may be expected, the plainest first; the last is `not closed`."""


class Candidate(NamedTuple):
    """A reading, what is expected, and the errors that it finds."""

    reading: Reading
    least: int
    most: int
    finds: int


class DeadTest(NamedTuple):
    """The chosen readings in the order in which they are taken, the first `earths` of them of earth conductors.

    `errors` are all errors; `found` those that some chosen reading finds and `findable` those that any could, as sets.
    """

    matrix: Matrix
    isolation: Isolation
    readings: tuple[Candidate, ...]
    earths: int
    errors: tuple[WiringError, ...]
    found: int
    reachable: tuple[Terminal, ...]


def dead_test(plan: Plan) -> DeadTest:
    """The dead test of a plan: as few readings as find every error that readings can find.

    Notes
    -----
    Every candidate reading finds a set of errors; the choice is a set cover, see `cover`. Earth conductors come first and are
    measured one by one, whatever else would find an error in them.
    """
    paths = paths_of(plan)
    isolation = isolation_of(plan, paths)
    errors = wiring_errors(plan, paths)
    matrix = Matrix(plan, paths, errors, isolation.on)
    reachable = tuple(t for t in _wired(plan) if t not in isolation.live and not _at_the_supply(plan, isolation, t))
    earths = list(_earths(plan, matrix, reachable))
    found = 0
    for candidate in earths:
        found |= candidate.finds
    candidates = _distinct(plan, _candidates(plan, paths, matrix, reachable))
    rest = matrix.healthy - 1 & ~found
    for candidate in candidates:
        rest &= ~candidate.finds
    candidates = _distinct(plan, (*candidates, *_with_two_operated(plan, paths, matrix, reachable, rest)))
    chosen = [candidates[place] for place in cover([c.finds & ~found for c in candidates])]
    for candidate in chosen:
        found |= candidate.finds
    readings = (*earths, *sorted(chosen, key=lambda c: _order(plan, c)))
    return DeadTest(matrix, isolation, readings, len(earths), errors, found, reachable)


def settings_of(plan: Plan, isolation_on: frozenset[str], by: Sequence[str]) -> Iterator[Setting]:
    """Nothing operated, then every device that a person can operate put into each of its other positions."""
    yield ()
    for device in plan.devices.values():
        if device.kind in BY_HAND and device.name not in by and device.contacts:
            rest = device.positions[1] if device.name in isolation_on else device.positions[:1][0] if device.positions else ""
            yield from ((Event(device.name, p),) for p in device.positions if p != rest)


def candidate_of(matrix: Matrix, reading: Reading, plain: bool = False) -> Candidate | None:
    """A reading as a candidate; None where the plan does not tell what it should be, or `plain` and it is not closed or open."""
    least, most = matrix.expected(reading)
    if (least, most) == (CLOSED, OPEN) or (plain and least != most) or (plain and least == OHMS):
        return None
    return Candidate(reading, least, most, matrix.told_from(reading, least, most))


def _earths(plan: Plan, matrix: Matrix, reachable: Sequence[Terminal]) -> Iterator[Candidate]:
    """From the earth bar to the earth terminal of every part that has one."""
    bars = [t for t in reachable if plan.devices[t.device].kind == "earth-bar"]
    mains = [t for t in reachable if plan.devices[t.device].kind == "mains" and t.mark == "PE"]
    start = next(iter((*bars, *mains)), None)
    ends = [t for t in reachable if t.mark == "PE" and t != start]
    for end in ends if start else ():
        candidate = candidate_of(matrix, Reading((), start, end), plain=True) if start else None
        if candidate and candidate.most == CLOSED:
            yield candidate


def _candidates(plan: Plan, paths: tuple[Path, ...], matrix: Matrix, reachable: Sequence[Terminal]) -> Iterator[Candidate]:
    count: dict[Terminal, int] = dict.fromkeys(reachable, 0)
    for wire in plan.wires:
        for end in (wire.a, wire.b):
            count[end] = count.get(end, 0) + 1
    by_ends = sorted(reachable, key=lambda t: count[t])
    isolation = isolation_of(plan, paths)
    settings = list(settings_of(plan, matrix.supply_on, isolation.by))
    at_rest = _within_reason(matrix, MOST_STARTS)
    operated = max(2, min(MOST_STARTS_OPERATED, ALL_STARTS_OPERATED // len(settings)))
    for setting in settings:
        starts = by_ends[:at_rest]
        if setting:
            near = _moved(plan, paths, setting, matrix.supply_on)
            starts = [t for t in by_ends if t in near][:operated]
        for place, start in enumerate(starts):
            done = {*starts[:place], start}
            for end in (t for t in reachable if t not in done):
                candidate = candidate_of(matrix, Reading(setting, start, end), plain=bool(setting))
                if candidate and candidate.finds:
                    yield candidate


def _within_reason(matrix: Matrix, most: int) -> int:
    """From how many starts to search at most: fewer where there are many errors."""
    return min(most, WORK // max(1, len(matrix.errors)) + 1)


def _with_two_operated(
    plan: Plan, paths: tuple[Path, ...], matrix: Matrix, reachable: Sequence[Terminal], rest: int
) -> Iterator[Candidate]:
    """Readings that find what is left: two devices operated at once, from the terminals where the error is."""
    own = {p.ident: p for p in paths}
    single = [setting for setting in settings_of(plan, matrix.supply_on, isolation_of(plan, paths).by) if setting]
    moved = {setting: _moved(plan, paths, setting, matrix.supply_on) for setting in single}
    tries: dict[tuple[Setting, Terminal], None] = {}
    for number, error in enumerate(matrix.errors):
        if rest >> number & 1:
            ends = {t for ident in (*error.removed, *error.turned) for t in (own[ident].a, own[ident].b)}
            ends |= {t for joint in error.added for t in joint}
            starts = [t for t in reachable if t in ends]
            near = [s for s in single if moved[s] & set(starts)]
            pairs = [(*one, *two) for i, one in enumerate(near) for two in near[i + 1 :] if one[0].device != two[0].device]
            tries |= dict.fromkeys((setting, start) for setting in ((), *pairs[:MOST_PAIRS]) for start in starts)
    for setting, start in list(tries)[: _within_reason(matrix, MOST_TRIES)]:
        for end in (t for t in reachable if t != start):
            candidate = candidate_of(matrix, Reading(setting, start, end))
            if candidate and candidate.finds & rest:
                yield candidate


def _at_the_supply(plan: Plan, isolation: Isolation, terminal: Terminal) -> bool:
    """Whether a terminal stands beside live ones where the supply comes in: nobody is sent there with a probe."""
    return plan.devices[terminal.device].kind == "mains" and bool(isolation.live)


def _wired(plan: Plan) -> list[Terminal]:
    """The terminals with a wire or a link, which a probe finds."""
    linked = (d.terminal(mark) for d in plan.devices.values() for link in d.links for mark in link)
    return list(dict.fromkeys([*(t for w in plan.wires for t in (w.a, w.b)), *linked]))


def _moved(plan: Plan, paths: tuple[Path, ...], setting: Setting, supply_on: frozenset[str]) -> set[Terminal]:
    """The terminals in the nets that a setting joins or parts."""
    rest, now = states_in(plan, (), supply_on), states_in(plan, setting, supply_on)
    joined = Joined()
    for path in paths:
        if path.most == 0 and (joins(path, rest) or joins(path, now)):
            joined.join((path.a, path.b))
    changed = [p for p in paths if p.closed_in is not None and joins(p, rest) != joins(p, now)]
    roots = {joined.root(t) for p in changed for t in (p.a, p.b)}
    return {t for p in paths for t in (p.a, p.b) if joined.root(t) in roots}


def _trouble(plan: Plan, candidate: Candidate) -> tuple[int, int, int]:
    """How much trouble a reading is: two places to reach at once, devices to hold, anything but closed to interpret."""
    reading = candidate.reading
    apart = plan.devices[reading.a.device].place != plan.devices[reading.b.device].place
    return int(apart), len(reading.setting), PLAIN.index((candidate.least, candidate.most))


def _distinct(plan: Plan, candidates: Iterable[Candidate]) -> list[Candidate]:
    """Of readings that find the same errors the one that is least trouble."""
    best: dict[int, Candidate] = {}
    for candidate in candidates:
        other = best.get(candidate.finds)
        if other is None or _trouble(plan, candidate) < _trouble(plan, other):
            best[candidate.finds] = candidate
    return sorted(best.values(), key=lambda c: _trouble(plan, c))


def _order(plan: Plan, candidate: Candidate) -> tuple[object, ...]:
    """Nothing operated first, then device by device; within that place by place."""
    devices = list(plan.devices)
    reading = candidate.reading
    moved = [(devices.index(e.device), plan.devices[e.device].positions.index(e.position)) for e in reading.setting]
    places = [plan.devices[t.device].place or "" for t in (reading.a, reading.b)]
    return (moved, *sorted(places), devices.index(reading.a.device), reading.a.mark)


def kinds_found(test: DeadTest) -> dict[str, tuple[int, int]]:
    """For every kind of error how many there are and how many are found."""
    counts: dict[str, tuple[int, int]] = {}
    for number, error in enumerate(test.errors):
        all_of, found = counts.get(error.kind, (0, 0))
        counts[error.kind] = (all_of + 1, found + (test.found >> number & 1))
    return counts
