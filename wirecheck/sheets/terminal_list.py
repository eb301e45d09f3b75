"""The terminal list: for every strip and device each terminal, what lies behind it, and the wires on its two sides."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.plan.model import Device, Plan, Terminal, Wire
from wirecheck.sheets.table import Row, Table, listed
from wirecheck.sheets.wiring import inside, other_end, place_of, size_of, wires_at

COLUMNS = ("device", "terminal", "inside the device", "wires within the place", "wires that leave it", "conductors", "done")


def terminal_list(plan: Plan) -> Table:
    """All terminals: strips first, then devices, in the plan's order."""
    wires, behind = wires_at(plan), inside(plan)
    devices = sorted(plan.devices.values(), key=lambda d: d.kind not in ("terminal-block", "earth-bar"))
    rows = [row for device in devices for row in _of_device(plan, device, wires, behind)]
    notes = (
        "Wires within the place stay in the same box or machine part; wires that leave it go by a cable or to another place.",
        "A terminal without a wire is spare. Check that a terminal with several conductors is made for so many.",
    )
    return Table("terminal-list", "Terminal list", COLUMNS, tuple(rows), notes, landscape=True, group="device")


def _of_device(plan: Plan, device: Device, wires: dict[Terminal, list[Wire]], behind: dict[Terminal, list[str]]) -> Iterable[Row]:
    for mark in device.marks:
        terminal = device.terminal(mark)
        own = wires.get(terminal, [])
        leaving = [w for w in own if w.cable or place_of(plan, other_end(w, terminal)) != (device.place or "")]
        staying = [w for w in own if w not in leaving]
        sides = (_wires(plan, terminal, staying), _wires(plan, terminal, leaving))
        count = str(len(own)) if own else "spare"
        yield (device.label(), mark, listed(behind.get(terminal, ())), *sides, count, "")


def _wires(plan: Plan, terminal: Terminal, wires: Iterable[Wire]) -> str:
    return "; ".join(f"{wire.number} to {other_end(wire, terminal)} ({_conductor(plan, wire)})" for wire in wires)


def _conductor(plan: Plan, wire: Wire) -> str:
    return listed((size_of(plan, wire) or "size not stated", wire.colour, _core(wire)))


def _core(wire: Wire) -> str:
    return f"{wire.cable} core {wire.core}" if wire.cable and wire.core else wire.cable or ""
