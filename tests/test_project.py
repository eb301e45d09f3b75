"""The project's frame: the README is true, the wheel is whole, and what is declared is what is used."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path
from zipfile import ZipFile

import pytest
from hatchling.builders.wheel import WheelBuilder

from wirecheck.errors import PlanErrors
from wirecheck.findings import NOTICE
from wirecheck.nodes import compose, plain_data
from wirecheck.pipeline import check_plan

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

COMMANDS = re.findall(r"^    (python3 .*)$", README, re.MULTILINE)


def fenced(language: str) -> list[str]:
    """The README's blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def program(*arguments: str) -> subprocess.CompletedProcess[str]:
    """One call of the program as a user makes it in the project's folder."""
    return subprocess.run([sys.executable, "-m", "wirecheck", *arguments], cwd=ROOT, capture_output=True, text=True, check=False)


def test_the_readme_has_one_command_that_checks_and_one_that_tests() -> None:
    check, test = COMMANDS
    assert check.startswith("python3 -m venv --clear .venv && ")
    assert (ROOT / check.rpartition(" wirecheck check ")[2].split()[-1]).is_file()
    assert test.startswith("python3 -m venv --clear .venv-test && ")
    assert test.endswith(" -m pytest -n auto")


def test_ci_takes_its_test_command_from_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pattern = re.search(r"sed -n '([^']+)' README.md", script)
    assert pattern
    taken = subprocess.run(["sed", "-n", pattern[1], "README.md"], cwd=ROOT, capture_output=True, text=True, check=True)
    assert taken.stdout == COMMANDS[1] + "\n"


def test_the_plan_in_the_readme_is_whole_and_quiet() -> None:
    report = check_plan("spindle.yaml", "".join(fenced("yaml")))
    assert not report.incomplete
    assert {f.severity for f in report.findings} <= {"advice"}
    assert [line for line in report.assumed if "not stated" in line] == []


def test_the_readme_shows_what_the_program_prints() -> None:
    call = re.search(r"^    wirecheck (check .*)$", README, re.MULTILINE)
    assert call
    done = program(*call[1].split())
    assert done.returncode == 1
    assert fenced("text")[0] in done.stdout
    assert " ".join(NOTICE.split()) in " ".join(done.stdout.split())


def test_the_readme_shows_the_error_that_is_printed() -> None:
    shown = fenced("text")[1]
    text = "wirecheck: 1\nmachine: {name: Spindle}\ndevices:\n  S1: {kind: push-buton, contacts: {11-12: NC}}\nwires: []\n"
    with pytest.raises(PlanErrors) as caught:
        check_plan("spindle.yaml", text)
    assert str(caught.value) == shown.rstrip("\n")


def test_the_readme_accepts_a_finding_that_is_there() -> None:
    mill = (ROOT / "examples" / "good" / "mill.yaml").read_text(encoding="utf-8")
    report = check_plan("mill.yaml", mill + fenced("text")[2])
    assert [f.rule for f in report.findings if f.accepted] == ["held-start-is-not-a-start"]


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_path_that_is_named_is_there(text: str) -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", text)
    spans = re.findall(r"`((?:wirecheck|tests|rules|schemas|examples|\.ci)/[\w./-]*)`", text)
    assert links + spans
    assert [path for path in links + spans if not (ROOT / path).exists()] == []


@pytest.mark.parametrize("command", re.findall(r"wirecheck (check|draw|[a-z]+) (?:PLAN|examples/)", README + DEVELOPERS))
def test_no_command_is_told_of_that_is_not_there(command: str) -> None:
    assert program(command, "--help").returncode == 0


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[<>=~! ]", requirement)[0].lower() for requirement in requirements}


def test_what_is_imported_is_declared_and_explained() -> None:
    imported = set()
    for path in (ROOT / "wirecheck").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                imported |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
                imported.add(node.module.partition(".")[0])
    third_party = imported - set(sys.stdlib_module_names) - {"wirecheck"}
    providers = packages_distributions()
    needed = {providers[module][0].lower() for module in third_party}
    declared = names(PROJECT["project"]["dependencies"])
    # graphviz-pure is a program, called and never imported
    assert needed | {"graphviz-pure"} == declared
    extra = names(PROJECT["project"]["optional-dependencies"]["test"])
    assert [name for name in sorted(declared | extra) if f"`{name}`" not in DEVELOPERS.lower()] == []


def test_the_wheel_carries_rules_schemas_and_kinds(tmp_path: Path) -> None:
    (wheel,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with ZipFile(wheel) as archive:
        carried = set(archive.namelist())
    folders = {"rules": "wirecheck/_data/rules", "schemas": "wirecheck/_data/schemas", "wirecheck": "wirecheck"}
    wanted = {
        f"{inside}/{path.relative_to(ROOT / folder).as_posix()}"
        for folder, inside in folders.items()
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix in {".py", ".yaml", ".json", ".typed"}
    }
    assert wanted <= carried
    assert not [name for name in carried if name.startswith("tests/")]


def test_the_hook_is_whole_and_calls_what_is_there() -> None:
    (hook,) = plain_data(compose((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"), ".pre-commit-hooks.yaml"))
    assert (hook["id"], hook["language"]) == ("wirecheck", "python")
    assert hook["name"]
    assert re.search(hook["files"], "plans/club/lathe.yaml")
    assert not re.search(hook["files"], "schemas/plan.yaml")
    program_name, *arguments = hook["entry"].split()
    assert program_name in PROJECT["project"]["scripts"]
    # the hook hands over several files at once
    done = program(*arguments, "examples/good/bench-grinder.yaml", "examples/bad/drill-starts-at-power-up.yaml")
    assert done.returncode == 1
    assert done.stdout.count(": no rule found anything") + done.stdout.count("finding") >= 2


def test_the_changelog_tells_of_the_version_that_is_built() -> None:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert f"## {PROJECT['project']['version']}" in changelog
