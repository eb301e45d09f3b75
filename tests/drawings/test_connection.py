"""The connection diagram shows everything that the plan has, as it stands at rest."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.drawings.findings import finding
from tests.drawings.plans import NAMES, every_kind, plan_of, sheet_of
from wirecheck.drawings.connection import connection_sheet
from wirecheck.drawings.shapes import LINKAGE, Circle, Group, Line, Sheet, Text
from wirecheck.findings import NOTICE, Finding
from wirecheck.plan import read_plan_text


def _marked(*findings: Finding) -> Sheet:
    return connection_sheet(plan_of("sampler"), findings)


every_plan = pytest.mark.parametrize("name", NAMES, ids=[Path(n).stem for n in NAMES])


def _groups(sheet: Sheet, kind: str) -> list[Group]:
    return [g for g in sheet.groups if g.kind == kind]


def _words(sheet: Sheet, *kinds: str) -> str:
    return " ".join(s.content for g in sheet.groups if not kinds or g.kind in kinds for s in g.shapes if isinstance(s, Text))


@every_plan
def test_every_device_is_drawn_once_with_its_designation(name: str) -> None:
    groups = _groups(sheet_of(name), "device")
    assert sorted(g.name for g in groups) == sorted(plan_of(name).devices)
    for group in groups:
        assert any(isinstance(s, Text) and s.content == group.name and s.bold for s in group.shapes)


@every_plan
def test_every_terminal_is_drawn_and_its_mark_written(name: str) -> None:
    sheet = sheet_of(name)
    drawn = {g.name for g in _groups(sheet, "terminal")}
    for device in plan_of(name).devices.values():
        own = [g for g in sheet.groups if g.name == device.name or g.name.startswith(f"{device.name}:")]
        written = {s.content for g in own for s in g.shapes if isinstance(s, Text)}
        for mark in device.marks:
            assert f"{device.name}:{mark}" in drawn
            assert mark in written, f"{device.name}:{mark}"


@every_plan
def test_every_wire_has_its_number_colour_and_size_at_both_its_ends(name: str) -> None:
    ends = [
        (g.name, g.data["at"], [s.content for s in g.shapes if isinstance(s, Text)]) for g in _groups(sheet_of(name), "wire-end")
    ]
    for wire in plan_of(name).wires:
        for terminal in (wire.a, wire.b):
            words = [words for number, at, words in ends if (number, at) == (wire.number, str(terminal))]
            assert words, str(wire)
            size = wire.size_text.replace("mm2", "").strip()
            assert any(w[0] == wire.number and wire.colour in w[-1 if len(w) == 1 else 1] for w in words)
            assert any(size in " ".join(w) for w in words)
    assert len(ends) == 2 * len(plan_of(name).wires)


@every_plan
def test_a_wire_runs_from_terminal_to_terminal_or_names_its_other_end(name: str) -> None:
    sheet, plan = sheet_of(name), plan_of(name)
    through = {(g.name, g.data["from"], g.data["to"]) for g in _groups(sheet, "wire")}
    for wire in plan.wires:
        if (wire.number, str(wire.a), str(wire.b)) in through:
            continue
        for here, there in ((wire.a, wire.b), (wire.b, wire.a)):
            group = [g for g in _groups(sheet, "wire-end") if (g.name, g.data["at"]) == (wire.number, str(here))]
            assert any(isinstance(s, Text) and s.content == f"to {there}" for g in group for s in g.shapes)


@every_plan
def test_only_protective_conductors_of_no_cable_are_stubs(name: str) -> None:
    sheet, plan = sheet_of(name), plan_of(name)
    through = {(g.name, g.data["from"], g.data["to"]) for g in _groups(sheet, "wire")}
    stubs = [w for w in plan.wires if (w.number, str(w.a), str(w.b)) not in through]
    assert all(w.colour == "GNYE" and w.cable is None for w in stubs)


@every_plan
def test_the_ends_of_a_drawn_wire_are_at_its_terminals(name: str) -> None:
    sheet = sheet_of(name)
    places = {(g.name, g.shapes[0]) for g in _groups(sheet, "terminal")}
    for group in _groups(sheet, "wire"):
        course = group.shapes[0]
        assert isinstance(course, Line)
        for terminal, (x, y) in ((group.data["from"], course.points[0]), (group.data["to"], course.points[-1])):
            own = [c for n, c in places if n == terminal and isinstance(c, Circle)]
            # The second and later wires of a terminal begin at the bar beside it.
            assert any(abs(c.y - y) < 3.1 and (abs(c.x - x) < 0.1 or _on_bar(sheet, terminal, x)) for c in own), group.title


def _on_bar(sheet: Sheet, terminal: str, x: float) -> bool:
    dots = [s for g in _groups(sheet, "joint") if g.name == terminal for s in g.shapes if isinstance(s, Circle)]
    return any(abs(dot.x - x) < 0.1 for dot in dots)


@every_plan
def test_every_cable_is_one_jacket_around_its_cores(name: str) -> None:
    sheet, plan = sheet_of(name), plan_of(name)
    for cable in plan.cables.values():
        used = [w for w in plan.wires if w.cable == cable.name]
        jackets = [g for g in _groups(sheet, "cable") if g.name == cable.name]
        assert sum(int(g.data["drawn"]) for g in jackets) == len(used)
        for group in jackets:
            words = [s.content for s in group.shapes if isinstance(s, Text)]
            assert cable.name in words
            assert any(cable.size_text.replace("mm2", "mm\u00b2") in w for w in words)


def test_a_screened_cable_is_dashed_and_a_plain_one_is_not() -> None:
    dashed = {}
    for group in _groups(sheet_of("sampler"), "cable"):
        outline = group.shapes[0]
        assert isinstance(outline, Line)
        assert outline.pen
        dashed[group.name] = bool(outline.pen.dash)
    assert dashed == {"W1": True, "W2": False}


@pytest.mark.parametrize(
    ("contact", "state"),
    [
        ("Q1:1-2", "open"),  # the supply is off
        ("Q1:13-14", "open"),
        ("F1:1-2", "closed"),
        ("F2:1-2", "closed"),
        ("F5:3-4", "closed"),
        ("F4:1-2", "closed"),
        ("F4:95-96", "closed"),
        ("F4:97-98", "open"),
        ("X5:11-12", "closed"),
        ("Q2:1-2", "open"),  # coils are out
        ("Q2:13-14", "open"),
        ("Q2:21-22", "closed"),
        ("Q4:1-2", "open"),
        ("K2:13-14", "open"),
        ("K3:17-18", "open"),
        ("K4:15-16", "closed"),
        ("K5:11-14", "open"),
        ("S1:11-12", "closed"),  # nothing is pressed
        ("S4:13-14", "open"),
        ("S2:11-12", "closed"),  # guards are closed
        ("S2:13-14", "open"),
        ("S5:13-14", "open"),  # selectors are in their first position
        ("S5:23-24", "closed"),
        ("S6:13-14", "open"),
        ("B2:1-2", "closed"),
        ("B8:11-12", "closed"),
        ("T1:RA-RC", "open"),  # the drive has no supply
        ("T1:RD-RE", "closed"),
        ("A1:1-2", "open"),
    ],
)
def test_a_contact_is_drawn_as_it_stands_at_rest(contact: str, state: str) -> None:
    assert [g.data["state"] for g in _groups(sheet_of("sampler"), "contact") if g.name == contact] == [state]


def test_the_halves_of_a_changeover_are_one_contact_with_one_side_closed() -> None:
    (group,) = [g for g in _groups(sheet_of("sampler"), "contact") if g.name == "K1:21-22 21-24"]
    assert group.data["state"] == "21-22=closed 21-24=open"


def test_an_open_contact_leaves_a_gap_and_a_closed_one_does_not() -> None:
    """A finger on the line passes a closed contact and stops at an open one."""
    for group in _groups(sheet_of("sampler"), "contact"):
        if group.name in ("S4:13-14", "S3:11-12", "S1:11-12", "Q2:1-2", "F1:1-2", "Q2:21-22"):
            lines = [s for s in group.shapes if isinstance(s, Line) and not (s.pen and s.pen.dash)]
            assert _passes(lines) == (group.data["state"] == "closed"), group.name


def _passes(lines: list[Line]) -> bool:
    """Whether one can go from the highest to the lowest point of the lines, over ends that touch or lines that cross."""
    top = min((p for s in lines for p in s.points), key=lambda p: p[1])
    bottom = max((p for s in lines for p in s.points), key=lambda p: p[1])
    reached = [s for s in lines if top in s.points]
    for line in reached:
        reached += [s for s in lines if s not in reached and _meet(line, s)]
    return any(bottom in s.points for s in reached)


def _meet(a: Line, b: Line) -> bool:
    if set(a.points) & set(b.points):
        return True
    return _cross(a.points[0], a.points[-1], b.points[0], b.points[-1])


def _cross(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float], s: tuple[float, float]) -> bool:
    def side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(p, q, r) * side(p, q, s) < 0 and side(r, s, p) * side(r, s, q) < 0


@every_plan
def test_the_caution_and_the_machine_are_on_thesheet(name: str) -> None:
    assert NOTICE in _words(sheet_of(name), "legend")
    assert "What a part that sticks or welds would do is left out where it is mere advice." in _words(sheet_of(name), "legend")
    assert plan_of(name).machine.name in _words(sheet_of(name), "title-block")


def test_the_title_block_tells_where_the_drawing_belongs() -> None:
    words = _words(sheet_of("sampler"), "title-block")
    for said in ("drawing TW-99", "revision A", "author the club", "date 2026-02-01", "place back room", "sheet A"):
        assert said in words


def test_places_are_frames_with_what_they_withstand() -> None:
    sheet = sheet_of("sampler")
    assert {g.name for g in _groups(sheet, "place")} == {"supply", "board", "bench"}
    assert "test board, IP54, swarf, coolant" in _words(sheet, "place")


def test_no_output_calls_anything_safe_but_the_name_of_a_function() -> None:
    words = _words(sheet_of("sampler")).lower().replace("safe torque off", "")
    assert "safe" not in words.replace("safety relay", "")


FINDINGS = (
    finding("danger", "S1 does not stop M1.", ("S1", "M1"), ("12",)),
    finding("advice", "Wire 15 has a rare colour.", (), ("15", "wire 16 [S4:14\u2013S7:13]")),
    finding("malfunction", "S1 is far away.", ("S1",)),
    finding("damage", "Nothing in particular.", ()),
)


def test_a_findings_devices_and_wires_bear_its_number() -> None:
    marks: dict[str, set[str]] = {}
    for group in _groups(_marked(*FINDINGS), "finding"):
        marks.setdefault(group.name, set()).update(group.data["numbers"].split())
    assert marks == {"S1": {"1", "3"}, "M1": {"1"}, "12": {"1"}, "15": {"2"}, "16": {"2"}}


def test_a_findings_devices_and_wires_are_coloured_and_others_are_not() -> None:
    sheet = _marked(*FINDINGS)
    assert {g.name for g in _groups(sheet, "halo")} == {"12", "15", "16"}
    outlines = {g.name: g.shapes[0] for g in _groups(sheet, "device")}
    plain, worst = outlines["S4"], outlines["S1"]
    assert isinstance(plain, Line)
    assert isinstance(worst, Line)
    assert plain.pen
    assert worst.pen
    assert worst.pen.colour == "#d00000"  # danger outweighs the malfunction on the same device
    assert worst.pen.width > plain.pen.width
    assert plain.fill == "#ffffff" != worst.fill


def test_the_legend_says_every_finding_with_its_number_and_severity() -> None:
    (legend,) = _groups(_marked(*FINDINGS), "legend")
    lines = [s.content for s in legend.shapes if isinstance(s, Text)]
    for number, one in enumerate(FINDINGS, 1):
        assert lines[lines.index(str(number)) + 1] == f"{one.severity}: {one.message}"


def test_an_accepted_finding_is_still_shown_as_such() -> None:
    accepted = FINDINGS[0]._replace(accepted={"because": "tested", "by": "the club", "date": "2026-01-01"})
    assert "danger (accepted): S1 does not stop M1." in _words(_marked(accepted), "legend")


def test_a_long_message_is_written_in_full() -> None:
    message = " ".join(f"word{n}" for n in range(120)) + "."
    assert f"danger: {message}" in _words(_marked(finding("danger", message)), "legend")


def test_links_are_bars_between_their_terminals() -> None:
    bars = {}
    for group in _groups(sheet_of("sampler"), "device"):
        bars[group.name] = [s for s in group.shapes if isinstance(s, Line) and s.pen and s.pen.width == 1.5]
    assert len(bars["X1"]) == 1
    assert len(bars["M1"]) == 3
    assert not bars["F4"]  # its poles always conduct and are shown by their symbol


def test_a_residual_current_device_has_its_summation_transformer_around_all_poles() -> None:
    (device,) = [g for g in _groups(sheet_of("sampler"), "device") if g.name == "F5"]
    lines = [s for s in device.shapes if isinstance(s, Line)]
    (ring,) = [s for s in lines if len(s.points) > 8 and s.points[0] == pytest.approx(s.points[-1])]
    (lead,) = [s for s in lines if len(s.points) == 3]
    left, right = min(x for x, _ in ring.points), max(x for x, _ in ring.points)
    pins = {g.name: s for g in _groups(sheet_of("sampler"), "terminal") for s in g.shapes if isinstance(s, Circle)}
    poles = [pins[f"F5:{mark}"] for mark in ("1", "2", "3", "4")]
    assert all(left < pin.x < right for pin in poles)
    assert poles[0].y < min(y for _, y in ring.points) < max(y for _, y in ring.points) < poles[1].y
    assert lead.points[0][0] == pytest.approx(left)  # from the ring to the release
    assert "I\u0394" in [s.content for s in device.shapes if isinstance(s, Text)]


def test_poles_that_move_together_are_coupled_by_a_dashed_line() -> None:
    plan = read_plan_text(TWO_POLES, "two-poles.yaml")
    (device,) = [g for g in _groups(connection_sheet(plan), "device") if g.name == "F1"]
    assert [s for s in device.shapes if isinstance(s, Line) and s.pen == LINKAGE]


TWO_POLES = """\
wirecheck: 1
machine: {name: Two poles}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  F1: {kind: circuit-breaker, poles: [1-2, 3-4], rating: 16 A, curve: C}
wires:
  - {number: 1, run: [G0:L, F1:1]}
  - {number: 2, run: [G0:N, F1:3]}
"""


def test_what_a_drives_terminals_do_is_written_at_them() -> None:
    words = _words(sheet_of("sampler"), "device")
    for said in ("run forward", "run permit", "external trip", "brake resistor", "motor sensor", "+ control"):
        assert said in words


def test_a_plan_without_devices_cannot_be_drawn() -> None:
    with pytest.raises(ValueError, match="without devices"):
        connection_sheet(replace(every_kind(), devices={}, wires=()))
