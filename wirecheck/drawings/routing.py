"""The wires of one place: through which gaps they pass, where every device then stands, and the course of each wire."""

from __future__ import annotations

from collections.abc import Sequence

from wirecheck.drawings.boxes import Box
from wirecheck.drawings.courses import Course
from wirecheck.drawings.nets import SIDE, Net, PlaceLayout, Work
from wirecheck.drawings.placing import GAP
from wirecheck.drawings.standing import place_row, row_room

_SWEEPS = 3
"""Rows are set from above to below so often: from the second time on a row also knows what is below it."""


def lay_out(rows: Sequence[Sequence[Box]], nets: Sequence[Net]) -> PlaceLayout:
    """Places the devices of the rows and routes the nets."""
    work = Work(rows, nets, whole=frozenset(n.key[0] for n in nets if not n.exit))
    for number, row in enumerate(rows):
        x = SIDE
        for box in row:
            work.x[box.name] = x
            x += box.width + GAP
            work.where.update(dict.fromkeys(box.slots, (box, number)))
    _choose_gaps(work)
    room = max((row_room(work, n) for n in range(len(rows))), default=0.0)
    for _ in range(_SWEEPS):
        for number in range(len(rows)):
            place_row(work, number, room)
    return Course(work).layout()


def _gap_positions(work: Work, row: int) -> list[float]:
    boxes = work.rows[row]
    return [work.x[b.name] - GAP / 2 for b in boxes] + [work.x[boxes[-1].name] + boxes[-1].width + GAP / 2]


def _choose_gaps(work: Work) -> None:
    """For every wire that must cross rows the gaps with the shortest way, somewhat aside of those that are crowded."""
    used: dict[tuple[int, int], int] = {}
    for net in work.nets:
        if net.exit:
            continue
        (xa, ca, _), (xb, cb, _) = sorted((work.end(k) for k in net.ends), key=lambda e: e[1])
        ways: dict[int, tuple[float, tuple[int, ...]]] = {}
        for row in range(ca, cb):
            gaps = _gap_positions(work, row)
            before = [(cost, way, _gap_positions(work, row - 1)[gap]) for gap, (cost, way) in ways.items()] or [(0.0, (), xa)]
            ways = {}
            for gap, x in enumerate(gaps):
                crowd = 3.0 * used.get((row, gap), 0)
                cost, way = min((c + abs(x - at) + crowd, w) for c, w, at in before)
                ways[gap] = (cost + (abs(x - xb) if row == cb - 1 else 0.0), (*way, gap))
        if ways:
            for row, gap in zip(range(ca, cb), min(ways.values())[1], strict=True):
                work.feeds[net.key, row] = gap
                used[row, gap] = used.get((row, gap), 0) + 1
