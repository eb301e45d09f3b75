"""How the supply is taken away for the test, and what stays live all the same."""

from __future__ import annotations

from typing import NamedTuple

from wirecheck.metering.dead import Path
from wirecheck.plan.model import Plan, Terminal
from wirecheck.plan.potentials import Joined

ISOLATING = frozenset({"isolator", "plug-connector"})


class Isolation(NamedTuple):
    """`by` isolates; `plug` says that a plug is pulled and nothing of the machine stays live; `live` is not to be touched.

    `on` are isolators further down: they do not isolate here, so they are put on for the test.
    """

    by: tuple[str, ...]
    plug: bool
    live: frozenset[Terminal]
    on: frozenset[str]


def isolation_of(plan: Plan, paths: tuple[Path, ...]) -> Isolation:
    """By what the plan's supply is isolated: a plug on the mains lead, else the first isolators or connectors behind the mains.

    Where there is none, `by` is empty and nothing is live only if the supply is cut ahead of the plan.
    """
    isolators = frozenset(d.name for d in plan.devices.values() if d.kind == "isolator")
    mains = [d for d in plan.devices.values() if d.kind == "mains"]
    if mains and all(d.values.get("plug") for d in mains):
        return Isolation(tuple(d.name for d in mains), True, frozenset(), isolators)
    joined = Joined()
    for path in paths:
        element = path.element
        pole = path.device in plan.devices and plan.devices[str(path.device)].kind in ISOLATING and element and element.contact
        if path.most == 0 and not (pole and element and element.contact and element.contact.pole):
            joined.join((path.a, path.b))
    poles = [d.terminal(m) for d in mains for m in d.marks if m != "PE"]
    roots = {joined.root(pole) for pole in poles}
    earth = {joined.root(d.terminal("PE")) for d in mains}
    live = {t for p in paths for t in (p.a, p.b) if joined.root(t) in roots - earth} | set(poles)
    by = tuple(
        dict.fromkeys(
            d.name
            for d in plan.devices.values()
            if d.kind in ISOLATING and any(c.pole and {d.terminal(c.a), d.terminal(c.b)} & live for c in d.contacts)
        )
    )
    if not by:
        return Isolation((), False, frozenset(), isolators)
    return Isolation(by, False, frozenset(live), isolators - set(by))
