"""The command `rules`: all rules, or one whole."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from wirecheck.cli.shared import FOUND, KindFolders, RuleFolders, file_errors, no_traceback, page, unknown
from wirecheck.outputs import console

if TYPE_CHECKING:
    from wirecheck.kinds import Kinds
    from wirecheck.rules.record import Rule


def _names(incomplete: str) -> list[str]:
    """For a shell that completes NAME."""
    from wirecheck.rules.loader import rule_files

    return [path.stem for path in rule_files() if path.stem.startswith(incomplete)]


def rules(
    name: Annotated[
        str | None,
        typer.Argument(metavar="[NAME]", help="A rule, to be printed whole.", show_default=False, autocompletion=_names),
    ] = None,
    example: Annotated[
        Literal["bad", "good"] | None, typer.Option("--example", help="Print a whole plan in which NAME finds something, or not.")
    ] = None,
    folders: RuleFolders = None,
    kinds: KindFolders = None,
    try_them: Annotated[
        bool,
        typer.Option("--try", help="Try the examples of the rules in FOLDER: exit status 1 where one does not do as it says."),
    ] = False,
) -> None:
    """List the rules, or print one whole: its claim, reason, remedy and sources, with a wrong and a right piece of a plan."""
    if example and name is None:
        raise typer.BadParameter("it needs the NAME of a rule", param_hint="--example")
    if try_them and not folders:
        raise typer.BadParameter("it needs a FOLDER of rules, given by --rules", param_hint="--try")
    with no_traceback():
        own = _own_kinds(kinds or ())
        known = _known(folders or (), own)
        if try_them:
            _try(known, own)
        text = _all(known) if name is None else _one(name, example, known, own)
        with file_errors():
            console.emit(text)


def _own_kinds(folders: Sequence[str]) -> Kinds | None:
    if not folders:
        return None
    from wirecheck.plan.house import read_kinds

    return read_kinds(folders)


def _known(folders: Sequence[str], own: Kinds | None) -> Sequence[Rule]:
    from wirecheck.rules.loader import load_rules

    if not folders:
        return load_rules()
    from wirecheck.rules.house import with_house_rules

    return with_house_rules(load_rules(), folders, own.names if own else ()).rules


def _all(known: Sequence[Rule]) -> str:
    from wirecheck.outputs.rule_pages import render_rules

    return render_rules(known, *page())


def _one(name: str, example: str | None, known: Sequence[Rule], own: Kinds | None) -> str:
    from wirecheck.outputs.rule_pages import render_example, render_rule
    from wirecheck.resources import data_folder
    from wirecheck.rules.examples import examples_in
    from wirecheck.rules.explaining import closest, explain

    rule = next((rule for rule in known if rule.name == name), None)
    if rule is None:
        raise typer.BadParameter(unknown(name, [rule.name for rule in known], "rule"), param_hint="NAME")
    examples = examples_in(Path(rule.file) if rule.file else data_folder("rules") / f"{name}.yaml")
    if not example:
        return render_rule(explain(rule, examples, own), *page())
    if not examples:
        raise typer.BadParameter(f"{rule.file} has no examples", param_hint="--example")
    bad, good = closest(examples)
    return render_example((bad if example == "bad" else good).plan)


def _try(known: Sequence[Rule], own: Kinds | None) -> None:
    """Tell which examples of the house's own rules do otherwise than they say, and leave."""
    from wirecheck.outputs.rule_pages import render_trial
    from wirecheck.rules.examples import complaints, examples_in

    tried = [(rule, examples_in(Path(rule.file))) for rule in known if rule.file]
    wrong = [f"{rule.file}: {c}" for rule, examples in tried for example in examples for c in complaints(rule, example, own)]
    with file_errors():
        console.emit(render_trial([(rule, len(examples)) for rule, examples in tried], wrong, *page()))
    raise typer.Exit(FOUND if wrong else 0)
