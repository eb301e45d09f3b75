"""The command that lists single faults: its text, JSON and CSV, and that each of its commands plays what its row says."""

from __future__ import annotations

import csv
import io
import json
import shlex
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from tests.generators.zone_line import zone_line
from wirecheck import cli, pipeline
from wirecheck.behaviour.faults import EXCLUDED, single_faults
from wirecheck.behaviour.verdicts import NO_EFFECT, SEEN, STOPS, UNSEEN, VERDICTS
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.findings import NOTICE, Evidence
from wirecheck.outputs.commands import quoted, rehearse_command
from wirecheck.outputs.csv_text import cell, csv_text
from wirecheck.outputs.fault_table import render_faults_csv, render_faults_json
from wirecheck.outputs.fault_text import render_faults_text
from wirecheck.outputs.folding import folded, runs_of
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.rules.fault_table import FaultTable, Row, fault_table

ROOT = Path(__file__).parents[1]
EXAMPLES = sorted((ROOT / "examples").glob("[bg]*/*.yaml"))
SCHEMA = json.loads((ROOT / "schemas" / "faults.schema.json").read_text(encoding="utf-8"))
MILL = ROOT / "examples" / "bad" / "mill-jog-that-latches.yaml"


@cache
def table_of(path: Path) -> FaultTable:
    return pipeline.faults(read_plan(path))


def rows_of(table: FaultTable) -> dict[str, Row]:
    return {fault.text: row for row in table.rows for fault in row.faults}


# the table


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_fault_stands_once_and_the_worst_come_first(path: Path) -> None:
    table = table_of(path)
    faults = [fault.text for row in table.rows for fault in row.faults]
    assert sorted(faults) == sorted(f.text for f in single_faults(read_plan(path)) if f.kind != EXCLUDED)
    assert len(faults) == len(set(faults))
    worst = [row.worst for row in table.rows]
    assert worst == sorted(worst, reverse=True)
    for row in table.rows:
        assert list(row.effects) == list(table.functions)
        assert set(row.lost) == {title for title, verdict in row.effects.items() if verdict in (SEEN, UNSEEN)}


@pytest.mark.parametrize("name", ["bad/mill-jog-that-latches", "bad/tapper-reversing-without-interlock", "good/lathe"])
def test_the_table_says_what_the_report_says(name: str) -> None:
    path = ROOT / "examples" / f"{name}.yaml"
    table, report = table_of(path), pipeline.check(read_plan(path))
    assert list(table.functions.values()) == list(report.functions)
    for title, summary in table.functions.items():
        lost = {fault.text for row in table.rows if title in row.lost for fault in row.faults}
        unseen = {fault.text for row in table.rows if row.effects[title] == UNSEEN for fault in row.faults}
        assert lost == set(summary["lost_by"])  # type: ignore[call-overload]  # a list of words
        assert unseen == set(summary["lost_unseen_by"])  # type: ignore[call-overload]


def test_what_the_faults_of_a_mill_do() -> None:
    rows = rows_of(table_of(MILL))
    assert rows["S3:11-12 welded"].effects["S3=pressed"] == UNSEEN
    assert rows["K1 stuck in"].effects["S3=pressed"] == SEEN
    assert rows["K1 coil open"].effects["S3=pressed"] == STOPS
    assert rows["wire PE [X0:3\u2013M1:PE] open"].effects == dict.fromkeys(table_of(MILL).functions, NO_EFFECT)
    assert list(rows["S4:13-14 welded"].starts) == ["M1"]
    assert rows["S4:13-14 welded"].worst == VERDICTS.index(UNSEEN)
    assert rows["K1 stuck in"].evidence.events == ("G0=on", "Q1=on", "S4=pressed", "S3=pressed")
    assert rows["K1 coil open"].evidence == Evidence()


def test_what_is_not_taken_to_happen_stands_apart() -> None:
    lathe = ROOT / "examples" / "bad" / "lathe-two-channels-on-one-contact.yaml"
    table = table_of(lathe)
    assert table.excluded
    assert table.rests_on
    assert all(fault.kind == EXCLUDED for row in table.rests_on for fault in row.faults)
    assert "but S1:11-12 welded would take away emergency-stop" in " ".join(render_faults_text(table).split())


