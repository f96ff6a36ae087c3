"""Every screen can be read in every sample, and without colour."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from rich.color import Color
from textual.color import Color as Shade
from textual.theme import Theme

from roundtui.app.app import RoundtuiApp
from roundtui.app.themes import CONTRAST, DARK, LIGHT, SAMPLES, SIXTEEN, colourless, plain, rail
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.entries import Visit
from tests.app.folder import DAY, TRAPS, open_session, past, screen_text

Start = Callable[..., RoundtuiApp]
SCREENS = (["enter"], [*"99", "enter", *"4", "x"], ["x", "r"], ["f"], ["escape", "s"], ["enter"])
"""Keys from one screen state to the next: first trap, an unlikely count, a reason, stages, summary, season."""
LEAST, ENHANCED = 4.5, 7
"""Contrast of text, as WCAG 2.2, criteria 1.4.3 and 1.4.6, ask for."""
PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
MARKS = {
    "over the threshold": "▲",
    "within": "◆",
    "below": "▽",
    "cannot tell": "?",
    "no rule fits": "=",
    "not read": "○x",
    "no reading in that week": "·",
    "needs a look": "!",
    "highest trap": "*",
    "sum since hanging": "+",
    "weeks running": "/",
    "rests on an estimate": "~",
    "weak evidence": "w",
    "read, on the map of a route": "o",
    "past the threshold": "»",
    "the threshold": "|",
    "filled": "█",
    "half filled": "▌▄",
    "left to fill": "░",
    "where one stands": "▒●",
    "up, and on upward": "↑^",
    "down": "↓",
    "left": "←",
    "right, as the pointer at the marked row": "→>",
    "curve of another season": "⠁⣿",
    "level of a threshold": "╌",
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


def test_a_cut_ends_in_two_points_on_a_plain_console_and_columns_hold() -> None:
    assert plain("Mossbarrow Orcha…  CM  199 °F-days") == "Mossbarrow Orch..  CM  199  F-days"
    assert plain("Reading the season …") == "Reading the season.."


def test_a_plain_console_has_every_character_of_every_picture() -> None:
    shown = {char for picture in PICTURES.glob("*.svg") for char in picture.read_text(encoding="utf-8")}
    assert len(shown) > 100
    assert plain("".join(shown)).isascii()


async def test_what_stands_behind_a_dialog_is_seen_in_16_colours(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        app.theme = SIXTEEN.name
        await pilot.press("enter", "m")
        await pilot.pause()
        assert "Fruit stage" in screen_text(app)


def test_a_scroll_bar_says_by_its_characters_whether_lines_are_above_and_below() -> None:
    assert rail(6, 12, 6, 0) == "███│││"
    assert rail(6, 12, 6, 6) == "│││███"
    assert rail(6, 60, 6, 1) == "│█││││", "one line is above"
    assert rail(6, 7, 6, 0) == "█████│", "one line is below"
    assert rail(6, 8, 6, 1) == "│████│"
    assert rail(2, 6, 1, 0) == "█│", "little room"
    assert not rail(6, 6, 0, 0).strip(), "all is shown"
