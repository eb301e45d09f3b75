"""Breaks the engine on purpose, in many small ways drawn by lot, and tells which of them the quick tests do not see.

Run by hand, with mutmut installed beside the packages of the extra `test`:

    python -m tests.mutation.sample FOLDER [--size 120] [--seed 1] [--only walks.py]

FOLDER must not exist, or be one of an earlier run: it becomes a copy of the tree with the mutants in it. The lot takes every so
many-th mutant of `wirecheck/behaviour/`, so that each module has its share.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
COPIED = ("wirecheck", "rules", "schemas", "examples", "tests", "docs", "README.md", "DEVELOPERS.md", "CHANGELOG.md")

TESTS = ("tests/behaviour", "tests/rules/test_all_rules.py", "tests/published", "tests/test_faults.py", "tests/test_rehearse.py")
"""What is run against each mutant, as far as it is quick: those first that take least time."""

SEEDS = 40
"""Of the random circuits the first ones."""

SLOW = (
    "test_a_large_plan_is_tabled_in_parts",
    "test_a_plan_too_large_to_explore_is_played",
    "test_a_short_line_agrees_and_a_long_one_is_no_trouble",
    "test_a_short_that_stands_is_no_reason_to_try_every_order",
    "test_a_trace_that_ends_otherwise_is_not_played",
    "test_against_sat.py",
    "test_agrees_on_all_faults_of_an_example",
    "test_agrees_on_example[",
    "test_agrees_on_example_with_faults",
    "test_agrees_on_faults_of_each_kind_of_an_example",
    "test_every_fault_stands_once_and_the_worst_come_first",
    "test_every_trace_of_a_rule_is_played_by_the_plain_engine",
    "test_every_trace_of_a_rule_on_its_bad_examples_can_be_played",
    "test_every_trace_of_an_example_can_be_played",
    "test_every_trace_of_an_example_is_played_by_the_plain_engine",
    "test_faults_that_stop_some_motors_only_say_which",
    "test_random_circuits_are_worth_comparing",
    "test_random_circuits_race",
    "test_reach_as_a_whole_is_the_sum_of_its_layers",
    "test_rule_is_understood_by_its_claim_kind",
    "test_the_command_of_every_loss_plays_it",
    "test_the_lots_are_worth_drawing",
    "test_webs_race_and_orders_are_left_out",
    "test_where_not_every_order_can_be_followed_it_says_so",
)
"""These take seconds each, and a mutant that is not seen runs all tests; or they hold the plain engine against a solver."""


def run(folder: Path, *command: str) -> str:
    """What a command prints, in a folder."""
    return subprocess.run([sys.executable, "-m", *command], cwd=folder, capture_output=True, text=True, check=False).stdout


def quick_tests(folder: Path) -> Iterator[str]:
    """The tests that are run against each mutant."""
    for name in run(folder, "pytest", "--collect-only", "-q", *TESTS).splitlines():
        seed = re.search(r"\[(\d+)\]$", name)
        if "::" in name and not any(word in name for word in SLOW) and not (seed and int(seed[1]) >= SEEDS):
            yield name


def prepare(folder: Path) -> None:
    """A copy of the tree, with what mutmut must know of it."""
    for name in COPIED:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    settings = {
        "source_paths": ["wirecheck"],
        "only_mutate": ["wirecheck/behaviour/*"],
        "also_copy": [name for name in COPIED if name not in ("wirecheck", "tests")],
        "pytest_add_cli_args_test_selection": [],
    }
    shutil.copy(ROOT / "pyproject.toml", folder)
    settings["pytest_add_cli_args_test_selection"] = list(quick_tests(folder))
    lines = [f"{key} = {json.dumps(value)}" for key, value in settings.items()]  # JSON lists of text are TOML as well
    with (folder / "pyproject.toml").open("a") as file:
        file.write("\n".join(["\n[tool.mutmut]", *lines, ""]))


def mutants(folder: Path, only: str) -> list[str]:
    """The names of all mutants, module by module."""
    files = sorted((folder / "mutants/wirecheck/behaviour").glob(f"{only}.meta"))
    return [name for file in files for name in json.loads(file.read_text())["exit_code_by_key"]]


def drawn(names: Sequence[str], size: int, seed: int) -> list[str]:
    """Every so many-th name from a beginning drawn by lot."""
    step = max(len(names) / size, 1)
    begin = Random(seed).random() * step
    return [names[int(begin + k * step)] for k in range(size) if begin + k * step < len(names)]


def outcome(folder: Path, name: str) -> str:
    """Killed, survived, or in mutmut's own words."""
    module = name.partition(".x")[0].removeprefix("wirecheck.").replace(".", "/")
    code = json.loads((folder / f"mutants/wirecheck/{module}.py.meta").read_text())["exit_code_by_key"][name]
    return {0: "survived", 33: "no tests", 5: "no tests"}.get(code, "killed" if code is not None else "not run")


def main() -> None:
    """Draw, run, tell."""
    parser = argparse.ArgumentParser(description="Mutation testing of the engine, by lot.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--size", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="*.py", help="modules, as walks.py")
    parser.add_argument("--children", type=int, default=2)
    given = parser.parse_args()
    if not given.folder.exists():
        given.folder.mkdir(parents=True)
        prepare(given.folder)
        run(given.folder, "mutmut", "run", "wirecheck.behaviour.walks.x_current_walk__mutmut_1")  # makes all, tries one
    names = drawn(mutants(given.folder, given.only), given.size, given.seed)
    run(given.folder, "mutmut", "run", "--max-children", str(given.children), *names)
    found = {name: outcome(given.folder, name) for name in names}
    for name in (n for n in names if found[n] != "killed"):
        print(f"{found[name]}: {run(given.folder, 'mutmut', 'show', name)}")
    killed = sum(word == "killed" for word in found.values())
    print(f"{killed} of {len(names)} were seen: {100 * killed / len(names):.1f} %")


if __name__ == "__main__":
    main()