def test_functions_that_share_a_name_are_told_apart() -> None:
    text = MILL.read_text(encoding="utf-8")
    start = text.index("functions:")
    both = text[:start] + "functions:\n  stops: {when: [S1=pressed, S2=open], must: M1 stopped}\n"
    table = pipeline.faults(read_plan_text(both, "mill"))
    assert list(table.functions) == ["stops (S1=pressed, M1 stopped)", "stops (S2=open, M1 stopped)", "S3=pressed"]


def test_a_large_plan_is_tabled_in_parts() -> None:
    table = pipeline.faults(read_plan_text(zone_line(4), "zones.yaml"))
    plan = read_plan_text(zone_line(4), "zones.yaml")
    assert sorted(rows_of(table)) == sorted(f.text for f in single_faults(plan) if f.kind != EXCLUDED)
    stuck = rows_of(table)["Q302 stuck in"]
    assert set(stuck.lost) == {"emergency-stop-3", "guard-3", "S303=pressed"}


def test_a_trace_that_moves_a_free_relay_is_looked_at_more_closely(monkeypatch: pytest.MonkeyPatch) -> None:
    facts = Facts(read_plan(MILL))
    asked: list[frozenset[str]] = []
    answers = iter([frozenset({"K1"}), frozenset()])
    monkeypatch.setattr(facts, "free_in", lambda events: next(answers))
    monkeypatch.setattr(facts, "look_closer", asked.append)
    assert fault_table(facts).rows
    assert asked == [frozenset({"K1"})]


def test_to_look_closer_forgets_what_was_worked_out_before() -> None:
    facts = Facts(read_plan(ROOT / "examples" / "good" / "bench-grinder.yaml"))
    before = facts.fault_effects, facts.with_slow_contacts(facts.views[0])
    assert facts.fault_effects is before[0]
    facts.look_closer(frozenset())
    assert facts.fault_effects is not before[0]
    assert facts.with_slow_contacts(facts.views[0]) is not before[1]
    assert [functions for functions, _ in facts.fault_effects] == [functions for functions, _ in before[0]]


def test_progress_counts_the_faults() -> None:
    told: list[tuple[int, int, str]] = []
    plan = read_plan(MILL)
    pipeline.faults(plan, lambda done, total, what: told.append((done, total, what)))
    assert [(done, what) for done, _, what in told] == [(i, f.text) for i, f in enumerate(single_faults(plan))]
    assert {total for _, total, _ in told} == {len(single_faults(plan))}


# the commands


def test_the_command_of_every_loss_plays_it() -> None:
    table = table_of(MILL)
    plan = read_plan(MILL)
    played = 0
    for row in table.rows:
        for evidence in (*row.lost.values(), *row.starts.values()):
            words = shlex.split(rehearse_command(table.plan, evidence))
            assert words[:3] == ["wirecheck", "rehearse", str(MILL)]
            at = int(words[words.index("--at") + 1]) if "--at" in words else 0
            events = words[3 : words.index("--fault")]
            steps = pipeline.rehearse(plan, events, words[words.index("--fault") + 1], at)
            assert "stopped" not in steps[-1].motion.values()
            played += 1
    assert played > 15


@pytest.mark.parametrize(
    ("word", "written"),
    [
        ("G0=on", "G0=on"),
        ("K1 stuck in", '"K1 stuck in"'),
        ("wire 3 [S1:12\u2013S2:11] open", '"wire 3 [S1:12\u2013S2:11] open"'),
        ("a$b c", "'a$b c'"),
        ('say "so"', "'say \"so\"'"),
        ("it's", '"it\'s"'),
    ],
)
def test_words_are_quoted_for_a_shell(word: str, written: str) -> None:
    assert quoted(word) == written
    assert shlex.split(written) == [word]


# the text


