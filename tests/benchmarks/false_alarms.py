"""All correct plans: variants that must be quiet, and defects that must be found. Run by hand: it takes an hour.

    python -m tests.benchmarks.false_alarms [VARIANTS] [DEFECTS] [small|whole]

`small` are the good examples of rules, `whole` the plans in files of their own. Prints every complaint, every dangerous defect
without a finding of danger, and the counts.
"""

from __future__ import annotations

import sys
from collections import Counter

from tests.generators.arrangements import small_machines, whole_plans
from tests.generators.false_alarms import tried_defects, tried_variants


def main(variants: int, defects: int, which: str) -> None:
    """Try so many of each."""
    bases = whole_plans() if which == "whole" else small_machines()
    made = 0
    for tried in tried_variants(bases, range(variants)):
        made += 1
        if tried.complaints:
            print("false alarm:", tried, flush=True)
    print(made, "variants", flush=True)
    counts: Counter[str] = Counter()
    for defect in tried_defects(bases, range(defects)):
        counts[f"{defect.edit.sort}, tried"] += 1
        counts[_what(defect.danger is not None, defect.found)] += 1
        if defect.danger and not defect.found:
            print("missed:", defect, "(incomplete)" if defect.incomplete else "", flush=True)
    for what, count in sorted(counts.items()):
        print(f"{count:5} {what}")


def _what(dangerous: bool, found: bool) -> str:
    return f"{'dangerous' if dangerous else 'not judged dangerous'}, {'a danger found' if found else 'no danger found'}"


if __name__ == "__main__":
    given = dict(enumerate(sys.argv))
    main(int(given.get(1, "400")), int(given.get(2, "1000")), given.get(3, "small"))
