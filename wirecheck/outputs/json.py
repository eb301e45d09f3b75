"""A report as JSON, with the keys that `schemas/report.schema.json` fixes."""

from __future__ import annotations

import json
from collections.abc import Sequence

from wirecheck.findings import NOTICE, Evidence, Finding, Report, Step


def render_json(report: Report) -> str:
    """One report as a JSON object."""
    return dump(document(report))


def render_json_list(reports: Sequence[Report]) -> str:
    """Several reports as a JSON array of such objects."""
    return dump([document(report) for report in reports])


def document(report: Report) -> dict[str, object]:
    """A report as plain values, in the order in which JSON prints them."""
    return {
        "wirecheck": 1,
        "plan": report.plan,
        "verdict": report.verdict,
        "findings": [_finding(finding) for finding in report.findings],
        "functions": [dict(function) for function in report.functions],
        "numbers": [dict(number) for number in report.numbers],
        "questions": [dict(question) for question in report.questions],
        "proved": [
            {"claim": proof.claim, "states": proof.states, "faults": proof.faults, "condition_reached": proof.condition_reached}
            for proof in report.proved
        ],
        "incomplete": list(report.incomplete),
        "assumed": list(report.assumed),
        "not_checked": list(report.not_checked),
        "house_rules": [dict(rule) for rule in report.house_rules],
        "statistics": dict(report.statistics),
        "notice": NOTICE,
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "message": finding.message,
        "why": finding.why,
        "remedy": finding.remedy,
        "devices": list(finding.devices),
        "wires": list(finding.wires),
        "at": {"file": finding.at.file, "line": finding.at.line, "column": finding.at.column},
        "evidence": evidence_keys(finding.evidence),
        "sources": list(finding.sources),
        "rests_on": list(finding.rests_on),
        "accepted": dict(finding.accepted) if finding.accepted else None,
        "follows": dict(zip(("rule", "message"), finding.follows, strict=True)) if finding.follows else None,
    }


def evidence_keys(evidence: Evidence) -> dict[str, object]:
    """What proves something: only the keys that apply."""
    keys: dict[str, object] = {
        "fault": evidence.fault,
        "fault_after": evidence.fault_after,
        "events": list(evidence.events) or None,
        "steps": [_step(step) for step in evidence.steps] or None,
        "walk": list(evidence.walk) or None,
        "passes": dict(evidence.passes) or None,
        "numbers": dict(evidence.numbers) or None,
        "cases": dict(evidence.cases) or None,
    }
    return {key: value for key, value in keys.items() if value is not None}


def _step(step: Step) -> dict[str, object]:
    return {"event": step.event, "moved": list(step.moved), "motion": dict(step.motion), "notes": list(step.notes)}


def dump(value: object) -> str:
    """Plain values as JSON text that can drive no terminal."""
    text = json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)
    # JSON may carry a terminal's control characters raw, above ASCII; written as escapes they mean the same and do nothing.
    return text if all(map(str.isprintable, text.split("\n"))) else "".join(map(_escaped, text))


def _escaped(character: str) -> str:
    if character == "\n" or character.isprintable():
        return character
    units = character.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[start : start + 4]}" for start in range(0, len(units), 4))
