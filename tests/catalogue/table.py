"""The tables of the catalogue: plans by name, and plans as edits of others.

A plan is named by its path below `examples`, `tests/benchmarks/plans` or `tests/catalogue`, without the ending: `good/lathe`.
A `change` is a list of edits: `{from: TEXT, to: TEXT}`, where the text stands exactly once in the plan, or
`{under: wires, add: TEXT}`, lines that are put right below that heading.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from wirecheck.nodes import compose, plain_data

CATALOGUE = Path(__file__).parent
ROOT = CATALOGUE.parents[1]
FOLDERS = (ROOT / "examples", ROOT / "tests" / "benchmarks" / "plans", CATALOGUE)


class Edited(NamedTuple):
    """A plan with a change: the text, the numbers of the lines that are new, and the old and new lines themselves."""

    text: str
    lines: frozenset[int]
    touched: str


def read_table(path: Path) -> Any:
    """A table of the catalogue as plain data."""
    return plain_data(compose(path.read_text(encoding="utf-8"), path.name))


def plan_path(name: str) -> Path:
    """Where the plan of that name stands."""
    (path,) = (path for folder in FOLDERS if (path := folder / f"{name}.yaml").is_file())
    return path


@cache
def plan_text(name: str) -> str:
    """The text of the plan of that name."""
    return plan_path(name).read_text(encoding="utf-8")


def edited(base: str, change: Sequence[Mapping[str, str]]) -> Edited:
    """The base plan with every edit of the change made."""
    old = plan_text(base)
    new = old
    for edit in change:
        new = _edit(new, edit)
    before, after = old.splitlines(), new.splitlines()
    pieces = [piece for piece in SequenceMatcher(None, before, after, autojunk=False).get_opcodes() if piece[0] != "equal"]
    lines = frozenset(n + 1 for _, _, _, start, end in pieces for n in range(start, end))
    touched = [line for _, i, j, k, m in pieces for line in (*before[i:j], *after[k:m])]
    return Edited(new, lines, "\n".join(touched))


def _edit(text: str, edit: Mapping[str, str]) -> str:
    if "under" in edit:
        heading = f"\n{edit['under']}:\n"
        assert text.count(heading) == 1, f"the heading {edit['under']} stands {text.count(heading)} times in the plan"
        added = "".join(f"  {line}\n" for line in edit["add"].splitlines())
        return text.replace(heading, heading + added)
    assert text.count(edit["from"]) == 1, f"{edit['from']!r} stands {text.count(edit['from'])} times in the plan"
    return text.replace(edit["from"], edit["to"] or "")


def names(text: str) -> frozenset[str]:
    """The designations and wire numbers that stand in some lines of a plan."""
    return frozenset(re.findall(r"[A-Za-z0-9]+", text))
