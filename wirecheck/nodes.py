"""Strict YAML 1.2 as nodes that know their line and column: every plain word stays the word that was written.

PyYAML's own loaders follow YAML 1.1 (`NO` is false, `1:30` is 90), keep the last of a repeated key and expand aliases without
end. Here only its parser is used, the C one where it is installed. Nodes are put together without recursion: no text is too deep.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from wirecheck.errors import PlanError, PlanErrors

MOST_DEPTH = 40
MOST_NODES = 500_000
"""Nodes of a text with all its aliases written out. About 30 000 wires; more is taken for an attack or a mistake."""

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# everything but what YAML calls printable (YAML 1.2.2, 5.1)
_FORBIDDEN = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")

_SECOND_KEY = "a colon makes a second key on this line: put the text in quotes, or look at the indentation"
_PLAIN_WORDS = {
    "found character that cannot start any token": "this character cannot begin a word: put the word in quotes",
    "exceeded maximum nesting depth": f"the text is nested more than {MOST_DEPTH} deep",
    "found character '\\t' that cannot start any token": "a tab stands here: indent with spaces",
    "mapping values are not allowed in this context": _SECOND_KEY,
    "mapping values are not allowed here": _SECOND_KEY,
    "did not find expected ',' or '}'": "a comma or the closing } is missing",
    "did not find expected ',' or ']'": "a comma or the closing ] is missing",
    "expected ',' or '}', but got": "a comma or the closing } is missing",
    "expected ',' or ']', but got": "a comma or the closing ] is missing",
    "did not find expected key": "a key is expected here: look at the indentation and at the line above",
    "did not find expected '-' indicator": "a list goes on here: look at the indentation of the dash",
    "expected <block end>, but found": "the indentation does not fit what stands above",
    "could not find expected ':'": "a colon is missing after a key",
    "found undefined alias": "this alias names no anchor above it",
    "did not find expected <document start>": "the text goes on after its end",
    "found unexpected end of stream": "this quote is never closed",
    "found unknown escape character": "a backslash in double quotes: use single quotes",
}


@dataclass(slots=True)
class Node:
    """A scalar (`text`), a list (`items`) or a mapping (`pairs`), with the line and column (from 1) where it begins.

    `plain` is True for a scalar without quotes: only such a one can be a number, a boolean or nothing.
    """

    kind: str
    line: int
    column: int
    text: str = ""
    plain: bool = False
    items: list[Node] = field(default_factory=list)
    pairs: list[tuple[Node, Node]] = field(default_factory=list)
    size: int = 1

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands here: `key:` alone, `~` or `null`."""
        return self.plain and self.text in ("", "~", "null")

    @property
    def is_boolean(self) -> bool:
        """Whether this is one of the two words that are booleans."""
        return self.plain and self.text in ("true", "false")

    def what(self) -> str:
        """What stands here, for a message."""
        if self.kind != "scalar":
            return f"a {self.kind}"
        return "nothing" if self.is_empty else f"`{self.text[:60]}`"


def compose(text: str, file: str) -> Node:
    """The nodes of a text of one YAML document.

    Raises
    ------
    PlanErrors
        The text is not YAML, is empty, repeats a key, or goes beyond a bound. All repeated keys are told at once.
    """
    lines = text.splitlines()
    _refuse_control_characters(text, lines, file)
    builder = _Builder(file, lines)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.MarkedYAMLError as bad:
        builder.add(*_syntax_error(bad, lines))
    except _Stop:
        pass
    if builder.root is None and not builder.errors:
        builder.add(1, 1, "the text is empty", "a plan, which begins with `wirecheck: 1`")
    if builder.errors or builder.root is None:
        raise PlanErrors(sorted(builder.errors, key=lambda e: (e.line, e.column)))
    return builder.root


def plain_data(node: Node) -> Any:
    """A node as plain lists, dictionaries and texts; `true` and `false` as booleans and whole numbers as such."""
    if node.kind == "list":
        return [plain_data(item) for item in node.items]
    if node.kind == "mapping":
        return {key.text: plain_data(value) for key, value in node.pairs}
    if node.is_boolean:
        return node.text == "true"
    if node.is_empty:
        return None
    return int(node.text) if node.plain and re.fullmatch("0|-?[1-9][0-9]{0,15}", node.text) else node.text


class _Stop(Exception):
    """A bound was passed; nothing after it is read."""


@dataclass(slots=True)
class _Frame:
    """A list or mapping that is not closed yet: its anchor, the key that waits for its value, and the lines of its keys."""

    node: Node
    anchor: str | None
    key: Node | None = None
    lines: dict[str, int] = field(default_factory=dict)


