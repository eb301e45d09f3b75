"""How each wire is shown: drawn through or as a stub at both its ends, and what is written there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from wirecheck.drawings.grid import GRID, up_to
from wirecheck.drawings.lettering import SMALLEST, clean, shorten, width
from wirecheck.plan.model import Plan, Terminal, Wire

NUMBER_SIZE, DETAIL_SIZE = 7.0, SMALLEST
LINE_STEP = 6.0
MARKS_HEIGHT = 10.0
_ROOM_BESIDE_WIRE = 6.0
_MOST_WIDTH = 64.0


@dataclass(frozen=True, slots=True)
class End:
    """One end of a wire at a terminal. `stub` ends in an arrow and names the other end; `lines` stand beside the wire."""

    wire: Wire
    side: str
    stub: bool
    lines: tuple[str, ...]
    marks: tuple[int, ...] = ()

    @property
    def key(self) -> tuple[int, str]:
        """Unique among all ends of a plan."""
        return (self.wire.index, self.side)

    @property
    def terminal(self) -> Terminal:
        """Where it is."""
        return self.wire.a if self.side == "a" else self.wire.b

    @property
    def far(self) -> Terminal:
        """Where its other end is."""
        return self.wire.b if self.side == "a" else self.wire.a

    @property
    def room(self) -> float:
        """Width that the wire and its words take, on the grid."""
        widths = [width(line, NUMBER_SIZE if n == 0 else DETAIL_SIZE, n == 0) for n, line in enumerate(self.lines)]
        widest = max([*widths, 8.6 * len(self.marks)])
        return max(16.0, up_to(widest + _ROOM_BESIDE_WIRE, GRID))

    @property
    def height(self) -> float:
        """Height of the words beside the wire."""
        return LINE_STEP * len(self.lines) + (MARKS_HEIGHT if self.marks else 0) + 5

    def as_stub(self) -> End:
        """The same end of a wire that is not drawn through."""
        return replace(self, stub=True, lines=(*self.lines, _to(self.far)))


def ends_of(plan: Plan, marks: Mapping[int, tuple[int, ...]]) -> list[End]:
    """Both ends of every wire; `marks` are the numbers of the findings on a wire, by its index."""
    out: list[End] = []
    for wire in plan.wires:
        stub = is_stub(plan, wire)
        for side, far in (("a", wire.b), ("b", wire.a)):
            # The numbers of findings stand at the first end alone; the colour behind the wire leads there from the other.
            numbers = marks.get(wire.index, ()) if side == "a" or stub else ()
            out.append(End(wire, side, stub, _lines(wire, far if stub else None), numbers))
    return out


def is_stub(plan: Plan, wire: Wire) -> bool:
    """Whether the wire is shown as a stub: a protective conductor that is no core of a cable. Many come from one bar."""
    if wire.cable is not None and wire.cable in plan.cables:
        return False
    kinds = {plan.devices[t.device].kind for t in (wire.a, wire.b)}
    return wire.colour == "GNYE" or bool(kinds & {"earth-bar", "frame"})


def _lines(wire: Wire, far: Terminal | None) -> tuple[str, ...]:
    size = wire.size_text.replace("mm2", "").replace("mm\u00b2", "").strip()
    detail = " ".join(part for part in (wire.colour, size) if part)
    core = f"core {wire.core}" if wire.core else ""
    lines = [shorten(clean(wire.number), NUMBER_SIZE, _MOST_WIDTH, True), detail, core, _to(far) if far else ""]
    return tuple(shorten(clean(line), DETAIL_SIZE, _MOST_WIDTH) if n else line for n, line in enumerate(lines) if line)


def _to(far: Terminal) -> str:
    return shorten(clean(f"to {far}"), DETAIL_SIZE, _MOST_WIDTH)


def by_terminal(ends: Iterable[End]) -> dict[Terminal, list[End]]:
    """The ends at each terminal, in the plan's order."""
    out: dict[Terminal, list[End]] = {}
    for end in ends:
        out.setdefault(end.terminal, []).append(end)
    return out
