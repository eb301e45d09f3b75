"""The earth list: every metal part and how it is earthed, and what else is joined to earth."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.circuit.elements import CONDUCTS, elements_of
from wirecheck.plan.model import Device, Plan, Terminal, Wire
from wirecheck.plan.potentials import Joined
from wirecheck.sheets.table import Row, Table, listed
from wirecheck.sheets.wiring import size_of, wires_at

COLUMNS = ("what", "terminal", "earthed by", "size", "colour", "ohm", "name", "date")


def earth_net(plan: Plan) -> tuple[Joined, Terminal | None]:
    """What is joined whatever any contact does; and from where earth is measured: an earth bar, else the mains' PE."""
    joined = Joined()
    for element in elements_of(plan):
        if element.kind in CONDUCTS - {"diode"} and element.closed_in is None:
            joined.join((element.a, element.b))
    wires = wires_at(plan)
    bars = [d.terminal(m) for d in plan.devices.values() if d.kind == "earth-bar" for m in d.marks if d.terminal(m) in wires]
    mains = [d.terminal("PE") for d in plan.devices.values() if d.kind == "mains" and d.terminal("PE") in wires]
    return joined, next(iter((*bars, *mains)), None)


def has_earth_terminal(device: Device) -> bool:
    """Whether a device has a terminal for the protective conductor."""
    return "PE" in device.marks and device.kind != "mains"


def earth_list(plan: Plan) -> Table:
    """Every terminal for earth, then whatever else the plan joins to earth."""
    joined, main = earth_net(plan)
    wires = wires_at(plan)
    own = [(d, d.terminal("PE")) for d in plan.devices.values() if has_earth_terminal(d)]
    rows = [_row(plan, device.label(), terminal, wires.get(terminal, [])) for device, terminal in own]
    if main is not None:
        rows += _others(plan, joined, main, wires)
    point = f"Measure from {main} to each" if main else "The plan has no earth bar and no PE: measure from the supply's earth"
    notes = (
        f"{point}, isolated and locked off, and take off the resistance of the leads.",
        "What a reading may be local codes and the electrician say; some tenths of an ohm are much.",
    )
    return Table("earth-list", "Earth list", COLUMNS, tuple(rows), notes)


def _row(plan: Plan, what: str, terminal: Terminal, wires: list[Wire]) -> Row:
    words = (
        listed((str(w) for w in wires), "; ") or "NO WIRE IN THE PLAN",
        listed(size_of(plan, w) for w in wires),
        listed(w.colour for w in wires),
    )
    return (what, str(terminal), *words, "", "", "")


def _others(plan: Plan, joined: Joined, main: Terminal, wires: dict[Terminal, list[Wire]]) -> Iterator[Row]:
    """One side of a control supply, a screen: what is joined to earth and is no terminal for it."""
    for terminal, own in wires.items():
        device = plan.devices[terminal.device]
        if terminal.mark == "PE" or device.kind in ("earth-bar", "mains") or joined.root(terminal) != joined.root(main):
            continue
        to_earth = [w for w in own if {w.a, w.b} & _earth_terminals(plan, wires)]
        if to_earth:
            yield _row(plan, f"{device.label()}, joined to earth on purpose", terminal, to_earth)


def _earth_terminals(plan: Plan, wires: dict[Terminal, list[Wire]]) -> set[Terminal]:
    return {t for t in wires if t.mark == "PE" or plan.devices[t.device].kind == "earth-bar"}
