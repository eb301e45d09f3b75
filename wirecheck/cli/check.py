"""The command `check`: load, analyse, judge."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from wirecheck.cli.shared import FOUND, INCOMPLETE, KindFolders, RuleFolders, file_errors, no_traceback, page
from wirecheck.outputs import console

if TYPE_CHECKING:
    from wirecheck.findings import Report
    from wirecheck.rules.house import RuleSet


def check(
    plans: Annotated[list[str], typer.Argument(metavar="PLAN", help="Plan files; - is standard input.", show_default=False)],
    form: Annotated[
        Literal["text", "json", "sarif"],
        typer.Option(
            "--format",
            help="json: one object for one plan, an array of such objects for several. sarif: SARIF 2.1.0, one run for all.",
        ),
    ] = "text",
    fail_at: Annotated[
        Literal["danger", "damage", "malfunction", "advice"],
        typer.Option("--fail-at", help="The mildest severity that gives exit status 1."),
    ] = "malfunction",
    numbers: Annotated[bool, typer.Option("--numbers", help="Show the computed quantities with their working.")] = False,
    rules: RuleFolders = None,
    kinds: KindFolders = None,
) -> None:
    """Check plans: load, analyse, judge.

    Exit status: 0 nothing at or above --fail-at, 1 something is, 2 the input or the call could not be used, 3 the analysis
    was incomplete. Of several plans the worst counts. If one of them cannot be read, none is checked.
    """
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.progress import ProgressBar

        house = pipeline.house_rules(rules or [])
        read = pipeline.read_all(plans, pipeline.house_kinds(kinds or []))
        with ProgressBar(sys.stderr) as progress:
            reports = [pipeline.check(plan, progress, house) for plan in read]
        with file_errors():
            if form != "text":  # JSON is UTF-8 wherever it is printed.
                console.emit(_json(reports) if form == "json" else _sarif(reports, house), "utf-8")
            else:
                console.emit(_text(reports, numbers))
    raise typer.Exit(max(_status(report, fail_at) for report in reports))


def _status(report: Report, fail_at: str) -> int:
    from wirecheck.findings import severity_rank

    if report.incomplete:
        return INCOMPLETE
    limit = severity_rank(fail_at)
    return FOUND if any(severity_rank(f.severity) >= limit for f in report.findings if not f.accepted) else 0


def _json(reports: Sequence[Report]) -> str:
    from wirecheck.outputs.json import render_json, render_json_list

    return (render_json(reports[0]) if len(reports) == 1 else render_json_list(reports)) + "\n"


def _sarif(reports: Sequence[Report], house: RuleSet | None) -> str:
    from wirecheck.cli.shared import version
    from wirecheck.outputs.sarif import render_sarif
    from wirecheck.rules.loader import load_rules

    return render_sarif(reports, house.rules if house else load_rules(), version()) + "\n"


def _text(reports: Sequence[Report], numbers: bool) -> str:
    from wirecheck.outputs.text import render_text

    return "\n\n".join(render_text(report, *page(), numbers) for report in reports)
