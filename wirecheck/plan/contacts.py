"""Reads the contacts and poles of a device, in every form that a plan may give them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from wirecheck.findings import Spot
from wirecheck.kinds import Kind, Parameter
from wirecheck.nodes import Node
from wirecheck.plan.model import Contact, Quantity
from wirecheck.plan.scalars import split_path
from wirecheck.plan.values import ValueReader

LONG_FORM: Mapping[str, Parameter] = {
    "form": Parameter("text", help="NO, NC or CO"),
    "closed_in": Parameter("list", of=Parameter("position"), least=1, help="the positions in which it conducts"),
    "closed_when": Parameter("text", help="guard-closed or guard-open"),
    "direct_opening": Parameter("boolean", help="the contact is forced open"),
    "early_break": Parameter("boolean", help="opens before the main poles"),
    "on_delay": Parameter("quantity", units=("s",), zero=True, help="acts so much later"),
    "off_delay": Parameter("quantity", units=("s",), zero=True, help="falls back so much later"),
    "rating": Parameter("text", help="what it may switch, such as 3 A AC-15"),
}
"""The keys of a contact's long form."""

BREAKING = ("NC", "guard-closed")
"""The forms that device-level `direct_opening` speaks of."""


class Owner(NamedTuple):
    """The device whose contacts are read: name, kind, states (those at rest first), and whether its contacts are forced open."""

    name: str
    kind: Kind
    states: tuple[str, ...]
    direct_opening: bool = False

    @property
    def forms(self) -> dict[str, tuple[str, ...]]:
        """The contact forms of the kind with the states in which they conduct; CO where it has both NO and NC."""
        forms = dict(self.kind.forms or {})
        return forms | ({"CO": ()} if "NO" in forms and "NC" in forms else {})


def read_contacts(node: Node, owner: Owner, reader: ValueReader) -> list[Contact]:
    """All contacts of a `contacts` mapping."""
    if not reader.is_mapping(node, f"{owner.name}: contacts"):
        return []
    found: list[Contact] = []
    for key, value in node.pairs:
        marks = split_path(key.text)
        if len(marks) not in (2, 3) or len(set(marks)) != len(marks):
            expected = "two different marks such as 11-12, or three of a change-over such as 21-22-24"
            reader.problems.add(key, f"{owner.name}: `{key.text}` cannot name a contact", expected)
            continue
        reader.lines[f"contacts.{key.text}"] = reader.problems.spot(key)
        found += _contact(key, value, marks, owner, reader)
    return found


def _contact(key: Node, node: Node, marks: Sequence[str], owner: Owner, reader: ValueReader) -> Iterator[Contact]:
    what = f"{owner.name}: contact {key.text}"
    if node.kind == "list":
        reader.problems.add(node, f"{what}: {node.what()} stands here", _expected(owner))
        return
    if node.kind == "scalar":
        given: dict[str, object] = {"form": node.text}
    else:
        given = reader.mapping(node, LONG_FORM, what, f"contacts.{key.text}.")
        if node.kind != "mapping":
            return
    conducts = _conducts(node, given, what, owner, reader, len(marks))
    if conducts is None:
        return
    form, closed_in = conducts
    delays = {name: q.value for name in ("on_delay", "off_delay") if isinstance(q := given.get(name), Quantity)}
    contact = Contact(
        owner.name,
        key.text,
        marks[0],
        marks[1],
        frozenset(closed_in),
        form,
        reader.problems.spot(key),
        early_break=given.get("early_break") is True,
        on_delay_s=delays.get("on_delay"),
        off_delay_s=delays.get("off_delay"),
        rating=str(given["rating"]) if "rating" in given else None,
    )
    halves = [contact] if len(marks) == 2 else _halves(contact, marks, owner)
    for half in halves:
        stated = given.get("direct_opening")
        opening = stated is True if stated is not None else owner.direct_opening and _breaks(half, owner)
        yield half._replace(direct_opening=opening)


def _breaks(contact: Contact, owner: Owner) -> bool:
    """Whether a contact is one that opens when its device is worked."""
    return contact.form in BREAKING or (contact.form == "closed-in" and owner.states[0] in contact.closed_in)


def _halves(contact: Contact, marks: Sequence[str], owner: Owner) -> list[Contact]:
    """The two paths of a change-over: common to the second mark, and common to the third in all other states."""
    common, second, third = marks
    others = frozenset(owner.states) - contact.closed_in
    plain = contact.form == "CO"
    forms = (
        ("NC", "NO")
        if plain
        else (contact.form, {"guard-closed": "guard-open", "guard-open": "guard-closed"}.get(contact.form, contact.form))
    )
    first = contact._replace(name=f"{common}-{second}", form=forms[0], changeover=contact.name)
    return [first, first._replace(name=f"{common}-{third}", b=third, closed_in=others, form=forms[1])]


