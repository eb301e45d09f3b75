"""The tables of the control circuit and of earth leakage against where their figures come from."""

from __future__ import annotations

from wirecheck.electrics.tables import table


def test_coils_pull_in_at_85_to_110_percent() -> None:
    """Source: IEC 60947-4-1, 8.2.1.2; value from memory."""
    found = table("coil-operating-range")
    assert found.rows == ({"least": 0.85, "most": 1.10},)
    assert found.memory
    assert 24 * 0.85 == 20.4  # what a 24 V coil must see at the lowest supply and full load


def test_lamps_and_loads() -> None:
    """Common practice, no source."""
    assert table("load-operating-range").rows == ({"least": 0.85, "most": 1.15},)


def test_leakage_on_a_plug() -> None:
    """Above 3.5 mA a fixed connection is needed. Source: IEC 61800-5-1, 4.3.5.5."""
    found = table("plug-leakage")
    assert found.rows == ({"most_a": 0.0035},)
    assert "61800-5-1" in found.cite()


def test_leakage_behind_a_residual_current_device() -> None:
    """At most 30 % of its rated residual current: common practice, no source."""
    assert table("residual-current-share").rows == ({"most": 0.30},)


def test_contacts_for_another_duty() -> None:
    """Common practice, no source."""
    assert {row["duty"]: row["most"] for row in table("contact-category").rows} == {"motor": 0.40, "coil": 0.20, "kind": 0.10}
