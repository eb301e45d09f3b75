"""What stands between the mains and what it feeds."""

from __future__ import annotations

from wirecheck.circuit.elements import CONDUCTS, elements_of
from wirecheck.circuit.sources import drive_feed
from wirecheck.plan.model import Device, Plan, Terminal


def _reached(plan: Plan, without: str) -> set[Terminal]:
    """The terminals to which the mains lead when everything conducts but one device."""
    near: dict[Terminal, list[Terminal]] = {}
    for e in elements_of(plan):
        if e.kind in CONDUCTS and e.device != without:
            near.setdefault(e.a, []).append(e.b)
            near.setdefault(e.b, []).append(e.a)
    waiting = [d.terminal(m) for d in plan.devices.values() if d.kind == "mains" for m in d.marks if m not in ("N", "PE")]
    seen = set(waiting)
    for here in waiting:
        fresh = [there for there in near.get(here, ()) if there not in seen]
        seen.update(fresh)
        waiting += fresh
    return seen


def behind(plan: Plan, device: str) -> frozenset[str]:
    """The devices that get the mains' phases through this device only."""
    lost = _reached(plan, "") - _reached(plan, device)
    return frozenset(t.device for t in lost if t.device != device)


def drives_behind(plan: Plan, device: str) -> tuple[Device, ...]:
    """The drives whose input is fed through this device only."""
    lost = _reached(plan, "") - _reached(plan, device)
    return tuple(d for d in plan.devices.values() if d.kind == "drive" and any(t in lost for t in drive_feed(d).terminals))
