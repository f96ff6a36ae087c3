"""A chart in the terminal: drawn anew at the size it is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

if TYPE_CHECKING:
    from datetime import date

    from roundtui.report.charts import Chart

STYLES = {"band": "$warning", "past": "$accent", "main": "bold", "sign": "bold"}
"""Style of each ink that is not the text's own; marks and words say the same where there is no colour."""


class ChartView(Widget):
    """Shows a chart, with a line through one of its days."""

    DEFAULT_CSS = "ChartView { height: 1fr; }"

    chart: Chart | None = None
    cursor: date | None = None

    def show(self, chart: Chart | None, cursor: date | None = None) -> None:
        """Show a chart, or nothing."""
        self.chart, self.cursor = chart, cursor
        self.refresh()

    def render(self) -> Content:
        """The chart at the widget's size."""
        if self.chart is None or self.size.width < 1:
            return Content("")
        from roundtui.app.themes import PlainGlyphs
        from roundtui.report.charts import draw

        plain = any(isinstance(one, PlainGlyphs) for one in self.app._filters)
        drawn = draw(self.chart, self.size.width, self.size.height, self.cursor, plain=plain)
        rows = (((text, STYLES.get(ink.value, "")) for text, ink in row) for row in drawn.rows)
        return Content("\n").join(Content.assemble(*row) for row in rows)
