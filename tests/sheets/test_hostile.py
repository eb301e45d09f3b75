"""Text from a plan stays text in every document: no formula, no markup, no script, nothing that drives a terminal."""

from __future__ import annotations

import csv
import io
from html.parser import HTMLParser
from pathlib import Path

from wirecheck import pipeline

PLAN = """\
wirecheck: 1
machine: {name: "</title><script>alert(1)</script>", revision: "=1+1", author: "\\e]0;title\\a"}
places:
  "bench": {title: "<b>bold</b>"}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  Q1: {kind: isolator, poles: [1-2, 3-4]}
  S1: {kind: push-button, title: "=1+1\\e[2J", contacts: {13-14: NO}, place: "bench", part: "@x", notes: "\\e[2J<i>"}
  H1: {kind: lamp, voltage: 230 V, title: "<svg onload=alert(1)>", part: "+44", colour: WH}
cables:
  "-W1": {cores: 2, route: "<script>", insulation: "=x"}
wires:
  - {number: "=A1", run: [G0:L, Q1:1], cable: "-W1", core: "@1"}
  - {number: "<script>alert(2)</script>", run: [Q1:2, S1:13]}
  - {number: "@SUM", run: [S1:14, H1:X1]}
  - {number: "-1", run: [H1:X2, Q1:4]}
  - {number: "+2", run: [Q1:3, G0:N]}
"""


class Seen(HTMLParser):
    """The elements of a page, with what could run or load something."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}


def files(tmp_path: Path) -> dict[str, str]:
    path = tmp_path / "=plan<script>.yaml"
    path.write_text(PLAN, encoding="utf-8")
    return {name: content.decode() for name, content in pipeline.sheets(str(path))[0].items()}


def test_no_cell_of_any_file_begins_like_a_formula_or_holds_a_control_character(tmp_path: Path) -> None:
    cells = 0
    for name, text in files(tmp_path).items():
        assert text.replace("\r\n", "").replace("\n", "").isprintable(), name
        if name.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
            assert len({len(row) for row in rows}) == 1, name
            assert not [c for row in rows for c in row if c.lstrip().startswith(("=", "+", "-", "@"))], name
            cells += sum(len(row) for row in rows)
    assert cells > 200


def test_the_page_has_no_element_but_its_own(tmp_path: Path) -> None:
    seen = Seen()
    text = files(tmp_path)["sheets.html"]
    seen.feed(text)
    allowed = {"html", "head", "meta", "title", "style", "body", "main", "section", "h1", "h2", "p", "table", "thead", "tbody"}
    assert seen.tags <= allowed | {"tfoot", "tr", "td", "th", "b", "span", "ol", "li", "ul"}
    assert seen.attributes <= {"charset", "http-equiv", "content", "name", "class", "colspan", "lang"}
    assert "&lt;script&gt;alert(2)&lt;/script&gt;" in text
    assert "default-src 'none'" in text
