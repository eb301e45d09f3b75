"""Answers to what the calculations ask of the behaviour: `wirecheck.electrics.states.States` on the views of a plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property, partial

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.feeding import Touched, Way
from wirecheck.behaviour.motion import Fed
from wirecheck.behaviour.poles import share_of_line
from wirecheck.behaviour.space import lowest
from wirecheck.behaviour.stopping import Late, drives_that_slow_down, idle_delays, late_torque_off
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.number import always
from wirecheck.electrics.states import AtOnce, Gets, LateTorqueOff, Running, Supplied
from wirecheck.plan.model import Event, Plan, Terminal


class Answers:
    """The reached states of a plan, as the calculations see them."""

    def __init__(
        self,
        plan: Plan,
        view_of: Callable[..., Behaviour],
        views: Iterable[Behaviour],
        ways_fed: Iterable[Way],
        touched: Touched,
    ) -> None:
        self._plan, self._view_of, self._views = plan, view_of, tuple(views)
        self._ways_fed, self._touched = tuple(ways_fed), touched

    @cached_property
    def _running(self) -> tuple[tuple[Running, Fed, int], ...]:
        """Every way of running, with the windings and the states in which it is so."""
        motors = [name for name, device in self._plan.devices.items() if device.kind == "motor"]
        return tuple(way for motor in motors for way in _ways(self._view_of(motor), motor))

    def running(self) -> tuple[Running, ...]:
        return tuple(way for way, _, _ in self._running)

    def connections(self) -> tuple[Running, ...]:
        return tuple({(way.motor, way.source.name, way.connection): way for way in reversed(self.running())}.values())[::-1]

    def events_to(self, what: Running | LateTorqueOff) -> tuple[str, ...]:
        if isinstance(what, Running):
            return _events(self._view_of(what.motor), self._found(what)[1])
        return next(_events(b, late.states) for late, b in self._late if (late.drive, late.device) == what[:2])

    def _found(self, way: Running) -> tuple[Fed, int]:
        return next((fed, states) for known, fed, states in self._running if known is way)

    def share_of_line(self, way: Running, device: str) -> float:
        fed, states = self._found(way)
        return share_of_line(self._view_of(way.motor), way.motor, fed, lowest(states), device)

    @cached_property
    def _conductors(self) -> Conductors:
        return Conductors(self._plan, self)

    def conductors(self) -> Conductors:
        return self._conductors

    def supplied(self, device: str, terminals: tuple[Terminal, ...]) -> tuple[Supplied, ...]:
        b = self._view_of(device)
        return tuple(found for source in b.model.sources if (found := _supplied(b, source, terminals)))

    @cached_property
    def _late(self) -> tuple[tuple[Late, Behaviour], ...]:
        found = ((late, b) for b in self._views for late in (*idle_delays(b), *late_torque_off(b)))
        return tuple({(late.drive, late.device): (late, b) for late, b in found}.values())

    def late_torque_off(self) -> tuple[LateTorqueOff, ...]:
        return tuple(
            LateTorqueOff(late.drive, late.device, 0.0 if late.idle else late.delay_s or None, late.idle)
            for late, _ in self._late
        )

    def slowed_down_by(self, motor: str, device: str, position: str) -> tuple[frozenset[str], bool] | None:
        drives, runs_down = drives_that_slow_down(self._view_of(motor, device), motor, Event(device, position))
        return (drives, runs_down) if drives or runs_down else None

    def voltages(self) -> tuple[Gets, ...]:
        elements = ((way.element, way) for way in self._ways_fed)
        return tuple(Gets(str(e.device), (e.a, e.b), e.kind, e.rated, w.source, w.volts) for e, w in elements)

    def poles_at(self, terminal: Terminal) -> tuple[tuple[Source, Terminal], ...]:
        return self._touched.poles(terminal)

    def most_at_once(self, weights: Mapping[str, float]) -> AtOnce:
        """Where the plan is looked at in parts the parts' maxima are added: never less than what really comes together.

        Each device counts in one part alone, for a device that several tell of acts once; one that none tells of always acts.
        """
        heavy = {name: weight for name, weight in weights.items() if weight > 0}
        shared = _divided(heavy, [(view, view.subjects) for view in self._views])
        parts = [(view, *_most(view, {name: heavy[name] for name in names})) for view, names in shared]
        told = frozenset(name for _, names in shared for name in names)
        always_on = tuple(name for name in heavy if name not in told)
        total = sum(most for _, most, _, _ in parts) + sum(heavy[name] for name in always_on)
        devices = (*(name for _, _, chosen, _ in parts for name in chosen), *always_on)
        whole = len(self._views) == 1 and parts and devices
        return AtOnce(total, devices, partial(_events, parts[0][0], parts[0][3]) if whole else always)


def _divided(
    weights: Mapping[str, float], views: Iterable[tuple[Behaviour, frozenset[str]]]
) -> list[tuple[Behaviour, list[str]]]:
    """Each device with one view that tells of it: those that tell of most weight first, as one view knows what keeps out what."""
    left, waiting = dict(weights), list(views)
    found = []
    while left and waiting:
        best = max(waiting, key=lambda one: sum(weight for name, weight in left.items() if name in one[1]))
        waiting.remove(best)
        if names := [name for name in left if name in best[1]]:
            found.append((best[0], names))
            left = {name: weight for name, weight in left.items() if name not in best[1]}
    return found


def _supplied(b: Behaviour, source: Source, terminals: tuple[Terminal, ...]) -> Supplied | None:
    """The poles of an a.c. source that ever reach each terminal while it is live."""
    live = b.model.supplies.live[source.name] & b.passed if source.kind == "AC" and source.role != "output" else 0
    at = [[p for p in source.poles if live and b.model.supplies.at(source, p, terminal) & live] for terminal in terminals]
    if sum(map(bool, at)) < 2:
        return None
    volts = [source.voltage_between(p, q) for i, poles in enumerate(at) for p in poles for other in at[:i] for q in other]
    lines = {source.poles[poles[0]] for poles in at if poles}
    return Supplied(source, max(volts), len(lines))


def _ways(b: Behaviour, motor: str) -> Iterable[tuple[Running, Fed, int]]:
    fed = b.motion(motor).fed
    seen = set()
    for way in fed:
        live = way.states & b.reached & b.model.supplies.live[way.source.name]
        for direction in ("forward", "reverse"):
            states = live & b.moving(motor, direction)
            key = (way.source.name, way.windings.connection, direction)
            if states and key not in seen:
                seen.add(key)
                volts = {pair: abs(v) for pair, v in way.windings.volts.items()}
                brief = way.windings.connection == "star" and _also_in_delta(b, way, fed)
                word, right = way.windings.connection, way.windings.right
                yield Running(motor, way.source, word, right, direction, volts, brief), way, states


def _also_in_delta(b: Behaviour, star: Fed, fed: Sequence[Fed]) -> bool:
    """Whether the same source reaches the motor in delta as well: then the star is that of a star-delta starter."""
    return any(f.source is star.source and f.windings.connection == "delta" and f.states & b.reached for f in fed)


def _events(b: Behaviour, states: int) -> tuple[str, ...]:
    return tuple(str(rule.event) for rule, _ in b.reach.trace(states) or () if rule is not None)


def acting(b: Behaviour, device: str) -> int:
    """The states in which a device takes its current: a coil, lamp or load that is energised, a drive or motor that runs."""
    kind = b.plan.devices[device].kind
    if kind == "motor":
        return b.moving(device)
    if kind == "drive":
        return b.running(device)
    return _any_of(b, device) if kind == "custom" else b.acting.get(device, 0)


def _any_of(b: Behaviour, device: str) -> int:
    """The states in which any coil or load of a device of several is energised."""
    found = 0
    for e in b.model.elements:
        if e.device == device and e.kind in ("coil", "load"):
            found |= b.model.supplies.energised(e.a, e.b, e.rated)
    return found


def _most(b: Behaviour, weights: Mapping[str, float]) -> tuple[float, tuple[str, ...], int]:
    """The largest sum of weights of what acts in one reached state, the devices, and in which states that is so.

    Branch and bound, heaviest device first.
    """
    devices = sorted(weights, key=lambda name: (-weights[name], name))
    sets = {name: acting(b, name) for name in devices}
    best: tuple[float, tuple[str, ...], int] = (0.0, (), b.reached)

    def go(i: int, states: int, total: float, chosen: tuple[str, ...], rest: float) -> None:
        nonlocal best
        if total > best[0]:
            best = (total, chosen, states)
        if i == len(devices) or total + rest <= best[0]:
            return
        name = devices[i]
        left = rest - weights[name]
        if together := states & sets[name]:
            go(i + 1, together, total + weights[name], (*chosen, name), left)
        go(i + 1, states & ~sets[name] if together else states, total, chosen, left)

    go(0, b.reached, 0.0, (), sum(weights.values()))
    return best
