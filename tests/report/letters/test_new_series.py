"""A trap moved in mid-season, in a letter: told with its day, and no line led over the move."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from roundtui.report.charts import Chart
from roundtui.report.letters.compose import compose
from roundtui.report.letters.mail import svg
from roundtui.report.letters.material import Material
from tests.report.letters.conftest import ON

MOVED_ON = date(2025, 6, 10)
"""Day on which the sample farm's K5 was moved within its block."""


def test_the_curve_of_a_block_breaks_off_where_its_trap_was_moved_and_says_so(
    material_of: Callable[[date], Material],
) -> None:
    letter = compose(material_of(ON), "MOSS")
    (block,) = [one for one in letter.blocks if "K5 was moved within the block" in " ".join(map(str, one.details))]
    assert block.curve is not None
    chart = block.curve.of
    assert isinstance(chart, Chart)
    assert chart.breaks == (MOVED_ON,)
    (now,) = [line for line in chart.panels[0].lines if not line.past]
    sides = [{on > MOVED_ON for on, _ in piece} for piece in now.pieces]
    assert {False} in sides
    assert {True} in sides
    assert {False, True} not in sides
    assert "A trap was moved on Tue 10 Jun" in block.curve.alt
    assert ">moved</text>" in svg(block.curve)
