"""Every single wiring error of a plan, of the kinds that a dead test is to find."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wirecheck.metering.dead import CLOSED, Path
from wirecheck.plan.model import Contact, Plan, Terminal, Wire
from wirecheck.plan.potentials import Joined

MISSING, WRONG_TERMINAL, EXCHANGED, WRONG_FORM, NO_LINK = (
    "a wire missing",
    "a wire on a wrong terminal",
    "two wire ends exchanged",
    "a contact of the wrong form",
    "a missing link",
)
KINDS = (MISSING, WRONG_TERMINAL, EXCHANGED, WRONG_FORM, NO_LINK)

MOST_EXCHANGES = 3000
"""Up to so many pairs of ends in one place all are looked at; with more those on one device or in one cable."""

Joint = tuple[Terminal, Terminal]


class WiringError(NamedTuple):
    """One error: `removed` paths (by `ident`) are not there, `added` joints are, `turned` contacts are the wrong way round.

    `likely` orders what explains a reading equally well: the smaller, the more often it happens. Common practice, no source.
    """

    kind: str
    text: str
    likely: int
    devices: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    removed: frozenset[str] = frozenset()
    added: tuple[Joint, ...] = ()
    turned: frozenset[str] = frozenset()


def wire_ident(wire: Wire) -> str:
    """The `ident` of a wire's path."""
    return f"wire {wire.index}"


def wiring_errors(plan: Plan, paths: Sequence[Path]) -> tuple[WiringError, ...]:
    """All single errors that change what is joined to what.

    Exchanged ends are two ends in one place: in different boxes nobody exchanges them. Two wires of one potential exchanged, or a
    wire on another terminal that is always joined to its own, change nothing and are left out.
    """
    always = [p for p in paths if p.most == CLOSED and p.closed_in is None]
    before = _partition(always, frozenset(), ())
    moved = [e for e in (*_wrong_terminals(plan), *_exchanged(plan)) if not _same(before, always, e)]
    return (*_missing(plan), *_once(moved), *_forms(plan), *_links(plan, paths))


def _once(errors: Iterable[WiringError]) -> list[WiringError]:
    """Errors that put the same wires between the same terminals are one, told in both ways."""
    found: dict[object, WiringError] = {}
    for error in errors:
        key = (error.removed, frozenset(frozenset(joint) for joint in error.added))
        if key in found:
            first = found[key]
            at = error.text.partition(" at ")[2].removesuffix(" are exchanged")
            found[key] = first._replace(text=first.text.replace(" are exchanged", f", or at {at}, are exchanged"))
        else:
            found[key] = error
    return list(found.values())


def _ends(plan: Plan) -> list[tuple[Wire, Terminal, Terminal]]:
    """Every wire end: the wire, where the end is, and where its other end is."""
    return [end for w in plan.wires for end in ((w, w.a, w.b), (w, w.b, w.a))]


def _missing(plan: Plan) -> Iterator[WiringError]:
    for wire in plan.wires:
        devices = (wire.a.device, wire.b.device)
        yield WiringError(MISSING, f"{wire} is missing or loose", 1, devices, (wire.number,), frozenset({wire_ident(wire)}))


def _wrong_terminals(plan: Plan) -> Iterator[WiringError]:
    for wire, here, other in _ends(plan):
        marks = plan.devices[here.device].marks
        for place, mark in enumerate(marks):
            there = Terminal(here.device, mark)
            if there not in (here, other):
                likely = 3 if abs(place - marks.index(here.mark)) == 1 else 5
                text = f"{wire} is on {there} instead of {here}"
                removed = frozenset({wire_ident(wire)})
                yield WiringError(WRONG_TERMINAL, text, likely, (here.device,), (wire.number,), removed, ((other, there),))


def exchanged_within(plan: Plan) -> str:
    """Between which ends an exchange is looked for: `place`, or `device` where the plan has too many ends for that."""
    places: dict[str | None, int] = {}
    for _, here, _ in _ends(plan):
        place = plan.devices[here.device].place
        places[place] = places.get(place, 0) + 1
    return "place" if sum(n * (n - 1) // 2 for n in places.values()) <= MOST_EXCHANGES else "device"


def _exchanged(plan: Plan) -> Iterator[WiringError]:
    ends, within = _ends(plan), exchanged_within(plan)
    for i, (one, here, far) in enumerate(ends):
        for two, there, beyond in ends[i + 1 :]:
            if one is two or here == there or plan.devices[here.device].place != plan.devices[there.device].place:
                continue
            own = here.device == there.device
            if within == "device" and not own and not (one.cable and one.cable == two.cable):
                continue
            text = f"the ends of {one} and {two} at {here} and {there} are exchanged"
            removed = frozenset({wire_ident(one), wire_ident(two)})
            numbers, devices = (one.number, two.number), tuple(dict.fromkeys((here.device, there.device)))
            likely = 2 if own else 4 if one.cable and one.cable == two.cable else 6
            yield WiringError(EXCHANGED, text, likely, devices, numbers, removed, ((far, there), (beyond, here)))


def _forms(plan: Plan) -> Iterator[WiringError]:
    """A contact that conducts where it should not and the other way round; a change-over with its two sides exchanged."""
    wired = {t for w in plan.wires for t in (w.a, w.b)}
    linked = {d.terminal(m) for d in plan.devices.values() for link in d.links for m in link}
    for device in plan.devices.values():
        groups: dict[str, list[Contact]] = {}
        for contact in device.contacts:
            if not contact.pole and len(device.positions) != 1:
                groups.setdefault(contact.changeover or contact.name, []).append(contact)
        for name, contacts in groups.items():
            if any({device.terminal(c.a), device.terminal(c.b)} <= wired | linked for c in contacts):
                idents = frozenset(f"contact {c}" for c in contacts)
                what = "make and break side exchanged" if len(contacts) > 1 else _opposite(contacts[0])
                yield WiringError(
                    WRONG_FORM, f"contact {device.name}:{name} is of the wrong form: {what}", 3, (device.name,), turned=idents
                )


def _opposite(contact: Contact) -> str:
    other = {"NC": "NO", "NO": "NC", "guard-closed": "guard-open", "guard-open": "guard-closed"}.get(contact.form)
    return (
        f"{other} instead of {contact.form}"
        if other
        else f"open where it should be closed ({', '.join(sorted(contact.closed_in))})"
    )


def _links(plan: Plan, paths: Sequence[Path]) -> Iterator[WiringError]:
    for device in plan.devices.values():
        for number, link in enumerate(device.links, start=1):
            idents = frozenset(p.ident for p in paths if p.device == device.name and p.ident.endswith(f" link {number}"))
            yield WiringError(
                NO_LINK, f"the link {'-'.join(link)} of {device.name} is missing", 2, (device.name,), removed=idents
            )


def _partition(always: Iterable[Path], removed: frozenset[str], added: Sequence[Joint]) -> Joined:
    joined = Joined()
    for path in always:
        if path.ident not in removed:
            joined.join((path.a, path.b))
    for joint in added:
        joined.join(joint)
    return joined


def _same(before: Joined, always: Sequence[Path], error: WiringError) -> bool:
    """Whether all is joined to all as it should be: nothing new is, and what was taken apart is still one."""
    if any(before.root(a) != before.root(b) for a, b in error.added):
        return False
    after = _partition(always, error.removed, error.added)
    return all(after.root(p.a) == after.root(p.b) for p in always if p.ident in error.removed)
