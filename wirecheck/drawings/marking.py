"""Which devices and wires a finding stands on, and the marks that show it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.drawings.boxes import COMB
from wirecheck.drawings.figures import TOP
from wirecheck.drawings.nets import Placed
from wirecheck.drawings.shapes import Group, Pen, Shape
from wirecheck.drawings.sheet import SEVERITY_COLOURS, finding_mark
from wirecheck.drawings.wiring import LINE_STEP
from wirecheck.findings import Finding, severity_rank
from wirecheck.plan.model import Plan, Wire

_TINTS = {"danger": "#ffe3e0", "damage": "#ffedd6", "malfunction": "#f1e6fb", "advice": "#e2f1f4"}
_HALOS = {
    "danger": Pen("#ff9c94", 4.8),
    "damage": Pen("#ffc078", 4.6),
    "malfunction": Pen("#cfa8f0", 4.4),
    "advice": Pen("#bfe0e8", 4.0),
}


class Marking:
    """The findings of a plan, numbered from 1 in their order, and where each belongs."""

    def __init__(self, plan: Plan, findings: Sequence[Finding]) -> None:
        self.plan, self.findings = plan, tuple(findings)

    def of_device(self, name: str) -> tuple[int, ...]:
        """The numbers of the findings on a device."""
        return tuple(n for n, f in enumerate(self.findings, 1) if name in f.devices)

    def of_wires(self) -> dict[int, tuple[int, ...]]:
        """The numbers of the findings on each wire, by the wire's index."""
        found = {w.index: tuple(n for n, f in enumerate(self.findings, 1) if _names(f, w)) for w in self.plan.wires}
        return {index: numbers for index, numbers in found.items() if numbers}

    def halo(self, index: int) -> Pen | None:
        """What is drawn behind a wire that a finding names: the worse the broader."""
        return _HALOS.get(self._worst([f for f in self.findings if _names(f, self.plan.wires[index])]))

    def device_colours(self, name: str) -> tuple[str, str]:
        """Outline and filling of a device that a finding names; an empty outline and white where none does."""
        worst = self._worst([f for f in self.findings if name in f.devices])
        return SEVERITY_COLOURS.get(worst, ""), _TINTS.get(worst, "#ffffff")

    def _worst(self, findings: Sequence[Finding]) -> str:
        return max((f.severity for f in findings), key=severity_rank, default="")

    def marks(self, placed: Placed) -> Iterator[Group]:
        """The numbered marks at a device and at its wires' ends."""
        shapes: list[Shape] = []
        across = max(1, int((placed.box.caption_width + 4) // 9))
        numbers = placed.box.figure.findings
        for at, number in enumerate(numbers):
            x = placed.x + 7 + 9 * (at % across)
            y = placed.bottom - 7 - 9 * (at // across)
            shapes += self._mark(x, y, number)
        if shapes:
            yield Group("finding", placed.box.name, tuple(shapes), data={"numbers": " ".join(map(str, numbers))})
        for key, (dx, pin) in placed.box.slots.items():
            end = placed.box.ends[key]
            out = -1 if pin.side == TOP else 1
            y = placed.top if out < 0 else placed.bottom
            middle = y + COMB + 6.6 + LINE_STEP * len(end.lines) if out > 0 else y - COMB - 5.6
            some = [s for n, m in enumerate(end.marks) for s in self._mark(placed.x + dx + 7.4 + 8.6 * n, middle, m)]
            if some:
                data = {"at": str(end.terminal), "numbers": " ".join(map(str, end.marks))}
                yield Group("finding", end.wire.number, tuple(some), data=data)

    def _mark(self, x: float, y: float, number: int) -> list[Shape]:
        return finding_mark(x, y, number, self.findings[number - 1].severity)


def _names(finding: Finding, wire: Wire) -> bool:
    return wire.number in finding.wires or str(wire) in finding.wires
