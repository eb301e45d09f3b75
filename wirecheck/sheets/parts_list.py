"""The parts list: every device with what it must be able to do, and its contacts used and spare."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wirecheck.plan.model import Contact, Device, Plan, Quantity
from wirecheck.sheets.table import Row, Table, listed
from wirecheck.sheets.wiring import used

COLUMNS = ("device", "kind", "place", "part", "must be", "contacts used", "contacts spare", "done")

NOT_OF_THE_PART = frozenset({"role", "settings", "control", "positions", "run_positions", "guards", "elements", "fault_loop"})
"""Parameters that say what the device is for or how it is set, not what to buy."""


def parts_list(plan: Plan) -> Table:
    """All devices in the plan's order, then the cables."""
    wired = used(plan)
    rows = [_row(device, [c for c in device.contacts if _both(device, c, wired)]) for device in plan.devices.values()]
    rows += [_cable(plan, name) for name in plan.cables]
    notes = (
        "Must be: what the plan states. Where it is silent about a rating, choose by the manuals of drive and motor.",
        "A contact counts as used when both its ends have a wire or a link.",
    )
    return Table("parts-list", "Parts list", COLUMNS, tuple(rows), notes, landscape=True)


def _both(device: Device, contact: Contact, wired: frozenset[object]) -> bool:
    return device.terminal(contact.a) in wired and device.terminal(contact.b) in wired


def _row(device: Device, in_use: list[Contact]) -> Row:
    spare = [c for c in device.contacts if c not in in_use]
    kind = f"{device.house_kind} ({device.kind})" if device.house_kind else device.kind
    texts = (listed(map(_contact, in_use)), listed(map(_contact, spare)))
    return (device.label(), kind, device.place or "", device.part, listed(_stated(device.values)), *texts, "")


def _contact(contact: Contact) -> str:
    form = contact.form if contact.form != "closed-in" else f"closed in {' or '.join(sorted(contact.closed_in))}"
    return f"{contact.a}-{contact.b} {'pole' if contact.pole else form}"


def _stated(values: Mapping[str, object], base: str = "") -> Iterator[str]:
    """Parameters in words, as the plan writes them."""
    for key, value in values.items():
        words = f"{base}{key}".replace("_", " ")
        if key in NOT_OF_THE_PART or value is False:
            continue
        if isinstance(value, Mapping):
            yield from _stated(value, f"{words} ")
        elif value is True:
            yield words
        elif isinstance(value, Quantity):
            yield f"{words} {value.text}"
        elif isinstance(value, list | tuple):
            yield f"{words} {' '.join(map(str, value))}" if all(isinstance(item, str) for item in value) else ""
        elif value is not None:
            yield f"{words} {value}"


def _cable(plan: Plan, name: str) -> Row:
    cable = plan.cables[name]
    length = f"{cable.length_m:g} m" if cable.length_m is not None else "length not stated"
    what = (
        f"{cable.cores} cores" if cable.cores else "",
        cable.size_text,
        "screened" if cable.screened else "",
        cable.insulation or "",
    )
    return (name, "cable", cable.route or "", "", listed((*what, length)), "", "", "")
