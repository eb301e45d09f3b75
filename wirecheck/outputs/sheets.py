"""The documents as files: each as CSV, and all of them as one page that prints on A4."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from wirecheck.outputs.csv_text import csv_text
from wirecheck.outputs.html import Markup, element, page
from wirecheck.sheets.table import TO_FILL, Heading, Table

PAGE = "sheets.html"

STYLE = """
@page {
  size: A4 portrait; margin: 12mm 10mm 14mm 14mm;
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif }
}
@page wide { size: A4 landscape; margin: 12mm 10mm 14mm 14mm }
body { font: 9pt/1.3 "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; margin: 0 }
section { break-before: page; page: auto }
section.wide { page: wide }
section:first-of-type { break-before: auto }
h1 { font-size: 15pt; margin: 0 0 2mm } h2 { font-size: 12pt; margin: 0 0 1mm } p { margin: 0 0 1.5mm; max-width: 180mm }
table { border-collapse: collapse; width: 99.7% }
th, td { border: 0.3pt solid #777; padding: 0.8mm 1.2mm; text-align: left; vertical-align: top; overflow-wrap: break-word }
tr { break-inside: avoid } th { background: #eee; font-size: 8pt }
td.fill { min-width: 16mm; height: 6mm } td.tick { min-width: 8mm }
tr.first > td { border-top: 1.2pt solid #000 }
thead tr.head > td, tfoot td { border: 0; padding: 0 0 1.5mm; font-size: 7.5pt }
thead .hash { font-family: "Liberation Mono", monospace; font-size: 6.5pt; overflow-wrap: anywhere }
tfoot td { padding: 1.5mm 0 0; font-size: 7pt }
.found { font-weight: bold } .again { color: #777 }
@media screen {
  body { background: #ddd } section { background: #fff; padding: 8mm; margin: 5mm auto; width: 186mm }
  section.wide { width: 273mm }
}
"""


def render_sheets(heading: Heading, tables: Sequence[Table]) -> dict[str, bytes]:
    """All files by their names."""
    files = {f"{table.name}.csv": sheet_csv(heading, table).encode() for table in tables}
    return {**files, PAGE: sheets_page(heading, tables).encode()}


def sheet_csv(heading: Heading, table: Table) -> str:
    """One document as CSV: the columns, the rows, then notes and heading, one a row; the last row is the caution."""
    words = [*(("note", note) for note in table.notes), *heading.pairs]
    below = [(*pair, *[""] * (len(table.columns) - 2)) for pair in words]
    return csv_text([table.columns, *table.rows, *below])


def sheets_page(heading: Heading, tables: Sequence[Table]) -> str:
    """All documents as one page of HTML that needs nothing else. Each begins on a new sheet of paper."""
    body = [_cover(heading, tables), *(_section(heading, table) for table in tables)]
    return page(f"{heading.machine}: documents", STYLE, element("main", body))


def _cover(heading: Heading, tables: Sequence[Table]) -> str:
    rows = [element("tr", [element("th", name), element("td", text)]) for name, text in heading.pairs]
    contents = [element("li", f"{table.title} ({table.name}.csv)") for table in tables]
    parts = [element("h1", heading.machine), element("p", heading.found, cls="found"), element("table", rows)]
    return element("section", [*parts, element("h2", "What is here"), element("ol", contents)])


def _section(heading: Heading, table: Table) -> str:
    """A table whose head and foot stand on every sheet of paper, so that a loose one still says where it belongs."""
    span = len(table.columns)
    parts = (
        element("b", table.title),
        element("span", f" · {heading.machine} · revision: {heading.revision} · {heading.plan} · "),
        element("span", f"SHA-256 {heading.sha256}", cls="hash"),
    )
    head = [
        element("tr", [element("td", parts, colspan=str(span))], cls="head"),
        element("tr", [element("th", "" if column == "done" else column) for column in table.columns]),
    ]
    foot = element("tr", [element("td", f"{heading.found} {heading.notice}", colspan=str(span))])
    grid = [element("thead", head), element("tbody", list(_rows(table))), element("tfoot", [foot])]
    notes = [element("p", note) for note in table.notes]
    return element("section", [element("h2", table.title), *notes, element("table", grid)], cls="wide" if table.landscape else "")


def _rows(table: Table) -> Iterator[str]:
    place = table.columns.index(table.group) if table.group else None
    before = None
    for row in table.rows:
        own = None if place is None else row[place]
        first = place is not None and own != before
        cells = _cells(table.columns, row, None if place is None or first else place)
        yield element("tr", cells, cls="first" if first else "")
        before = own


def _cells(columns: Iterable[str], row: Iterable[str], repeated: int | None) -> list[Markup]:
    """The cells of a row; what a group repeats is printed faintly, so that the eye finds where it begins."""
    cells = []
    for number, (column, text) in enumerate(zip(columns, row, strict=True)):
        if column == "done":
            cells.append(element("td", text or "☐", cls="tick"))
        elif column in TO_FILL:
            cells.append(element("td", text, cls="fill"))
        else:
            cells.append(element("td", text, cls="again" if number == repeated else ""))
    return cells
