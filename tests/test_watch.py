"""check --watch: checks again when a file changes, survives mistakes, and ends with an interrupt."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import IO

import pytest

from tests.test_cli import GOOD
from wirecheck import cli
from wirecheck.cli.watching import watch

ROOT = Path(__file__).parents[1]


class Stop:
    """Does one thing at each call, then interrupts."""

    def __init__(self, *acts: Callable[[], int]) -> None:
        self.acts, self.calls = list(acts), 0

    def __call__(self) -> int:
        self.calls += 1
        if not self.acts:
            raise KeyboardInterrupt
        return self.acts.pop(0)()


def write(path: Path, text: str, status: int = 0) -> Callable[[], int]:
    def act() -> int:
        path.write_text(text, encoding="utf-8")
        return status

    return act


def test_a_change_is_seen_and_an_interrupt_gives_the_last_status(tmp_path: Path) -> None:
    plan = tmp_path / "plan.yaml"
    plan.write_text("one", encoding="utf-8")
    # each check finds the file changed while it ran, so the next follows at once
    once = Stop(write(plan, "first", 1), write(plan, "second!", 0), write(plan, "the third", 1))
    assert watch(lambda: [plan], once, 0) == 1
    assert once.calls == 4


def test_a_plan_that_cannot_be_read_does_not_end_it(tmp_path: Path) -> None:
    plan = tmp_path / "plan.yaml"

    def unreadable() -> int:
        plan.write_text("now it is there", encoding="utf-8")
        sys.exit(2)

    once = Stop(unreadable, write(plan, "and whole", 0))
    assert watch(lambda: [plan], once, 0) == 0
    assert once.calls == 3


def test_a_file_that_is_gone_for_a_moment_is_waited_for(tmp_path: Path) -> None:
    plan, looks = tmp_path / "plan.yaml", []
    plan.write_text("one", encoding="utf-8")

    def files() -> list[Path]:
        looks.append(plan.exists())
        if len(looks) == 4:
            plan.write_text("it is back", encoding="utf-8")
        return [plan]

    def gone() -> int:
        plan.unlink()
        return 0

    once = Stop(gone)
    assert watch(files, once, 0) == 0
    assert once.calls == 2
    assert looks[1:4] == [False, False, False]


def test_a_rule_that_is_added_to_or_taken_from_a_folder_is_a_change(tmp_path: Path) -> None:
    rule = tmp_path / "rule.yaml"

    def taken() -> int:
        rule.unlink()
        return 0

    once = Stop(write(rule, "a rule"), taken)
    assert watch(lambda: list(tmp_path.glob("*.yaml")), once, 0) == 0
    assert once.calls == 3


def test_standard_input_cannot_be_watched(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main(["check", "-", "--watch"])
    assert left.value.code == 2
    assert "standard input does not change" in capsys.readouterr().err


def until(stream: IO[str], words: str) -> str:
    """What a process prints up to a line that has these words."""
    lines = []
    for line in stream:
        lines.append(line)
        if words in line:
            break
    return "".join(lines)


def test_the_program_as_a_user_runs_it(tmp_path: Path) -> None:
    plan = tmp_path / "lamp.yaml"
    plan.write_text(GOOD, encoding="utf-8")
    call = [sys.executable, "-m", "wirecheck", "check", str(plan), "--watch"]
    with subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT) as running:
        assert running.stdout
        assert running.stderr
        assert "Watching" in until(running.stderr, "Watching")
        plan.write_text(GOOD.replace("wirecheck: 1", "wirecheck: 2"), encoding="utf-8")
        told = until(running.stderr, "Watching")
        assert "is no version of the plan format" in told
        plan.write_text(GOOD + "# mended\n", encoding="utf-8")
        until(running.stderr, "Watching")
        running.send_signal(signal.SIGINT)
        rest = running.stderr.read()
        out = running.stdout.read()
        assert "Traceback" not in rest
        assert running.wait() in (0, 1)
    assert out.count(f"{plan}: ") == 2