def test_text_has_a_summary_then_the_worst_and_the_caution_last() -> None:
    text = " ".join(render_faults_text(table_of(MILL)).split())
    places = [
        text.index(words)
        for words in (
            "125 single faults tried; 12 take a function away, 9 start a motor",
            "function tried lost unseen structure",
            "S3=pressed 125 12 9 category 1 at most",
            "LOST, AND NOTHING SHOWS IT",
            "STARTS BY ITSELF",
            "LOST WHEN THE FAULT COMES, BUT SEEN",
            "STOPS THE MACHINE OR KEEPS IT FROM STARTING",
            "CHANGES NOTHING for any function: no stop is lost, nothing starts. That need not be harmless: metal may",
            "Left out",
        )
    ]
    assert places == sorted(places)
    assert text.endswith(NOTICE)


@pytest.mark.parametrize("width", [60, 100, 120])
def test_text_keeps_its_width_but_for_what_is_pasted(width: int) -> None:
    lines = render_faults_text(table_of(MILL), width=width).split("\n")
    assert [line for line in lines if len(line) > width and not line.startswith("     try wirecheck rehearse ")] == []
    assert any(line.startswith("     try wirecheck rehearse ") for line in lines)


def test_text_names_no_more_than_need_be() -> None:
    table = table_of(ROOT / "examples" / "good" / "bench-grinder.yaml")
    text = render_faults_text(table)
    assert len(text.split("\n")) < 120
    assert "wires open " in text


def test_wires_are_folded_by_their_number() -> None:
    plan = read_plan(MILL)
    opens = [fault for fault in single_faults(plan) if fault.kind == "wire open" and fault.wires in (("6",), ("1",))]
    assert folded(opens, runs_of(opens)) == "wires open 1, 6"
    assert folded(opens[1:3], runs_of(opens)).startswith("wires open ")
    assert "[" in folded([f for f in opens if f.wires == ("6",)][:1], runs_of(opens))
    by_text = {fault.text: fault for fault in single_faults(plan)}
    some = [by_text[t] for t in ("W2: 3 shorted to 6", "W2: 6 shorted to 8", "K1 stuck in", "T1:DI1 stuck on")]
    assert folded(some, {}) == "cores shorted W2 3 to 6, 6 to 8; stuck in K1; drive inputs T1:DI1 stuck on"


def test_colour_only_where_it_is_wanted() -> None:
    table = table_of(MILL)
    assert "\x1b" not in render_faults_text(table)
    assert "\x1b[1;31m" in render_faults_text(table, colour=True)


def test_nothing_from_a_plan_drives_a_terminal() -> None:
    table = pipeline.faults(read_plan_text(MILL.read_text(encoding="utf-8"), "x\x1b[2J.yaml"))
    for shown in (render_faults_text(table), render_faults_json(table), render_faults_csv(table).replace("\r", "")):
        assert all(line.isprintable() for line in shown.split("\n"))


def test_a_plan_without_functions_is_no_error() -> None:
    text = "wirecheck: 1\nmachine: {name: lamp}\ndevices:\n  G0: {kind: mains, phases: 1, voltage: 230 V}\n  H1: {kind: lamp}\n"
    text += "wires:\n  - {number: 1, run: [G0:L, H1:X1]}\n  - {number: 2, run: [G0:N, H1:X2]}\n"
    table = pipeline.faults(read_plan_text(text, "lamp.yaml"))
    assert table.functions == {}
    assert "nothing that stops a motor or turns a load off" in " ".join(render_faults_text(table).split())
    validate(render_faults_json(table))


# JSON and CSV


def validate(text: str) -> Mapping[str, object]:
    found: Mapping[str, object] = json.loads(text)
    jsonschema.Draft202012Validator(SCHEMA).validate(found)
    return found


def test_schema_is_sound() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_json_fits_the_schema_and_carries_the_caution(path: Path) -> None:
    found = validate(render_faults_json(table_of(path)))
    assert (found["wirecheck"], found["plan"], found["notice"]) == (1, str(path), NOTICE)
    assert found["functions"] == list(table_of(path).functions)


def test_json_names_all_that_act_alike() -> None:
    found = validate(render_faults_json(table_of(MILL)))
    rows = found["faults"]
    assert isinstance(rows, list)
    (row,) = [row for row in rows if row["fault"] == "W2: 3 shorted to 6"]
    assert row["alike"] == ["W2: 6 shorted to 8"]
    assert row["kind"] == "shorted"
    assert row["effects"]["S3=pressed"] == UNSEEN
    assert (row["starts"], row["evidence"]["fault_after"]) == ([], 0)
    assert row["evidence"]["events"] == ["G0=on", "Q1=on", "S3=pressed", "S6=pressed"]
    assert row["rehearse"]["S3=pressed"].endswith('--fault "W2: 3 shorted to 6"')


