"""The season of a block and species: catch and degree-days on one page, biofix and events marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from textwrap import wrap
from typing import TYPE_CHECKING, TypeVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.board import rule
from roundtui.app.widgets.chart import ChartView
from roundtui.domain.programme.cautions import OUTLOOK
from roundtui.domain.text import full_day, padded, sanitize, spoken_day, spoken_days
from roundtui.errors import RoundtuiError
from roundtui.report.bars import NARROW, bar
from roundtui.report.season import season as worded
from roundtui.report.season.chart import Key, Picture, season_chart, traps_of
from roundtui.report.season.seasons import Choose, seasons_of

if TYPE_CHECKING:
    from roundtui.domain.entries import BiofixSettled, TempsRead
    from roundtui.domain.season.season import BlockSeason
    from roundtui.report.charts import Chart, Panel
    from roundtui.report.season.chart import OtherYear, Picture
    from roundtui.store.session import Session

T = TypeVar("T")
SEASON = keys_of("season", "season")

NOTHING = "Nothing to show: no trap hung in this season. Set up traps in traps.csv; y shows the year before."
"""Where no block has a trap."""
_TALL = 30
"""Lines from which degree-days have a curve of their own. [lines]"""


def legend(chart: Chart, width: int) -> str:
    """What the marks mean, on as many lines as it takes."""
    shown = {panel.bars: "█" for panel in chart.panels if panel.bars}
    signs = [(shown.get(sign, sign), words) for sign, words in chart.legend()]
    low = width < NARROW - 2
    if low:
        # Every line here is one less for the chart, whose bars are named in it.
        signs = [(sign, words.split(", ")[0]) for sign, words in signs if sign != "█"]
    if chart.events:
        # What is long stands behind what is short, so that it all takes fewer lines.
        there = set() if low else {event.sign for event in chart.events}
        biofix = [one for one in (("P", "biofix proposed"), ("B", "biofix set")) if one[0] in there]
        marks = [("R", "reached"), ("E_" if low else "E", "expected"), *([] if low else [("_", "range")])]
        signs[-1:-1] = [*marks, *biofix]
    # A sign and its words stay together.
    words = "  ".join(sanitize(f"{sign} {said}", width).replace(" ", "\u00a0") for sign, said in signs)
    lines = wrap(words, width, break_on_hyphens=False)
    return "\n".join(lines).replace("\u00a0", " ")


def counted(season: BlockSeason, degree_days: Panel, width: int) -> str:
    """Degree-days as a bar that fills towards the next stage, or why there are none."""
    one = worded.next_stage(season)
    if one is None or one.accumulated is None or season.unit is None:
        return sanitize(degree_days.name[:1].upper() + degree_days.name[1:], width)
    start = next(view.start for view in season.outlooks if one in view.events)
    since = f"{one.accumulated:.0f} {season.unit.sign}-days" + (f" since {start.day} {start:%b}" if start else "")
    on = f", {one.expected_on.day} {one.expected_on:%b}" if one.expected_on and width >= NARROW - 2 else ""
    words = f"{one.event.degree_days:g}: {one.event.name}{on}"
    goal, room = Fraction(one.event.degree_days), max(6, width - len(since) - len(words) - 3)
    filled = bar(Fraction(one.accumulated), (goal, goal), min(room, 40)).rstrip()
    return sanitize(f"{since} {filled} {words}", width)


def biofixes(season: BlockSeason, width: int) -> str:
    """The newest biofixes with their reasons, as far as a line has room for them; the dialog has all."""
    rows = [worded.biofix_words(row, season.on) for row in season.biofixes[-2:]] or ["Biofix: no rule for this species"]
    short = [": ".join(words.split(": ")[:2]).rstrip(".") for words in rows]
    whole = (". ".join(rows), ". ".join([*short[:-1], rows[-1]]), rows[-1])
    said = (*whole, *(f"{words}; e: more" for words in (". ".join(short), short[-1], short[-1].rsplit(", ", 1)[0])))
    # With little room the legend has no place for the sign.
    newest = [one.biofix for one in season.biofixes[-1:] if one.biofix.on and width < NARROW - 2]
    sign = "".join("B " if one.confirmed else "P " for one in newest)
    return sign + next((words for words in said if len(words) + len(sign) <= width), sanitize(short[-1], width - 2))


def panes(picture: Picture, at: int, marked: int, size: tuple[int, int]) -> Content:
    """The round under the cursor beside the events, the marked one in full; both as high as the longer of them.

    Args:
        picture: The season.
        at: Place of the round.
        marked: Place of the event.
        size: Columns, and the lines that are filled at least.
    """
    (width, height), season = size, picture.season
    known = [(worded.event_line(one), f"{worded.event_mark(one)} {worded.event_words(one)}") for one in season.events]
    known += [(f"  {words}", words) for words in picture.reference]
    # Where there is little room one stands below the other, of the events the marked one alone: a chart needs height.
    below = width < NARROW and bool(known)
    half = width if below else width // 2 - 1
    title, parts = "No round", ["No trap was read.", worded.sum_words(season, season.on)]
    if 0 <= at < len(picture.points):
        title = f"▒│ Round of {spoken_day(picture.points[at].on, season.on)}"
        parts = worded.point_parts(picture.points[at], season)
    last = parts[-1].removeprefix("by then ") if below else parts[-1]
    said = (spoken_days(words, season.on) for words in (parts[0], "; ".join(parts[1:-1]), last))
    paragraphs, room = (["; ".join(filter(None, said))], half - 2) if below else (list(said), half - 1)
    left = [line for words in paragraphs for line in wrap(words, room)]
    words = spoken_days(known[marked][1], season.on) if known else ""
    of = f" {marked + 1} of {len(known)}" if known else ""
    whole = wrap(words, (width if below else width - half) - 2, initial_indent="> ", subsequent_indent="    ")
    if below:
        lines = [Content.styled(rule(f"{title}   event{of}", width), "bold"), *(Content(f" {line}") for line in left)]
        return Content("\n").join([*lines, *(Content.styled(padded(one, width), "bold reverse") for one in whole)])
    height = max(height, len(left), len(whole) + 1)
    first = max(0, min(marked - 1, len(known) - height + len(whole) - 1))
    right = [] if known else [(" Outlook: no model for this species", "")]
    for place, (line, _) in enumerate(known[first:], first):
        right += [(one, "bold reverse") for one in whole] if place == marked else [(f"  {line}", "")]
    lines = [Content.styled(rule(title, half) + "┬" + rule(f"Events{of}", width - half - 1), "bold")]
    for row in range(height):
        words, style = right[row] if row < len(right) else ("", "")
        here = left[row] if row < len(left) else ""
        event = Content.styled(padded(words, width - half - 1), style)
        lines.append(Content(padded(f" {here}", half) + "│") + event)
    return Content("\n").join(lines)


def first_event(season: BlockSeason) -> int:
    """The event that is marked at first: the one that degree-days are counted towards, else the last."""
    one = worded.next_stage(season)
    return season.events.index(one) if one is not None else max(0, len(season.events) - 1)


def _near(block: str, species: str) -> Choose:
    """Chooses a block and species, else the first of that block, else the first of all."""

    def choose(keys: tuple[Key, ...]) -> Key | None:
        same_block = [key for key in keys if key[0] == block]
        return (block, species) if (block, species) in keys else next(iter(same_block or keys), None)

    return choose


def _after(rows: Sequence[T], one: T, step: int = 1) -> T:
    """The row so many after another, each counted once; after the last the first."""
    once = list(dict.fromkeys(rows))
    return once[(once.index(one) + step) % len(once)]


class SeasonScreen(RoundtuiScreen[None]):
    """Catch, degree-days, biofix and outlook of one block and species in one year.

    Args:
        session: Who, where and when.
        block: Code of the block to begin with; empty: the first.
        species: Its species; empty: the first.
        trap: One of its traps, to be shown alone; empty: the mean of all.
        confirm: Blocks and species whose biofix is to be confirmed, gone through one by one.
    """

    STOPPED = "There is no season to show"
    CSS_PATH = "style.tcss"
    KEYS = SEASON

    def __init__(
        self, session: Session, block: str = "", species: str = "", trap: str = "", confirm: Sequence[Key] = ()
    ) -> None:
        super().__init__(session)
        self.seasons = seasons_of(session)
        self.year = self.seasons.now
        self.key: Key = (block, species)
        self.trap = trap
        self.confirm = tuple(confirm)
        self.at = -1
        """The round under the cursor."""
        self.event: int | None = None
        """The marked event; None: the next one to come."""
        self.picture: Picture | None = None

    def compose(self) -> ComposeResult:
        """A bar, the chart, what stands under it, the keys."""
        yield from texts("head")
        yield ChartView(id="chart")
        with Vertical(id="foot"):
            for name in ("legend", "sum", "biofix", "panes"):
                yield Static(id=name, classes="line", markup=False)
            yield Static(OUTLOOK, classes="caution", markup=False)
            yield from texts("keys")

    def on_mount(self) -> None:
        """Show the place at once, the season when it is read."""
        self._head("")
        self._read(_near(*self.key), self.year, self.trap)

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        if self.picture is not None:
            self._lines()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _read(self, choose: Choose, year: int, trap: str = "", *, said: str = "") -> None:
        """Read a season in a thread, and show it; at once where it is the one shown last.

        Args:
            choose: Chooses a block and species of those there are.
            year: Year in which the season started.
            trap: The one trap to show; empty: the mean of all.
            said: What was just done, said when the season that shows it is there.
        """

        def have(found: tuple[Key, Picture] | None) -> None:
            self.year, self.trap = year, trap
            self.key, self.picture = found or (self.key, None)
            if found is not None and not trap:
                self.picture = replace(found[1], others=self.seasons.others.get((found[0], year), ()))
            self.at = len(self.picture.points) - 1 if self.picture else -1
            self.event = None
            self.tell(said)
            self._show()

        def without() -> None:
            if self.picture is None:
                self.dismiss()

        if (known := self.seasons.known(year, choose, trap)) is not None:
            have(known)
            return
        self.tell("Reading the season …")
        read = partial(self.seasons.picture, year, choose, trap)
        self.read(read, have, "There is no season to show", without)

    def _show(self) -> None:
        self._draw()
        if self.picture is not None and not self.trap and (self.key, self.year) not in self.seasons.others:
            key, year = self.key, self.year

            def have(found: tuple[OtherYear, ...]) -> None:
                if (key, year) == (self.key, self.year) and not self.trap and self.picture is not None:
                    self.picture = replace(self.picture, others=found)
                    self._draw()

            read = partial(self.seasons.other_years, key, year)
            self.call_after_refresh(self.aside, "others", read, have, "The other years cannot be read")

    def _draw(self) -> None:
        if self.picture is not None:
            self.chart = season_chart(self.picture)
        self._lines()

    def _lines(self) -> None:
        width = max(20, self.size.width - 2)
        picture, view, height = self.picture, self.query_one(ChartView), self.size.height
        if picture is None:
            view.show(None)
            self._head(f"{self.year}")
            self.put("panes", f" {NOTHING}")
            for name in ("legend", "sum", "biofix"):
                self.put(name, "")
            return
        cursor = picture.points[self.at].on if 0 <= self.at < len(picture.points) else None
        low = replace(self.chart, panels=self.chart.panels[:1]) if height < _TALL else self.chart
        view.show(low, cursor)
        marked = first_event(picture.season) if self.event is None else self.event
        what = f"trap {sanitize(picture.trap, 12)}" if picture.trap else "mean"
        season = picture.season
        self._head(f"{season.species} {season.season}  {what}  {sanitize(picture.place, 40)}")
        marks = legend(self.chart, width)
        self.put("legend", Content(marks).highlight_regex("[\u2801-\u28ff].", style="$accent"))
        self.put("sum", counted(picture.season, self.chart.panels[-1], width))
        self.put("biofix", biofixes(picture.season, width))
        self.put("panes", panes(picture, self.at, marked, (self.size.width, 5 if height < _TALL else 9)))

    def _head(self, left: str) -> None:
        right = f"{full_day(self.session.on)} "
        if self.key in self.confirm:
            right = f"biofix to confirm, {self.confirm.index(self.key) + 1} of {len(self.confirm)} "
        self.put_head(f"Season  {left}", right)

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_block(self, step: int) -> None:
        """Another block, the same species where it has it; of biofixes to confirm, another of these."""
        here = self.key

        def choose(keys: tuple[Key, ...]) -> Key | None:
            return _near(_after([key[0] for key in keys], here[0], step), here[1])(keys)

        if here in self.confirm:
            self._read(_near(*_after(self.confirm, here, step)), self.year)
        elif self.picture is not None:
            self._read(choose, self.year)

    def action_species(self) -> None:
        """Another species of the block."""
        here = self.key
        if self.picture is not None:
            self._read(lambda keys: _after([key for key in keys if key[0] == here[0]], here), self.year)

    def action_trap(self) -> None:
        """One trap alone, or all again."""
        if self.picture is not None:
            traps = ["", *traps_of(self.seasons.record(self.year), self.key)]
            self._read(_near(*self.key), self.year, _after(traps, self.trap))

    def action_point(self, step: int) -> None:
        """Move the cursor over the rounds."""
        if self.picture is not None and self.picture.points:
            self.at = max(0, min(len(self.picture.points) - 1, self.at + step))
            self._lines()

    def action_events(self, step: int) -> None:
        """Other events of the outlook."""
        if self.picture is not None:
            found = self.picture.season
            now = first_event(found) if self.event is None else self.event
            self.event = max(0, min(now + step, len(found.events) + len(self.picture.reference) - 1))
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
        with self.saying("The biofix is not recorded"):
            recorded = self.seasons.settle(entry)
            what = f"biofix of {sanitize(recorded.block, 12)} {recorded.species}, generation {recorded.generation}"
            said = f"Saved: {what}, {spoken_day(recorded.day, self.session.on)}"
            key = _after(self.confirm, self.key) if self.key in self.confirm else self.key
            self._read(_near(*key), self.year, said=said)

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
        if recorded is not None:
            words = f"{recorded.tmax} and {recorded.tmin} {recorded.unit.sign} at {sanitize(recorded.station, 20)}"
            said = f"Saved: {words} on {spoken_day(recorded.day, self.session.on)}"
            self._read(_near(*self.key), self.year, said=said)

    async def action_treatment(self) -> None:
        """Put a treatment of this block and species on record."""
        from roundtui.app.dialogs.season import TreatmentDialog

        await self.app.push_screen(TreatmentDialog(self.session, *self.key), self._treated)

    def _treated(self, said: str | None) -> None:
        if said is not None:
            self.seasons.forget()
            self._read(_near(*self.key), self.year, said=said)

    async def action_years(self) -> None:
        """This season beside the seasons before."""
        if self.picture is None and len(self.seasons.years) > 1:
            self._read(_near(*self.key), self.seasons.years[self.seasons.years.index(self.year) - 1])
        elif self.picture is not None:
            await self.open_screen("years", self.seasons, self.year, self.key, done=self._year_chosen)

    def _year_chosen(self, year: int | None) -> None:
        if year is not None:
            self._read(_near(*self.key), year)

    def action_picture(self) -> None:
        """Write the picture into the folder."""
        if self.picture is None:
            return
        season = self.picture.season
        name = f"season {season.block} {season.species} {self.trap} {season.on}"
        with self.saying("The picture is not written"):
            drawn, image = self.seasons.write(name, self.chart)
            self.tell(f"Written: {drawn.parent.name}/{drawn.name} and {image.suffix[1:]}, in the folder")
