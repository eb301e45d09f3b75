"""The ferrule and label list: what to lay out before the first wire is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from wirecheck.metering.dead import paths_of
from wirecheck.metering.isolation import isolation_of
from wirecheck.plan.model import Plan, Terminal
from wirecheck.sheets.table import Row, Table, listed, natural
from wirecheck.sheets.wiring import size_of, wires_at

COLUMNS = ("what", "text or size", "how many", "where", "done")

LUGS = frozenset({"motor", "frame", "earth-bar"})
"""Kinds whose terminals are mostly studs or screws through metal: a lug rather than a ferrule. Common practice, no source."""


def label_list(plan: Plan) -> Table:
    """Ferrules and lugs by size, then labels of wires, cables and devices, then notices."""
    rows = (*_ends(plan), *_wires(plan), *_others(plan), *_notices(plan))
    notes = (
        "Ferrules are for stranded wire, one for each end. Two wires in one terminal want a ferrule or terminal made for two.",
        "Lug or ferrule: as the terminal takes. Notices: common practice, no source; what local codes ask for comes first.",
    )
    return Table("label-list", "Ferrules and labels", COLUMNS, rows, notes, group="what")


def _ends(plan: Plan) -> Iterator[Row]:
    count: Counter[tuple[str, str]] = Counter()
    shared: Counter[tuple[str, str]] = Counter()
    for terminal, wires in wires_at(plan).items():
        what = "ring or fork lug" if plan.devices[terminal.device].kind in LUGS else "ferrule"
        for wire in wires:
            key = (what, size_of(plan, wire) or "size not stated")
            count[key] += 1
            shared[key] += len(wires) > 1
    for key in sorted(count, key=lambda k: (k[0], natural(k[1]))):
        where = f"{shared[key]} of them at a terminal with another wire" if shared[key] else ""
        yield (*key, str(count[key]), where, "")


def _wires(plan: Plan) -> Iterator[Row]:
    """Each end of each wire bears its number."""
    ends: dict[str, list[Terminal]] = {}
    for wire in plan.wires:
        ends.setdefault(wire.number, []).extend((wire.a, wire.b))
    for number in sorted(ends, key=natural):
        yield ("wire label", number, str(len(ends[number])), listed(map(str, ends[number])), "")


def _others(plan: Plan) -> Iterator[Row]:
    for name in sorted(plan.cables, key=natural):
        yield ("cable label", name, "2", "both ends", "")
    for device in plan.devices.values():
        title = device.title or str(device.values.get("guards") or "")
        yield ("device label", f"{device.name} {title}".strip(), "1", device.place or "", "")


def _notices(plan: Plan) -> Iterator[Row]:
    for device in plan.devices.values():
        place = device.place or ""
        if device.kind == "isolator":
            yield ("notice", f"{device.name}: off here isolates; lock it off. The supply side stays live.", "1", place, "")
        elif device.kind == "plug-connector":
            yield ("notice", f"{device.name}: pull and keep the plug in sight before opening", "1", place, "")
        elif device.kind == "drive":
            text = f"{device.name}: stays charged after switching off. Wait ____ minutes (from its manual), then prove it dead."
            yield ("notice", text, "1", place, "")
        elif device.kind == "emergency-stop":
            yield ("notice", f"{device.name}: yellow behind the red button; no text is needed on it", "1", place, "")
    yield from _stays_live(plan)


def _stays_live(plan: Plan) -> Iterator[Row]:
    """A notice on whatever is still live when the machine's isolator is off, beside the isolator itself."""
    isolation = isolation_of(plan, paths_of(plan))
    live = {t.device for t in isolation.live}
    for device in plan.devices.values():
        if device.name in live and device.name not in isolation.by and device.kind != "mains":
            yield ("notice", f"{device.name}: stays live when {listed(isolation.by)} is off", "1", device.place or "", "")
