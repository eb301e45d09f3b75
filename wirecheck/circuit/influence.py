"""Which devices can influence which: by the contacts that lie on some path between a source's pole and what it feeds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.circuit.elements import LOAD_KINDS, custom_parts, elements_of, has_coil, marks_of, section, windings_of
from wirecheck.circuit.elements import coil_ends as ends_of_coil
from wirecheck.circuit.paths import Paths
from wirecheck.circuit.sources import Source, drive_feed, sources_of
from wirecheck.plan.model import Device, Plan, Terminal


def loops_of(device: Device) -> list[tuple[str, ...]]:
    """The sets of terminals between which a device looks whether they are joined: channels, sensor loops, winding ends."""
    values = device.values
    if device.kind == "motor":
        return [tuple(dict.fromkeys(m for pair in windings_of(device) for m in pair if not m.startswith("*")))]
    if device.kind == "safety-relay":
        given = values.get("channels")
        channels = [tuple(map(str, c)) for c in given] if isinstance(given, list | tuple) else []
        return [*channels, marks_of(values, "reset_loop", ())]
    if device.kind == "thermistor-relay":
        return [marks_of(values, "sensor", ("T1", "T2"))]
    if device.kind == "drive":
        return [marks_of(section(values, "control"), "thermistor", ())]
    return []


def ends_of(device: Device) -> Iterator[str]:
    """The terminals of a device whose state decides what it does."""
    values = device.values
    if has_coil(device):
        yield from ends_of_coil(device)
    elif device.kind == "custom":
        yield from (mark for a, b, _ in custom_parts(device, "load") for mark in (a, b))
    elif device.kind in LOAD_KINDS:
        yield from marks_of(values, "terminals", ("X1", "X2"))[:2]
    elif device.kind == "drive":
        control = section(values, "control")
        supply, off = section(control, "supply"), section(control, "safe_torque_off")
        yield from (t.mark for t in drive_feed(device).terminals)
        yield from map(str, section(control, "inputs"))
        yield from marks_of(off, "channels", ())
        yield from (str(word) for word in (off.get("common"), supply.get("common"), supply.get("plus")) if word)
    for loop in loops_of(device):
        yield from loop


def paths_of(plan: Plan) -> Paths:
    """The paths of a plan, with the ends of all its devices and the poles of all its sources."""
    ends = [Terminal(name, m) for name, d in plan.devices.items() for m in ends_of(d)]
    sources = sources_of(plan)
    feeds = [t for s in sources if s.feed for t in s.feed.terminals]
    return Paths(elements_of(plan), sources, plan.devices, [*ends, *(p for s in sources for p in s.poles), *feeds])


def direct_influences(plan: Plan, paths: Paths) -> dict[str, frozenset[str]]:
    """For every device, those that can change directly what it does: contacts on its paths, what feeds its sources."""
    sources = sources_of(plan)
    fed_by = {s.name: _reaching(paths, sources, s.feed.terminals, s) for s in sources if s.feed}
    found: dict[str, frozenset[str]] = {}
    for name, device in plan.devices.items():
        ends = [Terminal(name, mark) for mark in dict.fromkeys(ends_of(device))]
        devices = _reaching(paths, sources, ends, None) if ends else frozenset()
        own = [fed_by[s.name] for s in sources if s.device == name and s.name in fed_by]
        found[name] = devices.union(*own, *_across(paths, device)) - {name}
        other = device.values.get("mechanical_interlock")
        if isinstance(other, str) and other in plan.devices:
            found[name] |= {other}
    return found


def _across(paths: Paths, device: Device) -> Iterator[frozenset[str]]:
    """What joins the terminals of a loop: a star contactor, the contacts in a channel."""
    for loop in loops_of(device):
        ends = [Terminal(device.name, mark) for mark in loop]
        for i, a in enumerate(ends):
            yield from (found for b in ends[:i] if (found := paths.between(a, b)))


def _reaching(paths: Paths, sources: Iterable[Source], ends: Iterable[Terminal], without: Source | None) -> frozenset[str]:
    """The contacts on paths from sources to any of some ends, and the sources. One pole alone, a common rail, moves nothing."""
    found: frozenset[str] = frozenset()
    ends = list(ends)
    for source in sources:
        if source is without:
            continue
        ways = {pole: [way for end in ends if (way := paths.between(pole, end)) is not None] for pole in source.poles}
        if any(ways[p] and ways[q] for p, q, _ in source.pairs()):
            found = found.union({source.device}, *(way for each in ways.values() for way in each))
    return found


def all_influences(direct: Mapping[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """For every device, all that can change what it does, through any number of relays and sources."""
    found = {}
    for name in direct:
        seen, waiting = {name}, [name]
        for here in waiting:
            for other in sorted(direct.get(here, ())):
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        found[name] = frozenset(seen)
    return found
