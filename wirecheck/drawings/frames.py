"""A place of the plan as a frame: its devices in rows, each terminal's wires on the side where they go, everything routed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wirecheck.drawings.boxes import Box, box
from wirecheck.drawings.figures import BOTTOM, TOP, Figure, Pin
from wirecheck.drawings.nets import EndKey, Net, NetKey, PlaceLayout
from wirecheck.drawings.placing import GAP, SMALL_PLACE, Link, anneal, arrange, rank, split
from wirecheck.drawings.routing import lay_out
from wirecheck.drawings.wiring import End, by_terminal
from wirecheck.plan.model import Terminal

_STEPS = 3000
_FAR_ACROSS, _FAR_DOWN = 700.0, 1


@dataclass(frozen=True, slots=True)
class Inside:
    """What one place holds: figures in the plan's order, the ends at each terminal mark, and which wires leave to which side."""

    figures: tuple[Figure, ...]
    ends: Mapping[Terminal, Sequence[End]]
    exits: Mapping[EndKey, str]

    def nets(self) -> list[Net]:
        """The wires to be routed: whole ones and those that leave; stubs need none."""
        mine = {f.device.name for f in self.figures}
        out: dict[NetKey, Net] = {}
        for some in self.ends.values():
            for end in some:
                if end.stub:
                    continue
                if end.key in self.exits:
                    out[end.key] = Net(end.key, (end.key,), self.exits[end.key])
                elif end.far.device in mine:
                    index = end.wire.index
                    out[index, "ab"] = Net((index, "ab"), ((index, "a"), (index, "b")))
        return [out[key] for key in sorted(out)]


def lay_out_place(inside: Inside, row_count: int, seed: int | None = None) -> PlaceLayout:
    """The place with its devices in so many rows at most; with a seed the order of devices is searched for longer."""
    figures = {f.device.name: f for f in inside.figures}
    large = len(figures) > SMALL_PLACE
    # In a large place the plan's order keeps together what belongs together; in a small one the rows are sorted by what they do.
    order = list(figures) if large else sorted(figures, key=lambda n: rank(figures[n].device.kind))
    rough = {n: box(f, _pinned(inside, f, {})) for n, f in figures.items()}
    widths = {n: b.width for n, b in rough.items()}
    rows = split(order, widths, row_count)
    ranks = {} if large else {n: rank(f.device.kind) for n, f in figures.items()}
    rows = arrange(rows, widths, _links(inside, rough), ranks)
    if large:
        inside = _with_far_stubs(inside, rows, widths)
    row_of = {n: r for r, row in enumerate(rows) for n in row}
    sided = {n: _pinned(inside, f, row_of) for n, f in figures.items()}
    boxes = {n: box(f, sided[n]) for n, f in figures.items()}
    links, widths = _links(inside, boxes), {n: b.width for n, b in boxes.items()}
    if seed is not None:
        rows = anneal(rows, widths, links, ranks, seed, _STEPS)
    rows = arrange(rows, widths, links, ranks)
    boxes = {n: box(f, _by_direction(sided[n], n, rows, inside)) for n, f in figures.items()}
    return lay_out([[boxes[n] for n in row] for row in rows], inside.nets())


def _with_far_stubs(inside: Inside, rows: Sequence[Sequence[str]], widths: Mapping[str, float]) -> Inside:
    """In a large place a wire to a far device is not drawn through: stubs that name the other end are easier to follow."""
    at: dict[str, tuple[float, int]] = {}
    for number, row in enumerate(rows):
        x = 0.0
        for name in row:
            at[name] = (x + widths[name] / 2, number)
            x += widths[name] + GAP

    def far(end: End) -> bool:
        if end.stub or end.key in inside.exits or end.far.device not in at:
            return False
        (x1, row1), (x2, row2) = at[end.terminal.device], at[end.far.device]
        return abs(x1 - x2) > _FAR_ACROSS or abs(row1 - row2) > _FAR_DOWN

    ends = {spot: tuple(end.as_stub() if far(end) else end for end in some) for spot, some in inside.ends.items()}
    return Inside(inside.figures, ends, inside.exits)


def rough_widths(figures: Mapping[str, Figure], ends: Sequence[End]) -> dict[str, float]:
    """About how wide every device will be."""
    inside = Inside(tuple(figures.values()), by_terminal(ends), {})
    return {name: box(f, _pinned(inside, f, {})).width for name, f in figures.items()}


def _pinned(inside: Inside, figure: Figure, row_of: Mapping[str, int]) -> dict[Pin, list[End]]:
    """The ends at each pin; where a terminal shows on both sides, each wire goes to the side of its other end."""
    pins: dict[str, list[Pin]] = {}
    for pin in figure.pins():
        pins.setdefault(pin.mark, []).append(pin)
    out: dict[Pin, list[End]] = {pin: [] for some in pins.values() for pin in some}
    here = row_of.get(figure.device.name, 0)
    for mark, some in pins.items():
        for end in inside.ends.get(Terminal(figure.device.name, mark), ()):
            there = row_of.get(end.far.device, here)
            wanted = TOP if there < here else BOTTOM if there > here else ""
            out[min(some, key=lambda p: (p.side != wanted, len(out[p]), p.side != TOP))].append(end)
    return out


def _links(inside: Inside, boxes: Mapping[str, Box]) -> list[Link]:
    out: list[Link] = []
    for net in inside.nets():
        ends = [(n, b.slots[k]) for k in net.ends for n, b in boxes.items() if k in b.slots]
        name, (dx, pin) = ends[0]
        if net.exit:
            out.append(Link(name, dx, pin.side == BOTTOM, None, exit_right=net.exit == "right"))
        elif len(ends) == 2:
            other, (other_dx, other_pin) = ends[1]
            out.append(Link(name, dx, pin.side == BOTTOM, other, other_dx, other_pin.side == BOTTOM))
    return out


def _by_direction(
    sided: Mapping[Pin, Sequence[End]], name: str, rows: Sequence[Sequence[str]], inside: Inside
) -> dict[Pin, list[End]]:
    """Several wires at one terminal: those that go left stand left, stubs on the far right."""
    place = {n: (at + 0.5) / len(row) for row in rows for at, n in enumerate(row)}

    def wish(end: End) -> float:
        if end.stub:
            return 3.0
        if end.key in inside.exits:
            return 2.0 if inside.exits[end.key] == "right" else -2.0
        return place.get(end.far.device, place[name])

    return {pin: sorted(ends, key=lambda e: (wish(e), e.key)) for pin, ends in sided.items()}