class _Builder:
    """Takes parser events one by one and puts the nodes together on a stack of its own."""

    def __init__(self, file: str, lines: list[str]) -> None:
        self.file, self.lines = file, lines
        self.root: Node | None = None
        self.errors: list[PlanError] = []
        self.open: list[_Frame] = []
        self.anchors: dict[str, Node] = {}
        self.documents = 0
        self.total = 0

    def add(self, line: int, column: int, message: str, expected: str = "") -> None:
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        self.errors.append(PlanError(self.file, line, column, message, expected, text=text))

    def stop(self, event: Any, message: str, expected: str = "") -> None:
        self.add(event.start_mark.line + 1, event.start_mark.column + 1, message, expected)
        raise _Stop

    def take(self, event: Any) -> None:
        name = type(event).__name__
        if name == "ScalarEvent":
            self._scalar(event)
        elif name in ("MappingStartEvent", "SequenceStartEvent"):
            self._begin(event, "mapping" if name[0] == "M" else "list")
        elif name in ("MappingEndEvent", "SequenceEndEvent"):
            self._end()
        elif name == "AliasEvent":
            self._alias(event)
        elif name == "DocumentStartEvent":
            self.documents += 1
            if self.documents > 1:
                self.stop(event, "a second document begins here", "one plan in a file, without a line of three dashes between")

    def _node(self, event: Any, kind: str) -> Node:
        self._count(event, 1)
        node = Node(kind, event.start_mark.line + 1, event.start_mark.column + 1)
        if event.tag is not None:
            self.add(node.line, node.column, f"a tag ({event.tag[:40]}) stands here", "a plain value: tags are not used")
        return node

    def _count(self, event: Any, size: int) -> None:
        self.total += size
        if self.total > MOST_NODES:
            self.stop(event, f"the text with its aliases written out has more than {MOST_NODES} values", "a smaller text")

    def _scalar(self, event: Any) -> None:
        node = self._node(event, "scalar")
        node.text, node.plain = event.value, not event.style
        if event.anchor is not None:
            self.anchors[event.anchor] = node
        self._place(node)

    def _begin(self, event: Any, kind: str) -> None:
        if len(self.open) >= MOST_DEPTH:
            self.stop(event, f"the text is nested more than {MOST_DEPTH} deep", "lists and mappings as the plan format has them")
        node = self._node(event, kind)
        if event.anchor is not None:
            self.anchors.pop(event.anchor, None)  # until it is closed an alias to it would be inside itself
        self.open.append(_Frame(node, event.anchor))

    def _end(self) -> None:
        frame = self.open.pop()
        node, anchor = frame.node, frame.anchor
        children = node.items if node.kind == "list" else (n for pair in node.pairs for n in pair)
        node.size = 1 + sum(child.size for child in children)
        if anchor is not None:
            self.anchors[anchor] = node
        self._place(node)

    def _alias(self, event: Any) -> None:
        known = self.anchors.get(event.anchor)
        if known is None:
            inside = any(frame.anchor == event.anchor for frame in self.open)
            message = (
                f"*{event.anchor} stands inside what it refers to" if inside else f"*{event.anchor} refers to nothing above it"
            )
            self.stop(event, message, "an alias of something that is complete above it")
            return
        self._count(event, known.size)
        self._place(known)

    def _place(self, node: Node) -> None:
        if not self.open:
            self.root = node
            return
        frame = self.open[-1]
        parent, key = frame.node, frame.key
        if parent.kind == "list":
            parent.items.append(node)
            return
        if key is None:
            frame.key = node
            return
        frame.key = None
        if key.kind != "scalar":
            self.add(key.line, key.column, f"a {key.kind} stands here as a key", "a word as the key")
            return
        earlier = frame.lines.setdefault(key.text, key.line)
        if len(frame.lines) == len(parent.pairs):
            message = f"the key `{key.text}` stands twice in one mapping, first in line {earlier}"
            self.add(key.line, key.column, message, "each key once")
        else:
            parent.pairs.append((key, node))


def _refuse_control_characters(text: str, lines: list[str], file: str) -> None:
    found = _FORBIDDEN.search(text)
    if found is None:
        return
    before = text[: found.start()]
    line = len((before + "x").splitlines())
    column = len((before + "x").splitlines()[-1])
    message = f"a character that no text file should have (code {ord(found[0])}) stands here"
    raise PlanErrors([PlanError(file, line, column, message, "plain text", text=lines[line - 1] if line <= len(lines) else "")])


def _syntax_error(bad: yaml.MarkedYAMLError, lines: list[str]) -> tuple[int, int, str, str]:
    """Place and plain words of what the parser says."""
    mark = bad.problem_mark or bad.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    if line > len(lines) > 0:  # the end of the file: show its last line
        line, column = len(lines), len(lines[-1]) + 1
    problem = str(bad.problem or bad.context or "not YAML")
    if problem == "found unexpected end of stream" and bad.context_mark:  # a quote that is never closed: show where it begins
        line, column = bad.context_mark.line + 1, bad.context_mark.column + 1
    words = next((plain for begin, plain in _PLAIN_WORDS.items() if problem.startswith(begin)), problem)
    if "\t" in (lines[line - 1][:column] if lines else ""):
        words = "a tab stands here: indent with spaces"
    begun = bad.context_mark
    since = (
        f" (what is open began in line {begun.line + 1}, column {begun.column + 1})" if begun and begun.line + 1 != line else ""
    )
    return line, column, f"the text cannot be read as YAML: {words}{since}", ""
