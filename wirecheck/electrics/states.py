"""What a calculation may ask of the behaviour, as a protocol: the electrics know nothing of how states are worked out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple, Protocol

from wirecheck.circuit.sources import Source

if TYPE_CHECKING:
    from wirecheck.electrics.conductors import Conductors


class Running(NamedTuple):
    """One way in which a motor turns: where from, how connected, what each winding gets.

    `winding_volts` maps a winding, from its first to its second mark, to the size of its voltage in V; for a drive's output it
    is at the drive's rated output voltage. `right` says whether the connection is a proper one (delta, star, double-star, ...).
    `brief` is true for a star that a star-delta starter only passes. `events` is the shortest way there from rest.
    """

    motor: str
    source: Source
    connection: str
    right: bool
    direction: str
    winding_volts: Mapping[tuple[str, str], float]
    brief: bool
    events: tuple[str, ...]


class AtOnce(NamedTuple):
    """The most that acts at one time: the sum of the weights, which devices those are, and the shortest way there."""

    total: float
    devices: tuple[str, ...]
    events: tuple[str, ...]


class States(Protocol):
    """Questions about the reached states of a plan."""

    def running(self) -> tuple[Running, ...]:
        """Every distinct way in which each motor turns, in the plan's order."""
        ...

    def connections(self) -> tuple[Running, ...]:
        """Of the ways in which motors turn those that differ in source or connection: both directions give the same."""
        ...

    def share_of_line(self, way: Running, device: str) -> float:
        """The largest current in a pole of a device by the line current of a motor that turns so; 0 where none of it passes.

        1 in the lines, 0.577 inside a delta.
        """
        ...

    def most_at_once(self, weights: Mapping[str, float]) -> AtOnce:
        """Of devices that act (coils, lamps, loads, drives that run, motors that turn) the largest sum of weights at once."""
        ...

    def conductors(self) -> Conductors:
        """What each wire carries and what protects it."""
        ...
