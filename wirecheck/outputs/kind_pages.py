"""The device kinds as a list, and one kind whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap

from wirecheck.errors import visible
from wirecheck.kinds import COMMON, Kind, Parameter
from wirecheck.nodes import Node
from wirecheck.outputs.text import Page, closed, new_page
from wirecheck.plan.sections import ONE_OF, TOP_LEVEL
from wirecheck.units import fitting

GROUPS = {
    "supply": "supplies",
    "protection": "protection",
    "wiring": "wiring",
    "operating": "worked by a hand or by the machine",
    "switching": "moved by a coil or a supply",
    "measuring": "measuring",
    "load": "loads",
    "drive": "drives",
}
CHANGE_OVER = "CO (three marks: common, NC, NO)"


def render_kinds(kinds: Sequence[Kind], colour: bool = False, width: int = 100) -> str:
    """All kinds by name and title, in their groups."""
    page = new_page(colour, width)
    page.paragraph(f"{len(kinds)} device kinds. `wirecheck kinds NAME` prints one of them whole.", "strong")
    longest = max(len(kind.called) for kind in kinds)
    for group, title in GROUPS.items():
        some = [kind for kind in kinds if kind.group == group]
        if some:
            page.blank()
            page.paragraph(title, "strong")
        page.lines += [visible(f"  {kind.called:<{longest}}  {kind.title}{_like(kind)}") for kind in some]
    page.blank()
    page.paragraph("the other sections of a plan, with a page each", "strong")
    page.lines += [f"  {name:<{longest}}  {TOP_LEVEL[name][1]}" for name in ONE_OF]
    return closed(page)


def render_kind(kind: Kind, colour: bool = False, width: int = 100) -> str:
    """One kind whole: marks, positions, contacts, what can be said of it, and a piece of a plan to copy."""
    page = new_page(colour, width)
    page.paragraph(f"{kind.called}: {kind.title}{_like(kind)}", "strong")
    page.paragraph(kind.about)
    page.blank()
    for label, text in _facts(kind):
        page.labelled(label, text)
    key_lines(page, "What can be said of it", kind.parameters)
    key_lines(page, "And of every device", COMMON)
    page.blank()
    page.paragraph("To copy:", "strong")
    page.verbatim(kind.fragment.splitlines())
    return closed(page)


def _like(kind: Kind) -> str:
    return f" (of the house; behaves as {kind.name})" if kind.house else ""


def _facts(kind: Kind) -> Iterator[tuple[str, str]]:
    yield "letter", f"{kind.letter} (class letter of IEC 81346-2; a designation may have another)"
    yield "marks", "; ".join(_marks(kind)) or "none"
    if kind.positions_from:
        yield "position", f"those that its `{kind.positions_from}` lists, the first at rest"
    elif kind.positions:
        yield "position", ", ".join([f"{kind.positions[0]} (at rest)", *kind.positions[1:]])
    elif kind.states:
        yield "moves", f"{' and '.join(kind.states)}, by its coil or supply"
    for word, by in kind.depends.items():
        for value, variant in by.items():
            if more := (*variant.positions, *variant.events):
                yield "position", f"with {word} {value}: {', '.join(more)}"
    if kind.events:
        yield "events", ", ".join(kind.events)
    if kind.forms is not None:
        yield "contacts", "; ".join(_forms(kind.forms))
    if kind.preset is not None:
        yield "has", f"of itself {', '.join(f'{key.text}: {_flow(value)}' for key, value in kind.preset.pairs)}"
    if kind.poles is not None:
        yield "poles", "always conduct" if kind.poles.always else f"conduct when {' or '.join(kind.poles.closed_in)}"


def _flow(node: Node) -> str:
    """A value as a plan would have it on one line."""
    if node.kind == "list":
        return f"[{', '.join(map(_flow, node.items))}]"
    if node.kind == "mapping":
        return f"{{{', '.join(f'{key.text}: {_flow(value)}' for key, value in node.pairs)}}}"
    return node.text


def _marks(kind: Kind) -> Iterator[str]:
    fixed = [*kind.terminals, *kind.late_terminals]
    if fixed:
        yield ", ".join(fixed)
    if kind.optional_terminals:
        yield f"if wired: {', '.join(kind.optional_terminals)}"
    for word, by in kind.depends.items():
        for value, variant in by.items():
            if variant.terminals:
                yield f"with {word} {value}: {', '.join(variant.terminals)}"
    if kind.terminals_from:
        yield f"those named by {', '.join(kind.terminals_from)}"
    if kind.forms is not None:
        yield "those of its contacts"
    if kind.poles is not None:
        yield f"those of its poles ({', '.join(kind.poles.fixed)})" if kind.poles.fixed else "those of its poles"
    if kind.any_terminal:
        yield "any that you use"


def _forms(forms: Mapping[str, Sequence[str]]) -> Iterator[str]:
    for form, states in forms.items():
        yield f"{form} conducts when {' or '.join(states)}"
    if {"NO", "NC"} <= set(forms):
        yield CHANGE_OVER
    if not forms:
        yield "each says itself in which positions it conducts: {closed_in: [...]}"


def key_lines(page: Page, title: str, keys: Mapping[str, Parameter]) -> None:
    """Keys below a title: each with what it is, and those inside a mapping below it."""
    page.blank()
    page.paragraph(f"{title}:" if keys else f"{title}: nothing of its own.", "strong")
    for depth, name, text in _rows(keys):
        head = f"{'  ' * depth}  {name}"
        first, *rest = wrap(visible(text), page.width - 32, break_on_hyphens=False) or [""]
        page.lines += [f"{visible(head):<31} {first}".rstrip(), *(" " * 32 + line for line in rest)]


def _rows(keys: Mapping[str, Parameter], depth: int = 0) -> Iterator[tuple[int, str, str]]:
    """Each key with what may stand there, what it is, and what is assumed without it; keys inside a mapping below it."""
    for name, parameter in keys.items():
        yield depth, name, _explained(parameter)
        inside = parameter.of if parameter.type in ("table", "list") and parameter.of else parameter
        for choice in inside.choices or (inside,):
            yield from _rows(choice.keys, depth + 1)


def _explained(parameter: Parameter) -> str:
    """What a key is, what may stand there, whether it is needed, and what is assumed without it."""
    says = "; ".join(filter(None, [parameter.help, _form(parameter)]))
    needed = " Needed." if parameter.needed else ""
    worst = f" Not stated, the worst is assumed: {parameter.worst}." if parameter.worst else ""
    return f"{says}.{needed}{worst}"


def _form(parameter: Parameter) -> str:
    """What may stand at a key, where its help does not tell already."""
    kind = parameter.type
    if kind in ("mapping", "table", "text") or (kind in ("quantity", "link") and "such as" in parameter.help):
        return ""
    if kind == "quantity":
        return fitting(parameter.units, parameter.current).rpartition(", such ")[2].replace("as", "written like", 1)
    if kind == "list" and parameter.of is not None:
        return "a list" if parameter.of.shape == "scalar" else f"a list of {parameter.of.shape}s"
    if kind == "either":
        return ", or ".join("a mapping" if choice.keys else _form(choice) for choice in parameter.choices)
    return parameter.describe()
