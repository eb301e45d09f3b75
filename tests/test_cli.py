"""The command line: exit statuses, what goes where, and that no traceback ever reaches a user."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from tests.outputs.reports import advice, danger, report
from wirecheck import cli, pipeline
from wirecheck.drawings import EngineMissing
from wirecheck.findings import NOTICE, Report

GOOD = """\
wirecheck: 1
machine: {name: Club room lamp}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, plug: 13 A}
  S1: {kind: push-button, contacts: {13-14: NO}}
  H1: {kind: lamp, voltage: 230 V}
wires:
  - {number: 1, run: [G0:L, S1:13]}
  - {number: 2, run: [S1:14, H1:X1]}
  - {number: 3, run: [H1:X2, G0:N]}
"""


class Outcome:
    """How a call ended and what it printed."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err


Call = Callable[..., Outcome]


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Call:
    """Runs the command line in this process."""

    def run(*arguments: str) -> Outcome:
        with pytest.raises(SystemExit) as left:
            cli.main(arguments)
        captured = capsys.readouterr()
        assert "Traceback" not in captured.out + captured.err
        return Outcome(int(left.value.code or 0), captured.out, captured.err)

    return run


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """A plan that can be read."""
    path = tmp_path / "lamp.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Makes the analysis say what a test wants, one report for each plan."""

    def put(*reports: Report) -> None:
        waiting = iter(reports)
        monkeypatch.setattr(pipeline, "read_all", lambda paths, kinds=None: list(paths))
        monkeypatch.setattr(pipeline, "check", lambda plan, progress=None, house=None: next(waiting))

    return put


@pytest.mark.parametrize(
    ("made", "arguments", "status"),
    [
        (report(), (), 0),
        (report(advice()), (), 0),
        (report(advice()), ("--fail-at", "advice"), 1),
        (report(danger()), (), 1),
        (report(danger()), ("--fail-at", "danger"), 1),
        (report(danger(severity="malfunction")), (), 1),
        (report(danger(severity="malfunction")), ("--fail-at", "damage"), 0),
        (report(danger(severity="damage")), ("--fail-at", "damage"), 1),
        (report(danger(accepted={"because": "x", "by": "y", "date": "z"})), (), 0),
        (report(incomplete=("too large",)), (), 3),
        (report(danger(), incomplete=("too large",)), ("--fail-at", "danger"), 3),
    ],
)
def test_exit_status(found: Callable[..., None], call: Call, made: Report, arguments: Sequence[str], status: int) -> None:
    found(made)
    assert call("check", "x.yaml", *arguments).status == status


def test_worst_of_several_plans_counts(found: Callable[..., None], call: Call) -> None:
    found(report(), report(danger()), report(advice()))
    assert call("check", "a", "b", "c").status == 1
    found(report(incomplete=("x",)), report(danger()))
    assert call("check", "a", "b").status == 3


def test_json_is_an_object_for_one_plan_and_an_array_for_several(found: Callable[..., None], call: Call) -> None:
    found(report(danger()))
    assert json.loads(call("check", "a", "--format", "json").out)["verdict"] == "findings"
    found(report(danger()), report())
    assert [r["verdict"] for r in json.loads(call("check", "a", "b", "--format", "json").out)] == ["findings", "clear"]


def test_text_of_several_plans_carries_the_caution_each_time(found: Callable[..., None], call: Call) -> None:
    found(report(danger()), report())
    assert " ".join(call("check", "a", "b").out.split()).count(NOTICE) == 2


def test_real_plan_is_checked(call: Call, good: Path) -> None:
    outcome = call("check", str(good), "--format", "json")
    document = json.loads(outcome.out)
    assert outcome.err == ""
    assert outcome.status in (0, 1)
    assert document["plan"] == str(good)
    assert document["statistics"]["devices"] == 3


def test_standard_input_is_a_plan(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(GOOD.encode())))
    outcome = call("check", "-", "--format", "json")
    assert json.loads(outcome.out)["plan"] == "-"


