"""Year against year: the season of a block, or of the area, beside the seasons before, as a table or as curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from rich.console import Group
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from roundtui.app.keys import Action, keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.chart import ChartView
from roundtui.domain.season.years import By, Years
from roundtui.domain.text import sanitize
from roundtui.report.bars import NARROW
from roundtui.report.season.years import lines_in, years_chart, years_tables
from roundtui.report.text import Names, paragraph

if TYPE_CHECKING:
    from roundtui.report.season.chart import Key
    from roundtui.report.season.seasons import Seasons
    from roundtui.store.session import Session

YEARS = keys_of("season", "years")

BOTH_FROM = 24
"""Lines from which table and curves stand below each other. [lines]"""
_WORDS = {By.DATE: "by calendar", By.DEGREE_DAYS: "by degree-days after biofix"}


class YearsScreen(RoundtuiScreen[int | None]):
    """A season beside the seasons before.

    Args:
        session: Who, where and when.
        seasons: What the Season screen asks and tells.
        year: Year of the season with which the others are compared.
        key: Block and species to begin with.
    """

    STOPPED = "The years cannot be read"
    CSS_PATH = "style.tcss"
    KEYS = YEARS
    KEYS_FIRST = True

    def __init__(self, session: Session, seasons: Seasons, year: int, key: Key) -> None:
        super().__init__(session)
        self.seasons = seasons
        self.year = year
        self.key = key
        self.area = False
        """Whether all blocks are shown together."""
        self.by = By.DATE
        self.curves = False
        """Whether the curves are shown where there is no room for both."""
        self._known: dict[Key, dict[By, Years]] = {}

    def compose(self) -> ComposeResult:
        """A bar, the table, the curves with their legend, the keys."""
        yield from texts("head")
        with VerticalScroll(id="page", can_focus=False):
            yield from texts("tables")
        yield ChartView(id="chart")
        yield from texts("legend", "keys")

    def on_mount(self) -> None:
        """Show the place at once, the seasons when they are read."""
        self._show()

    def on_resize(self) -> None:
        """Tables fill the width; table and curves share the height where there is enough."""
        self._draw()

    def keys_here(self) -> Sequence[Action]:
        """Where table and curves both stand, no key changes between them."""
        by, view, *rest = super().keys_here()
        said = replace(view, words="table" if self.curves else "curves")
        return [by, *([said] if self.size.height < BOTH_FROM else []), *rest]

    # --- what is shown -----------------------------------------------------------------------------------------------

    @property
    def _asked(self) -> Key:
        return ("" if self.area else self.key[0], self.key[1])

    def _show(self) -> None:
        if self._asked not in self._known:
            asked, year = self._asked, self.year

            def have(found: dict[By, Years]) -> None:
                self._known[asked] = found
                self._draw()

            read = partial(self.seasons.against, asked, year)
            self.call_after_refresh(self.aside, "against", read, have, "The years cannot be read")
        self._draw()

    def _draw(self) -> None:
        if not self.is_mounted:
            return
        block, species = self._asked
        programme = self.seasons.record(self.year).programme
        place = Names(programme).place(block) if block else "all blocks"
        by = _WORDS[self.by] if self.width >= NARROW else self.by
        self.put_head(f"Years  {sanitize(species, 20)} {self.year}  {place}", f"{by} ")
        known = self._known.get(self._asked)
        both = self.size.height >= BOTH_FROM
        self.query_one("#page").set_class(known is not None and self.curves and not both, "-hidden")
        shown = known is not None and (both or self.curves)
        self.query_one("#page").set_class(not shown, "-alone")
        for name in ("#chart", "#legend"):
            self.query_one(name).set_class(not shown, "-hidden")
        if known is None:
            self.query_one("#tables", Static).update("Reading the seasons …")
            return
        years = known[self.by]
        public = [paragraph("Not for the public: use the area update for that.")] if self.area else []
        self.query_one("#tables", Static).update(Group(*years_tables(years, programme, self.width), *public))
        chart = years_chart(years, Names(programme))
        self.query_one(ChartView).show(chart)
        said = lines_in(chart) if chart else "No round of these seasons can be placed, so there are no curves."
        self.put("legend", sanitize(said, self.width - 2))

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_by(self) -> None:
        """By calendar, or by degree-days after biofix."""
        self.by = By.DATE if self.by is By.DEGREE_DAYS else By.DEGREE_DAYS
        self._draw()

    def action_view(self) -> None:
        """The curves, or the table again."""
        self.curves = not self.curves
        self.put_strip()
        self._draw()

    def action_block(self) -> None:
        """The next block, the same species where it has it; after the last one all blocks together."""
        keys = self.seasons.record(self.year).keys()
        blocks = list(dict.fromkeys(key[0] for key in keys))
        at = 0 if self.area else blocks.index(self.key[0]) + 1
        if at == len(blocks):
            self.area = True
            self._show()
            return
        block = blocks[at]
        own = [key for key in keys if key[0] == block]
        self.key = (block, self.key[1]) if (block, self.key[1]) in own else own[0]
        self.area = False
        self._show()

    def action_species(self) -> None:
        """The next species of the block; of all blocks, the next one that anybody traps."""
        keys = self.seasons.record(self.year).keys()
        # The species of all blocks are gone through by a block that has each.
        every = {species: (block, species) for block, species in reversed(keys)}
        own = [every[species] for species in sorted(every)] if self.area else [k for k in keys if k[0] == self.key[0]]
        at = next(at for at, key in enumerate(own) if key[1] == self.key[1])
        self.key = own[(at + 1) % len(own)]
        self._show()

    def action_open(self) -> None:
        """The season of the year before, in the season's picture; after the oldest the newest."""
        years = self.seasons.years
        self.dismiss(years[years.index(self.year) - 1])
