"""The command line: reads options, calls the pipeline, prints. Nothing else is decided here."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Literal, NoReturn

import typer

from wirecheck.outputs import console

if TYPE_CHECKING:
    from wirecheck.findings import Report

Format = Literal["text", "json"]
Severity = Literal["danger", "damage", "malfunction", "advice"]

FOUND, UNUSABLE, INCOMPLETE = 1, 2, 3
"""Exit statuses besides 0: something at or above --fail-at; input or call that cannot be used; nothing can be claimed."""

WIDTH_OFF_A_TERMINAL = 100

app = typer.Typer(
    name="wirecheck",
    help="Checks the wiring of a small machine on paper, before anything is energised.",
    epilog="Exit status: 0 nothing at or above --fail-at; 1 something is; 2 the input or the call could not be used; "
    "3 the analysis was incomplete, so nothing is claimed.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status."""
    with _no_traceback():
        app(args=arguments, prog_name="wirecheck")
    sys.exit(0)


def _tell_version(wanted: bool) -> None:
    if wanted:
        console.emit(f"wirecheck {_version()}\n")
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and leave.", callback=_tell_version, is_eager=True)
    ] = False,
) -> None:
    """Options of the program as a whole; each acts by its own callback."""


@app.command()
def check(
    plans: Annotated[list[str], typer.Argument(metavar="PLAN", help="Plan files; - is standard input.", show_default=False)],
    form: Annotated[
        Format, typer.Option("--format", help="json: one object for one plan, an array of such objects for several.")
    ] = "text",
    fail_at: Annotated[
        Severity, typer.Option("--fail-at", help="The mildest severity that gives exit status 1.")
    ] = "malfunction",
) -> None:
    """Check plans: load, analyse, judge.

    Exit status: 0 nothing at or above --fail-at, 1 something is, 2 the input or the call could not be used, 3 the analysis
    was incomplete. Of several plans the worst counts. If one of them cannot be read, none is checked.
    """
    with _no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.progress import ProgressBar

        read = pipeline.read_all(plans)
        with ProgressBar(sys.stderr) as progress:
            reports = [pipeline.check(plan, progress) for plan in read]
        with _file_errors("Standard output"):
            if form == "json":
                console.emit(_json(reports), "utf-8")  # JSON is UTF-8 wherever it is printed.
            else:
                console.emit(_text(reports))
    raise typer.Exit(max(_status(report, fail_at) for report in reports))


@app.command()
def draw(
    plan: Annotated[str, typer.Argument(metavar="PLAN", help="Plan file; - is standard input.", show_default=False)],
    output: Annotated[str, typer.Option("--output", "-o", metavar="FILE", help="A name that ends in .svg, .png or .dot.")],
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file that exists.")] = False,
) -> None:
    """Draw the connection diagram of a plan, with what the check finds marked on it."""
    from pathlib import Path

    from wirecheck.drawings import SUFFIXES, EngineMissing

    path = Path(output)
    if path.suffix not in SUFFIXES:
        raise typer.BadParameter(f"the name must end in one of {', '.join(SUFFIXES)}: {output}", param_hint="-o")
    if path.exists() and not replace:
        raise typer.BadParameter(f"{output} exists; --replace writes over it", param_hint="-o")
    with _no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.files import write_whole
        from wirecheck.outputs.progress import ProgressBar

        read = pipeline.read(plan)
        with ProgressBar(sys.stderr) as progress:
            try:
                drawing, report = pipeline.draw(read, path.suffix, progress)
            except EngineMissing as missing:
                _leave(UNUSABLE, f"{output} cannot be drawn: {missing}")
        with _file_errors(output):
            write_whole(path, drawing, replace)
        for reason in report.incomplete:
            console.say(f"The marks on {output} are not complete: {reason}.")
    raise typer.Exit(INCOMPLETE if report.incomplete else 0)


