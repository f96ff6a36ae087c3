"""The season of a block and species: catch and degree-days on one page, biofix and events marked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from textwrap import wrap
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from roundtui.app.keys import keys_of
from roundtui.app.screen import RoundtuiScreen
from roundtui.app.widgets.chart import ChartView
from roundtui.domain.programme.cautions import OUTLOOK
from roundtui.domain.text import sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.report.season.chart import Picture, picture_of, season_chart, traps_of
from roundtui.report.season.season import biofix_words, event_mark, event_words, point_words, sum_words
from roundtui.report.season.seasons import Key, Seasons, state_of

if TYPE_CHECKING:
    from datetime import date

    from roundtui.domain.entries import BiofixSettled, TempsRead
    from roundtui.domain.season.outlook import EventOutlook
    from roundtui.domain.season.season import BlockSeason
    from roundtui.report.charts import Chart
    from roundtui.report.season.chart import OtherYear, Picture
    from roundtui.report.season.seasons import Ready
    from roundtui.store.session import Session

SEASON = keys_of("season", "season")

NOTHING = "Nothing to show: no trap hung in this season. Set up traps in traps.csv; y shows the year before."
"""Where no block has a trap."""
_BIOFIXES = 2
"""Generations whose biofix stands on the screen, the newest; the dialog has all."""


def head(picture: Picture) -> str:
    """Which species, year, block, and traps."""
    what = f"trap {sanitize(picture.trap, 12)}" if picture.trap else "mean"
    return f"{picture.season.species} {picture.season.season}  {sanitize(picture.place, 40)}  {what}"


def legend(chart: Chart, width: int) -> str:
    """What the marks mean, on as many lines as it takes."""
    shown = {panel.bars: "█" for panel in chart.panels if panel.bars}
    signs = [f"{shown.get(sign, sign)} {words}" for sign, words in chart.legend()]
    signs += ["+ reached", "· expected", "- within these days", "P biofix proposed", "B set"] if chart.events else []
    # A sign and its words stay together.
    lines = wrap("  ".join(sanitize(one, width).replace(" ", "\u00a0") for one in signs), width, break_on_hyphens=False)
    return "\n".join(lines).replace("\u00a0", " ")


def point(picture: Picture, at: int, width: int) -> str:
    """The round under the cursor, on two lines at most."""
    if 0 <= at < len(picture.points):
        words = point_words(picture.points[at], picture.season)
    else:
        words = f"No trap was read. {sum_words(picture.season, picture.season.on)}"
    return sanitize(words, width * 2 - 4)


def biofixes(season: BlockSeason, width: int) -> str:
    """The newest biofix with its reason, behind the older's day: two lines, ended at a comma where that is not all."""
    rows = [biofix_words(row) for row in season.biofixes[-_BIOFIXES:]] or ["Biofix: no rule for this species"]
    older = [": ".join(words.split(": ")[:2]).rstrip(".") for words in rows[:-1]]
    said, room = ". ".join([*older, rows[-1]]), width * 2 - 16
    return said if len(said) <= room else re.sub(r"[:;,][^:;,]*$", "", said[:room]) + "; e: more"


def first_event(events: Sequence[EventOutlook]) -> int:
    """The event that stands first at first: the last one reached."""
    return max((at for at, one in enumerate(events) if one.reached_on is not None), default=0)


def events(picture: Picture, first: int, room: int, width: int) -> str:
    """As many events as have room, from one on, then the tree's stages; where there is room for all, all."""
    lines = [f"{event_mark(one)} {event_words(one)}" for one in picture.season.events]
    found = [*(lines or ["Outlook: no model for this species"]), *picture.reference]
    first = max(0, min(first, len(found) - room))
    return "\n".join(sanitize(line, width) for line in found[first : first + room])