def test_standard_input_that_cannot_be_read(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken:
        @property
        def buffer(self) -> io.BytesIO:
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(sys, "stdin", Broken())
    outcome = call("check", "-")
    assert (outcome.status, outcome.out) == (2, "")
    assert outcome.err == "-:1:1: standard input cannot be read: Input/output error\n"


BAD: dict[str, bytes] = {
    "empty": b"",
    "binary": bytes(range(256)),
    "not utf-8": b"wirecheck: 1\nmachine: {name: \xff\xfe}\n",
    "wrong version": GOOD.replace("wirecheck: 1", "wirecheck: 2").encode(),
    "unknown device": GOOD.replace("H1:X2", "H2:X2").encode(),
    "a word": b"lathe",
    "a list": b"- lathe",
    "control characters": b"wirecheck: 1\nmachine: {name: \"\\e[2J\"}\n",
    "aliases without end": b"a: &a [x, x]\nb: &b [*a, *a, *a, *a, *a, *a, *a, *a]\n" + b"".join(
        f"c{n}: &c{n} [{', '.join([f'*c{n - 1}' if n else '*b'] * 9)}]\n".encode() for n in range(9)
    ),
    "nested without end": b"a: " + b"[" * 5000 + b"]" * 5000,
}  # fmt: skip


@pytest.mark.parametrize("content", BAD.values(), ids=BAD)
@pytest.mark.parametrize("form", ["text", "json"])
def test_input_that_cannot_be_used(call: Call, tmp_path: Path, content: bytes, form: str) -> None:
    path = tmp_path / "bad.yaml"
    path.write_bytes(content)
    outcome = call("check", str(path), "--format", form)
    assert outcome.status == 2
    assert outcome.out == ""
    assert f"{path}:" in outcome.err
    assert all(line.isprintable() for line in outcome.err.split("\n"))


def test_missing_file_and_folder(call: Call, tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.yaml"):
        outcome = call("check", str(path))
        assert (outcome.status, outcome.out) == (2, "")
        assert str(path) in outcome.err


def test_one_bad_plan_of_two_prints_nothing_and_all_errors(call: Call, good: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text(GOOD.replace("wirecheck: 1", "wirecheck: 2"), encoding="utf-8")
    missing = tmp_path / "missing.yaml"
    outcome = call("check", str(bad), str(good), str(missing))
    assert (outcome.status, outcome.out) == (2, "")
    assert str(bad) in outcome.err
    assert str(missing) in outcome.err
    assert str(good) not in outcome.err


@pytest.mark.parametrize(
    "arguments",
    [("check",), ("chekc", "x"), ("check", "x", "--format", "xml"), ("check", "x", "--fail-at", "worry"), ("--nonsense",)],
)
def test_wrong_call(call: Call, arguments: Sequence[str]) -> None:
    outcome = call(*arguments)
    assert (outcome.status, outcome.out) == (2, "")
    assert outcome.err


def test_fault_of_the_program_is_one_plain_line(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(paths: Sequence[str], kinds: object = None) -> None:
        raise ZeroDivisionError("K1\x1b[2J")

    monkeypatch.setattr(pipeline, "read_all", broken)
    outcome = call("check", "x")
    assert (outcome.status, outcome.out) == (3, "")
    assert outcome.err == "wirecheck itself has a fault, so nothing is claimed: ZeroDivisionError: K1\\x1b[2J\n"


def test_interrupt_claims_nothing(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(paths: Sequence[str], kinds: object = None) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "read_all", interrupted)
    outcome = call("check", "x")
    assert (outcome.status, outcome.out) == (3, "")
    assert "nothing is claimed" in outcome.err


def test_version_and_help(call: Call) -> None:
    assert call("--version").out.startswith("wirecheck ")
    assert call("--version").status == 0
    text = call("check", "--help")
    assert text.status == 0
    for option in ("--format", "--fail-at", "array"):
        assert option in text.out


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("wirecheck ru", ["rules"]),
        ("wirecheck check --fa", ["--fail-at"]),
        ("wirecheck check --fail-at da", ["danger", "damage"]),
        ("wirecheck rules stop-st", ["stop-stops-motion"]),
        ("wirecheck kinds emer", ["emergency-stop"]),
        ("wirecheck kinds wir", ["wires"]),
    ],
)
def test_a_shell_completes_commands_options_and_names(typed: str, offered: list[str]) -> None:
    words = {"COMP_WORDS": typed, "COMP_CWORD": str(typed.count(" "))}
    out, _ = process(_WIRECHECK_COMPLETE="complete_bash", **words).communicate()
    assert out.decode().split() == offered


def test_every_command_says_what_it_does(call: Call) -> None:
    text = call("--help").out
    for name in cli.COMMANDS:
        assert re.search(rf"^  {name}  +[A-Z]", text, re.MULTILINE)
    assert "Exit status" in text


def test_a_misspelt_command_is_told_the_nearest(call: Call) -> None:
    assert "Did you mean 'check'?" in call("chekc").err


@pytest.mark.parametrize(
    ("command", "name"), [("rules", "guard-opened-stops-motion"), ("kinds", "push-button"), ("kinds", "places")]
)
def test_rules_and_kinds_are_listed_and_printed_whole(call: Call, command: str, name: str) -> None:
    listed, whole, missed = call(command), call(command, name), call(command, name.replace("p", "b"))
    assert (listed.status, listed.err, whole.status, whole.err) == (0, "", 0, "")
    assert f"  {name}" in listed.out
    assert whole.out.startswith(f"{name}: ")
    assert all(NOTICE in " ".join(outcome.out.split()) for outcome in (listed, whole))
    assert (missed.status, missed.out) == (2, "")
    assert f"did you mean `{name}`?" in missed.err
    assert f"`wirecheck {command}` lists them" in call(command, "zzz").err


def test_the_example_of_a_rule_is_a_plan_that_can_be_checked(call: Call, tmp_path: Path) -> None:
    for sort, status in (("bad", 1), ("good", 0)):
        path = tmp_path / f"{sort}.yaml"
        path.write_text(call("rules", "guard-opened-stops-motion", "--example", sort).out, encoding="utf-8")
        found = json.loads(call("check", str(path), "--format", "json").out)["findings"]
        assert ("guard-opened-stops-motion" in {f["rule"] for f in found}) == bool(status)
    assert call("rules", "--example", "bad").status == 2


SVG = b"<svg/>"


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Callable[[Report], None]:
    """Makes the drawing a short one."""

    def put(made: Report) -> None:
        monkeypatch.setattr(pipeline, "read", lambda path, kinds=None: path)
        monkeypatch.setattr(pipeline, "draw", lambda plan, suffix, progress=None, house=None: (SVG, made))

    return put


def test_drawing_is_written_whole(call: Call, drawn: Callable[[Report], None], tmp_path: Path) -> None:
    drawn(report(danger()))
    path = tmp_path / "sheet.svg"
    outcome = call("draw", "x.yaml", "-o", str(path))
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    assert path.read_bytes() == SVG
    assert list(tmp_path.iterdir()) == [path]


def test_existing_drawing_is_kept_unless_replaced(call: Call, drawn: Callable[[Report], None], tmp_path: Path) -> None:
    drawn(report())
    path = tmp_path / "sheet.svg"
    path.write_text("mine", encoding="utf-8")
    outcome = call("draw", "x.yaml", "-o", str(path))
    assert outcome.status == 2
    assert "--replace" in outcome.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert call("draw", "x.yaml", "-o", str(path), "--replace").status == 0
    assert path.read_bytes() == SVG


@pytest.mark.parametrize("name", ["sheet", "sheet.pdf", "no/such/folder/sheet.svg"])
def test_drawing_that_cannot_be_written(call: Call, drawn: Callable[[Report], None], tmp_path: Path, name: str) -> None:
    drawn(report())
    outcome = call("draw", "x.yaml", "-o", str(tmp_path / name))
    assert (outcome.status, outcome.out) == (2, "")
    assert list(tmp_path.iterdir()) == []


def test_drawing_without_an_engine(call: Call, good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*given: object) -> bytes:
        raise EngineMissing("the engine is not installed")

    monkeypatch.setattr("wirecheck.drawings.to_png", refuse)
    outcome = call("draw", str(good), "-o", str(tmp_path / "sheet.png"))
    assert (outcome.status, outcome.out) == (2, "")
    assert "sheet.png cannot be drawn: the engine is not installed" in outcome.err
    assert not (tmp_path / "sheet.png").exists()


def test_drawing_of_an_incomplete_check_says_so(call: Call, drawn: Callable[[Report], None], tmp_path: Path) -> None:
    drawn(report(incomplete=("too large",)))
    outcome = call("draw", "x.yaml", "-o", str(tmp_path / "sheet.svg"))
    assert outcome.status == 3
    assert "not complete: too large" in outcome.err


@pytest.mark.parametrize("suffix", ["svg", "png", "dot"])
def test_real_plan_is_drawn(call: Call, good: Path, tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"sheet.{suffix}"
    assert call("draw", str(good), "-o", str(path)).status == 0
    assert path.stat().st_size > 100


def process(*arguments: str, **environment: str) -> subprocess.Popen[bytes]:
    """The program as a user starts it."""
    return subprocess.Popen(
        [sys.executable, "-m", "wirecheck", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=Path(__file__).parents[1],
        env={**os.environ, **environment},
    )


def test_check_loads_only_what_it_needs(good: Path) -> None:
    running = process("check", str(good), PYTHONPROFILEIMPORTTIME="1")
    err = running.communicate()[1].decode()
    loaded = {line.rpartition("|")[2].strip() for line in err.splitlines() if line.startswith("import time:")}
    assert {"wirecheck.pipeline", "networkx"} <= loaded
    costly = {"rich", "jsonschema", "graphviz", "wirecheck.drawings", "wirecheck.rules.examples"}
    assert not loaded & costly


def test_a_command_loads_no_other() -> None:
    script = (
        "import sys\nfrom wirecheck import cli\ntry:\n  cli.main(['draw'])\nexcept SystemExit:\n  print(*sorted(sys.modules))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=Path(__file__).parents[1], capture_output=True, text=True, check=True
    )
    loaded = [name.rpartition(".")[2] for name in run.stdout.split() if name.startswith("wirecheck.cli.")]
    assert loaded == ["draw", "shared"]


def test_reader_who_goes_away_is_no_error(good: Path) -> None:
    running = process("check", str(good))
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.close()
    err = running.stderr.read()
    running.stderr.close()
    assert running.wait() in (0, 1)
    assert err == b""


def shell(command: str) -> subprocess.CompletedProcess[bytes]:
    """A call as a shell makes it, with `WIRECHECK` for the program."""
    program = f"{shlex.quote(sys.executable)} -m wirecheck"
    return subprocess.run(
        ["/bin/sh", "-c", command.replace("WIRECHECK", program)], cwd=Path(__file__).parents[1], capture_output=True, check=False
    )


@pytest.mark.parametrize(
    ("command", "status", "words"),
    [
        ("WIRECHECK check GOOD > /dev/full", 2, b"Standard output cannot be written"),
        ("WIRECHECK check GOOD >&-", 0, b""),
        ("WIRECHECK check GOOD 2>&-", 0, b""),
        ("WIRECHECK check missing.yaml 2>&-", 2, b""),
        ("WIRECHECK check - <&-", 2, b"-:1:1: "),
    ],
)
def test_streams_that_are_closed_or_full(good: Path, command: str, status: int, words: bytes) -> None:
    done = shell(command.replace("GOOD", shlex.quote(str(good))))
    assert done.returncode == status
    assert words in done.stderr
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr


def test_json_is_utf_8_in_any_locale(tmp_path: Path) -> None:
    path = tmp_path / "lamp \U0001f4a1 m\u00b2.yaml"
    path.write_text(GOOD, encoding="utf-8")
    running = process("check", str(path), "--format", "json", PYTHONIOENCODING="latin-1")
    out, _ = running.communicate()
    assert json.loads(out.decode("utf-8"))["plan"] == str(path)


def test_names_beyond_ascii_pass_a_narrow_locale(tmp_path: Path) -> None:
    path = tmp_path / "lamp.yaml"
    path.write_text(GOOD.replace("H1: {kind: lamp,", "H1: {kind: lamp, title: Größe Ω,"), encoding="utf-8")
    running = process("check", str(path), PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    out, err = running.communicate()
    assert running.returncode in (0, 1)
    assert err == b""
    assert out.isascii()


@pytest.mark.parametrize(("environment", "coloured"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)])
def test_colour_only_on_a_terminal_that_wants_it(good: Path, environment: dict[str, str], coloured: bool) -> None:
    import pty

    keeper, terminal = pty.openpty()
    clean = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    command = [sys.executable, "-m", "wirecheck", "check", str(good)]
    folder = Path(__file__).parents[1]
    subprocess.run(command, stdout=terminal, cwd=folder, env={**clean, "TERM": "xterm", **environment}, check=False)
    os.close(terminal)
    text = b""
    while True:
        try:
            piece = os.read(keeper, 65536)
        except OSError:  # Linux says so when the other end is closed.
            break
        if not piece:
            break
        text += piece
    os.close(keeper)
    assert b"lamp.yaml" in re.sub(rb"\x1b\[[0-9;]*m|\r\n", b"", text)  # a long path is wrapped
    assert (b"\x1b[" in text) is coloured


def test_no_colour_off_a_terminal(found: Callable[..., None], call: Call) -> None:
    found(report(danger()))
    assert "\x1b" not in call("check", "x").out
