"""Year against year in a letter: each block's season so far beside the seasons before it, up to the same day."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from roundtui.domain.plain import plain
from roundtui.domain.verdicts import BlockRow
from roundtui.domain.years import Against, YearOf, Years
from roundtui.report.letters.letter import LetterSeason, LetterYears, Line, Place, line
from roundtui.report.letters.material import MOST_PAST, Material
from roundtui.report.letters.words import count, rate, short_figure, species_name, spoken_days
from roundtui.report.numbers import listed
from roundtui.report.words import Names

_NAMED = 2
"""Reasons that are told of a season that cannot be compared; the rest are counted."""
_REASON_WIDTH = 120


def years_beside(material: Material, names: Names, farm: str) -> tuple[LetterYears, ...]:
    """Every block and species of a farm beside its seasons before.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        farm: Code of the farm.

    Returns:
        Nothing where this season is the first one on record.
    """
    if len(material.seasons) < 2:
        return ()
    found = ((row, material.years.get((row.block, row.species))) for row in material.rows.get(farm, ()))
    return tuple(_block(material, names, row, years) for row, years in found if years is not None)


def _block(material: Material, names: Names, row: BlockRow, years: Years) -> LetterYears:
    now = years.now
    place: Place = ("years", row.block, row.species)
    edges = row.band or ()
    seasons = []
    newest = now.rounds[-1][0] if now is not None and now.rounds else None
    if now is not None:
        past = {year.season: year for year in years.seasons[:-1]}
        seasons.append(_this(now, place, edges))
        seasons += [_past(past[one.season], one, place, edges) for one in years.against]
    return LetterYears(
        block=names.block(row.block),
        species=species_name(row.species),
        on=short_figure(newest, (*place, "newest", "on")) if newest is not None else None,
        seasons=tuple(seasons),
        notes=(*_why_not(seasons), *_missing(material, {year.season for year in years.seasons})),
    )


def _this(now: YearOf, place: Place, edges: tuple[Fraction, ...]) -> LetterSeason:
    own = (*place, "seasons", str(now.season))
    peak = now.peak_by(now.last)
    return LetterSeason(
        season=count(now.season, (*own, "season")),
        first_catch=_first_catch(now, own),
        peak=_peak(peak, own, edges),
        total=rate(now.total, (*own, "total")),
        weeks=_weeks((now.weeks_over, now.weeks_judged), own),
        whole=None,
        why_not="",
    )


def _past(year: YearOf, one: Against, place: Place, edges: tuple[Fraction, ...]) -> LetterSeason:
    then, own = (*place, "against", str(one.season)), (*place, "seasons", str(one.season))
    highest = year.peak_by(year.last)
    named = [plain(spoken_days(words), _REASON_WIDTH) for words in one.why_not[:_NAMED]]
    more = len(one.why_not) - _NAMED
    return LetterSeason(
        season=count(one.season, (*then, "season")),
        first_catch=_first_catch(year, own),
        peak=_peak(one.peak, then, edges),
        total=rate(one.total, (*then, "total")),
        weeks=_weeks(one.weeks, then),
        whole=line(*_peak(highest, own, edges).parts, "; ", rate(year.total, (*own, "total")), " in all"),
        why_not=listed([*named, f"{more} more"] if more > 0 else named) if named else "",
    )


def _first_catch(year: YearOf, own: Place) -> Line:
    found = year.first_catch
    return line(short_figure(found, (*own, "first_catch.on"))) if found is not None else line("none")


def _peak(found: tuple[date, Fraction] | None, own: Place, edges: tuple[Fraction, ...]) -> Line:
    if found is None:
        return line("none")
    on, mean = found
    return line(rate(mean, (*own, "peak.per_week"), edges), " on ", short_figure(on, (*own, "peak.on")))


def _weeks(found: tuple[int, int], own: Place) -> Line:
    over, judged = found
    if not judged:
        return line("none judged")
    return line(count(over, (*own, "weeks_over")), " of ", count(judged, (*own, "weeks_judged")))


def _why_not(seasons: Iterable[LetterSeason]) -> Iterable[str]:
    """Reasons, each once for all the seasons that share it."""
    said: dict[str, list[str]] = {}
    for one in seasons:
        if one.why_not:
            said.setdefault(one.why_not, []).append(str(one.season))
    for why, shared in said.items():
        yield f"* Not to be compared with {listed(shared)}: {why}."


def _missing(material: Material, there: set[int]) -> Iterable[str]:
    """Seasons of the last few years of which there is nothing to show; years before the first on record are none."""
    first, now = material.seasons[0], material.seasons[-1]
    for season in range(now - 1, max(first, now - MOST_PAST) - 1, -1):
        if season not in material.seasons:
            yield f"{season}: no reading is on record."
        elif season not in there:
            yield f"{season}: no trap of it hung here."
