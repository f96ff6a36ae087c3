"""Random seasons with treatments in them, watched twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.figures import figures
from roundtui.domain.figures.integrity import Integrity, Spell
from roundtui.domain.figures.treatments import WatchVerdict, watch
from roundtui.domain.programme.farm import Trap

from . import naive_figures as naive
from . import naive_watch
from .test_figures_property import FAR, FIRST, NOON, Season, bad_nights, seasons

DAYS = st.lists(st.integers(12, 28).map(lambda number: FIRST + timedelta(days=number)), min_size=1, max_size=2)
STEPS = st.sampled_from((1, 2, 3, 5, 6, 7, 7, 7, 7, 8, 9, 12))


@st.composite
def falls(draw: st.DrawFn) -> tuple[Season, list[date]]:
    """Seasons in which the catch changes on the day of a treatment; now and then a trap is down or moths stay in it."""
    treated = draw(DAYS)
    levels = draw(st.sampled_from(((0, 0), (0, 2), (2, 0), (2, 1), (6, 6), (6, 5), (6, 3), (6, 1), (9, 0), (12, 5))))
    traps = {label: Trap(label, "B", "CM", hung_on=FIRST) for label in ("A1", "A2", "A3")[: draw(st.integers(1, 3))]}
    visits: dict[str, list[Visit]] = {label: [] for label in traps}
    for label, rows in visits.items():
        on = FIRST
        while (on := on + timedelta(days=draw(STEPS))) <= FIRST + timedelta(days=FAR + 7):
            level = levels[on > treated[0]]
            number = len(rows)
            down = draw(st.integers(0, 14)) == 0
            rows.append(
                Visit(
                    trap=label,
                    read_on=on,
                    count=None if down else max(0, level + draw(st.integers(-1, 1)) * min(level, 2)),
                    no_reading=draw(st.sampled_from((NoReading.DOWN, NoReading.SKIPPED))) if down else None,
                    cleared=down or draw(st.integers(0, 9)) > 0,
                    recorded_at=NOON + timedelta(minutes=number),
                    id=f"{number:03}",
                )
            )
    spells = {"A1": (Spell(FIRST, FIRST + timedelta(days=9)),)} if draw(st.integers(0, 4)) == 0 else {}
    return Season(traps, visits, spells, FIRST + timedelta(days=draw(st.integers(25, FAR + 7)))), treated


@given(falls(), st.sets(st.integers(0, 12)))
def test_two_watches_of_a_catch_that_changes_agree(story: tuple[Season, list[date]], renewed: set[int]) -> None:
    both(*story, renewed)


@given(seasons(), DAYS, st.sets(st.integers(0, 40)))
def test_two_watches_of_any_season_agree(season: Season, treated: list[date], renewed: set[int]) -> None:
    both(season, treated, renewed)


def both(season: Season, treated: list[date], renewed: set[int]) -> None:
    on = season.on
    upto = {
        label: [
            replace(visit, lure="CM1" if at in renewed else None)
            for at, visit in enumerate(rows)
            if visit.read_on <= on
        ]
        for label, rows in season.visits.items()
    }
    integrity = Integrity(troubles=(), spells=season.spells)
    series = [figures.series((trap,), upto[label], integrity)[0] for label, trap in season.traps.items()]
    heaps = {
        label: naive.heaps(trap, upto[label], on, bad_nights(season.spells.get(label, ())))
        for label, trap in season.traps.items()
    }
    for day in {one for one in treated if one <= on}:
        found = watch(("B", "CM"), day, series, upto, on=on, treated=treated)
        seen = naive_watch.sample(heaps, treated, day, on)
        assert (found.verdict is WatchVerdict.EARLY, found.before.per_week, found.after.per_week) == (
            seen.early,
            seen.before,
            seen.after,
        )
        assert (found.before.moths, found.after.moths) == seen.moths
        assert (found.before.trap_days, found.after.trap_days) == seen.nights
        assert (list(found.traps), found.awaited, found.fell_before) == (seen.traps, seen.awaited, seen.fell_before)
        changed = {(label, visit.read_on) for label, rows in upto.items() for visit in rows if visit.lure}
        assert set(found.lures) <= {(label, on) for label, on in changed if on >= day and label in found.traps}
