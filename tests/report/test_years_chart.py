"""Year against year as a chart: every season in its place on the days of the one that is looked at."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise

import pytest

from roundtui.domain.programme.farm import Programme
from roundtui.domain.season.years import By, YearOf, Years
from roundtui.report.charts import Chart, draw, svg
from roundtui.report.season.years import lines_in, years_chart
from roundtui.report.text import Names
from tests.domain.test_years import year

NAMES = Names(Programme())


def chart(*seasons: YearOf, by: By = By.DATE, species: str = "CM") -> Chart:
    made = years_chart(Years(block="N", species=species, by=by, seasons=seasons), NAMES)
    assert made is not None
    return made


def test_past_seasons_stand_thinly_on_the_same_days_and_go_on_where_this_one_ends() -> None:
    """Two rounds so far this season, four in the leap year before."""
    now = year(2025, 4, 8, last=date(2025, 5, 20))
    means, totals = chart(year(2024, 1, 2, 3, 0), now).panels
    past, this = means.lines
    assert [(line.name, line.past) for line in means.lines] == [("2024", True), ("2025", False)]
    assert past.pieces == (
        tuple((date(2025, 5, 8) + timedelta(weeks=at), float(mean)) for at, mean in enumerate((1, 2, 3, 0))),
    )
    assert this.pieces == (((date(2025, 5, 8), 4.0), (date(2025, 5, 15), 8.0)),)
    assert [value for _, value in totals.lines[0].pieces[0]] == [1, 3, 6, 6]


def test_a_round_without_a_mean_and_a_moved_trap_part_the_curve() -> None:
    days = [date(2025, 5, 8) + timedelta(weeks=at) for at in range(4)]
    rounds = tuple(zip(days, (1, None, 3, 4), (False, False, False, True), strict=True))
    means, _ = chart(year(2025, 1, 2, 3, 4, rounds=rounds)).panels
    assert [[on for on, _ in piece] for piece in means.lines[0].pieces] == [[days[0]], [days[2]], [days[3]]]


def test_by_degree_days_a_round_stands_where_this_season_had_as_many() -> None:
    warm = {date(2025, 5, 8) + timedelta(days=n): 20.0 * (n + 1) for n in range(30)}
    cold = {date(2024, 5, 8) + timedelta(days=n): 10.0 * (n + 1) for n in range(60)}
    now = year(2025, 1, 5, by=By.DEGREE_DAYS, accumulated=warm)
    past = year(2024, 2, 6, 4, by=By.DEGREE_DAYS, accumulated=cold)
    means, _ = chart(past, now, by=By.DEGREE_DAYS).panels
    # 10, 80 and 150 degree-days: on the first day, and on the fourth and the eighth.
    assert [on for on, _ in means.lines[0].pieces[0]] == [date(2025, 5, 8), date(2025, 5, 11), date(2025, 5, 15)]


def test_degree_days_stand_at_the_days_on_which_they_were_reached() -> None:
    """The peak was at 200 degree-days: 25 a day until then, 10 a day afterwards, so that equal steps lie apart."""
    days = [date(2025, 5, 8) + timedelta(days=n) for n in range(15)]
    reached = {on: float(25 * (n + 1) if n < 8 else 200 + 10 * (n - 7)) for n, on in enumerate(days)}
    now = year(2025, 1, 9, 1, by=By.DEGREE_DAYS, accumulated=reached)
    assert now.peak is not None
    assert now.peak.at == 200
    made = chart(now, by=By.DEGREE_DAYS)
    *panels, axis = str(draw(made, 160, 24)).splitlines()
    highest = next(row for row in panels if any("\u2800" < char <= "\u28ff" for char in row))
    peak = [at for at, char in enumerate(highest) if "\u2800" < char <= "\u28ff"]
    assert peak[-1] - peak[0] < 5
    assert axis.index("│200") in peak, "the tick, not the middle of its words"
    for width in (30, 40, 60, 80):
        named = [int(one) for one in re.findall(r"│(\d+)", str(draw(made, width, 24)).splitlines()[-1])]
        assert len(named) > 1
        assert len({more - less for less, more in pairwise(named)}) == 1, "with little room every second or third"
    assert "Across: days of 2025." in lines_in(made)
    assert "Across" not in lines_in(chart(year(2025, 1, 9, 1)))


def test_it_can_be_drawn_as_text_and_as_svg_whatever_the_names_are() -> None:
    made = chart(year(2024, 1, 2), year(2025, 3, 4), species="<script>[red]")
    assert len(draw(made, 80, 20).rows) == 20
    assert "<script>" not in svg(made)
    assert "2025: highest 4.0 a trap and week on 2025-05-15, 7.0 a trap in all." in made.about


@pytest.mark.parametrize("seasons", [(), (year(2025),)])
def test_nothing_to_draw_is_no_chart(seasons: tuple[YearOf, ...]) -> None:
    assert years_chart(Years(block="N", species="CM", by=By.DATE, seasons=seasons), NAMES) is None
