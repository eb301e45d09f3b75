"""Reads the devices of a plan: kind, parameters, positions, contacts, poles, links, and the terminals that come of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from wirecheck.kinds import Kind, Kinds
from wirecheck.nodes import Node
from wirecheck.plan.contacts import Owner, pole_contacts, read_contacts, relay_contacts
from wirecheck.plan.custom import Parts, custom_parts
from wirecheck.plan.model import Contact, Device
from wirecheck.plan.problems import Problems
from wirecheck.plan.scalars import is_name, split_path
from wirecheck.plan.terminals import check_links, check_marks, marks_used_twice, named_marks, value_at
from wirecheck.plan.values import ValueReader

Paths = tuple[tuple[str, ...], ...]


class Read(NamedTuple):
    """A device as read, its kind, the marks that a wire may use, what can happen to it, and whether all of it was right.

    `device.marks` hold what is always there; wires add those of `possible` that they use. Of a device that was not right no
    later check complains, so that one mistake is not told twice.
    """

    device: Device
    kind: Kind
    node: Node
    possible: frozenset[str]
    events: tuple[str, ...]
    sound: bool


def read_devices(node: Node, problems: Problems, kinds: Kinds) -> tuple[dict[str, Read], tuple[str, ...]]:
    """All devices of the `devices` mapping, and the names of those that could not be read at all."""
    found: dict[str, Read] = {}
    lost: list[str] = []
    if node.kind != "mapping":
        problems.add(
            node,
            f"devices: {node.what()} stands here",
            "a mapping of designation to device, such as S1: {kind: push-button, ...}",
        )
    for key, value in node.pairs:
        if not is_name(key.text):
            problems.add(
                key, f"`{key.text}` cannot name a device", "a designation such as S1, without blanks, colons, commas or brackets"
            )
            continue
        kind = _kind(key, value, problems, kinds)
        if kind is None:
            lost.append(key.text)
        else:
            found[key.text] = _Assembly(key, value, kind, problems).read()
    return found, tuple(lost)


def _kind(key: Node, node: Node, problems: Problems, kinds: Kinds) -> Kind | None:
    """The kind that a device states; None where it states none that is known."""
    if node.kind != "mapping":
        problems.add(
            node, f"{key.text}: {node.what()} stands here", "a device, such as {kind: push-button, contacts: {13-14: NO}}"
        )
        return None
    stated = next((value for k, value in node.pairs if k.text == "kind"), None)
    if stated is None:
        problems.add(key, f"{key.text} lacks `kind`", "what the device is, such as kind: push-button")
    elif stated.text not in kinds.names:
        problems.unknown(stated, f"{key.text}: there is no kind {stated.what()}", stated.text, kinds.names)
    else:
        return kinds.get(stated.text)
    return None


def _with_preset(key: Node, node: Node, preset: Node) -> Node:
    """A device with the keys that its house kind gives it where it does not state them; they stand where the device stands."""
    stated = {k.text for k, _ in node.pairs}
    given = [(_moved(k, key), _moved(value, key)) for k, value in preset.pairs if k.text not in stated]
    return replace(node, pairs=[*node.pairs, *given])


def _moved(node: Node, to: Node) -> Node:
    items = [_moved(item, to) for item in node.items]
    pairs = [(_moved(k, to), _moved(value, to)) for k, value in node.pairs]
    return replace(node, line=to.line, column=to.column, items=items, pairs=pairs)


class _Assembly:
    """One device on its way from nodes to a record."""

    def __init__(self, key: Node, node: Node, kind: Kind, problems: Problems) -> None:
        node = node if kind.preset is None else _with_preset(key, node, kind.preset)
        self.key, self.node, self.kind, self.problems = key, node, kind, problems
        self.name = key.text
        self.before = len(problems.found)
        self.reader = ValueReader(problems)
        self.nodes = {k.text: value for k, value in node.pairs}
        self.values = self.reader.mapping(node, kind.keys, self.name)
        for word, meant in kind.aliases.items():
            if word in self.values:
                self.values.setdefault(meant, self.values.pop(word))
        self.variants = [by[str(v)] for p, by in kind.depends.items() if str(v := self.values.get(p)) in by]

    def read(self) -> Read:
        """The device with everything checked that can be checked without the others."""
        kind, values = self.kind, self.values
        parts = custom_parts(self.name, values, self.nodes.get("elements"), self.reader) if kind.elements else Parts()
        positions = self._positions()
        poles = self._poles()
        owner = Owner(self.name, kind, kind.states or parts.states or positions, values.get("direct_opening") is True)
        contacts = (*self._contacts(owner, poles), *parts.contacts)
        links = self._links(poles) + parts.links
        marks = self._marks(poles, contacts, links, tuple(parts.marks))
        device = Device(
            self.name,
            kind.name,
            self.problems.spot(self.key),
            positions,
            marks,
            contacts,
            links,
            {key: value for key, value in values.items() if key not in ("title", "place", "part", "notes", "links")},
            title=str(values.get("title", "")),
            place=str(values["place"]) if "place" in values else None,
            part=str(values.get("part", "")),
            notes=str(values.get("notes", "")),
            lines=self.reader.lines,
            house_kind=kind.house,
        )
        possible = frozenset((*marks, *kind.optional_terminals))
        events = positions + kind.events + tuple(e for v in self.variants for e in v.events)
        return Read(device, kind, self.node, possible, events, len(self.problems.found) == self.before)

    def _positions(self) -> tuple[str, ...]:
        """The positions that the kind gives, or that the plan lists for a kind that leaves them to it."""
        listed = self.values.get(self.kind.positions_from) if self.kind.positions_from else None
        stated = tuple(map(str, listed)) if isinstance(listed, tuple) else ()
        if len(set(stated)) < len(stated):
            self.problems.add(
                self.nodes["positions"], f"{self.name}: a position stands twice", "each position once, the one at rest first"
            )
        return self.kind.positions + tuple(p for v in self.variants for p in v.positions) + stated

    def _poles(self) -> Paths:
        """The main poles, those that make first among them."""
        poles = self.kind.poles
        if poles is None:
            return ()
        if poles.needed and "poles" not in self.nodes:
            self.problems.add(self.key, f"{self.name} lacks `poles`", "its main poles, each two marks, such as poles: [1-2, 3-4]")
        listed = [self.values.get("poles"), self.values.get("first_make")]
        stated = [str(path) for paths in listed if isinstance(paths, tuple) for path in paths]
        return tuple(split_path(path) for path in dict.fromkeys((*poles.fixed, *stated)))

    def _contacts(self, owner: Owner, poles: Paths) -> Iterator[Contact]:
        yield from pole_contacts(poles, owner, self.problems.spot(self.nodes.get("poles", self.key)))
        if self.kind.forms is not None and "contacts" in self.nodes and self.nodes["contacts"].text != "unknown":
            yield from read_contacts(self.nodes["contacts"], owner, self.reader)
        if self.kind.relays and isinstance(relays := value_at(self.values, self.kind.relays), Mapping):
            yield from relay_contacts(self.name, relays, self.kind.relays, self._relay_nodes(), self.reader)

    def _relay_nodes(self) -> dict[str, Node]:
        """The keys of a drive's output relays."""
        node = self.node
        for word in self.kind.relays.split("."):
            node = next(value for key, value in node.pairs if key.text == word)
        return {key.text: key for key, _ in node.pairs}

    def _links(self, poles: Paths) -> Paths:
        """The poles that always conduct, and the bars that the plan states."""
        stated = self.values.get("links")
        links = tuple(tuple(map(str, link)) for link in stated) if isinstance(stated, tuple) else ()
        return (poles if self.kind.poles and self.kind.poles.always else ()) + links

    def _marks(self, poles: Paths, contacts: tuple[Contact, ...], links: Paths, inside: tuple[str, ...]) -> tuple[str, ...]:
        """All marks that are there whether wired or not, in drawing order. A mark used twice, or a link beside them, is noted."""
        kind = self.kind
        fixed = kind.terminals + tuple(t for v in self.variants for t in v.terminals)
        own = [*fixed, *named_marks(kind, self.values), *(m for pole in poles for m in pole)]
        own += [m for c in contacts for m in (c.a, c.b)] + list(inside)
        if not (
            kind.relays or kind.elements
        ):  # the relays of a drive often share a common; a custom device says how it is inside
            always = poles if kind.poles and kind.poles.always else ()
            twice = marks_used_twice(contacts, always, fixed if kind.coil else ())
            check_marks(self.name, twice, self.key, self.nodes, self.problems)
        if not kind.any_terminal and len(self.problems.found) == self.before:
            check_links(self.name, self.nodes.get("links"), [*own, *kind.optional_terminals, *kind.late_terminals], self.problems)
        return tuple(dict.fromkeys([*own, *(m for link in links for m in link), *kind.late_terminals]))
