"""Tables of `rules/tables/`: data with a source and a region, read when a calculation asks for them.

A file holds `title`, `region` (IEC, NA or any), `source` (body, edition, clause; or `common practice`), `memory: true` where the
values are recalled and not read in the source, `unit` where all values have one, and `rows`: a list of mappings.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from wirecheck.nodes import Node, compose
from wirecheck.resources import data_folder, read_text

FOLDER = "tables"


class Table(NamedTuple):
    """A table: its rows are mappings of column to number or word."""

    name: str
    title: str
    region: str
    source: str
    memory: bool
    rows: tuple[Mapping[str, float | str], ...]

    def cite(self) -> str:
        """The source as it is printed, with what must be said of values from memory."""
        return f"{self.source} (value from memory)" if self.memory else self.source

    def row(self, **key: float | str) -> Mapping[str, float | str] | None:
        """The first row that has these values."""
        return next((row for row in self.rows if all(row.get(column) == value for column, value in key.items())), None)


def limit(name: str, of: str) -> float:
    """A single limit of a table of them, which has the columns `limit` and `value`; KeyError where it has no such row."""
    row = table(of).row(limit=name)
    if row is None:
        raise KeyError(name)
    return float(row["value"])


def table_names() -> tuple[str, ...]:
    """All tables, in the alphabet's order."""
    return tuple(sorted(path.stem for path in (data_folder("rules") / FOLDER).glob("*.yaml")))


@cache
def table(name: str) -> Table:
    """A table by its name; FileNotFoundError where there is none, ValueError where the file is no table."""
    file = f"{name}.yaml"
    root = compose(read_text(data_folder("rules") / FOLDER / file), file)
    keys = {key.text: value for key, value in root.pairs}
    lacking = [key for key in ("title", "region", "source", "rows") if key not in keys]
    if lacking:
        raise ValueError(f"{file} lacks {', '.join(lacking)}")
    return Table(
        name=name,
        title=keys["title"].text,
        region=keys["region"].text,
        source=_source(keys["source"]),
        memory="memory" in keys and keys["memory"].text == "true",
        rows=tuple({key.text: _value(value) for key, value in row.pairs} for row in keys["rows"].items),
    )


def _source(node: Node) -> str:
    parts = {key.text: value.text for key, value in node.pairs}
    return f"{parts['body']}:{parts['edition']}, {parts['clause']}" if parts else node.text


def _value(node: Node) -> float | str:
    try:
        return float(node.text)
    except ValueError:
        return node.text
