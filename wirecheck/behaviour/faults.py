"""The single faults of a plan (fault lists as in ISO 13849-2:2012, annex D; in part value from memory).

Wires open; contacts stuck open, or welded unless direct opening; coils open; relays stuck in; conductors to earth; conductors of
one cable shorted; sources lost; drive inputs stuck. Safety relays and safe-torque-off inputs are taken as certified: no fault in
them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.behaviour.drives import inputs_of
from wirecheck.circuit import Element, elements_of, sources_of
from wirecheck.circuit.elements import CONDUCTS
from wirecheck.plan.model import Contact, Device, Plan, Terminal, Wire

STUCK_KINDS = frozenset({"relay", "contactor", "timer-relay", "thermistor-relay"})
"""The kinds whose coil can be open and whose armature can stay in."""

CERTIFIED = frozenset({"safety-relay"})
PROTECTIVE = frozenset({"fuse", "circuit-breaker", "residual-current-device"})

EXCLUDED = "excluded"
"""The kind of a fault that is not assumed to happen: a direct-opening contact that welds. It is tried all the same, so that the
report can say where a function rests on that."""

FAIL_SAFE = frozenset({"wire open", "earthed", "source lost"})
"""What must never lose a stop nor start anything, whatever category is required."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what it is called, and what it changes in the circuit.

    `kind` is `wire open`, `stuck open`, `welded`, `coil open`, `stuck in`, `earthed`, `shorted`, `source lost`, `input stuck`,
    or `excluded`.
    `removed`, `opened` and `closed` are elements by key; `joins` are terminals joined by it; `coils`, `stuck` and `lost` name
    devices or sources; `inputs` sets drive inputs to one level.
    """

    text: str
    kind: str
    devices: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    removed: frozenset[tuple[str, str]] = frozenset()
    opened: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()
    joins: tuple[tuple[Terminal, Terminal], ...] = ()
    coils: frozenset[str] = frozenset()
    stuck: frozenset[str] = frozenset()
    lost: frozenset[str] = frozenset()
    inputs: Mapping[Terminal, bool] = field(default_factory=dict)

    @property
    def closes(self) -> bool:
        """Whether something stays closed or in by it, or is joined."""
        return bool(self.closed or self.stuck or self.joins)

    def __add__(self, other: Fault) -> Fault:
        """Both faults together."""
        return Fault(
            f"{self.text}, then {other.text}",
            other.kind,
            tuple(dict.fromkeys((*self.devices, *other.devices))),
            tuple(dict.fromkeys((*self.wires, *other.wires))),
            self.removed | other.removed,
            self.opened | other.opened,
            self.closed | other.closed,
            (*self.joins, *other.joins),
            self.coils | other.coils,
            self.stuck | other.stuck,
            self.lost | other.lost,
            {**self.inputs, **other.inputs},
        )


def single_faults(plan: Plan) -> tuple[Fault, ...]:
    """Every single fault of a plan, in the plan's order within each kind."""
    nets = Nets(plan)
    return (
        *_wires_open(plan),
        *_contacts(plan, nets),
        *_coils(plan),
        *_earthed(plan, nets),
        *_shorted(plan, nets),
        *_sources(plan),
        *_inputs(plan, nets),
    )


def excluded(plan: Plan) -> tuple[str, ...]:
    """What is not assumed to fail, in words for the list of assumptions."""
    direct = [str(c) for d in plan.devices.values() for c in d.contacts if c.direct_opening and d.kind not in CERTIFIED]
    found = [f"{', '.join(direct)}: not taken to weld, being direct opening (as the plan states)"] if direct else []
    certified = [d.name for d in plan.devices.values() if d.kind in CERTIFIED]
    found += [f"{', '.join(certified)}: taken as certified, no fault inside it is assumed"] if certified else []
    off = [d.name for d in plan.devices.values() if d.kind == "drive" and _torque_off(d.values)]
    found += [f"{', '.join(off)} safe torque off: taken as certified, no fault inside it is assumed"] if off else []
    if plan.cables:
        found.append("wires inside one enclosure: not taken to touch each other; the cores of one cable are")
    return tuple(found)


def _torque_off(values: Mapping[str, object]) -> bool:
    control = values.get("control")
    return isinstance(control, Mapping) and bool(control.get("safe_torque_off"))


