"""The plan as frozen records: what the reader makes of the text, and all that later stages know of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from wirecheck.findings import Spot


class Terminal(NamedTuple):
    """A terminal of a device, written `S1:12`."""

    device: str
    mark: str

    def __str__(self) -> str:
        return f"{self.device}:{self.mark}"


class Event(NamedTuple):
    """A device put into a position, written `S4=pressed`."""

    device: str
    position: str

    def __str__(self) -> str:
        return f"{self.device}={self.position}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit in SI base form (V, A, W, VA, mm2, m, ohm, Hz, rpm, s, F, degC).

    `value` is the lower end where the text gave a range, `high` the upper end. `current` is "AC" or "DC" where the text said so,
    `text` is what the user wrote.
    """

    value: float
    unit: str
    text: str
    high: float | None = None
    current: str | None = None


class Contact(NamedTuple):
    """One make or break path of a device. A change-over is two of these that share `changeover`.

    `closed_in` names the device's states in which it conducts. States are the device's positions for whatever is operated by
    hand or by the world, `out` and `in` for whatever has a coil (relay, contactor, timer-relay, thermistor-relay, safety-relay:
    `in` is energised or armed), `off` and `on` for the poles of a no-volt release, and for a drive's relays `healthy`, `fault`,
    `running` or `at-speed`. `pole` is True for main poles.
    """

    device: str
    name: str
    a: str
    b: str
    closed_in: frozenset[str]
    form: str
    spot: Spot
    pole: bool = False
    changeover: str | None = None
    direct_opening: bool = False
    early_break: bool = False
    on_delay_s: float | None = None
    off_delay_s: float | None = None
    rating: str | None = None

    def __str__(self) -> str:
        return f"{self.device}:{self.name}"


@dataclass(frozen=True, slots=True)
class Device:
    """A device. `values` holds its parameters, quantities read and words checked, nested as in the text; what is not in it
    was not stated (or stated as unknown). `lines` gives the spot of a parameter by dotted path, `settings.stop.time`.
    `marks` are all its terminals that the kind gives it or the plan uses, in drawing order.
    `house_kind` is what the plan calls its kind where that is one of the house's own which behaves as `kind`.
    """

    name: str
    kind: str
    spot: Spot
    positions: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    contacts: tuple[Contact, ...] = ()
    links: tuple[tuple[str, ...], ...] = ()
    values: Mapping[str, object] = field(default_factory=dict)
    title: str = ""
    place: str | None = None
    part: str = ""
    notes: str = ""
    lines: Mapping[str, Spot] = field(default_factory=dict)
    house_kind: str = ""

    @property
    def role(self) -> str | None:
        """What an operator device is for (start, stop, jog, direction, ...), None where the kind has no role."""
        role = self.values.get("role")
        return str(role) if role is not None else None

    def terminal(self, mark: object) -> Terminal:
        """The device's terminal with this mark."""
        return Terminal(self.name, str(mark))

    def label(self) -> str:
        """Designation and title for a sentence: `S2 (chuck guard)`."""
        title = self.title or str(self.values.get("guards") or "")
        return f"{self.name} ({title})" if title and title.lower() != self.name.lower() else self.name

    def meaning(self, position: str) -> str:
        """What a position is, in words, where its name can be misread; else nothing."""
        return "its start and stop are let go" if self.kind == "no-volt-release" and position == "off" else ""


SCREENS = frozenset({"screen", "shield", "braid"})
"""What a plan calls the `core` of a wire that is the screen of its cable: none of the cable's cores."""


@dataclass(frozen=True, slots=True)
class Wire:
    """One conductor between two terminals. A run of three terminals is two of these.

    `stated_size` is what its own line gives where its cable gives another size; it is reckoned with the smaller.
    """

    index: int
    number: str
    a: Terminal
    b: Terminal
    spot: Spot
    run: int
    size_mm2: float | None = None
    size_text: str = ""
    colour: str = ""
    cable: str | None = None
    core: str | None = None
    stated_size: str = ""

    @property
    def is_screen(self) -> bool:
        """Whether it is the screen of its cable, and none of the cores."""
        return (self.core or "").lower() in SCREENS

    def __str__(self) -> str:
        return f"wire {self.number} [{self.a}\u2013{self.b}]"


class Cable(NamedTuple):
    """A cable with its cores; a value that was not stated is None."""

    name: str
    spot: Spot
    cores: int | None = None
    size_mm2: float | None = None
    size_text: str = ""
    length_m: float | None = None
    screened: bool | None = None
    voltage_rating_v: float | None = None
    insulation: str | None = None
    method: str | None = None
    route: str | None = None


class Function(NamedTuple):
    """A safety function: any one of `causes` must bring about all of `must` (device, `stopped` or `off`).

    `level` is the required performance level (a to e), stated or from the risk graph; None where nothing is required.
    """

    name: str
    causes: tuple[Event, ...]
    must: tuple[tuple[str, str], ...]
    spot: Spot
    category: str | None = None
    level: str | None = None
    stated: bool = True


class Accepted(NamedTuple):
    """A finding that the owner accepts, and why."""

    rule: str
    devices: tuple[str, ...]
    spot: Spot
    because: str = ""
    by: str = ""
    date: str = ""


class Place(NamedTuple):
    """An enclosure or a station."""

    name: str
    title: str = ""
    ip: str = ""
    swarf: bool = False
    coolant: bool = False
    ambient_c: float | None = None
    spot: Spot | None = None


class Machine(NamedTuple):
    """What the plan says of the machine as a whole; `values` holds run_down_time, spindle and the like, `lines` their places."""

    name: str
    region: str
    spot: Spot
    values: Mapping[str, object] = {}
    lines: Mapping[str, Spot] = {}


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole plan that could be read without an error. `assumed` lists the worst cases taken for what was left out."""

    file: str
    machine: Machine
    devices: Mapping[str, Device]
    wires: tuple[Wire, ...]
    cables: Mapping[str, Cable] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)
    functions: tuple[Function, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    assumed: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
