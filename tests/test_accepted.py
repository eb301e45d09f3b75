"""A danger that is accepted stays visible in every output and no longer fails the check; without a name and a date it does."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wirecheck import cli

BAD = Path(__file__).parents[1] / "examples" / "bad" / "drill-starts-at-power-up.yaml"
SIGNED = {"because": "only for the demonstration", "by": "A. Member, steward", "date": "2026-05-01"}


def call(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as left:
        cli.main(arguments)
    captured = capsys.readouterr()
    assert captured.err == ""
    return int(left.value.code or 0), captured.out


@pytest.fixture
def found(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    """What is found at malfunction or above in the bad example."""
    findings = json.loads(call(capsys, "check", str(BAD), "--format", "json")[1])["findings"]
    return [finding for finding in findings if finding["severity"] != "advice"]


def accepting(path: Path, findings: list[dict[str, object]], words: dict[str, str]) -> Path:
    """The bad example with these findings accepted in these words."""
    entries = [{"rule": f["rule"], "devices": f["devices"], **words} for f in findings]
    path.write_text(f"{BAD.read_text(encoding='utf-8')}accepted: {json.dumps(entries)}\n", encoding="utf-8")
    return path


def test_an_accepted_danger_no_longer_fails_but_is_told_everywhere(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, found: list[dict[str, object]]
) -> None:
    assert "danger" in {f["severity"] for f in found}
    plan = accepting(tmp_path / "drill.yaml", found, SIGNED)
    message = str(next(f["message"] for f in found if f["severity"] == "danger"))

    status, text = call(capsys, "check", str(plan))
    assert status == 0
    words = " ".join(text.split())
    assert f"{len(found)} accepted" in words.partition("ADVICE")[0]
    assert f"Accepted danger: {message}" in words
    assert "only for the demonstration (A. Member, steward, 2026-05-01)" in words

    status, text = call(capsys, "check", str(plan), "--format", "json")
    told = [f for f in json.loads(text)["findings"] if f["severity"] == "danger"]
    assert status == 0
    assert {f["accepted"]["by"] for f in told} == {"A. Member, steward"}

    assert call(capsys, "draw", str(plan), "-o", str(tmp_path / "drill.svg"))[0] == 0
    assert "danger (accepted)" in (tmp_path / "drill.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("lacking", ["because", "by", "date"])
def test_a_danger_is_not_accepted_without_reason_name_and_date(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, found: list[dict[str, object]], lacking: str
) -> None:
    words = {key: text for key, text in SIGNED.items() if key != lacking}
    plan = accepting(tmp_path / "drill.yaml", [f for f in found if f["severity"] == "danger"], words)
    status, text = call(capsys, "check", str(plan))
    assert status == 1
    assert f"is not accepted: {lacking} is missing." in " ".join(text.split())


def test_an_acceptance_is_told_when_its_finding_is_gone(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, found: list[dict[str, object]]
) -> None:
    plan = accepting(tmp_path / "drill.yaml", found, SIGNED)
    text = plan.read_text(encoding="utf-8").replace("on_power_up_with_run: starts", "on_power_up_with_run: waits")
    plan.write_text(text, encoding="utf-8")
    status, text = call(capsys, "check", str(plan))
    assert status == 0
    assert "The acceptance of returning-supply-starts-nothing for" in " ".join(text.split())
    assert "matches no finding." in " ".join(text.split())