class Nets:
    """The terminals of a plan that are always joined, and which of them carry a wire."""

    def __init__(self, plan: Plan) -> None:
        self._up: dict[Terminal, Terminal] = {}
        for e in elements_of(plan):
            if e.kind in CONDUCTS and e.closed_in is None and e.kind != "diode":
                self._up[self.of(e.a)] = self.of(e.b)
        self.wired = frozenset(t for w in plan.wires for t in (w.a, w.b))

    def of(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all joined with this one."""
        while (up := self._up.setdefault(terminal, terminal)) != terminal:
            terminal = up
        return terminal


def _wires_open(plan: Plan) -> Iterator[Fault]:
    for wire in plan.wires:
        key = ("wire", str(wire.index))
        yield Fault(f"{wire} open", "wire open", (wire.a.device, wire.b.device), (wire.number,), removed=frozenset({key}))


def _contacts(plan: Plan, nets: Nets) -> Iterator[Fault]:
    for device in plan.devices.values():
        if device.kind in CERTIFIED:
            continue
        linked = {m for link in device.links for m in link}
        used = [c for c in device.contacts if all(device.terminal(m) in nets.wired or m in linked for m in (c.a, c.b))]
        for contact in used:
            yield Fault(f"{contact} stuck open", "stuck open", (device.name,), opened=frozenset({str(contact)}))
            if device.kind not in PROTECTIVE:
                kind = EXCLUDED if contact.direct_opening else "welded"
                opened = _kept_open(device.contacts, contact, device.values)
                yield Fault(f"{contact} welded", kind, (device.name,), opened=opened, closed=frozenset({str(contact)}))
        yield from _poles_at_once(device, used)


def _poles_at_once(device: Device, used: Sequence[Contact]) -> Iterator[Fault]:
    """A short welds all poles at once, and no break contact shows it where the plan says that there is none that mirrors them.

    Where they are mirrored or that is not known this is `stuck in`.
    """
    poles = frozenset(str(c) for c in used if c.pole)
    if len(poles) > 1 and device.values.get("mirror_contacts") is False and device.values.get("forced_guided") is not True:
        yield Fault(f"{device.name} poles welded", "welded", (device.name,), closed=poles)


def _kept_open(contacts: tuple[Contact, ...], welded: Contact, values: Mapping[str, object]) -> frozenset[str]:
    """The break contacts that a welded make contact keeps open: forced-guided ones, mirror contacts to main poles."""
    if welded.form == "NC":
        guided = values.get("forced_guided") is True
        return frozenset(str(c) for c in contacts if guided and c.form != "NC" and c is not welded)
    held = values.get("forced_guided") is True or (welded.pole and values.get("mirror_contacts") is True)
    return frozenset(str(c) for c in contacts if held and c.form == "NC")


def _coils(plan: Plan) -> Iterator[Fault]:
    for device in plan.devices.values():
        if device.kind in STUCK_KINDS:
            yield Fault(f"{device.name} coil open", "coil open", (device.name,), coils=frozenset({device.name}))
            yield Fault(f"{device.name} stuck in", "stuck in", (device.name,), stuck=frozenset({device.name}))


def _earth(plan: Plan) -> Terminal | None:
    """Where earth is: the mains' PE, or the first earth bar or frame."""
    for kind in ("mains", "earth-bar", "frame"):
        for device in plan.devices.values():
            if device.kind == kind:
                return device.terminal("PE" if kind != "earth-bar" or "PE" in device.marks else device.marks[0])
    return None


def _on_net(plan: Plan, nets: Nets) -> dict[Terminal, list[Wire]]:
    found: dict[Terminal, list[Wire]] = {}
    for wire in plan.wires:
        found.setdefault(nets.of(wire.a), []).append(wire)
    return found


def _earthed(plan: Plan, nets: Nets) -> Iterator[Fault]:
    """Each conductor once by its number, on each potential that is not earth already."""
    earth = _earth(plan)
    if earth is None:
        return
    for net, wires in _on_net(plan, nets).items():
        if net == nets.of(earth):
            continue
        for number in dict.fromkeys(w.number for w in wires):
            own = [w for w in wires if w.number == number]
            devices = tuple(dict.fromkeys(t.device for w in own for t in (w.a, w.b)))
            yield Fault(f"wire {number} earthed", "earthed", devices, (number,), joins=((own[0].a, earth),))


def _shorted(plan: Plan, nets: Nets) -> Iterator[Fault]:
    """Each pair of potentials that have cores in one cable."""
    for cable in plan.cables:
        cores: dict[Terminal, Wire] = {}
        for wire in plan.wires:
            if wire.cable == cable:
                cores.setdefault(nets.of(wire.a), wire)
        ordered = list(cores.values())
        for i, one in enumerate(ordered):
            for two in ordered[i + 1 :]:
                text = f"{cable}: {one.number} shorted to {two.number}"
                devices = tuple(dict.fromkeys(t.device for w in (one, two) for t in (w.a, w.b)))
                yield Fault(text, "shorted", devices, (one.number, two.number), joins=((one.a, two.a),))


def _sources(plan: Plan) -> Iterator[Fault]:
    for source in sources_of(plan):
        if source.role == "supply":
            yield Fault(f"{source.name} lost", "source lost", (source.device,), lost=frozenset({source.name}))


def _inputs(plan: Plan, nets: Nets) -> Iterator[Fault]:
    for device in plan.devices.values():
        if device.kind == "drive":
            for given in inputs_of(device):
                terminal = device.terminal(given.mark)
                if given.does not in ("unused", "preset") and terminal in nets.wired:
                    for level, word in ((True, "on"), (False, "off")):
                        yield Fault(f"{terminal} stuck {word}", "input stuck", (device.name,), inputs={terminal: level})


def fault_elements(elements: tuple[Element, ...], fault: Fault) -> tuple[Element, ...]:
    """The elements of a plan with the fault in it."""
    kept = tuple(e for e in elements if e.key not in fault.removed) if fault.removed else elements
    return (*kept, *(Element("link", f"fault {i}", a, b) for i, (a, b) in enumerate(fault.joins)))
