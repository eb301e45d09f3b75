"""The terminals of a device: what its kind gives it, what its parameters name, and what may not stand on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from wirecheck.kinds import Kind
from wirecheck.nodes import Node
from wirecheck.plan.model import Contact
from wirecheck.plan.problems import Problems
from wirecheck.plan.scalars import is_name


def value_at(values: Mapping[str, object], path: str) -> object:
    """The value at a dotted path, None where there is none."""
    here: object = values
    for key in path.split("."):
        here = here.get(key) if isinstance(here, Mapping) else None
    return here


def named_marks(kind: Kind, values: Mapping[str, object]) -> Iterator[str]:
    """The marks that the parameters of a device name, or their defaults where a parameter is left out."""
    for path in kind.terminals_from:
        value = value_at(values, path)
        yield from _default_marks(kind, path) if value is None else _flat(value)


def _default_marks(kind: Kind, path: str) -> tuple[str, ...]:
    """The default marks of a parameter."""
    *above, last = path.split(".")
    keys = kind.parameters
    for key in above:
        keys = keys[key].keys
    return keys[last].default


def _flat(value: object) -> Iterator[str]:
    """The marks in a value: a mark, a list of them, lists of lists, or the keys of a table."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Iterable):
        for item in value:
            yield from _flat(item)


def marks_used_twice(contacts: Iterable[Contact], always: Iterable[tuple[str, ...]], coil: Iterable[str]) -> dict[str, list[str]]:
    """The marks that stand in two contacts or poles, or in one and on the coil: each with the names of those contacts."""
    groups: dict[str, set[str]] = {"-".join(pole): set(pole) for pole in always}
    for contact in contacts:
        groups.setdefault(contact.changeover or contact.name, set()).update((contact.a, contact.b))
    uses = Counter(mark for marks in groups.values() for mark in marks)
    ends = set(coil)
    return {m: [name for name, marks in groups.items() if m in marks] for m, n in uses.items() if n > 1 or m in ends}


def check_marks(name: str, twice: Mapping[str, list[str]], key: Node, nodes: Mapping[str, Node], problems: Problems) -> None:
    """Note every mark that is used twice, at the later of its contacts."""
    expected = "marks of its own for every contact; join contacts with links: [[13, 23]], and write a change-over as 21-22-24: CO"
    for mark, names in twice.items():
        contacts = {k.text: k for k, _ in nodes["contacts"].pairs} if "contacts" in nodes else {}
        poles = {item.text: item for item in nodes["poles"].items} if "poles" in nodes else {}
        at = contacts.get(names[-1]) or poles.get(names[-1]) or key
        where = f"in the contacts {' and '.join(names)}" if len(names) > 1 else f"in the contact {names[0]} and on the coil"
        problems.add(at, f"{name}: the mark {mark} is used twice, {where}", expected)


def check_links(name: str, node: Node | None, known: Iterable[str], problems: Problems) -> None:
    """Note every link on a mark that the device does not have."""
    marks = list(dict.fromkeys(known))
    for item in node.items if node is not None else ():
        for mark in item.items:
            if is_name(mark.text) and mark.text not in marks:
                problems.unknown(mark, f"{name}: a link on `{mark.text}`, which is no terminal of it", mark.text, marks)
