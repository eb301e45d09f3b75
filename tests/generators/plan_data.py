"""Plans as plain data, to be edited and written again.

Every scalar stays the word that was written, so that `NO`, `1:30` and `1.10` come back as they were.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import yaml
from yaml.emitter import Emitter
from yaml.representer import SafeRepresenter
from yaml.resolver import BaseResolver
from yaml.serializer import Serializer

Data = dict[str, Any]
"""A whole plan, or a part of it, as it stands in the text: mappings, lists and words."""

End = tuple[str, str]
"""Device and mark."""


class _Writer(Emitter, Serializer, SafeRepresenter, BaseResolver):
    """Writes words without quotes wherever the text allows it: the reader of plans takes no word for anything else."""

    def __init__(self, stream: Any, **options: Any) -> None:
        Emitter.__init__(self, stream, width=160)
        Serializer.__init__(self)
        SafeRepresenter.__init__(self, sort_keys=False)
        BaseResolver.__init__(self)

    def ignore_aliases(self, data: object) -> bool:
        return True


def parse(text: str) -> Data:
    """The data of a plan's text."""
    found: Data = yaml.load(text, yaml.BaseLoader)
    return found


def write(data: Data) -> str:
    """The text of a plan's data."""
    text: str = yaml.dump(data, Dumper=_Writer)
    return text


def end_of(terminal: str) -> End:
    """Device and mark of a terminal as it stands in a run."""
    device, _, mark = terminal.partition(":")
    return device, mark


def all_ends(data: Data) -> Iterator[tuple[Data, int, End]]:
    """Every place of every run: the wire, the place's number in its run, and what stands there."""
    for wire in data["wires"]:
        for place, terminal in enumerate(wire["run"]):
            yield wire, place, end_of(terminal)


def contacts_of(device: Data) -> Data:
    """The contacts of a device, by their marks."""
    return dict(device.get("contacts", {}))


def form_of(contact: Any) -> str:
    """The form of a contact in its short or long way of writing; nothing for a selector's."""
    return contact if isinstance(contact, str) else str(contact.get("form") or contact.get("closed_when") or "")


def unused_name(taken: Iterable[str], letter: str, first: int = 1) -> str:
    """A designation that is not taken yet."""
    used = set(taken)
    return next(f"{letter}{n}" for n in range(first, 10_000) if f"{letter}{n}" not in used)


def letter_of(name: str) -> str:
    """The letters at the front of a designation."""
    return name.rstrip("0123456789") or "X"
