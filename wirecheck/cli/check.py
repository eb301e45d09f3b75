"""The command `check`: load, analyse, judge."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from wirecheck.cli.shared import FOUND, INCOMPLETE, KindFolders, RuleFolders, file_errors, no_traceback, page
from wirecheck.outputs import console

if TYPE_CHECKING:
    from wirecheck.findings import Report
    from wirecheck.rules.house import RuleSet


STANDARD_INPUT = "-"


def check(  # noqa: PLR0913, PLR0917 -- a command has as many parameters as it has options
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
    full: Annotated[
        bool, typer.Option("--full", help="Tell every finding at full length, also what follows from another.")
    ] = False,
    rules: RuleFolders = None,
    kinds: KindFolders = None,
    watch: Annotated[bool, typer.Option("--watch", help="Check again whenever a file changes; Ctrl-C ends.")] = False,
) -> None:
    """Check plans: load, analyse, judge.

    Exit status: 0 nothing at or above --fail-at, 1 something is, 2 the input or the call could not be used, 3 the analysis
    was incomplete. Of several plans the worst counts. If one of them cannot be read, none is checked.
    """
    if watch and STANDARD_INPUT in plans:
        raise typer.BadParameter("standard input does not change", param_hint="--watch")
    once = partial(_check, plans, form, fail_at, (numbers, full), rules or (), kinds or ())
    with no_traceback():
        status = _watch(once, plans, (*(rules or ()), *(kinds or ()))) if watch else once()
    raise typer.Exit(status)


def _watch(once: Callable[[], int], plans: Sequence[str], folders: Sequence[str]) -> int:
    from pathlib import Path

    from wirecheck.cli.watching import watch

    def check_again() -> int:
        with no_traceback(interrupts=False):
            return once()

    return watch(lambda: [*map(Path, plans), *(path for folder in folders for path in Path(folder).glob("*.yaml"))], check_again)


def _check(
    plans: Sequence[str],
    form: str,
    fail_at: str,
    shown: tuple[bool, bool],
    rule_folders: Sequence[str],
    kind_folders: Sequence[str],
) -> int:
    """Check and print; the exit status. `shown`: whether the text has the computed quantities, and all of every finding."""
    from wirecheck import pipeline
    from wirecheck.outputs.progress import ProgressBar

    kinds = pipeline.house_kinds(kind_folders)
    house = pipeline.house_rules(rule_folders, kinds)
    read = pipeline.read_all(plans, kinds)
    with ProgressBar(sys.stderr) as progress:
        reports = [pipeline.check(plan, progress, house) for plan in read]
    with file_errors():
        if form == "text":
            console.emit(_text(reports, *shown))
        else:  # JSON is UTF-8 wherever it is printed.
            console.emit(_json(reports) if form == "json" else _sarif(reports, house), "utf-8")
    return max(_status(report, fail_at) for report in reports)


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
    from wirecheck.cli.shared import installed_version
    from wirecheck.outputs.sarif import render_sarif
    from wirecheck.rules.loader import load_rules

    return render_sarif(reports, house.rules if house else load_rules(), installed_version()) + "\n"


def _text(reports: Sequence[Report], numbers: bool, full: bool) -> str:
    from wirecheck.outputs.text import render_text

    return "\n\n".join(render_text(report, *page(), numbers, full) for report in reports)
