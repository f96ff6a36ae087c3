"""Every screen can be read in every sample, and without colour."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from rich.color import Color
from textual.color import Color as Shade
from textual.theme import Theme

from roundtui.app.app import RoundtuiApp
from roundtui.app.themes import CONTRAST, DARK, LIGHT, SAMPLES, SIXTEEN, colourless, plain, rail
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.entries import Visit
from roundtui.report.bars import bar, columns, trend, way
from roundtui.report.charts import draw
from roundtui.report.figures.summary import ATTENTION_MARKS, block_legend
from roundtui.report.figures.treatments import MARKS as TREATED
from roundtui.report.maps import area_map, block_map, spots, trap_lines
from roundtui.report.sampling import MARKS as SAMPLED
from tests.app.folder import DAY, TRAPS, open_session, past, screen_text
from tests.report.test_charts import SEASON, week
from tests.report.test_maps import ON, made, programme

Start = Callable[..., RoundtuiApp]
SCREENS = (["enter"], [*"99", "enter", *"4", "x"], ["x", "r"], ["f"], ["escape", "s"], ["enter"])
"""Keys from one screen state to the next: first trap, an unlikely count, a reason, stages, summary, season."""
LEAST, ENHANCED = 4.5, 7
"""Contrast of text, as WCAG 2.2, criteria 1.4.3 and 1.4.6, ask for."""
PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
MARKS = {
    "over the threshold, and past it": "▲»",
    "within": "◆",
    "below": "▽",
    "cannot tell": "?",
    "no rule fits": "=",
    "not read, in the week of a curve too": "○·",
    "needs a look": "!",
    "highest trap": "*",
    "sum since hanging": "+",
    "weeks running": "/",
    "rests on an estimate": "~",
    "weak evidence": "w",
    "read, on the map of a route": "o",
    "a line to read against: threshold, axis, edge": "|╌─│┃━┤├┬┼┌┐┏┓┗┛",
    "filled": "█",
    "half filled": "▌▄",
    "left to fill": "░",
    "where one stands, what holds": "▒●",
    "up, and on upward": "↑^",
    "down": "↓",
    "left": "←",
    "right, as the pointer at the marked row": "→>",
    "a curve": "⠁⣿",
    "the first curve beside it": "⠂",
    "the second": "⠒",
    "the third": "⠢",
    "nothing caught, in a chart on a plain console": ",",
    "walked from trap to trap": "•",
    "trap moved": "¦",
    "stage reached": "R",
    "stage expected": "E",
    "days on which it may be expected": "_",
    **dict(zip(("nothing", *"12345"), "▁▂▃▅▆▇", strict=True)),
}
"""What each mark of a screen means."""


def luminance(color: Color) -> float:
    parts = [part / 255 for part in color.get_truecolor()]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    pale, deep = sorted((luminance(one), luminance(other)), reverse=True)
    return (pale + 0.05) / (deep + 0.05)


def faint(app: RoundtuiApp, least: float) -> list[str]:
    """Pieces of text that cannot be read well."""
    found = []
    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            if text.strip(" ▁▂▃▄▅▆▇█▔▏▎▍▌▋▊▉│┃━") and style and style.color and style.bgcolor:
                seen = contrast(style.color, style.bgcolor)
                if seen < least:
                    found.append(f"{text!r} {seen:.1f}")
    return found


@pytest.mark.parametrize("no_color", [False, True])
@pytest.mark.parametrize("sample", [sample.name for sample in SAMPLES if not sample.ansi])
async def test_all_text_stands_out_from_its_ground(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch, sample: str, no_color: bool
) -> None:
    if no_color:
        monkeypatch.setenv("NO_COLOR", "1")
    else:
        monkeypatch.delenv("NO_COLOR", raising=False)
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=9) for label in TRAPS["C"]))
    past(session, Visit(trap="C1", read_on=DAY, count=7), scout="Ben")
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        app.theme = sample
        await app.workers.wait_for_complete()
        await pilot.pause()
        least = ENHANCED if sample == CONTRAST.name else LEAST
        assert faint(app, least) == []
        for keys in SCREENS:
            await pilot.press(*keys)
            await pilot.pause()
            assert faint(app, least) == []


@pytest.mark.parametrize(("theme", "least"), [(DARK, LEAST), (LIGHT, LEAST), (CONTRAST, ENHANCED)])
def test_each_ink_of_a_theme_stands_out_from_each_ground(theme: Theme, least: float) -> None:
    colors = theme.to_color_system().generate() | theme.variables
    inks = ("foreground", "text-muted", "text-warning", "text-error", "text-accent", "text-success")
    pairs = [(ink, ground) for ink in inks for ground in ("background", "surface", "panel")]
    pairs += [("bar-text", "primary"), ("input-selection-foreground", "input-selection-background")]
    for ink, ground in pairs:
        under = Shade.parse(colors["panel"]) + Shade.parse(colors[ground])
        over = colors[ink]
        auto = over.removeprefix("auto ").removesuffix("%")
        shade = under.get_contrast_text(int(auto) / 100) if auto != over else Shade.parse(over)
        assert contrast((under + shade).rich_color, under.rich_color) >= least, (ink, ground)
    field, picked = (Shade.parse(colors[part]) for part in ("panel", "input-selection-background"))
    assert contrast((field + picked).rich_color, field.rich_color) > 1.5, "what is typed over is seen"


@pytest.mark.parametrize("theme", [DARK, LIGHT, CONTRAST])
def test_without_colour_nothing_urgent_is_paler_than_the_rest(theme: Theme) -> None:
    colors = colourless(theme).to_color_system().generate() | colourless(theme).variables
    ground, text = (Shade.parse(colors[part]) for part in ("background", "foreground"))
    for ink in ("text-warning", "text-error", "text-accent", "warning", "error"):
        assert contrast(Shade.parse(colors[ink]).rich_color, ground.rich_color) >= contrast(
            text.rich_color, ground.rich_color
        )


async def test_the_cursor_of_the_count_is_seen_in_16_colours_on_any_ground(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        app.theme = SIXTEEN.name
        await pilot.press("enter")
        await pilot.pause()
        field = app.screen.query_one(CountInput)
        assert not field.get_component_rich_style("input--cursor").reverse, "the stage is asked for, and has the focus"
        await pilot.press("enter")
        style = app.screen.query_one(CountInput).get_component_rich_style("input--cursor")
        assert style.reverse
        assert style.color is not None
        assert style.bgcolor is not None
        assert style.color.is_default
        assert style.bgcolor.is_default


def test_a_mark_means_one_thing_on_a_plain_console_too() -> None:
    means: dict[str, set[str]] = {}
    for meaning, marks in MARKS.items():
        for mark in marks:
            means.setdefault(plain(mark), set()).add(meaning)
    assert {mark: sorted(meanings) for mark, meanings in means.items() if len(meanings) > 1} == {}
    assert plain("○·") == "xx", "what is not read has one mark, in a table and in a curve"
    assert not any(plain(mark).isupper() for marks in MARKS.values() for mark in marks if not mark.isascii()), (
        "no label"
    )


WORDED = set("()[]%'\",.:;-–—−×“”‘’°… \n\u2800\u00a0")
"""What words are written with, cut ones too, and what is left blank."""


def pictures_of_characters() -> Iterator[str]:
    """What each drawer draws, with all that it can show."""
    values = [None, *map(Fraction, (0, 1, 2, 3, 4, 5, 30))]
    yield from (row for row, _ in columns(values, (Fraction(3), Fraction(5)), 4, 5))
    yield way([True, True, False, False, False], lambda place: place == 2, 2, 40)
    yield from (bar(value, (Fraction(3), Fraction(5))) for value in values)
    yield trend(values)
    yield rail(9, 20, 5, 3)
    for chart in (SEASON, replace(SEASON, panels=(replace(SEASON.panels[0], bars="o"), SEASON.panels[1]))):
        yield from (str(draw(chart, 80, 17, week(4), plain=plain)) for plain in (False, True))
        yield "".join(sign for sign, _ in chart.legend())
    traps = programme(edge=True)  # One of its traps is not read, one has no place.
    summary = made(traps, {"A1": 4})
    found = spots(traps, summary.history, ON, {"N"})
    yield from block_map(found, 80, 15)
    yield from (said for said, _ in area_map(found, summary.summary.blocks, ["A1", "A3"], "N", (80, 15)))
    yield from trap_lines(traps, summary.history, ON, "N")
    yield from ("".join(one) for one in (*ATTENTION_MARKS.values(), *SAMPLED.values(), *TREATED.values()))
    yield block_legend(summary.summary.blocks)


def test_each_drawer_has_its_marks_in_the_table() -> None:
    """Of charts, maps, weeks, ways, bars; and whatever a picture of a screen shows."""
    marks = {mark for marks in MARKS.values() for mark in marks}
    drawn = "".join(pictures_of_characters())
    assert {*"▒█▄▁▇^░|»·○o•!┌╌│┤¦⠂"} <= set(drawn), "all of it is drawn"
    shown = "".join(picture.read_text(encoding="utf-8") for picture in PICTURES.glob("*.svg"))
    of_screens = {char for char in shown if not char.isascii()}
    assert {one for one in {*drawn, *of_screens} - marks - WORDED if not (one.isalnum() or "⠀" < one <= "⣿")} == set()


def test_a_cut_ends_in_two_points_on_a_plain_console_and_columns_hold() -> None:
    assert plain("Mossbarrow Orcha…  CM  199 °F-days") == "Mossbarrow Orch..  CM  199 F-days "
    assert plain(" 199 °F-days, at 81 °F █▌│ 30 °C  5│ 81°F") == " 199 F-days, at 81 F   #:| 30 C   5| 81 F"
    assert plain("Reading the season …") == "Reading the season.."


def test_a_plain_console_has_every_character_of_every_picture() -> None:
    shown = {char for picture in PICTURES.glob("*.svg") for char in picture.read_text(encoding="utf-8")}
    assert len(shown) > 100
    assert plain("".join(shown)).isascii()


async def test_in_16_colours_a_menu_leaves_the_upper_half_and_a_dialog_stands_alone(folder: Path, start: Start) -> None:
    """Nothing can be dimmed there: keys of the screen behind would look as if they worked."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        app.theme = SIXTEEN.name
        await pilot.press("enter", "m")
        await pilot.pause()
        assert "Fruit stage" in screen_text(app)
        await pilot.press("escape", "t")
        await pilot.pause()
        shown = screen_text(app)
        assert "Spray reported" in shown
        assert "Fruit stage" not in shown
        assert "m more" not in shown


