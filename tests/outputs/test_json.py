"""The JSON output: the keys that the schema fixes, and nothing that could drive a terminal."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from tests.outputs.reports import advice, danger, report
from wirecheck.findings import NOTICE, Finding, Report
from wirecheck.outputs.json import render_json, render_json_list

SCHEMA = json.loads((Path(__file__).parents[2] / "schemas" / "report.schema.json").read_text(encoding="utf-8"))


def validate(document: object) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(document)


@pytest.mark.parametrize(
    "made",
    [
        report(),
        report(danger(), advice()),
        report(incomplete=("too large",), proved=()),
        report(danger(accepted={"because": "a", "by": "b", "date": "c"})),
    ],
)
def test_every_report_fits_the_schema(made: Report) -> None:
    validate(json.loads(render_json(made)))


def test_schema_itself_is_sound() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("key", sorted(json.loads(render_json(report()))))
def test_no_key_may_be_missing(key: str) -> None:
    document = json.loads(render_json(report(danger())))
    del document[key]
    with pytest.raises(jsonschema.ValidationError):
        validate(document)


def test_finding_carries_all_that_was_found() -> None:
    (finding,) = json.loads(render_json(report(danger())))["findings"]
    assert finding["rule"] == "guard-open-keeps-motion-stopped"
    assert finding["at"] == {"file": "bench-lathe.yaml", "line": 41, "column": 3}
    assert finding["devices"] == ["S2", "M1"]
    assert finding["wires"] == ["7"]
    assert finding["accepted"] is None
    assert finding["evidence"]["fault"] == "wire 7 [S1:22\u2013S2:21] open"
    assert finding["evidence"]["fault_after"] == 2
    assert finding["evidence"]["events"] == ["G0=on", "S4=pressed", "S2=open"]
    assert finding["evidence"]["steps"][1] == {
        "event": "S4=pressed",
        "moved": ["K1"],
        "motion": {"M1": "forward"},
        "notes": ["start pressed"],
    }


def evidence_keys(finding: Finding) -> set[str]:
    (printed,) = json.loads(render_json(report(finding)))["findings"]
    return set(printed["evidence"])


def test_evidence_has_the_keys_that_apply() -> None:
    assert evidence_keys(advice()) == {"walk", "numbers"}
    assert evidence_keys(danger()) == {"fault", "fault_after", "events", "steps"}


def test_a_fault_from_the_start_is_told_as_zero() -> None:
    finding = danger()
    from_start = danger(evidence=type(finding.evidence)(events=("G0=on",), fault="G1 lost", fault_after=0))
    (printed,) = json.loads(render_json(report(from_start)))["findings"]
    assert printed["evidence"]["fault_after"] == 0


def test_verdict_and_notice() -> None:
    assert json.loads(render_json(report()))["verdict"] == "clear"
    assert json.loads(render_json(report(danger())))["verdict"] == "findings"
    assert json.loads(render_json(report(danger(), incomplete=("x",))))["verdict"] == "incomplete"
    assert json.loads(render_json(report(danger(accepted={"because": "x"}))))["verdict"] == "clear"
    assert json.loads(render_json(report()))["notice"] == NOTICE


def test_several_reports_are_an_array() -> None:
    document = json.loads(render_json_list([report(), report(danger())]))
    assert [entry["verdict"] for entry in document] == ["clear", "findings"]
    validate(document)


def test_control_characters_are_escaped_and_read_back_the_same() -> None:
    evil = "K1\x1b[2J\x7f\x9b2J\u202e\ue000\U000e0001 \u03a9"
    text = render_json(report(danger(message=evil)))
    assert all(line.isprintable() for line in text.split("\n"))
    assert "\u03a9" in text
    assert json.loads(text)["findings"][0]["message"] == evil
