"""The lists: what stands in them is what stands in the plan."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.electrics.plans import example
from wirecheck import pipeline
from wirecheck.outputs.sheets import sheet_csv
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.sheets.assumption_list import assumption_list
from wirecheck.sheets.cable_list import cable_list
from wirecheck.sheets.drive_settings import drive_settings
from wirecheck.sheets.earth_list import earth_list
from wirecheck.sheets.label_list import label_list
from wirecheck.sheets.parts_list import parts_list
from wirecheck.sheets.table import Heading, Table, natural
from wirecheck.sheets.terminal_list import terminal_list
from wirecheck.sheets.wire_list import wire_list

EXAMPLES = Path(__file__).parents[2] / "examples"
LATHE = read_plan(EXAMPLES / "good" / "lathe.yaml")
ALL = sorted(EXAMPLES.glob("[bg]*/*.yaml"))


def column(table: Table, name: str) -> list[str]:
    place = table.columns.index(name)
    return [row[place] for row in table.rows]


def records(table: Table) -> list[dict[str, str]]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


@pytest.mark.parametrize("path", ALL, ids=lambda p: p.stem)
def test_every_wire_end_stands_once_in_the_wire_list_and_at_its_terminal(path: Path) -> None:
    plan = read_plan(path)
    ends = sorted(str(t) for w in plan.wires for t in (w.a, w.b))
    assert sorted(column(wire_list(plan), "from") + column(wire_list(plan), "to")) == ends
    listed = terminal_list(plan)
    total = sum(int(count) for count in column(listed, "conductors") if count != "spare")
    assert total == len(ends)
    assert len(listed.rows) == sum(len(d.marks) for d in plan.devices.values())


def test_the_wire_list_is_by_number_and_gives_a_length_where_the_cable_has_one() -> None:
    rows = records(wire_list(LATHE))
    numbers = [row["number"] for row in rows]
    assert numbers == sorted(numbers, key=natural)
    first = next(row for row in rows if row["number"] == "7")
    assert first == {
        "number": "7", "from": "S4:14", "to": "T1:DI1", "size": "0.75 mm2", "colour": "BU", "cable": "W2", "core": "",
        "length": "3 m", "done": "",
    }  # fmt: skip


def test_a_strip_has_its_two_sides() -> None:
    row = next(r for r in records(terminal_list(LATHE)) if r["device"].startswith("X1") and r["terminal"] == "2")
    assert row["wires that leave it"] == "2 to S1:12 (0.75 mm2, BU, W2); 2 to S2:11 (0.75 mm2, BU, W3)"
    assert row["wires within the place"] == ""
    drive = next(r for r in records(terminal_list(LATHE)) if r["device"] == "T1" and r["terminal"] == "COM")
    assert drive["wires within the place"] == "PE to X0:6 (1.5 mm2, GNYE); 0V to T1:STOC (0.75 mm2, BU)"
    assert drive["inside the device"] == "control supply, common"


def test_a_cable_says_where_it_goes_and_how_many_cores_are_spare() -> None:
    row = next(r for r in records(cable_list(LATHE)) if r["cable"] == "W2")
    assert (row["between"], row["cores"], row["spare"], row["length"]) == ("panel and pendant", "7", "1", "3 m")
    assert "7 S4:14 to T1:DI1 (BU)" in row["wires"]


def test_contacts_used_and_spare() -> None:
    plan = read_plan(
        "x.yaml",
        "wirecheck: 1\nmachine: {name: x}\ndevices:\n"
        "  S1: {kind: push-button, contacts: {11-12: NC, 13-14: NO, 23-24: NO}}\n  H1: {kind: lamp, voltage: 24 V}\n"
        "wires:\n  - {number: 1, run: [S1:11, H1:X1]}\n  - {number: 2, run: [S1:12, S1:13]}\n",
    )
    row = records(parts_list(plan))[0]
    assert (row["contacts used"], row["contacts spare"]) == ("11-12 NC", "13-14 NO, 23-24 NO")
    lamp = records(parts_list(plan))[1]
    assert lamp["must be"] == "voltage 24 V"


def test_what_stays_live_behind_the_isolator_gets_a_notice() -> None:
    def live(plan: str) -> list[str]:
        notices = [r["text or size"] for r in records(label_list(read_plan_text(plan, "plan.yaml"))) if r["what"] == "notice"]
        return [text for text in notices if "stays live when" in text]

    ahead = live(example("circuits-ahead-of-the-isolator-are-marked", "The work lamp leaves ahead"))
    assert [text.partition(":")[0] for text in ahead] == ["P2"]
    assert live((EXAMPLES / "good" / "lathe.yaml").read_text(encoding="utf-8")) == []


def test_every_wire_end_gets_a_label_and_a_ferrule_or_a_lug() -> None:
    rows = records(label_list(LATHE))
    ends = 2 * len(LATHE.wires)
    assert sum(int(r["how many"]) for r in rows if r["what"] == "wire label") == ends
    assert sum(int(r["how many"]) for r in rows if r["what"] in ("ferrule", "ring or fork lug")) == ends
    assert next(r for r in rows if r["what"] == "wire label" and r["text or size"] == "2")["how many"] == "4"


def test_every_part_with_an_earth_terminal_is_listed_and_one_without_a_wire_stands_out() -> None:
    rows = records(earth_list(LATHE))
    assert {r["terminal"] for r in rows} == {"B0:PE", "B1:PE", "T1:PE", "M1:PE", "T1:COM"}
    assert next(r for r in rows if r["terminal"] == "T1:COM")["what"].endswith("joined to earth on purpose")
    plan = read_plan(
        "x.yaml", "wirecheck: 1\nmachine: {name: x}\ndevices:\n  B0: {kind: frame}\n  X0: {kind: earth-bar}\nwires: []\n"
    )
    assert records(earth_list(plan))[0]["earthed by"] == "NO WIRE IN THE PLAN"


def test_a_drive_setting_says_which_finding_depends_on_it() -> None:
    plan = read_plan(EXAMPLES / "good" / "pillar-drill.yaml")
    rows = {r["setting"]: r for r in records(drive_settings(plan, pipeline.without_faults))}
    assert rows["on power up with run"]["set to"] == "waits"
    assert rows["on power up with run"]["if set otherwise"].startswith(
        "starts: danger. M1 starts by itself when the supply comes back"
    )
    assert rows["restarts itself after fault"]["if set otherwise"].startswith("true: danger.")
    assert rows["motor current"]["if set otherwise"] == ""
    assert all(r["why"] and not r["manual page"] for r in rows.values())


def test_a_setting_that_is_not_stated_is_asked_for() -> None:
    text = (EXAMPLES / "good" / "pillar-drill.yaml").read_text(encoding="utf-8")
    plan = read_plan("x.yaml", text.replace("on_power_up_with_run: waits", "on_power_up_with_run: unknown"))
    rows = {r["setting"]: r for r in records(drive_settings(plan, lambda _: []))}
    assert rows["on power up with run"]["set to"] == "NOT STATED: find out (starts is assumed)"


def test_a_sheet_as_csv_carries_machine_revision_digest_and_caution() -> None:
    heading = Heading("Lathe", "B", "lathe.yaml", "ab" * 32, "No rule found anything.")
    rows = list(csv.reader(io.StringIO(sheet_csv(heading, wire_list(LATHE)), newline="")))
    assert len({len(row) for row in rows}) == 1
    named = {row[0]: row[1] for row in rows[-6:]}
    assert (named["machine"], named["revision"], named["SHA-256 of the plan"]) == ("Lathe", "B", "ab" * 32)
    assert "does not replace a qualified electrician" in rows[-1][1]


SPARSE = """wirecheck: 1
machine: {name: bench}
devices:
  X1: {kind: terminal-block}
  S1: {kind: selector, positions: [off, slow, fast], contacts: {13-14: {closed_in: [slow, fast]}}}
