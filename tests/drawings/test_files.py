"""The drawing as a file: SVG, PNG and DOT, with every name escaped."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import sysconfig
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.drawings.findings import finding
from tests.drawings.plans import every_kind, markup
from wirecheck.drawings import SUFFIXES, Drawing, EngineMissing, draw_connection, raster, render
from wirecheck.drawings.shapes import Circle, Group, Line, Pen, Sheet, Text
from wirecheck.drawings.svg import to_svg
from wirecheck.findings import NOTICE

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    found = [finding("danger", "S1 does not stop M1.", ("S1", "M1"), ("12",))]
    return draw_connection(every_kind(), found)


@pytest.fixture(scope="module")
def awkward() -> Drawing:
    return draw_connection(markup(), [finding("advice", '<b>"&]]>', ("G0",), ("1",))])


def test_the_svg_is_well_formed_and_of_the_sheets_real_size(drawing: Drawing) -> None:
    root = ElementTree.fromstring(render(drawing, ".svg"))
    assert root.tag == f"{SVG}svg"
    assert root.get("width") == f"{drawing.sheet.width_mm:g}mm"
    assert root.get("height") == f"{drawing.sheet.height_mm:g}mm"


def test_the_svg_holds_every_shape_of_the_sheet(drawing: Drawing) -> None:
    root = ElementTree.fromstring(render(drawing, ".svg"))
    shapes = [s for g in drawing.sheet.groups for s in g.shapes]
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert texts == [s.content for s in shapes if isinstance(s, Text)]
    assert len(list(root.iter(f"{SVG}circle"))) == sum(isinstance(s, Circle) for s in shapes)
    drawn = len(list(root.iter(f"{SVG}polyline"))) + len(list(root.iter(f"{SVG}polygon")))
    assert drawn == sum(isinstance(s, Line) for s in shapes)


def test_the_svg_names_what_its_groups_are(drawing: Drawing) -> None:
    root = ElementTree.fromstring(render(drawing, ".svg"))
    groups = {(g.get("class"), g.get("data-name")): g for g in root.iter(f"{SVG}g")}
    assert groups["device", "K1"].get("data-kind") == "relay"
    assert groups["contact", "S1:11-12"].get("data-state") == "closed"
    assert groups["cable", "W1"] is not None
    wire = groups["wire", "12"]
    assert (wire.get("data-from"), wire.get("data-to"), wire.get("data-cable")) == ("S1:11", "X1:1", "W2")


def test_names_from_a_plan_never_become_markup(awkward: Drawing) -> None:
    root = ElementTree.fromstring(render(awkward, ".svg"))
    plain = ("svg", "title", "rect", "g", "text", "polyline", "polygon", "circle")
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= set(plain)
    texts = [t.text or "" for t in root.iter(f"{SVG}text")]
    assert '<script>"&]]>' in texts
    assert '<script>alert("x")</script>"&]]>' in texts
    assert any(t.startswith('advice: <b>"&]]>') for t in texts)


def test_control_and_direction_characters_are_shown_as_holes(awkward: Drawing) -> None:
    for suffix in (".svg", ".dot"):
        text = render(awkward, suffix).decode()
        assert "a\ufffdb\ufffdc" in text
        assert not {"\x07", "\u202e"} & set(text)


def test_the_dot_of_awkward_names_can_be_laid_out(awkward: Drawing) -> None:
    picture = raster.run_engine(render(awkward, ".dot").decode(), "-Tsvg").decode()
    root = ElementTree.fromstring(picture)
    assert '<script>"&]]>' in " ".join(t.text or "" for t in root.iter(f"{SVG}text"))


def test_the_dot_has_every_device_terminal_wire_cable_finding_and_the_caution(drawing: Drawing) -> None:
    plan, dot = every_kind(), drawing.dot
    for name, device in plan.devices.items():
        assert f"<B>{name}</B>" in dot
        assert all(f">{mark}</TD>" in dot for mark in device.marks)
    assert dot.count(" -- ") == len(plan.wires)
    assert dot.count("taillabel=<12>") == dot.count("headlabel=<12>") == 1
    for said in (
        "YE, 0.75 mm2, cable W2, findings 1",
        "1. danger: S1 does not stop M1.",
        "11-12 closed",
        "Sampler of every kind",
    ):
        assert said in dot
    words = dot.replace("<BR ALIGN='LEFT'/>", " ").replace("&#x27;", "'")
    assert NOTICE in words


def test_places_are_clusters_in_the_dot(drawing: Drawing) -> None:
    assert drawing.dot.count("subgraph cluster_") == 2
    assert "<B>board</B>" in drawing.dot


def test_the_png_has_the_size_of_the_sheet_at_150_dots_to_the_inch(awkward: Drawing) -> None:
    picture = render(awkward, ".png")
    assert picture.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", picture[16:24])
    assert width == pytest.approx(awkward.sheet.width_mm / 25.4 * 150, abs=4)
    assert height == pytest.approx(awkward.sheet.height_mm / 25.4 * 150, abs=4)


def test_a_very_large_sheet_gets_fewer_dots() -> None:
    sheet = Sheet("large", 4000.0, 400.0, 4000.0, 400.0, (Group("wire", "1", (Line(((0.0, 0.0), (4000.0, 400.0))),)),))
    width, _ = struct.unpack(">II", raster.to_png(sheet)[16:24])
    assert width == pytest.approx(7500, abs=4)


def test_a_text_with_nothing_in_it_spoils_no_picture() -> None:
    """The engine's drawing language stops at an empty text."""
    shapes = (Text(10, 10, ""), Line(((0.0, 0.0), (90.0, 90.0)), Pen("#ff0000", 3.0)))
    empty = raster.background_graph(Sheet("t", 100.0, 100.0, 100.0, 100.0, (Group("g", "", shapes),)))
    assert "0 -" not in empty.split("_background")[1].split("#ff0000")[0].replace("0 -#", "")
    assert "#ff0000" in raster.run_engine(empty, "-Kneato", "-n2", "-Tsvg").decode()