@app.command()
def rehearse(
    plan: Annotated[str, typer.Argument(metavar="PLAN", help="Plan file; - is standard input.", show_default=False)],
    events: Annotated[
        list[str] | None, typer.Argument(metavar="EVENT", help="Events in their order, as S4=pressed.", show_default=False)
    ] = None,
    fault: Annotated[
        str | None, typer.Option("--fault", help='A fault, as "wire 12 [S1:12–S2:11] open"; `faults` lists them.')
    ] = None,
    at: Annotated[int, typer.Option("--at", metavar="N", min=0, help="The fault comes after the Nth event.")] = 0,
    form: Annotated[Format, typer.Option("--format")] = "text",
) -> None:
    """Play events from rest: after each, what moved, what is live, which coils are in, what the motors do.

    Exit status: 0 all was played, 2 the plan or the call could not be used, 3 there was too much to follow.
    """
    done = events or []
    if at > len(done):
        raise typer.BadParameter(f"there are {len(done)} events, so none is number {at}", param_hint="--at")
    if at and fault is None:
        raise typer.BadParameter("it says when a fault comes, and no --fault is given", param_hint="--at")
    with _no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.progress import ProgressBar
        from wirecheck.outputs.rehearsal import render_rehearsal_json, render_rehearsal_text

        read = pipeline.read(plan)
        with ProgressBar(sys.stderr) as progress:
            steps = pipeline.rehearse(read, done, fault, at, progress)
        with _file_errors("Standard output"):
            if form == "json":
                console.emit(render_rehearsal_json(read.file, steps), "utf-8")
            else:
                console.emit(render_rehearsal_text(read, steps, *_page()))


@app.command()
def faults(
    plan: Annotated[str, typer.Argument(metavar="PLAN", help="Plan file; - is standard input.", show_default=False)],
    form: Annotated[Literal["text", "json", "csv"], typer.Option("--format", help="csv: for a spreadsheet.")] = "text",
) -> None:
    """List every single fault and what it does to each function, worst first.

    Exit status: 0 the table is printed, 2 the plan or the call could not be used, 3 the analysis was incomplete, so nothing is
    claimed.
    """
    with _no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.fault_table import render_faults_csv, render_faults_json
        from wirecheck.outputs.fault_text import render_faults_text
        from wirecheck.outputs.progress import ProgressBar

        read = pipeline.read(plan)
        with ProgressBar(sys.stderr) as progress:
            table = pipeline.faults(read, progress)
        with _file_errors("Standard output"):
            if form == "text":
                console.emit(render_faults_text(table, *_page()))
            else:  # a file that is read elsewhere is UTF-8 wherever it is printed
                console.emit(render_faults_json(table) if form == "json" else render_faults_csv(table), "utf-8")


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("wirecheck")
    except PackageNotFoundError:
        return "(not installed, run from its source tree)"


def _status(report: Report, fail_at: str) -> int:
    from wirecheck.findings import severity_rank

    if report.incomplete:
        return INCOMPLETE
    limit = severity_rank(fail_at)
    return FOUND if any(severity_rank(f.severity) >= limit for f in report.findings if not f.accepted) else 0


def _json(reports: Sequence[Report]) -> str:
    from wirecheck.outputs.json import render_json, render_json_list

    return (render_json(reports[0]) if len(reports) == 1 else render_json_list(reports)) + "\n"


def _text(reports: Sequence[Report]) -> str:
    from wirecheck.outputs.text import render_text

    return "\n\n".join(render_text(report, *_page()) for report in reports)


def _page() -> tuple[bool, int]:
    """Whether standard output takes colours, and how wide it is."""
    if sys.stdout is None or not sys.stdout.isatty():
        return False, WIDTH_OFF_A_TERMINAL
    from shutil import get_terminal_size

    return not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb", get_terminal_size().columns


@contextmanager
def _no_traceback() -> Iterator[None]:
    """Whatever goes wrong is told in plain words, with the exit status that belongs to it."""
    from wirecheck.errors import NotInPlan, PlanErrors, TooLarge

    try:
        yield
    except (typer.Exit, typer.Abort, SystemExit):
        raise
    except (PlanErrors, NotInPlan) as errors:
        _leave(UNUSABLE, str(errors))
    except TooLarge as bound:
        _leave(INCOMPLETE, f"Too much to follow, so nothing is claimed: {bound}")
    except KeyboardInterrupt:
        _leave(INCOMPLETE, "Interrupted: nothing is claimed.")
    except Exception as fault:
        if _is_usage_error(fault):
            raise
        _leave(INCOMPLETE, f"wirecheck itself has a fault, so nothing is claimed: {type(fault).__name__}: {fault}")


def _is_usage_error(fault: Exception) -> bool:
    # Typer brings its own errors of the call along and prints them itself; they all have this.
    return hasattr(fault, "exit_code")


@contextmanager
def _file_errors(name: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        _leave(UNUSABLE, f"{name} cannot be written: {error.strerror}")


def _leave(status: int, text: str) -> NoReturn:
    console.say(text)
    sys.exit(status)