def _conducts(
    node: Node, given: Mapping[str, object], what: str, owner: Owner, reader: ValueReader, marks: int
) -> tuple[str, tuple[str, ...]] | None:
    """The form of a contact and the states in which it (of a change-over: its second mark) conducts; None where that is wrong."""
    problems = reader.problems
    stated = [name for name in ("form", "closed_in", "closed_when") if name in given]
    if "closed_in" in given:
        return _closed_in(node, given, what, owner, reader)
    if len(stated) != 1:
        problems.add(node, f"{what}: {' and '.join(stated) or 'nothing'} says when it conducts", _expected(owner))
        return None
    form = str(given[stated[0]])
    if form not in owner.forms:
        problems.unknown(
            node, f"{what}: `{form}` is no form of a {owner.kind.name}'s contact{_why(form, owner)}", form, _known(owner)
        )
        return None
    if (form == "CO") != (marks == 3) and form in ("NO", "NC", "CO"):
        wanted = (
            "three marks, common-NC-NO such as 21-22-24"
            if form == "CO"
            else f"two marks for {form}, or the form CO for a change-over"
        )
        problems.add(node, f"{what}: {marks} marks stand here for the form {form}", wanted)
        return None
    return form, owner.forms["NC" if form == "CO" else form]


def _closed_in(
    node: Node, given: Mapping[str, object], what: str, owner: Owner, reader: ValueReader
) -> tuple[str, tuple[str, ...]] | None:
    form = given.get("form")
    if "closed_when" in given or form not in (None, "CO"):
        reader.problems.add(node, f"{what}: closed_in and another key both say when it conducts", _expected(owner))
        return None
    closed_in = given["closed_in"]
    assert isinstance(closed_in, tuple)
    unknown = [state for state in closed_in if state not in owner.states]
    for state in unknown:
        where = next(
            (item for key, value in node.pairs if key.text == "closed_in" for item in value.items if item.text == state), node
        )
        reader.problems.unknown(where, f"{what}: {owner.name} has no position `{state}`", state, owner.states)
    return None if unknown else ("closed-in", closed_in)


def _known(owner: Owner) -> list[str]:
    return list(owner.forms) or ["{closed_in: [...]}"]


def _expected(owner: Owner) -> str:
    forms = ", ".join(owner.forms)
    return f"{forms}, or the long form with one of form, closed_in, closed_when" if forms else _choose(owner)


def _choose(owner: Owner) -> str:
    return f"{{closed_in: [...]}} with some of {', '.join(owner.states)}"


def _why(form: str, owner: Owner) -> str:
    """More about a form that does not fit, where a beginner would stumble."""
    if form not in ("NO", "NC", "CO"):
        return ""
    if "guard-closed" in owner.forms:
        return " (which side is normal differs between makers, so say guard-closed or guard-open)"
    return " (say in which positions it conducts)" if not owner.forms else ""


def pole_contacts(paths: Sequence[Sequence[str]], owner: Owner, spot: Spot) -> list[Contact]:
    """The main poles of a device as contacts; none where the kind's poles always conduct."""
    poles = owner.kind.poles
    if poles is None or poles.always:
        return []
    return [Contact(owner.name, f"{a}-{b}", a, b, frozenset(poles.closed_in), "NO", spot, pole=True) for a, b in paths]


def relay_contacts(
    owner: str, relays: Mapping[str, object], path: str, keys: Mapping[str, Node], reader: ValueReader
) -> Iterator[Contact]:
    """The contacts of a drive's output relays. NC conducts in whatever is not what it acts on, written `not healthy`."""
    for name, given in relays.items():
        if not isinstance(given, Mapping) or not {"form", "acts_on"} <= set(given):
            continue  # noted where the value was read
        marks, form, acts_on = split_path(name), str(given["form"]), str(given["acts_on"])
        if len(marks) != (3 if form == "CO" else 2):
            wanted = "three marks, common-NC-NO" if form == "CO" else "two marks such as RA-RC"
            reader.problems.add(keys[name], f"{owner}: `{name}` cannot name a relay contact of the form {form}", wanted)
            continue
        rating = str(given["rating"]) if "rating" in given else None
        does, other = frozenset({acts_on}), frozenset({f"not {acts_on}"})
        closed_in = does if form == "NO" else other
        contact = Contact(owner, name, marks[0], marks[1], closed_in, form, reader.lines[f"{path}.{name}"], rating=rating)
        if form != "CO":
            yield contact
            continue
        yield contact._replace(name="-".join(marks[:2]), form="NC", changeover=name)
        yield contact._replace(name=f"{marks[0]}-{marks[2]}", b=marks[2], form="NO", closed_in=does, changeover=name)
