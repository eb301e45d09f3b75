"""All documents of a plan, in the order in which they are read."""

from __future__ import annotations

from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.findings import Report
from wirecheck.sheets.assumption_list import assumption_list
from wirecheck.sheets.cable_list import cable_list
from wirecheck.sheets.cause_chart import cause_chart, undecided
from wirecheck.sheets.dead_test import dead_tables
from wirecheck.sheets.drive_settings import Judge, drive_settings
from wirecheck.sheets.earth_list import earth_list
from wirecheck.sheets.label_list import label_list
from wirecheck.sheets.live_test import live_test
from wirecheck.sheets.parts_list import parts_list
from wirecheck.sheets.table import Table
from wirecheck.sheets.terminal_list import terminal_list
from wirecheck.sheets.wire_list import wire_list


def all_tables(facts: Facts, report: Report, judge: Judge) -> list[Table]:
    """Every document; `judge` finds what is wrong with a plan, see `drive_settings`."""
    plan = facts.plan
    try:
        chart, live = cause_chart(facts), [live_test(facts)]
    except TooLarge as large:
        chart, live = undecided([*report.incomplete, str(large)]), []
    return [
        chart,
        wire_list(plan),
        terminal_list(plan),
        cable_list(plan),
        parts_list(plan),
        label_list(plan),
        earth_list(plan),
        drive_settings(plan, judge),
        *dead_tables(plan),
        *live,
        assumption_list(report),
    ]
