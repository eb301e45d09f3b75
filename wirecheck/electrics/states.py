"""What a calculation may ask of the behaviour, as a protocol: the electrics know nothing of how states are worked out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, NamedTuple, Protocol

from wirecheck.circuit.sources import Source
from wirecheck.plan.model import Quantity, Terminal

if TYPE_CHECKING:
    from wirecheck.electrics.conductors import Conductors


class Running(NamedTuple):
    """One way in which a motor turns: where from, how connected, what each winding gets.

    `winding_volts` maps a winding, from its first to its second mark, to the size of its voltage in V; for a drive's output it
    is at the drive's rated output voltage. `right` says whether the connection is a proper one (delta, star, double-star, ...).
    `brief` is true for a star that a star-delta starter only passes.
    """

    motor: str
    source: Source
    connection: str
    right: bool
    direction: str
    winding_volts: Mapping[tuple[str, str], float]
    brief: bool


class AtOnce(NamedTuple):
    """The most that acts at one time: the sum of the weights, which devices those are, and what finds the shortest way there."""

    total: float
    devices: tuple[str, ...]
    events: Callable[[], tuple[str, ...]]


class LateTorqueOff(NamedTuple):
    """A delay whose end takes the power or torque of a drive that is told to stop. `delay_s` is None where it is not stated.

    Where `idle` it does so at once: the timer waits when it pulls in, and not when it drops out.
    """

    drive: str
    device: str
    delay_s: float | None
    idle: bool = False


class Supplied(NamedTuple):
    """What reaches the supply terminals of a device from one a.c. source when all is switched on.

    `volts` is the largest voltage between two of its terminals, `lines` how many of them have a pole of their own.
    """

    source: Source
    volts: float
    lines: int


class Gets(NamedTuple):
    """A voltage that a coil, lamp, load or sensor gets in some state: between which of its terminals, and from which source."""

    device: str
    ends: tuple[Terminal, Terminal]
    kind: str
    rated: Quantity | None
    source: Source
    volts: float


class States(Protocol):
    """Questions about the reached states of a plan."""

    def running(self) -> tuple[Running, ...]:
        """Every distinct way in which each motor turns, in the plan's order."""
        ...

    def connections(self) -> tuple[Running, ...]:
        """Of the ways in which motors turn those that differ in source or connection: both directions give the same."""
        ...

    def events_to(self, what: Running | LateTorqueOff) -> tuple[str, ...]:
        """The shortest way from rest to where it is so. It takes a while to find."""
        ...

    def share_of_line(self, way: Running, device: str) -> float:
        """The largest current in a pole of a device by the line current of a motor that turns so; 0 where none of it passes.

        1 in the lines, 0.577 inside a delta.
        """
        ...

    def supplied(self, device: str, terminals: tuple[Terminal, ...]) -> tuple[Supplied, ...]:
        """Each source that reaches the supply terminals of a device."""
        ...

    def late_torque_off(self) -> tuple[LateTorqueOff, ...]:
        """The second stages of two-stage stops."""
        ...

    def slowed_down_by(self, motor: str, device: str, position: str) -> tuple[frozenset[str], bool] | None:
        """How a motor stops when a device is put into a position: the drives that may slow it down, and whether it may run down.

        None where that does not stop it.
        """
        ...

    def voltages(self) -> tuple[Gets, ...]:
        """What coils, lamps, loads and sensors get, whatever they are made for."""
        ...

    def poles_at(self, terminal: Terminal) -> tuple[tuple[Source, Terminal], ...]:
        """The poles of live sources, with these, to which a terminal is ever joined."""
        ...

    def most_at_once(self, weights: Mapping[str, float]) -> AtOnce:
        """Of devices that act (coils, lamps, loads, drives that run, motors that turn) the largest sum of weights at once."""
        ...

    def conductors(self) -> Conductors:
        """What each wire carries and what protects it."""
        ...
