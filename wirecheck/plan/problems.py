"""Collects what is wrong with a plan, so that all of it is told at once."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.errors import PlanError, PlanErrors, nearest_word
from wirecheck.findings import Spot
from wirecheck.nodes import Node

LONGEST_LIST = 20
"""More known words than this are not listed where one of them is near."""


class Problems:
    """The errors found so far in one file, and the file's lines that they quote."""

    def __init__(self, file: str, lines: tuple[str, ...]) -> None:
        self.file, self.lines = file, lines
        self.found: dict[tuple[int, int, str], PlanError] = {}

    def spot(self, node: Node) -> Spot:
        """Where a node stands."""
        return Spot(self.file, node.line, node.column)

    def add(self, node: Node, message: str, expected: str = "", nearest: str = "") -> None:
        """Note an error at a node; the same one at the same place (through an alias) is told once."""
        text = self.lines[node.line - 1] if node.line <= len(self.lines) else ""
        error = PlanError(self.file, node.line, node.column, message, expected, nearest, text)
        self.found.setdefault((node.line, node.column, message), error)

    def unknown(self, node: Node, message: str, word: str, known: Iterable[str], listed: bool = True) -> None:
        """Note a word that is not among those known, with the nearest of them."""
        words = list(known)
        nearest = nearest_word(word, words)
        expected = ("one of " if len(words) > 1 else "") + ", ".join(words) if words else "nothing: there is none"
        if (len(words) > LONGEST_LIST and nearest) or not listed:
            expected = ""
        self.add(node, message, expected, nearest)

    def raise_if_any(self) -> None:
        """PlanErrors with everything found, in the order of the file."""
        if self.found:
            raise PlanErrors(sorted(self.found.values(), key=lambda e: (e.line, e.column)))
