"""Which of many arrangements of the places is drawn: the one that fills the sheet best."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from wirecheck.drawings.figures import Figure
from wirecheck.drawings.frames import rough_widths
from wirecheck.drawings.grid import PITCH
from wirecheck.drawings.layout import FRAME_GAP, Arrangement, Known, Layout, lay_out
from wirecheck.drawings.measuring import crossings, length
from wirecheck.drawings.nets import HEADER
from wirecheck.drawings.placing import split
from wirecheck.drawings.sheet import SIZES_MM, SMALLEST_SCALE, scale_on
from wirecheck.drawings.wiring import End
from wirecheck.plan.model import Plan

_FEW_PLACES = 4
_SMALL_PLAN, _MEDIUM_PLAN = 40, 60
_CANDIDATES = 48
_TRIES, _FINALISTS = 4, 4
_LARGE_ENOUGH = 1.0
_LARGER_SHEET = 60.0
_CROSSING, _LENGTH, _DETOUR = 0.2, 0.001, 4.0
Columns = tuple[tuple[str | None, ...], ...]


def best_layout(plan: Plan, figures: Mapping[str, Figure], ends: Sequence[End], strip: float) -> Layout:
    """Of several arrangements the one that is best to read.

    The most promising by estimate are laid out, and the best of those are worked over before the last choice. A large plan has
    no time for that: it is laid out as the estimate says.
    """
    if not figures:
        raise ValueError("a plan without devices cannot be drawn")
    guess = Estimate(plan, figures, ends)
    size = len(figures)
    promising = _promising(plan, guess, strip)
    known: Known = {}
    candidates = promising[: _CANDIDATES if size <= _SMALL_PLAN else 4 if size <= _MEDIUM_PLAN else 1]
    found = [(lay_out(plan, figures, ends, a, known), a) for a in candidates]
    ranked = sorted(found, key=lambda pair: -score(pair[0], strip))
    finals = [layout for layout, _ in ranked[:1]]
    if size <= _SMALL_PLAN:
        finals += [lay_out(plan, figures, ends, arrangement, known, _TRIES) for _, arrangement in ranked[:_FINALISTS]]
    return max(finals, key=lambda layout: score(layout, strip))


def _promising(plan: Plan, guess: Estimate, strip: float) -> list[Arrangement]:
    """The arrangements in the order of how large they are likely to come out; of those that come out the same only one."""
    best: dict[tuple[object, ...], tuple[float, float, Arrangement]] = {}
    for arrangement in arrangements(plan):
        key = (arrangement.columns, *(guess.used_rows(name, rows) for name, rows in arrangement.rows.items()))
        if key not in best:
            size = guess.size(arrangement)
            best[key] = (-round(scale_on(*SIZES_MM[0], size, strip), 3), size[0] * size[1], arrangement)
    return [arrangement for _, _, arrangement in sorted(best.values(), key=lambda found: found[:2])]


def score(layout: Layout, strip: float) -> float:
    """How well a layout reads: large on the sheet, few crossings, short wires, no bundles going round."""
    scale = min(scale_on(*SIZES_MM[0], layout.size, strip), _LARGE_ENOUGH)
    wires = list(layout.wires.values())
    sheet = 0.0 if scale >= SMALLEST_SCALE else _LARGER_SHEET
    return 100 * scale - sheet - _CROSSING * crossings(wires) - _LENGTH * length(wires) - _DETOUR * layout.detours


class Estimate:
    """How large a drawing will about be, before anything is routed."""

    def __init__(self, plan: Plan, figures: Mapping[str, Figure], ends: Sequence[End]) -> None:
        place = {d.name: d.place for d in plan.devices.values()}
        self.widths = rough_widths(figures, ends)
        self.held: dict[str | None, list[str]] = {}
        for name in figures:
            self.held.setdefault(place[name], []).append(name)
        self.inner: dict[str | None, int] = dict.fromkeys(self.held, 0)
        self.outer: dict[str | None, int] = dict.fromkeys(self.held, 0)
        for end in ends:
            here, there = place[end.terminal.device], place[end.far.device]
            leaves = here != there or end.wire.cable in plan.cables
            if not end.stub:
                (self.outer if leaves else self.inner)[here] += 1
        self._sizes: dict[tuple[str | None, int], tuple[float, float]] = {}
        self._used: dict[tuple[str | None, int], int] = {}

    def size(self, arrangement: Arrangement) -> tuple[float, float]:
        """Width and height of the drawing in this arrangement."""
        columns = [[self.place(name, arrangement.rows[name]) for name in column] for column in arrangement.columns]
        height = max(sum(h for _, h in column) + FRAME_GAP * (len(column) - 1) for column in columns)
        gutters = 110 * (len(columns) - 1) + 4 * sum(self.outer.values()) / 2
        return sum(max(w for w, _ in column) for column in columns) + gutters, height

    def used_rows(self, name: str | None, rows: int) -> int:
        """How many rows a place really takes where it may take so many."""
        self.place(name, rows)
        return self._used[name, rows]

    def place(self, name: str | None, rows: int) -> tuple[float, float]:
        """Width and height of one place in so many rows."""
        if (name, rows) not in self._sizes:
            used = split(self.held[name], self.widths, rows)
            self._used[name, rows] = len(used)
            widest = max(sum(self.widths[n] + 12 for n in row) for row in used)
            lanes = self.inner[name] / 2 + self.outer[name]
            height = HEADER + len(used) * 90 + PITCH * (2 + 0.75 * lanes)
            self._sizes[name, rows] = (widest + 20 + 8 * len(used) + 3 * self.outer[name], height)
        return self._sizes[name, rows]


def arrangements(plan: Plan) -> Iterator[Arrangement]:
    """Ways to arrange the places: columns of frames, and for each place a number of rows."""
    held: dict[str | None, int] = {}
    for device in plan.devices.values():
        held[device.place] = held.get(device.place, 0) + 1
    for columns in _columns(held):
        for rows in _rows(held):
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


def _rows(held: Mapping[str | None, int]) -> Iterator[Mapping[str | None, int]]:
    main = max(held, key=lambda name: held[name])
    others = [n for n in held if n != main]
    for main_rows in range(1, min(16, held[main]) + 1):
        if len(held) <= _FEW_PLACES:
            for counts in product(*(range(1, min(6, held[n]) + 1) for n in others)):
                yield {main: main_rows, **dict(zip(others, counts, strict=True))}
        else:
            for count in range(1, 6):
                yield {main: main_rows, **{n: min(count, held[n]) for n in others}}
