"""The rules as a list, and one rule whole."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import PurePath

from wirecheck.errors import visible
from wirecheck.findings import NOTICE, SEVERITIES
from wirecheck.outputs.commands import quoted
from wirecheck.outputs.text import WIDTH_MOST, WORST, Page, closed, new_page
from wirecheck.rules.explaining import Explained, Fragment
from wirecheck.rules.record import Rule


def render_rules(rules: Sequence[Rule], colour: bool = False, width: int = 100) -> str:
    """All rules by their name and title, the worst first."""
    page = new_page(colour, width)
    page.paragraph(f"{len(rules)} rules. `wirecheck rules NAME` prints one of them whole.", "strong")
    for severity in reversed(SEVERITIES):
        some = [rule for rule in rules if rule.severity == severity]
        if some:
            page.blank()
            page.paragraph(f"{severity}: what {WORST[severity]}" if severity != "advice" else severity, severity)
        for rule in some:
            page.lines.append(page.styled(f"  {rule.name}", "strong"))
            page.labelled("", rule.title)
            if rule.file:
                page.labelled("", _origin(rule).removeprefix(", "))
    return closed(page)


def render_rule(explained: Explained, colour: bool = False, width: int = 100) -> str:
    """One rule whole, in the words that it finds for its own bad example where it has one."""
    rule = explained.rule
    page = new_page(colour, width)
    page.paragraph(f"{rule.name}: {rule.severity}{_origin(rule)}", "strong")
    page.blank()
    page.labelled("claim", rule.title, "strong")
    page.labelled("says", explained.message)
    page.labelled("why", explained.why)
    page.labelled("do", explained.remedy)
    page.labelled("source", "; ".join(rule.sources))
    page.labelled("judged", f"by the claim kind {rule.kind}{conditions_in_words(rule)}")
    if explained.bad and explained.good:
        _fragment(page, "Wrong", explained.bad, "danger")
        _fragment(page, "Better", explained.good, "strong")
        page.blank()
        folder = f" --rules {quoted(str(PurePath(rule.file).parent))}" if rule.file else ""
        page.paragraph(f"The whole plans, to try: wirecheck rules {rule.name}{folder} --example bad, or good.")
    return closed(page)


def _origin(rule: Rule) -> str:
    """Where a rule comes from, and where it holds."""
    since = f", since version {rule.since}" if rule.since else ""
    place = f", tightens {rule.tightens}" if rule.tightens else f", in place of {rule.replaces}" if rule.replaces else ""
    house = f", of the house ({rule.file}){place}" if rule.file else since
    return house + (f", in region {' and '.join(rule.regions)} only" if rule.regions else "")


def conditions_in_words(rule: Rule) -> str:
    """The conditions of a rule's claim as a reader sees them.

    >>> conditions_in_words(Rule("r", "R.", "advice", "survives", {"faults": ["earthed"], "part": "stop"}, "", "", (), "0.1"))
    ', faults earthed, part stop'
    """
    return "".join(f", {key.replace('_', ' ')} {_plain(value)}" for key, value in rule.claim.items())


def _plain(value: object) -> str:
    if isinstance(value, dict):
        return f"({', '.join(f'{key} {_plain(inner)}' for key, inner in value.items())})"
    return (
        " or ".join(map(_plain, value))
        if isinstance(value, list)
        else str(value).lower()
        if isinstance(value, bool)
        else str(value)
    )


def _fragment(page: Page, label: str, fragment: Fragment, style: str) -> None:
    page.blank()
    page.paragraph(f"{label}: {fragment.says}", style)
    page.verbatim(fragment.lines)


def render_trial(tried: Sequence[tuple[Rule, int]], wrong: Sequence[str], colour: bool = False, width: int = 100) -> str:
    """What came of trying the examples of rules: how many each has, and which of them do otherwise than they say."""
    page = new_page(colour, width)
    number = sum(count for _, count in tried)
    verdict = f"{len(wrong)} of them do otherwise than they say" if wrong else "all of them do as they say"
    page.paragraph(f"{number} examples of {len(tried)} rules tried: {verdict}.", "strong")
    for complaint in wrong:
        page.labelled("wrong", complaint)
    for rule, count in tried:
        if not count:
            page.labelled("none", f"{rule.file} has no examples, so nothing shows that the rule finds what it is for")
    return closed(page)


def render_example(plan: str) -> str:
    """A rule's example as a plan that can be kept in a file; the caution stands in it as a comment."""
    return "".join(f"# {line}\n" for line in _wrapped(NOTICE)) + plan.rstrip("\n") + "\n"


def _wrapped(text: str) -> Iterable[str]:
    from textwrap import wrap

    return wrap(visible(text), WIDTH_MOST - 2)