class SeasonScreen(RoundtuiScreen[None]):
    """Catch, degree-days, biofix and outlook of one block and species in one year.

    Args:
        session: Who, where and when.
        block: Code of the block to begin with; empty: the first.
        species: Its species; empty: the first.
        trap: One of its traps, to be shown alone; empty: the mean of all.
        ready: The first one, put together before; it is used where none is named and nothing was changed since.
    """

    STOPPED = "There is no season to show"
    CSS_PATH = "style.tcss"
    KEYS = SEASON

    def __init__(
        self, session: Session, block: str = "", species: str = "", trap: str = "", *, ready: Ready | None = None
    ) -> None:
        super().__init__(session)
        self.seasons = Seasons(session)
        self.year = self.seasons.now
        self.key: Key = (block, species)
        self.trap = trap
        self.at = -1
        """The round under the cursor."""
        self.event: int | None = None
        """First event shown; None: the last that was reached."""
        self.picture: Picture | None = None
        self.said = ""
        """What was just done; it stands in place of the round until the next key."""
        self._observations: dict[tuple[Key, int], tuple[OtherYear, ...]] = {}
        if ready is not None and not block and ready.state == state_of(session):
            self.key, self.picture = ready.key, ready.picture
            self.at = len(ready.picture.points) - 1
        else:
            self._choose()

    def compose(self) -> ComposeResult:
        """A bar, the chart, what stands under it, the keys."""
        yield Static(id="head", classes="bar", markup=False)
        yield ChartView(id="chart")
        with Vertical(id="foot"):
            for name in ("legend", "point", "biofix", "events"):
                yield Static(id=name, classes="line", markup=False)
            yield Static(OUTLOOK, classes="caution", markup=False)
            yield Static(id="keys", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Show the season, then look for the other years."""
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._lines()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _choose(self) -> None:
        """Read the season chosen, and go to a block that it has."""
        self.said = ""
        keys = self.seasons.record(self.year).keys()
        if self.key not in keys:
            same_block = [key for key in keys if key[0] == self.key[0]]
            self.key = next(iter(same_block or keys), self.key)
        if not keys:
            self.picture = None
            return
        self._put_together()
        self.at = len(self.picture.points) - 1 if self.picture else -1
        self.event = None

    def _put_together(self) -> None:
        observations = self._observations.get((self.key, self.year), ()) if not self.trap else ()
        self.picture = picture_of(self.seasons.record(self.year), self.key, self.trap, observations)

    def _show(self) -> None:
        self._draw()
        if self.picture is not None and not self.trap and (self.key, self.year) not in self._observations:
            key, year = self.key, self.year

            def have(found: tuple[OtherYear, ...]) -> None:
                self._observations[key, year] = found
                if (key, year) == (self.key, self.year) and not self.trap:
                    self._put_together()
                    self._draw()

            read = partial(self.seasons.other_years, key, year)
            self.call_after_refresh(self.aside, "observations", read, have, "The other years cannot be read")

    def _draw(self) -> None:
        view = self.query_one(ChartView)
        if self.picture is None:
            view.show(None)
        else:
            self.chart = season_chart(self.picture)
            view.show(self.chart, self._cursor())
        self._lines()

    def _cursor(self) -> date | None:
        points = self.picture.points if self.picture else ()
        return points[self.at].on if 0 <= self.at < len(points) else None

    def _lines(self) -> None:
        width = max(20, self.size.width - 2)
        picture = self.picture
        if picture is None:
            self._head(f"{self.year}")
            self.put("point", NOTHING)
            for name in ("legend", "biofix", "events"):
                self.put(name, "")
            return
        first = first_event(picture.season.events) if self.event is None else self.event
        room = 3 if self.size.height < 30 else 8
        self._head(head(picture))
        self.put("legend", legend(self.chart, width))
        self.put("point", sanitize(self.said, width * 2 - 4) if self.said else point(picture, self.at, width))
        self.put("biofix", biofixes(picture.season, width))
        self.put("events", events(picture, first, room, width))

    def _head(self, left: str) -> None:
        self.put_head(f"Season  {left}", f"{spoken_day(self.session.on, self.session.on)} {self.session.on.year} ")

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_block(self, step: int) -> None:
        """Another block, the same species where it has it."""
        keys = self.seasons.record(self.year).keys()
        blocks = list(dict.fromkeys(key[0] for key in keys))
        if blocks:
            block = blocks[(blocks.index(self.key[0]) + step) % len(blocks)]
            self._go((block, self.key[1]))

    def action_species(self) -> None:
        """Another species of the block."""
        own = [key for key in self.seasons.record(self.year).series if key[0] == self.key[0]]
        if own:
            self._go(own[(own.index(self.key) + 1) % len(own)])

    def action_trap(self) -> None:
        """One trap alone, or all again."""
        if self.picture is not None:
            choices = ["", *traps_of(self.seasons.record(self.year), self.key)]
            self.trap = choices[(choices.index(self.trap) + 1) % len(choices)]
            self._choose()
            self._show()

    def _go(self, key: Key) -> None:
        self.key, self.trap = key, ""
        try:
            self._choose()
        except RoundtuiError as error:
            self.show_error("The season cannot be read", error)
            return
        self._show()

    def action_point(self, step: int) -> None:
        """Move the cursor over the rounds."""
        if self.picture is not None and self.picture.points:
            self.said = ""
            self.at = max(0, min(len(self.picture.points) - 1, self.at + step))
            self.query_one(ChartView).show(self.chart, self._cursor())
            self._lines()

    def action_events(self, step: int) -> None:
        """Other events of the outlook."""
        if self.picture is not None:
            found = self.picture.season.events
            now = first_event(found) if self.event is None else self.event
            self.event = (now + step) % max(1, len(found) + len(self.picture.reference))
            self._lines()

    async def action_biofix(self) -> None:
        """Confirm the biofix, or set another day. The dialog stands before the next key is looked at."""
        from roundtui.app.dialogs.season import BiofixDialog

        if self.picture is not None:
            record = self.seasons.record(self.year)
            await self.app.push_screen(BiofixDialog(self.seasons, record, self.key), self._settle)

    def _settle(self, entry: BiofixSettled | None) -> None:
        if entry is None:
            return
        try:
            recorded = self.seasons.settle(entry)
        except RoundtuiError as error:
            self.show_error("The biofix is not recorded", error)
            return
        self._choose()
        self._show()
        what = f"biofix of {sanitize(recorded.block, 12)} {recorded.species}, generation {recorded.generation}"
        self._say(f"Saved: {what}, {recorded.day}")

    async def action_temps(self) -> None:
        """Enter a day's maximum and minimum."""
        from roundtui.app.dialogs.season import TempsDialog

        if self.picture is None:
            return
        station = self.picture.season.station
        if not station:
            words = f"block {sanitize(self.key[0], 20)} has no station"
            self.show_error("No temperatures to enter", RoundtuiError(words, "name its station in blocks.csv"))
            return
        await self.app.push_screen(TempsDialog(self.seasons, station), self._temps_entered)

    def _temps_entered(self, recorded: TempsRead | None) -> None:
        if recorded is None:
            return
        self._choose()
        self._show()
        words = f"{recorded.tmax} and {recorded.tmin} {recorded.unit.sign} at {sanitize(recorded.station, 20)}"
        self._say(f"Saved: {words} on {recorded.day}")

    async def action_treatment(self) -> None:
        """Put a treatment of this block and species on record."""
        from roundtui.app.dialogs.season import TreatmentDialog

        await self.app.push_screen(TreatmentDialog(self.session, *self.key), self._treated)

    def _treated(self, said: str | None) -> None:
        if said is None:
            return
        self.seasons.forget()
        if self.picture is not None:
            self._choose()
            self._show()
        self._say(said)

    async def action_years(self) -> None:
        """This season beside the seasons before."""
        if self.picture is not None:
            await self.open_screen("years", self.seasons, self.year, self.key, done=self._year_chosen)

    def _year_chosen(self, year: int | None) -> None:
        if year is not None:
            self.year = year
            self._go(self.key)

    def action_picture(self) -> None:
        """Write the picture into the folder."""
        if self.picture is None:
            return
        season = self.picture.season
        name = f"season {season.block} {season.species} {self.trap} {season.on}"
        try:
            files = self.seasons.write(name, self.chart)
        except RoundtuiError as error:
            self.show_error("The picture is not written", error)
            return
        self._say(f"Written: {files[0].parent.name}/{files[0].name} and {files[1].name}, in {files[0].parents[1]}")

    def _say(self, words: str) -> None:
        self.said = words
        self._lines()
