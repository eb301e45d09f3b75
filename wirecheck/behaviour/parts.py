"""What every device brings to the behaviour: its variables, when its contacts conduct, its moves and its events.

A part is made from a device of the plan. The model asks all parts for their variables, makes the space, asks when each contact
conducts, works out what is joined and live, and then asks for moves and events.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from wirecheck.behaviour.space import Move, Space, sum_of
from wirecheck.circuit import Element
from wirecheck.circuit.elements import section
from wirecheck.plan.model import Contact, Device, Event

if TYPE_CHECKING:
    from wirecheck.behaviour.model import Model


@dataclass(frozen=True, slots=True)
class EventRule:
    """An event with its stages: the circuit settles after each."""

    event: Event
    stages: tuple[tuple[Move, ...], ...]
    free: bool = False


Rounds = tuple[tuple[tuple[Move, ...], ...], ...]
"""Several events together: round by round, the moves of each stage."""

OPEN, OVERLAP, EARLY, FIRST = "between", "overlap", "early", "first"


class Part:
    """A device in the behaviour. This base has positions and no memory; the others add to it."""

    def __init__(self, device: Device) -> None:
        self.device = device
        self.name = device.name
        self.between = self._between(device)
        self.delayed = tuple(c for c in device.contacts if c.on_delay_s is not None or c.off_delay_s is not None)

    def _between(self, device: Device) -> str | None:
        """What the device passes through from one position to the next, None where it goes straight over."""
        if len(device.positions) < 2:
            return None
        if device.kind in ("selector", "key-switch"):
            return OVERLAP if device.values.get("make_before_break") is True else OPEN if _passes_open(device) else None
        if any(c.early_break for c in device.contacts):
            return EARLY
        if device.values.get("first_make"):
            return FIRST
        slow = device.values.get("break_before_make") is True  # not of the plan format: a variant that is tried, see variants.py
        return OPEN if slow or any(c.changeover for c in device.contacts) else None

    def middles(self) -> tuple[str, ...]:
        """The codes of the moments between positions."""
        if self.between == OVERLAP:
            positions = self.device.positions
            return tuple(f"{a} to {b}" for i, a in enumerate(positions) for b in positions[i + 1 :])
        return (self.between,) if self.between else ()

    def variables(self) -> Mapping[str, Sequence[str]]:
        """The variables of this part with their codes, the value at rest first."""
        found: dict[str, Sequence[str]] = {}
        if len(self.device.positions) > 1:
            found[self.name] = (*self.device.positions, *self.middles())
        for contact in self.delayed:
            found[str(contact)] = ("open", "closed") if not self._closed_at_rest(contact) else ("closed", "open")
        return found

    def _closed_at_rest(self, contact: Contact) -> bool:
        return (self.device.positions[0] if self.device.positions else "out") in contact.closed_in

    def state(self, space: Space, state: str) -> int:
        """The states of the space in which the device is in a named state of its own."""
        if state not in self.device.positions:
            return 0
        return space.at(self.name, state) if len(self.device.positions) > 1 else space.full

    def at_once(self, space: Space, element: Element) -> int:
        """When a contact conducts, delays left aside."""
        found = 0
        for state in sorted(element.closed_in or ()):
            found |= self.state(space, state)
        return found | self._closed_between(space, element)

    def _closed_between(self, space: Space, element: Element) -> int:
        closed_in, contact = element.closed_in or frozenset(), element.contact
        if self.between == OVERLAP:
            either = [m for m in self.middles() if set(m.split(" to ")) & closed_in]
            return sum_of(space.at(self.name, m) for m in either)
        if self.between == EARLY and contact is not None:
            main = self._main_position()
            return space.at(self.name, EARLY) if not contact.early_break and main in closed_in else 0
        if self.between == FIRST and contact is not None:
            first = {str(name) for name in self.device.values.get("first_make") or ()}  # type: ignore[attr-defined]
            return space.at(self.name, FIRST) if contact.name in first else 0
        return 0

    def _main_position(self) -> str:
        """The position in which the poles are closed, or where there are none the contacts that open early."""
        contacts = self.device.contacts
        main = [c for c in contacts if c.pole] or [c for c in contacts if c.early_break]
        return next((p for p in self.device.positions if p in main[0].closed_in), self.device.positions[-1])

    def conducts(self, space: Space, element: Element) -> int:
        """When a contact conducts."""
        instant = self.at_once(space, element)
        contact = element.contact
        if contact is None or contact not in self.delayed:
            return instant
        held = space.at(str(contact), "closed")
        closing, opening = closing_delay(contact), opening_delay(contact)
        if closing is not None and opening is not None:
            return held
        return instant & held if closing is not None else instant | held

    def moves(self, model: Model) -> list[Move]:
        """What the device does of itself while the circuit settles."""
        return [move for contact in self.delayed for move in self._follow_at_once(model, contact)]

    def perceptions(self, model: Model) -> list[Move]:  # noqa: ARG002  (a drive looks at it)
        """What a drive notices of its inputs, before anything else moves."""
        return []

    events_told = False
    """Whether what can be done to the device depends on what the circuit says to it."""

    def told(self, model: Model) -> tuple[object, ...]:  # noqa: ARG002  (whatever the circuit moves looks at it)
        """All that the circuit says to the device: in models that say the same, it does the same."""
        return ()

    def into(self, space: Space, mask: int, code: str, more: Mapping[int, int] | None = None) -> list[Move]:
        """Moves that put the device to a code in every state of `mask`; what is not delayed of its late contacts goes along."""
        targets = {**space.targets(self.name, space.variables[self.name].codes.index(code)), **(more or {})}
        for contact in self.delayed:
            low = space.variables[str(contact)].low
            closed_code = space.variables[str(contact)].codes.index("closed")
            if code in contact.closed_in and closing_delay(contact) is None:
                targets[low] = space.full if closed_code else 0
            elif code not in contact.closed_in and opening_delay(contact) is None:
                targets[low] = 0 if closed_code else space.full
        return space.change(mask, targets)

    def _instant(self, model: Model, contact: Contact) -> int:
        return self.at_once(model.space, model.element_of(contact))

    def _follow_at_once(self, model: Model, contact: Contact) -> list[Move]:
        space, instant, found = model.space, self._instant(model, contact), []
        if closing_delay(contact) is None:
            found += space.assign(instant, str(contact), "closed")
        if opening_delay(contact) is None:
            found += space.assign(space.full & ~instant, str(contact), "open")
        return found

    def events(self, model: Model) -> list[EventRule]:
        """All that an operator, the world or the end of a delay can do to the device."""
        found = [
            EventRule(Event(self.name, p), self._stages(model.space, p))
            for p in self.device.positions
            if len(self.device.positions) > 1
        ]
        elapsed = self.elapsing(model)
        if elapsed:
            found.append(EventRule(Event(self.name, "elapsed"), (tuple(elapsed),)))
        return found

    def _stages(self, space: Space, to: str) -> tuple[tuple[Move, ...], ...]:
        others = [p for p in self.device.positions if p != to]
        if self.between is None:
            return (tuple(m for p in others for m in self.into(space, space.at(self.name, p), to)),)
        if self.between == OVERLAP:
            middles = {p: next(m for m in self.middles() if set(m.split(" to ")) == {p, to}) for p in others}
        else:
            middles = dict.fromkeys(others, self.between)
        into = tuple(m for p in others for m in space.assign(space.at(self.name, p), self.name, middles[p]))
        out = tuple(m for middle in dict.fromkeys(middles.values()) for m in self.into(space, space.at(self.name, middle), to))
        return (into, out)

    def pending(self, model: Model) -> list[tuple[float, int, list[Move]]]:
        """The delays of the device: seconds, the states in which it is running, the moves that its end makes."""
        found = []
        space = model.space
        for contact in self.delayed:
            instant, held = self._instant(model, contact), space.at(str(contact), "closed")
            closing, opening = closing_delay(contact), opening_delay(contact)
            if closing is not None and (mask := instant & ~held):
                found.append((closing, mask, space.assign(mask, str(contact), "closed")))
            if opening is not None and (mask := held & ~instant):
                found.append((opening, mask, space.assign(mask, str(contact), "open")))
        return found

    def elapsing(self, model: Model) -> list[Move]:
        """The moves of `DEVICE=elapsed`: of all delays that run, the shortest ends."""
        delays = sorted(self.pending(model), key=lambda delay: delay[0])
        groups: dict[float, list[tuple[int, list[Move]]]] = {}
        for seconds, mask, moves in delays:
            groups.setdefault(seconds, []).append((mask, moves))
        found: list[Move] = []
        earlier = 0
        for group in groups.values():
            found += _together(model.space, group, earlier)
            for mask, _ in group:
                earlier |= mask
        return found


def _passes_open(device: Device) -> bool:
    """Whether all contacts open is something else than each position: where two positions close a contact. A selector `off - on`
    with contacts for `on` alone is, on its way, as at `off`: a moment between would double the states and add nothing.
    """
    closing = {p for contact in device.contacts for p in device.positions if p in contact.closed_in}
    return len(closing) > 1


def rounds_of(events: Iterable[EventRule]) -> Rounds:
    """Events put together in rounds, each as its stages.

    Events that go straight over are one round. Of those that pass a moment on the way a round has one of each device: what comes
    after that moment moves only what is in the middle of it, so that devices do not disturb each other.
    """
    straight: list[Move] = []
    staged: dict[tuple[int, int], list[tuple[tuple[Move, ...], ...]]] = {}
    of_device: dict[str, int] = {}
    for rule in events:
        if len(rule.stages) == 1:
            straight += rule.stages[0]
        else:
            number = of_device[rule.event.device] = of_device.get(rule.event.device, 0) + 1
            staged.setdefault((len(rule.stages), number), []).append(rule.stages)
    together = (tuple(tuple(chain(*moves)) for moves in zip(*group, strict=True)) for group in staged.values())
    return ((tuple(straight),), *together)


def _together(space: Space, group: list[tuple[int, list[Move]]], earlier: int) -> list[Move]:
    """Delays of one length end together: their moves, combined in the states in which several run."""
    parts: list[tuple[int, tuple[int, ...]]] = [(space.full & ~earlier, ())]
    for _, moves in group:
        for move in moves:
            parts = [
                (m, b)
                for part, bits in parts
                for m, b in ((part & ~move.mask, bits), (part & move.mask, (*bits, *move.bits)))
                if m
            ]
    return [Move(mask, bits) for mask, bits in parts if bits]


def closing_delay(contact: Contact) -> float | None:
    """Seconds by which the contact closes late: a break contact closes when its device comes back to rest."""
    return contact.off_delay_s if contact.form == "NC" else contact.on_delay_s


def opening_delay(contact: Contact) -> float | None:
    """Seconds by which the contact opens late."""
    return contact.on_delay_s if contact.form == "NC" else contact.off_delay_s


def setting(device: Device, key: str, *path: str) -> object:
    """A value of the device, `settings` by default."""
    return section(device.values, *(path or ("settings",))).get(key)
