"""Every single fault and what it does to each function: the table behind `wirecheck faults`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from wirecheck.behaviour.faults import EXCLUDED, Fault, excluded
from wirecheck.behaviour.verdicts import NO_EFFECT, UNSEEN, VERDICTS, Effect, Held
from wirecheck.facts import Facts
from wirecheck.findings import Evidence
from wirecheck.rules.functions import function_summaries, losses_by_sneaks
from wirecheck.rules.showing import fault_evidence


@dataclass(frozen=True, slots=True)
class Row:
    """The faults that act alike, and what they do.

    `effects` has a verdict for every function, by its title; `lost` a trace for each function that is lost, `starts` one for each
    motor that starts by itself. The traces have the first of the faults.
    """

    faults: tuple[Fault, ...]
    effects: Mapping[str, str]
    lost: Mapping[str, Evidence]
    starts: Mapping[str, Evidence]

    @property
    def worst(self) -> int:
        """The place of the worst verdict in `VERDICTS`; a start by itself is as bad as a loss that nothing shows."""
        worst = max((VERDICTS.index(verdict) for verdict in self.effects.values()), default=0)
        return VERDICTS.index(UNSEEN) if self.starts else worst

    @property
    def evidence(self) -> Evidence:
        """The shortest trace of the worst that they do."""
        lost = [e for name, e in self.lost.items() if VERDICTS.index(self.effects[name]) == self.worst]
        return min((*lost, *self.starts.values()), key=lambda e: (len(e.events), e.fault_after), default=Evidence())


@dataclass(frozen=True, slots=True)
class FaultTable:
    """All single faults of a plan, worst first.

    `functions` has a summary for each function, by the title that the rows use; `excluded` says what is not taken to happen, and
    `rests_on` has the rows of such faults that would take a function away. `kinds` are the folders of device kinds that the plan
    was read with: whoever plays a trace needs them too.
    """

    plan: str
    functions: Mapping[str, Mapping[str, object]]
    motors: tuple[str, ...]
    rows: tuple[Row, ...]
    excluded: tuple[str, ...]
    rests_on: tuple[Row, ...]
    kinds: tuple[str, ...] = ()


@dataclass(slots=True)
class _Group:
    """Effects of the same faults, one from each view that can tell of them."""

    faults: list[Fault]
    parts: list[tuple[Sequence[str], Effect]]


def fault_table(facts: Facts) -> FaultTable:
    """The table of a plan; TooLarge where it has too many states."""
    while True:
        table = _table(facts)
        traces = (e for row in (*table.rows, *table.rests_on) for e in (*row.lost.values(), *row.starts.values()))
        free = facts.free_in(event for evidence in traces for event in evidence.events)
        if not free:
            return table
        facts.look_closer(free)  # a trace that moves a relay as it likes proves nothing


def _table(facts: Facts) -> FaultTable:
    titles = _titles(facts.held_functions)
    groups = list(_groups(facts, titles))
    rows = (_row(g, [f for f in g.faults if f.kind != EXCLUDED], titles) for g in groups)
    resting = (_row(g, [f for f in g.faults if f.kind == EXCLUDED], titles) for g in groups)
    return FaultTable(
        facts.plan.file,
        dict(zip(titles, function_summaries(facts), strict=True)),
        tuple(device.name for device in facts.of_kind("motor")),
        tuple(sorted(_merged(r for r in rows if r is not None), key=lambda r: -r.worst)),
        excluded(facts.plan),
        tuple(r for r in resting if r is not None and (r.lost or r.starts)),
    )


def _merged(rows: Iterable[Row]) -> Iterator[Row]:
    """Rows without any trace that have the same effects become one: nothing in the table tells them apart."""
    quiet: dict[tuple[tuple[str, str], ...], list[Fault]] = {}
    for row in rows:
        if row.lost or row.starts:
            yield row
        else:
            quiet.setdefault(tuple(row.effects.items()), []).extend(row.faults)
    for effects, faults in quiet.items():
        yield Row(tuple(faults), dict(effects), {}, {})


def _titles(functions: Sequence[Held]) -> list[str]:
    """For each function a title of its own: its name, with what it must stop and what causes it where need be."""
    ways = (
        [held.name for held in functions],
        [f"{held.name} ({' '.join(held.must)})" for held in functions],
        [f"{held.name} ({held.cause.event}, {' '.join(held.must)})" for held in functions],
    )
    return [next((way[i] for way in ways if way.count(way[i]) == 1), ways[2][i]) for i in range(len(functions))]


def _groups(facts: Facts, titles: Sequence[str]) -> Iterator[_Group]:
    """The faults that act alike in every view."""
    title_of = {id(held): title for held, title in zip(facts.held_functions, titles, strict=True)}
    views = [([title_of[id(held)] for held in functions], effects) for functions, effects in facts.fault_effects]
    where: dict[str, tuple[tuple[int, int], ...]] = {}
    faults: dict[str, Fault] = {}
    for view, (_, effects) in enumerate(views):
        for number, effect in enumerate(effects):
            for fault in effect.faults:
                faults.setdefault(fault.text, fault)
                where[fault.text] = (*where.get(fault.text, ()), (view, number))
    for text, losses in losses_by_sneaks(
        facts
    ).items():  # a verdict that only comes about through other loads, as a view of its own
        for functions, effect in losses if text in faults else ():
            where[text] = (*where[text], (len(views), 0))
            views.append(([title_of[id(held)] for held in functions], (effect,)))
    together: dict[tuple[tuple[int, int], ...], list[Fault]] = {}
    for text, places in where.items():
        together.setdefault(places, []).append(faults[text])
    for places, alike in together.items():
        yield _Group(alike, [(views[view][0], views[view][1][number]) for view, number in places])


def _row(group: _Group, faults: Sequence[Fault], titles: Sequence[str]) -> Row | None:
    """The row of a group, None where none of its faults is wanted."""
    if not faults:
        return None
    verdicts = dict.fromkeys(titles, NO_EFFECT)
    lost: dict[str, Evidence] = {}
    starts: dict[str, Evidence] = {}
    for names, effect in group.parts:
        verdicts |= dict(zip(names, effect.verdicts, strict=True))
        lost |= {names[i]: fault_evidence(shown, faults[0]) for i, shown in effect.lost.items()}
        starts |= {motor: fault_evidence(shown, faults[0]) for motor, shown in effect.starts.items()}
    return Row(tuple(faults), verdicts, lost, starts)