async def test_where_a_dialog_asks_over_another_the_ground_is_dimmed_once(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "t", "x", "escape")
        dims = [0 < screen.styles.background.a < 1 for screen in app.screen_stack]
        assert "Leave without saving?" in screen_text(app)
        assert dims == [False, False, False, True], "the form as well as what it stands over"
        await pilot.press("escape")
        assert [0 < screen.styles.background.a < 1 for screen in app.screen_stack] == [False, False, True]


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_in_16_colours_a_line_sets_off_the_foot_of_each_screen_and_dialog(
    folder: Path, start: Start, size: tuple[int, int]
) -> None:
    app = start(folder)
    async with app.run_test(size=size) as pilot:
        app.theme = SIXTEEN.name
        seen = set()
        for keys in ("", "e", "escape n", "escape l", "escape s", "escape r", "escape t", "escape d", "escape enter"):
            await pilot.press(*keys.split())
            await app.workers.wait_for_complete()
            await pilot.pause()
            foot = app.screen.query_one("#keys").region.y
            first, second = screen_text(app).splitlines()[foot : foot + 2]
            assert first.startswith("─"), (app.screen, first)
            assert first.endswith("─") or len(first) >= size[0] - 1, (app.screen, first)
            assert "─" not in second
            seen.add(type(app.screen))
        assert len(seen) == 9, "each on a screen of its own"
        await pilot.press("t")
        await pilot.pause()
        above, foot = screen_text(app).split("Enter next")[0].splitlines()[-2:]
        assert set(above.strip("┃ ")) == {"─"}
        assert not foot.strip("┃ ")
        app.theme = DARK.name
        await pilot.pause()
        assert not screen_text(app).split("Enter next")[0].splitlines()[-2].strip("┃ ─")
        assert "─" not in screen_text(app).splitlines()[-2]


async def test_a_field_has_edges_in_every_theme(folder: Path, start: Start) -> None:
    """Its ground is near in tone to that of the page; the one that takes the keys has heavy ones."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "t")
        for theme in SAMPLES:
            app.theme = theme.name
            await pilot.pause()
            picked = app.screen.query("Input").first().get_component_rich_style("input--selection")
            assert picked.reverse if theme is SIXTEEN else picked.underline, "without colour too"
            rows = [line for line in screen_text(app).splitlines() if "Pest" in line or "Day, blank" in line]
            assert [row.count("┃") - 2 for row in rows] == [0, 2]
            assert [row.count("│") for row in rows] == [2, 0]


def test_a_scroll_bar_says_by_its_characters_whether_lines_are_above_and_below() -> None:
    assert rail(6, 12, 6, 0) == "███│││"
    assert rail(6, 12, 6, 6) == "│││███"
    assert rail(6, 60, 6, 1) == "│█││││", "one line is above"
    assert rail(6, 7, 6, 0) == "█████│", "one line is below"
    assert rail(6, 8, 6, 1) == "│████│"
    assert rail(2, 6, 1, 0) == "█│", "little room"
    assert not rail(6, 6, 0, 0).strip(), "all is shown"
