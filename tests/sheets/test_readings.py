"""`wirecheck diagnose`: the filled-in sheet read back, and what is printed."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.oracles.wrong_wiring import may_read, paths_with
from wirecheck import cli
from wirecheck.errors import PlanErrors
from wirecheck.metering.choosing import dead_test
from wirecheck.metering.dead import CLOSED, OHMS, OPEN
from wirecheck.plan import read_plan
from wirecheck.plan.model import Event, Terminal
from wirecheck.sheets.readings import levels_of, read_filled

PATH = Path(__file__).parents[2] / "examples" / "good" / "pillar-drill.yaml"
PLAN = read_plan(PATH)
HEAD = "step,operate,from,to,where,expected,reading,done,name,date\n"


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("0", {CLOSED}), ("0.3", {CLOSED}), ("0,3 ohm", {CLOSED}), ("closed", {CLOSED}), ("Beep", {CLOSED}),
        ("150 m\u03a9", {CLOSED}),
        ("2.5 ohm", {CLOSED, OHMS}), ("570", {OHMS}), ("4.7k", {OHMS}), ("4,7 kohm", {OHMS}), ("> 600", {OHMS}),
        ("1 M", {OHMS, OPEN}), ("20M", {OPEN}), ("OL", {OPEN}), ("open", {OPEN}), ("\u221e", {OPEN}),
        ("perhaps", set()), ("=1+1", set()), ("12 volts", set()),
    ],
)  # fmt: skip
def test_what_a_tester_writes(text: str, levels: set[int]) -> None:
    assert levels_of(text) == levels


def test_a_line_becomes_a_reading_and_lines_without_one_are_passed_over() -> None:
    text = (
        HEAD
        + "1,rest,X0:1,M1:PE,panel,closed,,,,\r\n2,S1=forward,T1:P24,T1:DI1,,closed,0.4,x,me,today\r\ncaution,words,,,,,,,,\r\n"
    )
    filled = read_filled(PLAN, text, "f.csv")
    assert filled.steps == ("2",)
    (observed,) = filled.observed
    assert observed.reading.setting == (Event("S1", "forward"),)
    assert (observed.reading.a, observed.reading.b) == (Terminal("T1", "P24"), Terminal("T1", "DI1"))
    assert observed.levels == {CLOSED}


def test_a_spreadsheet_that_writes_semicolons_is_read_as_well() -> None:
    text = "\ufeff" + HEAD.replace(",", ";") + "1;rest;X0:1;M1:PE;;closed;0,2;;;\n"
    assert read_filled(PLAN, text, "f.csv").observed[0].levels == {CLOSED}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a,b\n1,2\n", "this is no dead-test sheet: it has no column operate, from, to, reading"),
        (HEAD, "no reading is filled in"),
        (HEAD + "1,rest,X0:1,M1:PEE,,closed,0.2,,,\n", "the plan has no terminal `M1:PEE`"),
        (HEAD + "1,S1=forwards,X0:1,M1:PE,,closed,0.2,,,\n", "the plan has no `S1=forwards`"),
        (HEAD + "1,rest,X0:1,M1:PE,,closed,maybe,,,\n", "`maybe` is no reading"),
    ],
)
def test_what_cannot_be_understood_is_told_with_its_line(text: str, message: str) -> None:
    with pytest.raises(PlanErrors) as told:
        read_filled(PLAN, text, "f.csv")
    assert message in str(told.value)
    assert f"f.csv:{1 if text.count(chr(10)) < 2 or 'a,b' in text else 2}:" in str(told.value)


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        cli.main(arguments)
    captured = capsys.readouterr()
    return int(left.value.code or 0), captured.out, captured.err


def filled_in(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str | None) -> Path:
    """The sheet of the drill as somebody fills it in who measures a machine with the error of this text, or none."""
    assert run(capsys, "sheets", str(PATH), "-o", str(tmp_path / "papers"))[0] == 0
    sheet = tmp_path / "papers" / "dead-test.csv"
    rows = list(csv.reader(io.StringIO(sheet.read_text(encoding="utf-8"), newline="")))
    test = dead_test(PLAN)
    paths = paths_with(PLAN, next(e for e in test.errors if e.text.startswith(text))) if text else None
    for row, candidate in zip(rows[1:], test.readings, strict=False):
        assert (row[2], row[3]) == (str(candidate.reading.a), str(candidate.reading.b))
        level = max(may_read(PLAN, paths, candidate.reading, test.matrix.supply_on)) if paths else candidate.most
        row[rows[0].index("reading")] = {CLOSED: "0.2", OHMS: "600 ohm", OPEN: "OL"}[level]
    out = tmp_path / "filled.csv"
    with out.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    return out


def test_a_machine_wired_right_gives_status_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "diagnose", str(PATH), str(filled_in(tmp_path, capsys, None)))
    assert status == 0
    assert "26 readings, all as they should be." in out
    assert "does not replace a qualified electrician" in " ".join(out.split())


def test_a_loose_wire_is_named_first_with_the_next_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wire = next(w for w in PLAN.wires if w.a.device.startswith("S") or w.b.device.startswith("S"))
    status, out, _ = run(capsys, "diagnose", str(PATH), str(filled_in(tmp_path, capsys, f"{wire} is missing")))
    assert status == 1
    words = " ".join(out.split())
    assert f"1 {wire} is missing or loose" in words
    assert f"All of them are about wire {wire.number}: look at its ends first." in words
    assert "Next: with" in words
    assert "As a further line of the file" in words


def test_a_sheet_of_an_older_plan_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = filled_in(tmp_path, capsys, None)
    plan = tmp_path / "changed.yaml"
    plan.write_text(PATH.read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
    status, out, _ = run(capsys, "diagnose", str(plan), str(sheet))
    assert status == 0
    assert "the plan has changed since" in " ".join(out.split())


def test_no_file_and_no_sheet_give_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "diagnose", str(PATH), str(tmp_path / "none.csv"))[0] == 2
    (tmp_path / "bad.csv").write_text('a,"b\n', encoding="utf-8")
    status, out, err = run(capsys, "diagnose", str(PATH), str(tmp_path / "bad.csv"))
    assert (status, out) == (2, "")
    assert "no dead-test sheet" in err
