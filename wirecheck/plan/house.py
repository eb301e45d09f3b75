"""Reads the house's own device kinds from a folder: one YAML file a kind, checked with the same care as a plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from wirecheck.errors import PlanError, PlanErrors
from wirecheck.kinds import Kind, Kinds, Parameter, kind_names, load_kind
from wirecheck.kinds.kind import kind_of
from wirecheck.kinds.parameter import TYPES
from wirecheck.nodes import Node, compose, plain_data
from wirecheck.plan.problems import Problems
from wirecheck.plan.reader import decode_plan, read_bytes
from wirecheck.plan.values import ValueReader
from wirecheck.units import UNITS

_TEXT, _WORDS, _FLAG = Parameter("text"), Parameter("list", of=Parameter("mark")), Parameter("boolean")
_PATHS = Parameter("list", of=Parameter("path"))
_NAMED = {"kind": Parameter("mark", needed=True, help="what a plan calls it"), "title": _TEXT, "about": _TEXT, "fragment": _TEXT}
LIKE: Mapping[str, Parameter | None] = {
    **_NAMED,
    "is": Parameter("word", words=kind_names(), help="the kind that it behaves as"),
    "preset": None,
}
"""The keys of a kind that behaves as a packaged one: `preset` holds the keys that its devices have of themselves."""

_POLES = {"closed_in": _WORDS, "always": _FLAG, "needed": _FLAG, "fixed": _PATHS}
_VARIANT = {"terminals": _WORDS, "positions": _WORDS, "events": _WORDS}
GROUPS = ("supply", "protection", "wiring", "operating", "switching", "measuring", "load", "drive")
WHOLE: Mapping[str, Parameter | None] = {
    **{name: parameter._replace(needed=True) for name, parameter in _NAMED.items()},
    "letter": _TEXT._replace(needed=True, help="the class letter of its designations (IEC 81346-2)"),
    "group": Parameter("word", words=GROUPS, needed=True),
    **dict.fromkeys(("terminals", "optional_terminals", "late_terminals", "positions", "states", "events"), _WORDS),
    "any_terminal": _FLAG,
    "terminals_from": _WORDS,
    "positions_from": _TEXT,
    "aliases": Parameter("table", of=_TEXT),
    "contacts": Parameter("mapping", keys={"forms": Parameter("table", of=_WORDS, needed=True)}),
    "poles": Parameter("mapping", keys=_POLES),
    "depends": Parameter("table", of=Parameter("table", of=Parameter("mapping", keys=_VARIANT))),
    "parameters": None,
}
"""The keys of a kind that is described whole."""

_NUMBER = Parameter("number")
_ALWAYS: Mapping[str, Parameter | None] = {
    "type": Parameter("word", words=TYPES, needed=True),
    "help": _TEXT,
    "needed": _FLAG,
    "worst": _TEXT,
}
_MORE: Mapping[str, Mapping[str, Parameter | None]] = {
    "quantity": {
        "units": Parameter("list", of=Parameter("word", words=tuple(UNITS)), least=1, needed=True),
        "current": Parameter("word", words=("AC", "DC")),
        "zero": _FLAG,
    },
    "word": {"words": Parameter("list", of=_TEXT, least=1, needed=True), "meant": Parameter("table", of=_TEXT)},
    "integer": {"least": _NUMBER, "most": _NUMBER},
    "number": {"least": _NUMBER, "most": _NUMBER},
    "list": {"of": None, "least": _NUMBER, "most": _NUMBER, "default": _WORDS},
    "table": {"of": None},
    "either": {"of": None},
    "mapping": {"keys": None},
}
"""What a parameter of each type says of itself beside `_ALWAYS`."""


def read_kinds(folders: Iterable[str | Path]) -> Kinds:
    """The packaged kinds and those of the house in `folders`.

    Raises
    ------
    PlanErrors
        A folder or a file cannot be read, or something in a file is wrong; all errors of all files at once.
    """
    found: dict[str, Kind] = {}
    errors: list[PlanError] = []
    for path in _files(folders, errors):
        try:
            kind = _read(path, decode_plan(read_bytes(path), str(path)), found)
        except PlanErrors as bad:
            errors += bad.errors
        else:
            found[kind.called] = kind
    if errors:
        raise PlanErrors(errors)
    return Kinds(found.values())


def _files(folders: Iterable[str | Path], errors: list[PlanError]) -> Iterator[Path]:
    for folder in map(Path, folders):
        found = sorted(folder.glob("*.yaml"))
        if not found:
            message = "there is no device kind in this folder" if folder.is_dir() else "there is no such folder"
            errors.append(PlanError(str(folder), 1, 1, message, "a folder with a file NAME.yaml for each device kind"))
        yield from found


def _read(path: Path, text: str, earlier: Mapping[str, Kind]) -> Kind:
    """One kind of the house's own."""
    root = compose(text, str(path))
    problems = Problems(str(path), tuple(text.splitlines()))
    nodes = {key.text: value for key, value in root.pairs}
    like = "is" in nodes
    values = ValueReader(problems).mapping(root, LIKE if like else WHOLE, "a device kind")
    name = str(values.get("kind", ""))
    if name in kind_names() or name in earlier:
        problems.add(nodes["kind"], f"there is a kind `{name}` already", "a name of its own")
    if "parameters" in nodes:
        _check_keys(nodes["parameters"], problems)
    elif not like:
        problems.add(
            root, "a device kind lacks `parameters` or `is`", "its parameters ({} for none), or the kind that it behaves as"
        )
    preset = nodes.get("preset")
    if preset is not None and preset.kind != "mapping":
        problems.add(
            preset, f"preset: {preset.what()} stands here", "the keys that its devices have of themselves, such as {role: stop}"
        )
    problems.raise_if_any()
    if not like:
        kind = kind_of(plain_data(root))
        _check_references(kind, nodes, problems)
        problems.raise_if_any()
        return kind
    base = load_kind(str(values["is"]))
    said: dict[str, Any] = {"fragment": f"{base.letter}1: {{kind: {name}}}\n"}  # that of the other kind would name that kind
    said |= {key: str(values[key]) for key in ("title", "about", "fragment") if key in values}
    return base._replace(house=name, preset=preset, **said)


