"""Reports as SARIF 2.1.0, the OASIS standard for the results of static analysis: one run, whatever the number of plans.

A danger and damage are of level `error`, a malfunction is a `warning`, advice a `note`; `rank` keeps them apart. What the owner
accepts is a result with a suppression. The caution stands in the description of the tool and in the properties of the run.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from pathlib import PurePath
from urllib.parse import quote

from wirecheck.findings import NOTICE, Finding, Report, Step, severity_rank
from wirecheck.outputs.json import dump, evidence_keys
from wirecheck.rules.record import Rule, in_capitals

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {"danger": "error", "damage": "error", "malfunction": "warning", "advice": "note"}
RANK_OF_ONE_STEP = 25.0
"""SARIF ranks from 0 to 100; there are four severities."""

Object = dict[str, object]


def render_sarif(reports: Sequence[Report], rules: Sequence[Rule], version: str) -> str:
    """The reports, judged by these rules, as one SARIF log."""
    descriptors = _descriptors(reports, rules)
    places = {str(descriptor["id"]): number for number, descriptor in enumerate(descriptors)}
    run = {
        "tool": {
            "driver": {
                "name": "wirecheck",
                "version": version,
                "shortDescription": _text("Checks the wiring of a small machine on paper, before anything is energised."),
                "fullDescription": _text(NOTICE),
                "rules": descriptors,
            }
        },
        "columnKind": "unicodeCodePoints",
        "artifacts": [
            {"location": _location(plan), "roles": ["analysisTarget"]}
            for plan in dict.fromkeys(report.plan for report in reports)
        ],
        "invocations": [_invocation(reports)],
        "results": [_result(finding, places) for report in reports for finding in report.findings],
        "properties": {"notice": NOTICE, "plans": [_plan(report) for report in reports]},
    }
    return dump({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _text(text: str) -> Object:
    """A message string: a brace stands twice for itself, and no bracket may make a link (SARIF 2.1.0, 3.11.5 and 3.11.6)."""
    return {"text": _literal(text)}


def _literal(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}").replace("](", "] (")


def _location(file: str) -> Object:
    """A file as a URI: relative as it was named in the call, or absolute."""
    path = PurePath(file)
    return {"uri": path.as_uri() if path.is_absolute() else quote(path.as_posix())}


def _descriptors(reports: Sequence[Report], rules: Sequence[Rule]) -> list[Object]:
    """All rules that were judged, and what is found beside them, such as an acceptance that matches nothing."""
    house = {str(entry["rule"]): entry for report in reports for entry in report.house_rules}
    known = {rule.name for rule in rules}
    beside = {f.rule: f for report in reports for f in report.findings if f.rule not in known}
    return [_descriptor(rule, house.get(rule.name)) for rule in rules] + [_beside(finding) for finding in beside.values()]


def _descriptor(rule: Rule, house: Mapping[str, object] | None) -> Object:
    why, remedy = in_capitals(rule.why), in_capitals(rule.remedy)
    properties: Object = {"severity": rule.severity, "sources": list(rule.sources)}
    return {
        "id": rule.name,
        "shortDescription": _text(rule.title),
        "fullDescription": _text(why),
        "help": {
            "text": _literal(f"{why}\n\nWhat to do: {remedy}\n\nSource: {'; '.join(rule.sources)}"),
            "markdown": f"{_plain(why)}\n\n**What to do:** {_plain(remedy)}\n\n**Source:** {_plain('; '.join(rule.sources))}",
        },
        "defaultConfiguration": {"level": LEVELS[rule.severity], "rank": _rank(rule.severity)},
        "properties": properties | ({"house": dict(house)} if house else {}),
    }


def _beside(finding: Finding) -> Object:
    return {
        "id": finding.rule,
        "shortDescription": _text(finding.rule.replace("-", " ").capitalize() + "."),
        "fullDescription": _text(finding.why),
        "help": _text(finding.why),
        "defaultConfiguration": {"level": LEVELS[finding.severity], "rank": _rank(finding.severity)},
    }


def _plain(text: str) -> str:
    """Text in which no character means anything to Markdown."""
    return "".join(f"\\{c}" if c in "\\`*_[]<>()#+!|~" else c for c in _literal(text))


def _rank(severity: str) -> float:
    return RANK_OF_ONE_STEP * (severity_rank(severity) + 1)


def _result(finding: Finding, places: Mapping[str, int]) -> Object:
    place = {"startLine": finding.at.line, "startColumn": finding.at.column}
    result: Object = {
        "ruleId": finding.rule,
        "ruleIndex": places[finding.rule],
        "level": LEVELS[finding.severity],
        "rank": _rank(finding.severity),
        "message": _text(f"{finding.message} What to do: {finding.remedy}"),
        "locations": [{"physicalLocation": {"artifactLocation": _location(finding.at.file), "region": place}}],
        "partialFingerprints": {"ruleAndDevices/v1": _fingerprint(finding)},
        "properties": _properties(finding),
    }
    if finding.evidence.steps:
        result["codeFlows"] = [{"threadFlows": [{"locations": [_step(step) for step in finding.evidence.steps]}]}]
    if finding.accepted:
        result["suppressions"] = [{"kind": "inSource", "status": "accepted", "justification": _justification(finding.accepted)}]
    return result


def _properties(finding: Finding) -> Object:
    return {
        "severity": finding.severity,
        "why": finding.why,
        "devices": list(finding.devices),
        "wires": list(finding.wires),
        "evidence": evidence_keys(finding.evidence),
        "sources": list(finding.sources),
        "rests_on": list(finding.rests_on),
    }


def _fingerprint(finding: Finding) -> str:
    """The same for a finding that only moved to another line."""
    return sha256("\n".join([finding.rule, *sorted(finding.devices)]).encode()).hexdigest()


def _justification(accepted: Mapping[str, str]) -> str:
    return ", ".join(accepted[key] for key in ("because", "by", "date") if key in accepted)


def _step(step: Step) -> Object:
    """One step of the trace in words: it stands at no line of the plan."""
    notes = f" ({'; '.join(step.notes)})" if step.notes else ""
    told = [*step.moved, *(f"{motor} {motion}" for motor, motion in step.motion.items())]
    return {"location": {"message": _text(f"{step.event}{notes}{': ' if told else ''}{'; '.join(told)}")}}


def _invocation(reports: Iterable[Report]) -> Object:
    """Whether all could be decided, and what could not."""
    open_points = dict.fromkeys((report.plan, reason) for report in reports for reason in report.incomplete)
    told = [
        {"level": "error", "message": _text(reason), "locations": [{"physicalLocation": {"artifactLocation": _location(plan)}}]}
        for plan, reason in open_points
    ]
    return {"executionSuccessful": not told, "toolExecutionNotifications": told}


def _plan(report: Report) -> Object:
    """What belongs to a plan as a whole. Without the seconds: two runs on one plan are to be equal."""
    return {
        "plan": report.plan,
        "verdict": report.verdict,
        "assumed": list(report.assumed),
        "not_checked": list(report.not_checked),
        "statistics": {name: number for name, number in report.statistics.items() if name != "seconds"},
    }
