"""Puts nodes together from a parser's events, within bounds, and notes what strict YAML does not allow."""

from __future__ import annotations

import re
from typing import Any

import yaml

from wirecheck.errors import PlanError, PlanErrors
from wirecheck.nodes.node import Node
from wirecheck.nodes.syntax import MOST_DEPTH, syntax_error

MOST_NODES = 500_000
"""Nodes of a text with all its aliases written out. About 30 000 wires; more is taken for an attack or a mistake."""

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# Everything but what YAML calls printable (YAML 1.2.2, 5.1); written as [^printable] it would take ten times as long to compile.
_FORBIDDEN = "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufeff\ufffe\uffff]"


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
        builder.add(*syntax_error(bad, lines))
    except _Stop:
        pass
    if builder.root is None and not builder.errors:
        builder.add(1, 1, "the text is empty", "a plan, which begins with `wirecheck: 1`")
    if builder.errors or builder.root is None:
        raise PlanErrors(sorted(builder.errors, key=lambda e: (e.line, e.column)))
    return builder.root


class _Stop(Exception):
    """A bound was passed; nothing after it is read."""


class _Frame:
    """A list or mapping that is not closed yet: what is in it, the key that waits for its value, and the lines of its keys."""

    __slots__ = ("anchor", "items", "key", "lines", "node", "pairs", "size")

    def __init__(self, node: Node, anchor: str | None) -> None:
        self.node, self.anchor = node, anchor
        self.items: list[Node] = []
        self.pairs: list[tuple[Node, Node]] = []
        self.key: Node | None = None
        self.lines: dict[str, int] = {}
        self.size = 1


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
        mark = event.start_mark
        node = Node(kind, mark.line + 1, mark.column + 1)
        if event.tag is not None:
            self.add(node.line, node.column, f"a tag ({event.tag[:40]}) stands here", "a plain value: tags are not used")
        return node

    def _count(self, event: Any, size: int) -> None:
        self.total += size
        if self.total > MOST_NODES:
            self.stop(event, f"the text with its aliases written out has more than {MOST_NODES} values", "a smaller text")

    def _scalar(self, event: Any) -> None:
        node = self._node(event, "scalar")
        node.text, node.plain = event.value, not event.style  # the C parser says "", the pure one None
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
        node = frame.node
        node.items, node.pairs, node.size = frame.items, frame.pairs, frame.size
        if frame.anchor is not None:
            self.anchors[frame.anchor] = node
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
        frame.size += node.size
        key = frame.key
        if frame.node.kind == "list":
            frame.items.append(node)
        elif key is None:
            frame.key = node
        else:
            frame.key = None
            self._pair(frame, key, node)

    def _pair(self, frame: _Frame, key: Node, node: Node) -> None:
        """A key with its value, unless the key is no word or stands twice."""
        if key.kind != "scalar":
            self.add(key.line, key.column, f"a {key.kind} stands here as a key", "a word as the key")
            return
        earlier = frame.lines.setdefault(key.text, key.line)
        if len(frame.lines) == len(frame.pairs):
            message = f"the key `{key.text}` stands twice in one mapping, first in line {earlier}"
            self.add(key.line, key.column, message, "each key once")
        else:
            frame.pairs.append((key, node))


def _refuse_control_characters(text: str, lines: list[str], file: str) -> None:
    if text.replace("\n", "").isprintable():  # nearly every text is: then the pattern need not be compiled
        return
    found = re.search(_FORBIDDEN, text)
    if found is None:
        return
    before = text[: found.start()]
    line = len((before + "x").splitlines())
    column = len((before + "x").splitlines()[-1])
    message = f"a character that no text file should have (code {ord(found[0])}) stands here"
    raise PlanErrors([PlanError(file, line, column, message, "plain text", text=lines[line - 1] if line <= len(lines) else "")])
