"""The computed quantities as the report carries them, and what to ask where one is unknown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wirecheck.electrics.number import Number
from wirecheck.facts import Facts
from wirecheck.findings import Spot, severity_rank
from wirecheck.rules.record import Rule

MOST_QUESTIONS = 3
"""More would be a form to fill in; the report asks for what decides most."""


def number_entries(numbers: Iterable[Number]) -> tuple[Mapping[str, object], ...]:
    """The numbers as plain values, in the words in which they are printed."""
    return tuple(_entry(number) for number in numbers)


def _entry(number: Number) -> Mapping[str, object]:
    return {
        "name": number.name,
        "device": number.device,
        "case": number.case,
        "value": number.value_text(),
        "limit": number.limit_text(),
        "verdict": verdict(number),
        "working": number.working,
        "from": [place(i.at) for i in number.inputs if i.at],
        "inputs": [{"what": i.what, "value": i.text, "basis": i.basis, "at": place(i.at)} for i in number.inputs],
        "missing": [missing.field for missing in number.missing],
        "source": number.source,
    }


def verdict(number: Number) -> str:
    """Where a number stands: `above`, `below` or `within` its limits, `unknown`, or `no limit`."""
    if number.unknown:
        return "unknown"
    if number.too_high or number.too_low:
        return "above" if number.too_high else "below"
    return "within" if number.low is not None or number.high is not None else "no limit"


def place(at: Spot | None) -> str:
    """A place as `plan.yaml:12`, empty for what is not in the plan."""
    return f"{at.file}:{at.line}" if at else ""


def questions(rules: Sequence[Rule], facts: Facts) -> tuple[Mapping[str, object], ...]:
    """What to find out first: the missing fields that decide about the worst, and about the most."""
    asked: dict[str, list[tuple[int, Spot, str]]] = {}
    for rule in rules:
        if rule.kind == "within":
            names = rule.claim["number"]
            wanted = frozenset(names if isinstance(names, list) else [names])
            for number in facts.numbers:
                for missing in number.missing if number.name in wanted else ():
                    asked.setdefault(missing.field, []).append((severity_rank(rule.severity), missing.at, missing.decides))
    ranked = sorted(asked.items(), key=lambda item: (-max(rank for rank, _, _ in item[1]), -len(item[1]), item[0]))
    return tuple(_question(field, reasons) for field, reasons in ranked[:MOST_QUESTIONS])


def _question(field: str, reasons: Sequence[tuple[int, Spot, str]]) -> Mapping[str, object]:
    decides = list(dict.fromkeys(words for _, _, words in sorted(reasons, key=lambda reason: -reason[0])))
    return {"field": field, "at": place(reasons[0][1]), "decides": decides}
