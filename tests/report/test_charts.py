"""A season as a chart: on a terminal without colour, on paper in black and white, and for those who cannot see it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from roundtui.app.widgets.chart import STYLES
from roundtui.report.charts import GUTTER, Band, Chart, Event, Ink, Line, Panel, Spot, draw, png, svg

FIRST = date(2031, 4, 1)
SVG = "{http://www.w3.org/2000/svg}"


def week(at: int) -> date:
    return FIRST + timedelta(days=14 + 7 * at)


CATCH = [(week(at), value) for at, value in enumerate([0, 0, 2, 6, 11, 4, 1, 0])]
SEASON = Chart(
    title="Upper A, CM, 2031",
    about="Catch rose over the band on 6 May.",
    first=FIRST,
    last=date(2031, 9, 30),
    panels=(
        Panel(
            "moths a trap a week",
            lines=(
                Line("2030", (tuple((on, value / 2) for on, value in CATCH),), past=True),
                Line("2031", (tuple(CATCH[:5]), tuple(CATCH[5:]))),
            ),
            spots=tuple(Spot(on, value, "?" if value == 4 else "o") for on, value in CATCH),
            band=Band(3, 5, "band 3 to 5"),
            share=2,
        ),
        Panel(
            "degree-days",
            lines=(Line("2031", (tuple((FIRST + timedelta(days=at), at * 10.0) for at in range(80)),)),),
        ),
    ),
    events=(
        Event(date(2031, 5, 6), "B", "biofix"),
        Event(date(2031, 7, 20), "a", "egg hatch", date(2031, 7, 12), date(2031, 7, 29)),
    ),
    breaks=(date(2031, 5, 16),),
    signs=(("o", "reading"), ("?", "suspect")),
    notes=("The product label is the law.",),
)


@pytest.mark.parametrize("size", [(80, 15), (80, 8), (120, 26), (31, 9)])
def test_it_takes_exactly_the_place_it_was_given(size: tuple[int, int]) -> None:
    lines = str(draw(SEASON, *size)).split("\n")
    assert (len(lines[0]), len(lines)) == size
    assert {len(line) for line in lines} == {size[0]}


def test_what_colour_would_say_is_said_by_marks_in_their_places() -> None:
    lines = str(draw(SEASON, 80, 17)).split("\n")
    assert lines[0].startswith("   15┤ moths a trap a week")
    banded = [line for line in lines if "╌" in line]
    assert [line[:GUTTER] for line in banded] == ["    5┤", "    3┤"]
    assert sum(line.count("o") for line in lines[1:11]) == 7
    assert [line.index("?") for line in lines if "?" in line] == [column(date(2031, 5, 20))]
    strip = next(line for line in lines if "B" in line)
    assert lines[lines.index(strip) - 1].startswith("    0┤")
    assert strip.index("B") == column(date(2031, 5, 6))
    assert re.search(r"_{3}a_{3,4}", strip)
    assert strip.index("a") == column(date(2031, 7, 20))
    assert lines[-1].split() == ["Apr", "May", "Jun", "Jul", "Aug", "Sep"]


def test_a_moved_trap_parts_the_curve() -> None:
    """Between 13 and 20 May no line is drawn; the week before there is one."""

    def between(chart: Chart, first: date, last: date) -> str:
        columns = slice(column(first) + 1, column(last))
        return "".join(line[columns] for line in str(draw(chart, 120, 30)).split("\n")[:17])

    def column(day: date) -> int:
        return GUTTER + round((120 - GUTTER - 0.5) * (day - FIRST).days / 182)

    alone = replace(SEASON, panels=(replace(SEASON.panels[0], lines=SEASON.panels[0].lines[1:]), SEASON.panels[1]))
    parted, joined = between(alone, week(4), week(5)), between(alone, week(3), week(4))
    assert "¦" in parted
    assert not set(parted) - set("¦╌?\u2800 ")
    assert set(joined) - set("¦╌?\u2800 ")


def test_the_cursor_crosses_every_panel_and_stands_out_by_itself_alone() -> None:
    """Reverse is where the keys act: the line of the round is seen without it, above its bar and its letter."""
    rows = draw(SEASON, 80, 15, cursor=week(4)).rows
    crossed = [row for row in rows[:-1] if any(ink is Ink.CURSOR for _, ink in row)]
    assert len(crossed) >= 10
    assert not [style for style in STYLES.values() if "reverse" in style]


def test_on_a_plain_console_each_curve_has_its_own_sign_and_no_week_without_catch_looks_like_a_year() -> None:
    older = tuple((on, value / 3) for on, value in CATCH)
    catch = replace(SEASON.panels[0], bars="o", lines=(*SEASON.panels[0].lines, Line("2029", (older,), past=True)))
    chart = replace(SEASON, panels=(catch, SEASON.panels[1]))
    lines = str(draw(chart, 80, 17, week(4), plain=True)).split("\n")[:11]
    curves = {char for line in lines for char in line if "\u2800" < char <= "\u28ff"}
    assert curves == {sign for sign, _ in chart.dotted.values()}
    assert "".join(lines).count(",") == 3 + 1, "three weeks, and the name"
    assert "█▄, moths a trap a week" in "\n".join(lines), "what the bars are is said beside them"
    dots = "\n".join(str(draw(chart, 80, 17)).split("\n")[:11])
    assert "█▄▁ moths a trap a week" in dots
    assert not re.search("[█▄▒?][09]|[09][█▄▒?]", dots), "no digit of a year touches a bar"
    tall = replace(catch, spots=(Spot(week(1), 15, "o"), Spot(week(3), 13.5, "o")))
    first = str(draw(replace(chart, panels=(tall, SEASON.panels[1])), 80, 17)).split("\n")[0]
    assert first.index(" █▄▁ moths") == column(week(3)) + 4, "beside no bar, and above none"


def test_a_sign_of_doubt_stands_above_its_column_which_is_as_high_as_that_of_an_undoubted_week() -> None:
    catch = replace(SEASON.panels[0], bars="o", spots=(Spot(week(1), 4, "o"), Spot(week(3), 4, "!")), lines=())
    lines = str(draw(replace(SEASON, panels=(catch, SEASON.panels[1])), 80, 17)).split("\n")[:11]
    foot = next(at for at, line in enumerate(lines) if " 0┤" in line)
    sure, doubt = ([line[column(week(at))] for line in lines[: foot + 1]] for at in (1, 3))
    at = doubt.index("!")
    assert doubt[at + 1 :] == sure[at + 1 :]
    assert sure[at + 1] in "█▄"
    assert sure[at] not in "█▄"


def column(day: date) -> int:
    return GUTTER + round((80 - GUTTER - 0.5) * (day - FIRST).days / 182)


def test_an_empty_season_can_be_drawn() -> None:
    empty = Chart("none", "nothing", FIRST, FIRST, (Panel("moths"), Panel("degree-days")))
    assert "0┤" in str(draw(empty, 60, 10))
    assert svg(empty).count("<text")


@pytest.mark.parametrize(
    ("most", "top", "ticks"), [(0, 0.1, 6), (0.3, 0.3, 4), (4.9, 5, 6), (11, 15, 4), (100, 100, 6), (2410, 3000, 4)]
)
def test_scales_end_on_round_numbers(most: float, top: float, ticks: int) -> None:
    panel = Panel("x", spots=(Spot(FIRST, most, "o"),))
    assert panel.top == pytest.approx(top)
    assert len(panel.ticks) == ticks
    assert panel.ticks[-1] == panel.top


def test_the_picture_tells_in_words_what_it_shows_and_refers_to_nothing_outside() -> None:
    picture = svg(SEASON)
    root = ElementTree.fromstring(picture)
    assert root.find(f"{SVG}title").text == "Upper A, CM, 2031"  # type: ignore[union-attr]
    assert root.find(f"{SVG}desc").text == "Catch rose over the band on 6 May."  # type: ignore[union-attr]
    words = [text.text for text in root.iter(f"{SVG}text")]
    for wanted in ("2030", "band 3 to 5", "B: biofix", "a: egg hatch", "The product label is the law."):
        assert wanted in words
    assert "?: suspect" in " ".join(filter(None, words))
    assert not re.search(r"<script|<style|@import|url\(|href|<image", picture)
    assert set(re.findall(r"#[0-9a-f]{6}", picture)) == {"#000000", "#ffffff", "#666666", "#e6e6e6"}


def test_names_from_people_stay_text() -> None:
    hostile = '<script>alert("x")</script> & [/] \u202e\x1b[31m ' + "n" * 9000
    chart = replace(SEASON, title=hostile, about=hostile, events=(Event(week(2), "a", hostile),), notes=(hostile,))
    root = ElementTree.fromstring(svg(chart))
    assert not list(root.iter(f"{SVG}script"))
    assert "\x1b" not in svg(chart)
    assert "\u202e" not in svg(chart)
    assert "\x1b" not in str(draw(replace(chart, panels=(Panel(hostile),)), 80, 12))


@pytest.mark.usefixtures("whole_pictures")
def test_a_letter_program_gets_it_as_png() -> None:
    picture = png(svg(SEASON))
    assert picture[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(picture[16:20], "big") == 1800


def test_names_of_years_that_end_alike_do_not_cover_each_other() -> None:
    panel = SEASON.panels[0]
    alike = tuple(replace(panel.lines[0], name=str(year)) for year in (2028, 2029, 2030))
    root = ElementTree.fromstring(svg(replace(SEASON, panels=(replace(panel, lines=alike),))))
    heights = sorted(
        float(text.get("y", 0)) for text in root.iter(f"{SVG}text") if text.text in {"2028", "2029", "2030"}
    )
    assert min(below - above for above, below in pairwise(heights)) >= 11
