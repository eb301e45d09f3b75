"""What share of a motor's current goes through the poles of a device: all of a line's, or that of one winding inside a delta."""

from __future__ import annotations

from collections.abc import Mapping

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.motion import Fed
from wirecheck.behaviour.space import has
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.elements import windings_of
from wirecheck.plan.model import Terminal
from wirecheck.plan.potentials import Joined

SMALL = 1e-9


def share_of_line(b: Behaviour, motor: str, fed: Fed, number: int, device: str) -> float:
    """The largest current in a pole of `device` by the largest current in a line, in the state `number`; 0 for none.

    The current of a winding goes with its voltage, as a phasor. With the device taken out, some winding ends hang on one
    terminal of each of its poles and the source on the other: through the pole goes the sum of the currents at these ends.
    """
    ends = _currents_at_ends(b, motor, fed)
    lines = _conducting(b, number, None)
    line = max(abs(_sum(ends, lines, pole)) for pole in fed.source.poles)
    without = _conducting(b, number, device)
    live = {without.root(pole) for pole in fed.source.poles}
    behind = (end for end in ends if without.root(end) not in live)  # where no pole of the device is, as much comes as goes
    most = max((abs(_sum(ends, without, end)) for end in behind), default=0.0)
    return most / line if most > SMALL * line else 0.0


def _currents_at_ends(b: Behaviour, motor: str, fed: Fed) -> Mapping[Terminal, complex]:
    """The current that goes into the motor at each end of its windings, all windings taken as one ohm."""
    found: dict[Terminal, complex] = {}
    for pair in windings_of(b.plan.devices[motor]):
        volts = fed.windings.volts[pair]
        for mark, current in ((pair[0], volts), (pair[1], -volts)):
            end = Terminal(motor, mark)
            found[end] = found.get(end, 0j) + current
    return found


def _conducting(b: Behaviour, number: int, without: str | None) -> Joined:
    """What conducts to what in one state, one device left out."""
    found = Joined()
    for element in b.model.elements:
        own = element.device == without and without is not None
        if element.kind in CONDUCTS and not own and has(b.model.conducts(element), number):
            found.join((element.a, element.b))
    return found


def _sum(ends: Mapping[Terminal, complex], groups: Joined, at: Terminal) -> complex:
    """The current into the ends that hang on a terminal."""
    root = groups.root(at)
    return sum(current for end, current in ends.items() if groups.root(end) == root)