wires:
  - {number: 1, run: [X1:1, S1:13]}
  - {number: 2, run: [X1:2, S1:14]}
"""


def test_what_is_not_stated_is_said_and_a_selector_names_its_positions() -> None:
    plan = read_plan_text(SPARSE, "bench.yaml")
    assert "1 to S1:13 (size not stated)" in column(terminal_list(plan), "wires within the place")
    assert "13-14 closed in fast or slow" in column(parts_list(plan), "contacts used")


def test_what_was_found_stands_worst_first() -> None:
    plan = read_plan(EXAMPLES / "bad" / "drill-starts-at-power-up.yaml")
    report = pipeline.check(plan)
    mixed = report._replace(findings=tuple(report.findings[0]._replace(severity=s) for s in ("advice", "danger", "damage")))
    whats = [what for what in column(assumption_list(mixed), "what") if what.startswith("found")]
    assert whats == ["found: danger", "found: damage", "found: advice"]
    assert [f.severity for f in pipeline.to_mark(mixed)] == ["danger", "damage", "advice"]


def test_the_screen_of_a_cable_is_none_of_its_cores() -> None:
    plan = read_plan(EXAMPLES / "good" / "lathe.yaml")
    line = "  - {number: PE, run: [X0:9, M1:PE], cable: W1, core: screen}\n"
    with_screen = read_plan_text("\n".join(plan.lines).replace("wires:\n", f"wires:\n{line}"), "lathe.yaml")
    (before,) = (row for row in records(cable_list(plan)) if row["cable"] == "W1")
    (after,) = (row for row in records(cable_list(with_screen)) if row["cable"] == "W1")
    assert (before["cores"], before["spare"], after["spare"]) == ("4", "0", "0")
