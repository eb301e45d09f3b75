"""Wire numbers and potentials: runs with the same number must be one piece of metal, joined by wires, links, bars and plugs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wirecheck.nodes import Node
from wirecheck.plan.model import Device, Terminal, Wire
from wirecheck.plan.problems import Problems

EARTH_NUMBERS = ("PE",)
EARTH_COLOUR = "GNYE"
"""Earth conductors are left out: one that is not joined to the others is a danger that the rules tell, not a slip of the pen."""


class Joined:
    """Which terminals always are one: a union-find over terminals."""

    def __init__(self) -> None:
        self.parent: dict[Terminal, Terminal] = {}

    def root(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for all that are joined to this one."""
        parent = self.parent
        while (above := parent.get(terminal, terminal)) != terminal:
            parent[terminal] = parent.get(above, above)
            terminal = above
        return terminal

    def join(self, terminals: Sequence[Terminal]) -> None:
        """Make these one."""
        for terminal in terminals[1:]:
            self.parent[self.root(terminal)] = self.root(terminals[0])


def always_joined(devices: Iterable[Device], wires: Iterable[Wire]) -> Joined:
    """What metal alone joins, whatever any contact does; a plug is taken as mated."""
    joined = Joined()
    for wire in wires:
        joined.join((wire.a, wire.b))
    for device in devices:
        for link in device.links:
            joined.join([Terminal(device.name, mark) for mark in link])
        if device.kind == "plug-connector":  # a number usually goes through a plug unchanged
            for pole in (c for c in device.contacts if c.pole):
                joined.join((Terminal(device.name, pole.a), Terminal(device.name, pole.b)))
        if device.kind == "earth-bar":
            joined.join([Terminal(device.name, mark) for mark in device.marks])
    return joined


def check_numbers(numbers: Mapping[str, list[tuple[Node, Terminal, str]]], joined: Joined, problems: Problems) -> None:
    """Note every run whose number stands on another potential before it."""
    for number, runs in numbers.items():
        first_node, first, _ = runs[0]
        if number in EARTH_NUMBERS:
            continue
        for node, terminal, colour in runs[1:]:
            if colour != EARTH_COLOUR and joined.root(terminal) != joined.root(first):
                where = f"nothing always joins {terminal} to {first} (line {first_node.line})"
                expected = "the same number only on what wires and links join: another number here, or the wire that is missing"
                problems.add(node, f"wire number {number} stands on two potentials: {where}", expected)
                break
