"""A report for a worried machinist: the verdict first, then each finding with its consequence ahead, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap

from wirecheck.errors import visible
from wirecheck.findings import NOTICE, SEVERITIES, UNDECIDED, Finding, Proof, Report, severity_rank, worst_first
from wirecheck.outputs.brief import in_short, question_lines
from wirecheck.outputs.evidence import evidence_lines
from wirecheck.outputs.sorting import Sorted, sorted_out, with_less

WIDTH_LEAST, WIDTH_MOST = 60, 120
MARGIN = 9
"""Columns that the label of a line takes: `  source `."""

STYLES = {"danger": "1;31", "damage": "1;35", "malfunction": "1;33", "advice": "1;36", "strong": "1", "faint": "2"}
"""What a terminal is told (ECMA-48 graphic rendition) for a severity or a weight."""

WORST = {
    "danger": "can hurt somebody",
    "damage": "can destroy equipment or start a fire",
    "malfunction": "keeps the machine from doing what it is for",
    "advice": "is advice",
}

SCREEN = 50
"""The lines that a reader sees at once."""

FROM_MEMORY = " (value from memory)"

THE_SAME = " The same with "
"""How a message goes on that names further faults."""

MOST_TITLES = 3
"""Claims that are told by their titles; more would bury the findings, and stand in the JSON."""


class Page:
    """Lines under way: knows the width and whether colours may be used, and escapes all that goes onto it."""

    def __init__(self, width: int, colour: bool) -> None:
        self.width, self.colour = width, colour
        self.lines: list[str] = []

    def blank(self) -> None:
        """An empty line."""
        self.lines.append("")

    def labelled(self, label: str, text: str, style: str = "", label_style: str = "faint") -> None:
        """Wrapped text with a label in the margin of its first line."""
        for number, line in enumerate(wrap(visible(text), self.width - MARGIN, break_on_hyphens=False) or [""]):
            margin = f"{label if number == 0 else '':>{MARGIN - 1}} "
            self.lines.append(self.styled(margin, label_style if number == 0 else "") + self.styled(line, style))

    def paragraph(self, text: str, style: str = "") -> None:
        """Wrapped text from the left edge."""
        self.lines += [self.styled(line, style) for line in wrap(visible(text), self.width, break_on_hyphens=False)]

    def verbatim(self, lines: Iterable[str]) -> None:
        """Lines of a plan as they stand in it, a little in from the edge."""
        self.lines += [f"    {visible(line)}" for line in lines]

    def styled(self, text: str, style: str) -> str:
        """Text in a style, plain where colours are not wanted."""
        return f"\x1b[{STYLES[style]}m{text}\x1b[0m" if self.colour and style and text.strip() else text


MOST_NAMED = 6
"""So many rules that were not judged are named; of more only the number."""


def new_page(colour: bool, width: int) -> Page:
    """An empty page, as wide as is asked for and can be read."""
    return Page(max(WIDTH_LEAST, min(width, WIDTH_MOST)), colour)


def closed(page: Page) -> str:
    """The text of a page, with the caution at its end."""
    page.blank()
    page.paragraph(NOTICE, "strong")
    return "\n".join(page.lines) + "\n"


def render_text(report: Report, colour: bool = False, width: int = 100, numbers: bool = False, full: bool = False) -> str:
    """The report as text, lines at most `width` wide (60 to 120).

    With the computed quantities where `numbers` are wanted; with `full` every finding is told at its full length, else
    advice only where one screen has room for it.
    """
    found = worst_first(_open(report))
    sorted_ = Sorted(found, {}, []) if full else sorted_out(found)
    reasons = report.incomplete if full else [_shorter(reason) for reason in report.incomplete]
    while True:
        text = _rendered(report, new_page(colour, width), numbers, sorted_, reasons)
        if full or text.count("\n") <= SCREEN or not (fewer := with_less(sorted_)):
            return text
        sorted_ = fewer


def _rendered(report: Report, page: Page, numbers: bool, found: Sorted, reasons: Iterable[str]) -> str:
    page.paragraph(_verdict(report), "strong")
    for reason in reasons:
        page.labelled("open", reason)
    question_lines(page, report.questions, found.asking)
    _findings(page, report, found)
    _accepted(page, report)
    if numbers:
        from wirecheck.outputs.numbers_text import number_lines

        number_lines(page, report.numbers)
    page.blank()
    for paragraph in _remainder(report):
        page.paragraph(paragraph)
    return closed(page)


def _findings(page: Page, report: Report, found: Sorted) -> None:
    """What is told at full length, worst first, each with the findings of the same cause; then the rest in short."""
    told: set[tuple[str, ...]] = set()
    house = {str(entry["rule"]): _of_the_house(entry) for entry in report.house_rules}
    for finding in found.at_length:
        _finding(page, finding, told, house)
        _follow(page, finding, found.following.get((finding.rule, finding.message), ()))
    in_short(page, found)


def _follow(page: Page, lead: Finding, following: Sequence[Finding]) -> None:
    for number, finding in enumerate(following):
        cause = "" if number else "by the same cause, "
        severity = "" if finding.severity == lead.severity else f" {finding.severity}:"
        # What else does the same is much the same list as the lead has; the whole of it stands in --full and the JSON.
        message, _, _ = finding.message.partition(THE_SAME) if finding.evidence.fault else (finding.message, "", "")
        page.labelled("" if number else "also", f"{cause}line {finding.at.line}:{severity} {message}")


def _open(report: Report) -> list[Finding]:
    return [finding for finding in report.findings if not finding.accepted]


def _verdict(report: Report) -> str:
    found = _open(report)
    number = f"{len(found)} finding{'s' if len(found) != 1 else ''}"
    worst = max((finding.severity for finding in found), key=severity_rank, default=SEVERITIES[0])
    told = f" {accepted}" if (accepted := _accepted_count(report)) else ""
    if report.incomplete:
        claim = "Not everything could be decided, so nothing is claimed of this plan."
        return f"{report.plan}: INCOMPLETE. {claim} {number} so far.{told}"
    if found:
        return f"{report.plan}: {number}, {'the worst' if len(found) > 1 else 'which'} {WORST[worst]}.{told}"
    beyond = " beyond what was accepted" if report.findings else ""
    return f"{report.plan}: no rule found anything{beyond}.{told}"


def _accepted_count(report: Report) -> str:
    """How many findings are accepted, and how many dangers among them: they do not count, and must not be forgotten."""
    accepted = [finding for finding in report.findings if finding.accepted]
    dangers = sum(finding.severity == "danger" for finding in accepted)
    if not accepted:
        return ""
    among = (
        "" if not dangers else ", a danger" if len(accepted) == 1 else f", {dangers} of them danger{'s' if dangers > 1 else ''}"
    )
    return f"{len(accepted)} accepted{among}: told below."


def _shorter(reason: str) -> str:
    """Why a report is incomplete, the number of the rules in place of a long list of their names."""
    what, between, names = reason.partition(UNDECIDED)
    number = names.count(", ") + names.count(" and ") + 1
    return f"{what}; so {number} rules are not decided (--full names them)" if between and number > MOST_NAMED else reason


def _finding(page: Page, finding: Finding, told: set[tuple[str, ...]], house: Mapping[str, str]) -> None:
    """One finding. `told` remembers what was explained before: nobody reads the same words twice."""
    page.blank()
    page.paragraph(f"{finding.severity.upper()}: {finding.message}", finding.severity)
    page.labelled("where", _where(finding))
    for label, line in evidence_lines(finding.evidence, finding.message):
        page.labelled(label, line)
    if finding.rests_on:
        page.labelled("rests on", "; ".join(finding.rests_on))
    explanation = (finding.rule, finding.why, finding.remedy, *finding.sources)
    if explanation in told:
        page.labelled("why", f"as explained above (rule {finding.rule})")
        return
    told.add(explanation)
    page.labelled("why", finding.why)
    page.labelled("do", finding.remedy)
    page.labelled("source", f"{_sources(finding.sources)} (rule {finding.rule}{house.get(finding.rule, '')})")


def _sources(sources: Sequence[str]) -> str:
    """The sources; a note that all of them have is said once."""
    if len(sources) > 1 and all(source.endswith(FROM_MEMORY) for source in sources):
        return f"{'; '.join(source.removesuffix(FROM_MEMORY) for source in sources)} (values from memory)"
    return "; ".join(sources) or "none"


def _of_the_house(entry: Mapping[str, object]) -> str:
    """What the source of a finding says of a rule of the house."""
    if entry["tightens"]:
        return f", of the house: tightens {entry['tightens']}"
    return f", of the house, in place of {entry['replaces']}" if entry["replaces"] else ", of the house"


def _house_rules(entries: Iterable[Mapping[str, object]]) -> Iterator[str]:
    """Each rule of the house with what it changes: a rule that is no longer judged must not be missed."""
    for entry in entries:
        changes = f" ({'; '.join(map(str, listed))})" if isinstance(listed := entry["changes"], list) and listed else ""
        if entry["tightens"]:
            yield f"{entry['rule']} tightens {entry['tightens']}{changes}"
        elif entry["replaces"]:
            yield f"{entry['rule']} stands in place of {entry['replaces']}, which is not judged{changes}"
        else:
            yield str(entry["rule"])


def _where(finding: Finding) -> str:
    parts = [f"line {finding.at.line}"]
    if finding.devices:
        parts.append(f"devices {', '.join(finding.devices)}")
    if finding.wires:
        parts.append(f"wires {', '.join(finding.wires)}")
    return ", ".join(parts)


def _accepted(page: Page, report: Report) -> None:
    for finding in report.findings:
        if finding.accepted:
            words = finding.accepted
            page.blank()
            page.paragraph(
                f"Accepted {finding.severity}: {finding.message}", "danger" if finding.severity == "danger" else "faint"
            )
            page.labelled("where", f"{_where(finding)} (rule {finding.rule})")
            page.labelled(
                "because", f"{words.get('because', '')} {_signature(words.get('by', ''), words.get('date', ''))}".strip()
            )


def _signature(by: str, date: str) -> str:
    signed = ", ".join(part for part in (by, date) if part)
    return f"({signed})" if signed else ""


def _remainder(report: Report) -> Iterator[str]:
    """What was proved, assumed, left unchecked and counted: a paragraph each."""
    if report.house_rules:
        yield f"Rules of the house: {'; '.join(_house_rules(report.house_rules))}."
    if report.assumed:
        yield f"Assumed: {'; '.join(report.assumed)}."
    if report.not_checked:
        yield f"Not checked, for no plan can show it: {'; '.join(report.not_checked)}."
    looked_at = f"Looked at: {', '.join(_counts(report))}." if report.statistics else ""
    if told := " ".join(part for part in (looked_at, _proved(report.proved) if report.proved else "") if part):
        yield told


def _proved(proved: Iterable[Proof]) -> str:
    proofs = list(proved)
    vacuous = [proof.claim.rstrip(".") for proof in proofs if not proof.condition_reached]
    text = f"Held in every state looked at: {_claims(len(proofs) - len(vacuous))}."
    if vacuous:
        titles = f": {'; '.join(vacuous)}" if len(vacuous) <= MOST_TITLES else " (the JSON lists them)"
        text += f" Held only because its case never arises in this plan: {_claims(len(vacuous))}{titles}."
    return text


def _claims(number: int) -> str:
    return f"{number} claim{'s' if number != 1 else ''}"


def _counts(report: Report) -> Iterator[str]:
    for name, number in report.statistics.items():
        if name != "seconds":  # A clock would make two runs on one plan differ.
            yield f"{number} {name}"
