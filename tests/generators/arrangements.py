"""The correct plans of the project: the examples, those of the tests, and the good examples of rules that are whole machines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

from tests.generators.plan_data import Data, parse
from wirecheck.findings import Finding, severity_rank
from wirecheck.pipeline import check
from wirecheck.plan import read_plan_text
from wirecheck.rules.examples import examples_in

ROOT = Path(__file__).parents[2]
WHOLE_PLANS = ("examples/good", "tests/benchmarks/plans", "tests/catalogue/arrangements")


class Arrangement(NamedTuple):
    """A correct plan: where it stands, and its text."""

    name: str
    text: str

    @property
    def data(self) -> Data:
        """Its data, to be edited."""
        return parse(self.text)


@cache
def whole_plans() -> tuple[Arrangement, ...]:
    """The plans that stand in files of their own."""
    paths = [p for folder in WHOLE_PLANS for p in sorted((ROOT / folder).glob("*.yaml"))]
    return tuple(Arrangement(p.stem, p.read_text(encoding="utf-8")) for p in paths)


@cache
def small_machines() -> tuple[Arrangement, ...]:
    """The good examples of rules that have a motor and a supply: each once, though several rules show it.

    A few are good only under the rule that they show.
    """
    return tuple({_alike(a.text): a for a in _good_examples() if _is_machine(a)}.values())


def _good_examples() -> Iterator[Arrangement]:
    for path in sorted((ROOT / "rules").glob("*.yaml")):
        good = [e for e in examples_in(path) if not e.findings]
        yield from (Arrangement(f"{path.stem}, {e.name}", _cut_off(e.plan)) for e in good)


def _cut_off(text: str) -> str:
    """A plan with a plug where nothing else cuts it off: most rules leave that out of their examples."""
    return text if "isolator" in text or "plug" in text else text.replace("kind: mains,", "kind: mains, plug: 63 A,")


def _is_machine(arrangement: Arrangement) -> bool:
    kinds = {d["kind"] for d in arrangement.data["devices"].values()}
    return {"motor", "mains"} <= kinds


def _alike(text: str) -> str:
    """The text of a plan without its comments and the name of the machine."""
    return "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("#") and not line.startswith("machine:"))


@cache
def is_quiet(text: str) -> bool:
    """Whether nothing at `malfunction` or above is found in a plan, and nothing stayed unlooked at."""
    report = check(read_plan_text(text, "plan"))
    return not report.incomplete and not loud(report.findings)


def loud(findings: Sequence[Finding]) -> list[str]:
    """The findings that a good plan must not have."""
    return [f"{f.severity}: {f.rule}: {f.message}" for f in findings if severity_rank(f.severity) >= severity_rank("malfunction")]