@pytest.mark.parametrize("key", ["faults", "excluded", "functions", "notice"])
def test_no_key_may_be_missing(key: str) -> None:
    found = json.loads(render_faults_json(table_of(MILL)))
    del found[key]
    with pytest.raises(jsonschema.ValidationError):
        validate(json.dumps(found))


def test_csv_has_a_row_for_every_fault() -> None:
    table = table_of(MILL)
    text = render_faults_csv(table)
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n")
    head, *rows = csv.reader(io.StringIO(text, newline=""))
    assert head == ["group", "fault", "kind", *table.functions, "M1 starts by itself", "rehearse"]
    assert {len(row) for row in rows} == {len(head)}
    *rows, caution = rows
    assert NOTICE in caution
    assert len(rows) == sum(len(row.faults) for row in table.rows) == 125
    by_fault = {row[1]: row for row in rows}
    one, other = by_fault["W2: 3 shorted to 6"], by_fault["W2: 6 shorted to 8"]
    assert one[0] == other[0] != by_fault["K1 stuck in"][0]
    assert other[-1].endswith('--fault "W2: 6 shorted to 8"')
    assert by_fault["S4:13-14 welded"][-2] == "yes"
    assert by_fault["K1 coil open"][-2:] == ["", ""]


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@sum", "'@sum"),
        ("\t=1", "'    =1"),
        ("\r=1", "'\\x0d=1"),
        ("a=1", "a=1"),
        ("", ""),
        ("a\x1b", "a\\x1b"),
    ],
)
def test_no_cell_is_a_formula(text: str, written: str) -> None:
    assert cell(text) == written


def test_csv_quotes_what_must_be() -> None:
    assert csv_text([['a "b"', "c, d"], ["=e", ""]]) == '"a ""b""","c, d"\r\n\'=e,\r\n'


# the command line


def call(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        cli.main(["faults", *arguments])
    captured = capsys.readouterr()
    assert "Traceback" not in captured.out + captured.err
    return int(left.value.code or 0), captured.out, captured.err


@pytest.mark.parametrize("form", ["text", "json", "csv"])
def test_command_prints_the_table(capsys: pytest.CaptureFixture[str], form: str) -> None:
    grinder = ROOT / "examples" / "good" / "bench-grinder.yaml"
    status, out, err = call(capsys, str(grinder), "--format", form)
    assert (status, err) == (0, "")
    table = table_of(grinder)
    assert out == {"text": render_faults_text(table), "json": render_faults_json(table), "csv": render_faults_csv(table)}[form]
    assert NOTICE in " ".join(out.split())


@pytest.mark.parametrize("arguments", [(), ("none.yaml",), (str(MILL), "--format", "xml"), (str(MILL), "more")])
def test_a_call_that_cannot_be_used(capsys: pytest.CaptureFixture[str], arguments: Sequence[str]) -> None:
    status, out, err = call(capsys, *arguments)
    assert (status, out) == (2, "")
    assert err


def test_too_large_a_plan_claims_nothing(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def large(plan: object, progress: object = None, kinds: object = ()) -> FaultTable:
        raise TooLarge("the states of the mill: 99 variables")

    monkeypatch.setattr(pipeline, "faults", large)
    status, out, err = call(capsys, str(MILL))
    assert (status, out) == (3, "")
    assert err == "Too much to follow, so nothing is claimed: the states of the mill: 99 variables\n"


def test_faults_that_stop_some_motors_only_say_which() -> None:
    table = pipeline.faults(read_plan_text(zone_line(4), "zones.yaml"))
    text = " ".join(render_faults_text(table).split())
    assert "What these keep from running: M400 by wires open 2 [X1:4\u2013K300:23], 403," in text
    assert "What these keep from running: M300, M400 by wires open 2 [X1:3\u2013S301:11], 301, 302," in text