def test_the_engine_draws_the_shapes_where_they_are() -> None:
    shapes = (Line(((10.0, 20.0), (60.0, 20.0)), Pen("#ff0000", 2.0)), Circle(30.0, 40.0, 5.0, None, "#00ff00"))
    sheet = Sheet("t", 25.4 * 100 / 72, 25.4 * 50 / 72, 100.0, 50.0, (Group("g", "", shapes),))
    svg = raster.run_engine(raster.background_graph(sheet), "-Kneato", "-n2", "-Tsvg").decode()
    assert 'points="10,-30 60,-30"' in svg
    assert 'cx="30" cy="-10" rx="5" ry="5"' in svg


def test_a_dashed_line_is_drawn_stroke_by_stroke() -> None:
    strokes = raster.dashes(((0.0, 0.0), (10.0, 0.0), (10.0, 5.0)), (4.0, 2.0))
    assert strokes == [((0.0, 0.0), (4.0, 0.0)), ((6.0, 0.0), (10.0, 0.0)), ((10.0, 2.0), (10.0, 5.0))]


def test_the_same_plan_gives_the_same_bytes_whatever_the_hash_seed() -> None:
    program = (
        "import hashlib\nfrom tests.drawings.plans import markup, every_kind\n"
        "from wirecheck.drawings import draw_connection, render\n"
        "for plan in (markup(), every_kind()):\n    drawing = draw_connection(plan)\n"
        "    print([hashlib.sha256(render(drawing, s)).hexdigest() for s in ('.svg', '.dot')])\n"
    )
    root = str(Path(__file__).parents[2])
    outputs = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": root},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outputs) == 1
    assert len(next(iter(outputs))) > 200


def test_the_png_is_the_same_twice(awkward: Drawing) -> None:
    assert render(awkward, ".png") == render(awkward, ".png")


def test_another_suffix_is_refused_with_those_that_are_known(awkward: Drawing) -> None:
    with pytest.raises(ValueError, match=r"\.svg, \.png, \.dot"):
        render(awkward, ".pdf")
    assert SUFFIXES == (".svg", ".png", ".dot")


def test_a_missing_engine_is_said_with_the_remedy(awkward: Drawing, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sysconfig, "get_path", lambda name: str(tmp_path))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(EngineMissing, match="pip install graphviz-pure"):
        render(awkward, ".png")
    assert render(awkward, ".svg")  # which needs no engine


def test_an_engine_that_fails_is_said_with_its_own_words() -> None:
    with pytest.raises(EngineMissing, match="could not draw"):
        raster.run_engine("graph {", "-Tpng")


def test_large_numbers_are_written_in_full() -> None:
    sheet = Sheet("t", 1.0, 1.0, 12345.678, 1.0, (Group("g", "n", (Circle(12345.678, 0.0, 1.0),)),))
    assert 'cx="12345.68"' in to_svg(sheet)
