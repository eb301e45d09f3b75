"""SARIF 2.1.0: every report fits the schema that OASIS publishes, and says what a reader of it needs.

`sarif-schema-2.1.0.json` is the schema of the standard with errata 01, unchanged:
https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.outputs.reports import FILE, advice, danger, report
from tests.rules.plans import rule
from wirecheck import cli
from wirecheck.findings import NOTICE, Evidence, Report, Spot, Step
from wirecheck.outputs.sarif import render_sarif

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((Path(__file__).parent / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft4Validator(SCHEMA, format_checker=jsonschema.Draft4Validator.FORMAT_CHECKER)

RULES = (rule("guard-open-keeps-motion-stopped", why="{device} can hurt."), rule("coil-gets-its-voltage"))
SIGNED = {"because": "the lamp is a toy", "by": "A. Member", "date": "2024-05-01"}


def run_of(*reports: Report) -> Any:
    """The run of a log that fits the schema."""
    log = json.loads(render_sarif(reports, RULES, "0.1.0"))
    VALIDATOR.validate(log)
    (run,) = log["runs"]
    return run


def test_the_schema_is_that_of_the_standard() -> None:
    jsonschema.Draft4Validator.check_schema(SCHEMA)
    assert SCHEMA["id"] == json.loads(render_sarif([report()], (), ""))["$schema"]
    assert not VALIDATOR.is_valid({"version": "2.1.0"})


@pytest.mark.parametrize(
    "reports",
    [
        [report()],
        [report(danger(), advice())],
        [report(danger()), report(danger(), plan="mill.yaml")],
        [report(danger()), report(danger())],
        [report(danger(accepted=SIGNED))],
        [report(incomplete=("too large",), proved=()), report(incomplete=("too large",), proved=())],
        [report(advice(rule="acceptance-matches-a-finding"))],
        [report(plan="-")],
        [report(plan="/work shop/a b.yaml")],
        [report(danger(message="K1 \x1b[2J {x} [y](z)", at=Spot("a b%.yaml", 1, 1)))],
    ],
)
def test_every_log_fits_the_schema_and_carries_the_caution(reports: list[Report]) -> None:
    run = run_of(*reports)
    assert run["properties"]["notice"] == NOTICE
    assert run["tool"]["driver"]["fullDescription"]["text"] == NOTICE
    assert len(run["results"]) == sum(len(report.findings) for report in reports)
    for result in run["results"]:
        assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"]


@pytest.mark.parametrize(
    ("severity", "level", "rank"),
    [("danger", "error", 100), ("damage", "error", 75), ("malfunction", "warning", 50), ("advice", "note", 25)],
)
def test_levels(severity: str, level: str, rank: int) -> None:
    (result,) = run_of(report(danger(severity=severity)))["results"]
    assert (result["level"], result["rank"]) == (level, rank)


def test_a_result_says_what_where_why_and_how_to_get_there() -> None:
    (result,) = run_of(report(danger()))["results"]
    assert result["message"]["text"].startswith("M1 keeps running while the guard S2 is open. What to do: Put a second")
    place = result["locations"][0]["physicalLocation"]
    assert place == {"artifactLocation": {"uri": FILE}, "region": {"startLine": 41, "startColumn": 3}}
    steps = [step["location"]["message"]["text"] for step in result["codeFlows"][0]["threadFlows"][0]["locations"]]
    assert steps == ["G0=on: G1 gives 24 V", "S4=pressed (start pressed): K1; M1 forward", "S2=open: M1 forward"]
    assert result["properties"]["evidence"]["fault"] == "wire 7 [S1:22\u2013S2:21] open"
    assert "suppressions" not in result


def test_a_finding_without_a_trace_has_no_code_flow() -> None:
    (result,) = run_of(report(advice()))["results"]
    assert "codeFlows" not in result


def test_an_accepted_finding_is_a_result_with_a_suppression() -> None:
    (result,) = run_of(report(danger(accepted=SIGNED)))["results"]
    (suppression,) = result["suppressions"]
    assert suppression == {"kind": "inSource", "status": "accepted", "justification": "the lamp is a toy, A. Member, 2024-05-01"}


def test_rules_have_help_in_which_nothing_is_left_to_fill_in() -> None:
    first = run_of(report())["tool"]["driver"]["rules"][0]
    assert first["shortDescription"]["text"] == "Every lamp is marked"
    assert first["help"]["text"] == "DEVICE can hurt.\n\nWhat to do: Mark DEVICES.\n\nSource: common practice"
    assert first["help"]["markdown"].startswith("DEVICE can hurt.")
    assert first["defaultConfiguration"]["level"] == "warning"


def test_what_was_not_decided_is_told() -> None:
    run = run_of(report(danger(), incomplete=("too large",), proved=()))
    (invocation,) = run["invocations"]
    assert not invocation["executionSuccessful"]
    assert invocation["toolExecutionNotifications"][0]["message"]["text"] == "too large"
    assert run_of(report())["invocations"][0]["executionSuccessful"]


def test_a_finding_keeps_its_fingerprint_when_it_moves_and_loses_it_when_it_is_about_something_else() -> None:
    def mark(finding: object) -> object:
        return run_of(report(finding))["results"][0]["partialFingerprints"]  # type: ignore[arg-type]

    assert mark(danger()) == mark(danger(at=Spot(FILE, 99, 1), devices=("M1", "S2")))
    assert mark(danger()) != mark(danger(devices=("M1",)))
    assert mark(danger()) != mark(danger(rule="coil-gets-its-voltage"))


def test_braces_and_brackets_of_a_plan_are_literal() -> None:
    (result,) = run_of(report(danger(message="K1 {0} [a](b)", evidence=Evidence(steps=(Step("S{1}=on"),)))))["results"]
    assert result["message"]["text"].startswith("K1 {{0}} [a] (b)")
    assert result["codeFlows"][0]["threadFlows"][0]["locations"][0]["location"]["message"]["text"] == "S{{1}}=on"


@pytest.mark.parametrize(
    ("file", "uri"), [("my plans/a#1.yaml", "my%20plans/a%231.yaml"), ("/a b.yaml", "file:///a%20b.yaml"), ("-", "-")]
)
def test_files_are_uris(file: str, uri: str) -> None:
    assert run_of(report(plan=file))["artifacts"][0]["location"]["uri"] == uri


def test_two_runs_on_one_plan_are_equal() -> None:
    one, other = (report(danger(), statistics={"devices": 1, "seconds": seconds}) for seconds in (0.1, 0.2))
    assert render_sarif([one], RULES, "0.1.0") == render_sarif([other], RULES, "0.1.0")


def test_real_plans_and_rules(capsys: pytest.CaptureFixture[str]) -> None:
    plans = [str(ROOT / "examples" / name) for name in ("good/bench-grinder.yaml", "bad/drill-starts-at-power-up.yaml")]
    house = str(ROOT / "examples" / "house-rules")
    with pytest.raises(SystemExit) as left:
        cli.main(["check", *plans, "--rules", house, "--format", "sarif"])
    log = json.loads(capsys.readouterr().out)
    VALIDATOR.validate(log)
    (run,) = log["runs"]
    assert left.value.code == 1
    assert len(run["artifacts"]) == 2
    names = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert "guards-take-power-or-torque-away" in names
    assert "guard-is-more-than-a-request" not in names
    assert "returning-supply-starts-nothing" in {result["ruleId"] for result in run["results"]}
    for described in run["tool"]["driver"]["rules"]:
        assert "{" not in described["help"]["text"]