def _check_references(kind: Kind, nodes: Mapping[str, Node], problems: Problems) -> None:
    """What a kind says of its own states and parameters: all of them must be there."""
    states = kind.states or kind.positions
    if not kind.positions_from:
        conducts = [("contacts", state) for named in (kind.forms or {}).values() for state in named]
        conducts += [("poles", state) for state in (kind.poles.closed_in if kind.poles else ())]
        for key, state in conducts:
            if state not in states:
                problems.unknown(nodes[key], f"{key}: there is no state `{state}`", state, states)
    named = [("terminals_from", path) for path in kind.terminals_from] + [("depends", name) for name in kind.depends]
    named += [("positions_from", kind.positions_from)] if kind.positions_from else []
    named += [("aliases", name) for pair in kind.aliases.items() for name in pair]
    for key, path in named:
        if not _leads_somewhere(kind.parameters, path):
            problems.unknown(nodes[key], f"{key}: there is no parameter `{path}`", path, kind.parameters)


def _leads_somewhere(keys: Mapping[str, Parameter], path: str) -> bool:
    """Whether a dotted path names a parameter."""
    first, _, rest = path.partition(".")
    return first in keys and (not rest or _leads_somewhere(keys[first].keys, rest))


def _check_keys(node: Node, problems: Problems) -> None:
    """The descriptions of several parameters."""
    if ValueReader(problems).is_mapping(node, "parameters"):
        for key, value in node.pairs:
            _check_parameter(value, f"parameter {key.text}", problems)


def _check_parameter(node: Node, what: str, problems: Problems) -> None:
    """The description of one parameter: the name of its type alone, or a mapping."""
    reader = ValueReader(problems)
    if node.kind == "scalar":
        simple = Parameter("word", words=tuple(t for t in TYPES if t not in _MORE))
        reader.value(node, simple, what)
        return
    kind = next((value.text for key, value in node.pairs if key.text == "type"), "")
    reader.mapping(node, {**_ALWAYS, **_MORE.get(kind, {})}, what)
    inner = {key.text: value for key, value in node.pairs}
    if kind == "mapping" and "keys" in inner:
        _check_keys(inner["keys"], problems)
    elif kind in ("list", "table", "either"):
        of = inner.get("of")
        if of is None or (of.kind == "list") != (kind == "either"):
            problems.add(of or node, f"{what}: `of` must say what stands in it", "a parameter; of an either a list of parameters")
            return
        for item in of.items if kind == "either" else (of,):
            _check_parameter(item, what, problems)
