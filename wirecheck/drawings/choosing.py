"""Which of many arrangements of the places is drawn: the one that fills the sheet best."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from wirecheck.drawings.figures import Figure
from wirecheck.drawings.layout import Arrangement, Known, Layout, lay_out
from wirecheck.drawings.measuring import crossings, length
from wirecheck.drawings.sheet import SIZES_MM, scale_on
from wirecheck.drawings.wiring import End
from wirecheck.plan.model import Plan

_FEW_PLACES = 4
_SMALL_PLAN = 60
_TRIES, _FINALISTS = 4, 3
_LARGE_ENOUGH = 1.05
_CROSSING, _LENGTH, _DETOUR = 0.2, 0.001, 4.0
Columns = tuple[tuple[str | None, ...], ...]


def best_layout(plan: Plan, figures: Mapping[str, Figure], ends: Sequence[End], strip: float) -> Layout:
    """Of several arrangements the one that is best to read; the few best are worked over before the last choice."""
    if not figures:
        raise ValueError("a plan without devices cannot be drawn")
    known: Known = {}
    found = [(lay_out(plan, figures, ends, a, known), a) for a in arrangements(plan)]
    ranked = sorted(range(len(found)), key=lambda n: (-score(found[n][0], strip), n))
    finals = [found[n][0] for n in ranked[:1]]
    if len(figures) <= _SMALL_PLAN:
        finals += [lay_out(plan, figures, ends, found[n][1], {}, _TRIES) for n in ranked[:_FINALISTS]]
    return max(finals, key=lambda layout: score(layout, strip))


def score(layout: Layout, strip: float) -> float:
    """How well a layout reads: large on the sheet, few crossings, short wires, no bundles going round."""
    scale = min(scale_on(*SIZES_MM[0], layout.size, strip), _LARGE_ENOUGH)
    wires = list(layout.wires.values())
    return 100 * scale - _CROSSING * crossings(wires) - _LENGTH * length(wires) - _DETOUR * layout.detours


def arrangements(plan: Plan) -> Iterator[Arrangement]:
    """Ways to arrange the places: columns of frames, and for each place a number of rows."""
    held: dict[str | None, int] = {}
    for device in plan.devices.values():
        held[device.place] = held.get(device.place, 0) + 1
    if not held:
        return
    for columns in _columns(held):
        for rows in _rows(held, len(plan.devices) <= _SMALL_PLAN):
            yield Arrangement(columns, rows)


def _columns(held: Mapping[str | None, int]) -> list[Columns]:
    """The largest place as the trunk; what has no place (the supply) left of it or above it, the others right or left."""
    main = max(held, key=lambda name: held[name])
    outside = tuple(n for n in held if n is None and n is not main)
    rest = tuple(n for n in held if n not in (main, *outside))
    found: list[Columns] = [(outside, (main,), rest), ((*outside, main), rest), ((main,), (*outside, *rest))]
    if len(rest) < _FEW_PLACES:
        for count in range(1, len(rest)):
            lefts = combinations(rest, count)
            found += [((*outside, *left), (main,), tuple(n for n in rest if n not in left)) for left in lefts]
    else:
        for count in (2, 3):
            share = -(-len(rest) // count)
            found.append((outside, (main,), *(rest[n : n + share] for n in range(0, len(rest), share))))
    return list(dict.fromkeys(tuple(c for c in columns if c) for columns in found))


def _rows(held: Mapping[str | None, int], small: bool) -> Iterator[Mapping[str | None, int]]:
    main = max(held, key=lambda name: held[name])
    others = [n for n in held if n != main]
    most = 6 if small else 3
    for main_rows in range(1, min(most, held[main]) + 1):
        if len(held) <= _FEW_PLACES and small:
            for counts in product(*(range(1, min(4, held[n]) + 1) for n in others)):
                yield {main: main_rows, **dict(zip(others, counts, strict=True))}
        else:
            for count in range(1, 4):
                yield {main: main_rows, **{n: min(count, held[n]) for n in others}}
