"""Reads the devices of a plan: kind, parameters, positions, contacts, poles, links, and the terminals that come of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from wirecheck.kinds import Kind, kind_names, load_kind
from wirecheck.nodes import Node
from wirecheck.plan.contacts import Owner, pole_contacts, read_contacts, relay_contacts
from wirecheck.plan.custom import Parts, custom_parts
from wirecheck.plan.model import Contact, Device
from wirecheck.plan.problems import Problems
from wirecheck.plan.values import ValueReader, is_name, split_path


@dataclass(frozen=True, slots=True)
class Read:
    """A device as read, what its kind gives it, the marks that a wire may use, and whether something was wrong with it.

    `marks` of the device hold what is always there; wires add those of `possible` that they use. A device that was wrong takes
    part in no later check, so that one mistake is not told twice.
    """

    device: Device
    kind: Kind
    node: Node
    possible: frozenset[str]
    events: tuple[str, ...]
    sound: bool


def read_devices(node: Node, problems: Problems) -> tuple[dict[str, Read], frozenset[str]]:
    """All devices of the `devices` mapping, and the names of those that could not be read at all."""
    found: dict[str, Read] = {}
    lost: set[str] = set()
    if node.kind != "mapping":
        problems.add(node, f"devices: {node.what()} stands here", "a mapping of designation to device, such as S1: {kind: push-button, ...}")
        return found, frozenset()
    for key, value in node.pairs:
        if not is_name(key.text):
            problems.add(key, f"`{key.text}` cannot name a device", "a designation such as S1, without blanks, colons, commas or brackets")
            continue
        read = _device(key, value, problems)
        if read is None:
            lost.add(key.text)
        else:
            found[key.text] = read
    return found, frozenset(lost)


def _device(key: Node, node: Node, problems: Problems) -> Read | None:
    name = key.text
    if node.kind != "mapping":
        problems.add(node, f"{name}: {node.what()} stands here", "a device, such as {kind: push-button, contacts: {13-14: NO}}")
        return None
    stated = next((value for k, value in node.pairs if k.text == "kind"), None)
    if stated is None:
        problems.add(key, f"{name} lacks `kind`", "what the device is, such as kind: push-button")
        return None
    if stated.text not in kind_names():
        problems.unknown(stated, f"{name}: there is no kind {stated.what()}", stated.text, kind_names())
        return None
    return _Assembly(key, node, load_kind(stated.text), problems).read()


class _Assembly:
    """One device on its way from nodes to a record."""

    def __init__(self, key: Node, node: Node, kind: Kind, problems: Problems) -> None:
        self.key, self.node, self.kind, self.problems = key, node, kind, problems
        self.name = key.text
        self.before = len(problems.found)
        self.reader = ValueReader(problems)
        self.nodes = {k.text: value for k, value in node.pairs}
        self.values = self.reader.mapping(node, kind.keys, self.name)

    def read(self) -> Read:
        """The device with everything checked that can be checked without the other devices."""
        kind, values = self.kind, self.values
        variants = [by[str(values[p])] for p, by in kind.depends.items() if str(values.get(p)) in by]
        parts = custom_parts(self.name, values, self.nodes.get("elements"), self.reader) if kind.elements else Parts()
        positions = kind.positions + tuple(p for v in variants for p in v.positions) + self._stated_positions()
        states = kind.states or parts.states or positions
        poles = self._poles()
        contacts = self._contacts(Owner(self.name, kind, states, values.get("direct_opening") is True), poles) + list(parts.contacts)
        fixed = kind.terminals + tuple(t for v in variants for t in v.terminals)
        always = [mark for path in poles for mark in split_path(path)]
        own = [*fixed, *self._named_marks(), *always, *(m for c in contacts for m in (c.a, c.b)), *parts.marks]
        links = self._links(poles) + parts.links
        marks = tuple(dict.fromkeys([*own, *(m for link in links for m in link), *kind.late_terminals]))
        self._check_marks(poles, contacts, fixed, parts.marks)
        self._check_links([*own, *kind.optional_terminals, *kind.late_terminals])
        common = {k: str(values.pop(k)) if k in values else "" for k in ("title", "part", "notes", "place")}
        values.pop("links", None)
        device = Device(
            self.name,
            kind.name,
            self.problems.spot(self.key),
            positions,
            marks,
            tuple(contacts),
            links,
            values,
            common["title"],
            common["place"] or None,
            common["part"],
            common["notes"],
            self.reader.lines,
        )
        events = positions + kind.events + tuple(e for v in variants for e in v.events)
        return Read(device, kind, self.node, frozenset(marks) | frozenset(kind.optional_terminals), events, len(self.problems.found) == self.before)

    def _stated_positions(self) -> tuple[str, ...]:
        """The positions that the plan lists, for a kind that leaves them to it."""
        listed = self.values.get(self.kind.positions_from) if self.kind.positions_from else None
        return tuple(str(p) for p in listed) if isinstance(listed, tuple) else ()

    def _poles(self) -> tuple[str, ...]:
        """The names of the main poles."""
        poles = self.kind.poles
        if poles is None:
            return ()
        if poles.fixed:
            return poles.fixed
        listed = self.values.get("poles")
        paths = tuple(str(p) for p in listed) if isinstance(listed, tuple) else ()
        if poles.needed and "poles" not in self.nodes:
            self.problems.add(self.key, f"{self.name} lacks `poles`", "its main poles, each two marks, such as poles: [1-2, 3-4]")
        first = self.values.get("first_make")
        return tuple(dict.fromkeys((*paths, *(map(str, first) if isinstance(first, tuple) else ()))))

    def _contacts(self, owner: Owner, poles: tuple[str, ...]) -> list[Contact]:
        spot = self.problems.spot(self.nodes.get("poles", self.key))
        found = pole_contacts(poles, owner, spot)
        if self.kind.forms is not None and "contacts" in self.nodes and self.nodes["contacts"].text != "unknown":
            found += read_contacts(self.nodes["contacts"], owner, self.reader)
        relays = _at(self.values, self.kind.relays) if self.kind.relays else None
        if isinstance(relays, Mapping):
            found += self._relays(relays)
        return found

    def _relays(self, relays: Mapping[str, object]) -> Iterator[Contact]:
        for name, given in relays.items():
            wanted = 3 if isinstance(given, Mapping) and given.get("form") == "CO" else 2
            if len(split_path(name)) != wanted:
                at = _node_at(self.node, f"{self.kind.relays}.{name}") or self.key
                expected = "three marks, common-NC-NO" if wanted == 3 else "two marks such as RA-RC"
                self.problems.add(at, f"{self.name}: `{name}` cannot name a relay contact of this form", expected)
        yield from relay_contacts(self.name, relays, self.reader.lines, self.kind.relays)

    def _links(self, poles: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
        """The bars that the plan states, and the poles that always conduct."""
        stated = self.values.get("links")
        links = tuple(tuple(map(str, link)) for link in stated if isinstance(link, tuple)) if isinstance(stated, tuple) else ()
        always = tuple(split_path(path) for path in poles) if self.kind.poles and self.kind.poles.always else ()
        return always + links

    def _named_marks(self) -> Iterator[str]:
        """The marks that parameters name, or their defaults where a parameter is left out."""
        for path in self.kind.terminals_from:
            value = _at(self.values, path)
            if value is None:
                yield from _default_marks(self.kind, path)
            else:
                yield from _flat(value)

    def _check_marks(self, poles: Iterable[str], contacts: Iterable[Contact], fixed: tuple[str, ...], own: Iterable[str]) -> None:
        """No mark may stand in two contacts: metal that is in two places at once."""
        if self.kind.relays:
            return  # output relays of a drive often share their common
        always = [split_path(p) for p in poles] if self.kind.poles and self.kind.poles.always else []
        groups = {c.changeover or c.name: set[str]() for c in contacts} | {"-".join(p): set(p) for p in always}
        for contact in contacts:
            groups[contact.changeover or contact.name] |= {contact.a, contact.b}
        coil = set(fixed) & {"A1", "A2"}
        uses = Counter(mark for marks in groups.values() for mark in marks)
        for mark in sorted(m for m, n in uses.items() if n > 1 or m in coil):
            names = [name for name, marks in groups.items() if mark in marks]
            self._used_twice(mark, names, mark in coil)

    def _used_twice(self, mark: str, names: list[str], coil: bool) -> None:
        where = "contacts" if any(f"contacts.{n}" in self.reader.lines for n in names) else "poles"
        at = next((k for k, _ in self.nodes[where].pairs if k.text == names[-1]), self.nodes.get(where, self.key)) if where in self.nodes else self.key
        both = f"contact {names[0]} and as a coil end" if coil else f"contacts {' and '.join(names)}"
        hint = "marks of its own for every contact; join them with links, such as links: [[13, 23]], or write a change-over as 21-22-24: CO"
        self.problems.add(at, f"{self.name}: the mark {mark} is used twice, in {both}", hint)

    def _check_links(self, known: list[str]) -> None:
        """A link must be on terminals that the device has without it."""
        if self.kind.any_terminal or len(self.problems.found) > self.before:
            return
        for item in self.nodes["links"].items if "links" in self.nodes else ():
            for mark in item.items:
                if mark.kind == "scalar" and mark.text not in known and is_name(mark.text):
                    self.problems.unknown(mark, f"{self.name}: a link on `{mark.text}`, which is no terminal of it", mark.text, dict.fromkeys(known))


def _at(values: Mapping[str, object], path: str) -> object:
    """The value at a dotted path, None where there is none."""
    here: object = values
    for key in path.split("."):
        here = here.get(key) if isinstance(here, Mapping) else None
    return here


def _node_at(node: Node, path: str) -> Node | None:
    """The key node at a dotted path."""
    key: Node | None = None
    for word in path.split("."):
        found = next(((k, v) for k, v in node.pairs if k.text == word), None)
        if found is None:
            return key
        key, node = found
    return key


def _default_marks(kind: Kind, path: str) -> tuple[str, ...]:
    """The default marks of a parameter."""
    keys = kind.parameters
    for key in path.split(".")[:-1]:
        keys = keys[key].keys
    return keys[path.split(".")[-1]].default


def _flat(value: object) -> Iterator[str]:
    """The marks in a value: a mark, a list of them, lists of lists, or the keys of a table."""
    if isinstance(value, tuple | Mapping):
        for item in value:
            yield from _flat(item)
    elif isinstance(value, str):
        yield value
