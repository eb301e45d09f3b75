"""Which of many arrangements of the places is drawn: the one that fills the sheet best."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from wirecheck.drawings.figures import Figure
from wirecheck.drawings.layout import Arrangement, Known, Layout, lay_out
from wirecheck.drawings.sheet import SIZES_MM, scale_on
from wirecheck.drawings.wiring import End
from wirecheck.plan.model import Plan

_FEW_PLACES = 4
_SMALL_PLAN = 60
_DETOUR_COST = 0.04
Columns = tuple[tuple[str | None, ...], ...]


def best_layout(plan: Plan, figures: Mapping[str, Figure], ends: Sequence[End], strip: float) -> Layout:
    """Of several arrangements the one that shows the drawing largest on the sheet, with few bundles going round."""
    known: Known = {}
    best: tuple[float, Layout] | None = None
    for arrangement in arrangements(plan):
        layout = lay_out(plan, figures, ends, arrangement, known)
        score = scale_on(*SIZES_MM[0], layout.size, strip) - _DETOUR_COST * layout.detours
        if best is None or score > best[0] + 1e-9:
            best = (score, layout)
    if best is None:
        raise ValueError("a plan without devices cannot be drawn")
    return best[1]


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
