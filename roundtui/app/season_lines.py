"""What the Season screen says around its chart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain
from roundtui.report.season_words import biofix_words, event_words, lettered, point_words, sum_words

if TYPE_CHECKING:
    from roundtui.domain.outlook import EventOutlook
    from roundtui.domain.season_view import BlockSeason
    from roundtui.report.charts import Chart
    from roundtui.report.season_chart import Picture

NOTHING = "Nothing to show: no trap hung in this season. Set up traps in traps.csv; y shows the year before."
"""Where no block has a trap."""
_BIOFIXES = 2
"""Generations whose biofix stands on the screen, the newest; the dialog has all."""


def head(picture: Picture) -> str:
    """Which species, year, block, and traps."""
    what = f"trap {plain(picture.trap, 12)}" if picture.trap else "mean"
    return f"{picture.season.species} {picture.season.season}  {plain(picture.place, 40)}  {what}"


def legend(chart: Chart, width: int) -> str:
    """What the marks mean."""
    return plain("  ".join(f"{sign} {words}" for sign, words in chart.legend()), width)


def point(picture: Picture, at: int, width: int) -> str:
    """The round under the cursor, on two lines at most."""
    if 0 <= at < len(picture.points):
        words = point_words(picture.points[at], picture.season)
    else:
        words = f"No trap was read. {sum_words(picture.season, picture.season.on)}"
    return plain(words, width * 2 - 4)


def biofixes(season: BlockSeason, width: int) -> str:
    """The newest biofixes, a line each."""
    rows = [plain(biofix_words(row), width) for row in season.biofixes[-_BIOFIXES:]]
    return "\n".join(rows or ["Biofix: nobody has a rule for this species"])


def first_event(events: Sequence[EventOutlook]) -> int:
    """The event that stands first at first: the last one reached."""
    return max((at for at, one in enumerate(events) if one.reached_on is not None), default=0)


def events(season: BlockSeason, first: int, room: int, width: int) -> str:
    """As many events as have room, from one on; where there is room for all, all."""
    found = lettered(season.events)
    if not found:
        return "Outlook: nobody has a model of this species"
    first = max(0, min(first, len(found) - room))
    return "\n".join(plain(f"{one.letter} {event_words(one)}", width) for one in found[first : first + room])
