"""A rule as a reader wants it: what it says of a plan that is wrong, and the lines in which a wrong and a right plan differ."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from wirecheck.facts import Facts
from wirecheck.kinds import Kinds
from wirecheck.plan import read_plan_text
from wirecheck.rules.assembly import fold
from wirecheck.rules.causes import place
from wirecheck.rules.examples import Example
from wirecheck.rules.record import Rule, in_capitals
from wirecheck.rules.runner import judge_rules

DESIGNATION = re.compile(r"([A-Za-z]+[0-9]+):(?! )")
"""A device that a line of a plan names in a terminal."""


@dataclass(frozen=True, slots=True)
class Fragment:
    """What matters of an example: the sentence at its top, and the lines that tell it from its counterpart."""

    says: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Explained:
    """A rule, what it finds in the bad one of the two examples that differ least, and these two as fragments.

    Where a rule has no examples its texts have their {words} in capitals, and there are no fragments.
    """

    rule: Rule
    message: str
    why: str
    remedy: str
    bad: Fragment | None = None
    good: Fragment | None = None


def explain(rule: Rule, examples: Sequence[Example], kinds: Kinds | None = None) -> Explained:
    """A rule explained by its examples: one of each sort, or none at all."""
    if not examples:
        return Explained(rule, *_unfilled(rule))
    bad, good = closest(examples)
    judgement = judge_rules([rule], Facts(read_plan_text(bad.plan, bad.name, kinds)))
    found = sorted(fold(judgement.findings), key=place)
    says = (found[0].message, found[0].why, found[0].remedy) if found else _unfilled(rule)
    return Explained(rule, *says, *_fragments(bad.plan, good.plan))


def _unfilled(rule: Rule) -> tuple[str, str, str]:
    return in_capitals(rule.message), in_capitals(rule.why), in_capitals(rule.remedy)


def closest(examples: Sequence[Example]) -> tuple[Example, Example]:
    """The bad and the good example that differ in the fewest lines."""
    pairs = [(bad, good) for bad in examples if bad.findings for good in examples if not good.findings]
    return min(pairs, key=lambda pair: len(_unlike(pair[0].plan, pair[1].plan)) + len(_unlike(pair[1].plan, pair[0].plan)))


def _fragments(bad: str, good: str) -> Iterator[Fragment]:
    """The fragments of two plans. Each has the devices that the differing lines of either name."""
    named = set(DESIGNATION.findall("\n".join([*_body(bad, _unlike(bad, good)), *_body(good, _unlike(good, bad))])))
    for plan, other in ((bad, good), (good, bad)):
        rows, unlike = plan.splitlines(), _unlike(plan, other)
        says = [row.removeprefix("#").strip() for row in rows if row.startswith("#")]
        shown = {*unlike, *_devices(rows, named)}
        yield Fragment(" ".join(says), tuple(row for i, row in enumerate(rows) if i in shown and not row.startswith("#")))


def _body(plan: str, numbers: Sequence[int]) -> list[str]:
    return [row for i, row in enumerate(plan.splitlines()) if i in numbers and not row.startswith("#")]


def _unlike(plan: str, other: str) -> list[int]:
    """The lines of a plan, from 0, that the other does not have at their place."""
    matcher = SequenceMatcher(None, plan.splitlines(), other.splitlines(), autojunk=False)
    return [i for tag, start, end, _, _ in matcher.get_opcodes() if tag != "equal" for i in range(start, end)]


def _devices(rows: Sequence[str], named: set[str]) -> Iterator[int]:
    """The lines on which the named devices are described: of a long description its beginning."""
    for i, row in enumerate(rows):
        if row.startswith("  ") and row.strip().partition(":")[0] in named and ("kind:" in row or row.endswith(":")):
            yield i
            below = [k for k in range(i + 1, len(rows)) if not re.match(r" {0,2}\S", rows[k]) and _together(rows, i, k)]
            yield from below[:1] if row.endswith(":") else below


def _together(rows: Sequence[str], first: int, last: int) -> bool:
    """Whether all lines from one to another belong to what the first begins."""
    return all(row.startswith("   ") for row in rows[first + 1 : last + 1])
