"""The command `rules`: all rules, or one whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

import typer

from wirecheck.cli.shared import file_errors, no_traceback, page, unknown
from wirecheck.outputs import console


def rules(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="A rule, to be printed whole.", show_default=False)] = None,
    example: Annotated[
        Literal["bad", "good"] | None, typer.Option("--example", help="Print a whole plan in which NAME finds something, or not.")
    ] = None,
) -> None:
    """List the rules, or print one whole: its claim, reason, remedy and sources, with a wrong and a right piece of a plan."""
    with no_traceback():
        from wirecheck.rules.loader import load_rules

        known = load_rules()
        if name is None:
            from wirecheck.outputs.rule_pages import render_rules

            if example:
                raise typer.BadParameter("it needs the NAME of a rule", param_hint="--example")
            text = render_rules(known, *page())
        else:
            text = _one(name, example, [rule.name for rule in known])
        with file_errors():
            console.emit(text)


def _one(name: str, example: str | None, known: Sequence[str]) -> str:
    from wirecheck.outputs.rule_pages import render_example, render_rule
    from wirecheck.rules.examples import read_rule_file
    from wirecheck.rules.explaining import closest, explain
    from wirecheck.rules.loader import rule_files

    if name not in known:
        raise typer.BadParameter(unknown(name, known, "rule"), param_hint="NAME")
    rule, examples = read_rule_file(next(path for path in rule_files() if path.stem == name))
    if example:
        bad, good = closest(examples)
        return render_example((bad if example == "bad" else good).plan)
    return render_rule(explain(rule, examples), *page())
