"""A whole plan: it is read fast, without what reading does not need, and however it is spoilt nothing but errors come of it."""

from __future__ import annotations

import doctest
import random
import re
import subprocess
import sys
from time import process_time

import pytest

import wirecheck.errors
import wirecheck.plan.scalars
import wirecheck.units
from tests.plan.texts import SAW, errors_of, read
from wirecheck.plan import read_plan_text
from wirecheck.resources import data_folder, package_folder, read_text

EXAMPLES = sorted(data_folder("rules").parent.glob("examples/[bg]*/*.yaml"))
PIECES = [*" \n{}[]:-&*\"'|>!%#?\t@,=~", "unknown", "true", "null", "NO", "12 V", "S1:12", "<<: ", "{}", "[]", "*a", "&a "]


def test_a_plan_is_read_in_a_few_milliseconds() -> None:
    text = "\n".join(read_text(path) for path in EXAMPLES[:1]) or SAW
    read_plan_text(text, "x")
    seconds = []
    for _ in range(5):
        began = process_time()
        read_plan_text(text, "x")
        seconds.append(process_time() - began)
    assert min(seconds) < 0.03


def test_reading_a_plan_loads_nothing_that_it_does_not_need() -> None:
    code = (
        "import sys; from wirecheck.plan import read_plan_text; read_plan_text(sys.stdin.read(), 'x'); "
        "print([m for m in ('networkx', 'jsonschema', 'typer', 'difflib', 'wirecheck.plan.house') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], input=SAW, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_order_of_everything_is_the_order_of_the_text() -> None:
    plan = read(SAW)
    assert list(plan.devices) == re.findall(r"^  ([A-Z][0-9]):", SAW.partition("cables:")[0], re.MULTILINE)
    assert [w.spot.line for w in plan.wires] == sorted(w.spot.line for w in plan.wires)
    assert read(SAW) == plan


def spoilt(text: str, chance: random.Random) -> str:
    """A text with a few accidents: something put in, taken out, copied elsewhere, or a word replaced."""
    for _ in range(chance.choice([1, 1, 2, 3, 8])):
        at = chance.randrange(len(text))
        accident = chance.randrange(4)
        if accident == 0:
            text = text[:at] + chance.choice(PIECES) + text[at:]
        elif accident == 1:
            text = text[:at] + text[at + chance.randrange(1, 30) :]
        elif accident == 2:
            source = chance.randrange(len(text))
            text = text[:at] + text[source : source + chance.randrange(1, 40)] + text[at:]
        else:
            word = chance.choice(list(re.finditer(r"[\w.-]+", text)))
            text = text[: word.start()] + chance.choice(PIECES) + text[word.end() :]
    return text


@pytest.mark.parametrize("seed", range(4))
def test_a_spoilt_plan_gives_errors_and_nothing_else(seed: int) -> None:
    chance = random.Random(seed)
    texts = [SAW, *(read_text(path) for path in EXAMPLES)]
    refused = 0
    for _ in range(60):
        text = spoilt(chance.choice(texts), chance)
        found = errors_of(text)
        refused += bool(found)
        lines = text.splitlines() or [""]
        assert all(1 <= e.line <= len(lines) and 1 <= e.column <= len(lines[e.line - 1]) + 1 for e in found)
        assert all(e.message for e in found)
    assert refused > 20


@pytest.mark.parametrize("module", [wirecheck.errors, wirecheck.units, wirecheck.plan.scalars], ids=lambda m: m.__name__)
def test_the_examples_in_the_docstrings_hold(module: object) -> None:
    result = doctest.testmod(module)  # type: ignore[arg-type]
    assert result.attempted
    assert not result.failed


def test_data_stands_where_it_is_looked_for() -> None:
    assert (data_folder("schemas") / "plan.schema.json").is_file()
    assert data_folder("rules").is_dir()
    assert (package_folder("kinds", "data") / "lamp.yaml").is_file()
