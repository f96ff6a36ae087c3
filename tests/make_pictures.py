"""Pictures of every screen state, made by pressing keys in the real app on the sample farm.

python -m tests.make_pictures               writes docs/pictures/*-80x24-dark.svg and docs/pictures.md
python -m tests.make_pictures THEME ...     writes build/pictures/*.svg, in three sizes
python -m tests.make_pictures THEME ... --size 80x24 --to FOLDER --only "plan|stock"

Themes: dark, light, contrast, no-color, sixteen, plain. Look at every picture before a screen's change is committed.
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import tempfile
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from itertools import count
from pathlib import Path
from sqlite3 import OperationalError

from textual.filter import LineFilter, Monochrome

from roundtui.app.app import RoundtuiApp
from roundtui.app.screen import REST_SECONDS, show_error
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.themes import CONTRAST, DARK, LIGHT, SIXTEEN, PlainGlyphs, colourless
from roundtui.store.demo import Demo, prepare_demo
from roundtui.store.failures import translated
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.session import Session
from tests.app.settle import install, settle
from tests.observations_pictures import OBSERVATION_SHEETS
from tests.season_pictures import SEASON_STATES
from tests.sheet_pictures import SHEET_STATES

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "pictures"
"""Pictures that a page shows."""
OTHERS = ROOT / "build" / "pictures"
"""Other sizes and themes, which are made when somebody wants to see them."""
SIZES = ((80, 24), (120, 36), (60, 20))
WIDEST = (160, 45)
"""Taken only where it is asked for."""
THEMES = {"dark": DARK.name, "light": LIGHT.name, "contrast": CONTRAST.name, "no-color": DARK.name}
THEMES |= {"sixteen": SIXTEEN.name, "plain": DARK.name}


@dataclass(frozen=True)
class State:
    """A screen state: the keys that lead to it from the one before, and what to look for in it."""

    name: str
    """Empty: no picture is taken, but what is read beside the app is waited for."""
    keys: Sequence[str]
    look_for: str
    do: Callable[[RoundtuiApp], object] | None = None


def _fail(app: RoundtuiApp) -> None:
    show_error(
        app,
        "K3 is not recorded",
        translated(OperationalError("database is locked"), Path("roundtui.db")),
        app.session.ticks,
    )


def _ask_name(app: RoundtuiApp) -> None:
    from roundtui.app.dialogs.form import LineDialog

    app.push_screen(LineDialog("Who is scouting?", "Name", fault=lambda _: "", hint="The name stands on every entry."))


def _read_on(app: RoundtuiApp) -> None:
    """The summary from what stands after treatments on."""
    page, tables = app.screen.query_one("#page"), app.screen.query_one("#tables")
    lines = range(page.virtual_size.height)
    page.scroll_to(
        y=next(y for y in lines if tables.render_line(y).text.startswith("Post-treatment check")), animate=False
    )


STATES = (
    State("name", [], "the question who is scouting, asked once", _ask_name),
    State("desk", [*"Perrin", "enter"], "the due round marked by `>`; traps past a week, questions with `!`, upkeep"),
    State("menu", ["m"], "every place by its letter"),
    State("stage", ["escape", "enter"], "last week's stage above the count, the entry check, the keys of the stage"),
    State("stages", ["f"], "the whole list, its mark on last week's stage"),
    State("walk", ["escape", "enter", *"4l"], "the count, its flag, last readings, what is left"),
    State("lure", ["m", "4"], "own lots first, other species last; the count still beside the field"),
    State("unlikely", ["1", "enter", *"400", "enter"], "the entry before, marked `! unlikely`"),
    State("correct", ["z"], "the old value beside the field"),
    State("no-reading", ["escape", "x"], "the seven reasons with letter and digit"),
    State("note", ["escape", "n", *"half under leaves"], "the note in the field, its keys below"),
    State("error", ["escape"], "title, message, what to do next", _fail),
    State("keys", ["escape", "f1"], "all keys"),
    State("guide", ["escape", "f2"], "the steps of a round"),
    State("", ["escape", *["3", "enter"] * 16], ""),
    State("done", [], "the round is done: what it comes to, which blocks are over, its entries"),
    State("summary", ["enter"], "the number each rule looks at, as a bar up to its threshold; below, the marked row"),
    State("map", ["3"], "the marked block: rows along the foot, trees down the side, each trap with its catch"),
    State("calls", ["2"], "whom to call, the most urgent first, with phone; ticked when it is made"),
    State("call", ["c"], "the farms with their phone, how, by, on, and what Save saves"),
    State(
        "replay",
        [*["escape"] * 3, "down", "r", "right", "right"],
        "the route with what stood then, the entry among its neighbours, who and when, its block first with `was`",
    ),
    State("correct-entry", ["z", "0", "enter", *"smudge"], "the history of the entry, the entry as typed, the reason"),
    State("correct-asked", ["enter", "enter"], "what it changes, `!` before a new status, `y` for yes"),
    State("question", ["y", "q", *"was it wet?"], "what was asked so far, the line, what Save saves"),
    State(
        "corrected",
        ["enter", "enter"],
        "`asked, corrected` in the list, `!` before their words, what was saved in place of the keys",
    ),
    State("entry", ["h"], "what holds has its dot; who, when and why"),
    State("past", ["escape", "s"], "PAST in the bar and above everything"),
    State("conflicts", ["escape", "m", "o"], "two entries side by side, each with its key and what keeping it changes"),
)


@dataclass(frozen=True)
class Sitting:
    """States that follow each other on a fresh farm."""

    states: Sequence[State]
    on: date | None = None
    """Day of the sitting; None: the sample's running day."""

    def only(self, pattern: str) -> Sitting:
        """Its states up to the last whose name has a pattern; of the others no picture is taken."""
        wanted = [at for at, one in enumerate(self.states) if one.name and re.search(pattern, one.name)]
        last = wanted[-1] + 1 if wanted else 0
        states = (one if at in wanted else replace(one, name="") for at, one in enumerate(self.states[:last]))
        return replace(self, states=tuple(states))


OBSERVATION_CHANGES = {"after-treatments": _read_on}
"""What is done after the keys of a state."""
SITTINGS = (
    Sitting(STATES),
    *(Sitting([State(*one) for one in states]) for states in (SHEET_STATES, SEASON_STATES)),
    *(
        Sitting(
            [State(*one, OBSERVATION_CHANGES.get(one[0])) for one in states],
            date.fromisoformat(day) if day else None,
        )
        for day, states in OBSERVATION_SHEETS
    ),
)
WORKERS = {"due", "ahead", "others", "plan", "read", "against"}
"""What is read beside the app, and waited for."""


def wear(app: RoundtuiApp, theme: str, own: Sequence[LineFilter]) -> None:
    """Give an app a theme, as the terminal it is made for would."""
    app.register_theme(colourless(DARK) if theme == "no-color" else DARK)
    app.theme = THEMES[theme]
    worn = {"plain": [PlainGlyphs()], "no-color": [Monochrome()]}
    app._filters[:] = [*own, *worn.get(theme, [])]
    app.refresh_css(animate=False)
    # What stands behind a dialog keeps its drawn lines otherwise.
    for screen in app.screen_stack:
        for widget in screen.walk_children(with_self=True):
            widget._styles_cache.clear()
            widget.refresh()


async def take(themes: Sequence[str], size: tuple[int, int], sitting: Sitting, demo: Demo, to: Path) -> None:
    """States of one sitting in one size, each in all themes."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "farm"
        shutil.copytree(demo.folder, folder)
        on = sitting.on or demo.on
        conn = open_folder(folder, now=datetime.combine(on, time(9), UTC)).conn
        seconds = count(0.0, 1.0)
        session = Session(
            folder,
            conn,
            on=on,
            device="truck",
            scout="Perrin Alderquist",
            office=lambda: read_office(folder),
            clock=lambda: datetime.combine(on, time(9), UTC),
            ticks=lambda: next(seconds),
        )
        app = RoundtuiApp(session)
        own = list(app._filters)
        wear(app, themes[0], own)
        async with app.run_test(size=size) as pilot:
            for state in sitting.states:
                keys = ["space" if key == " " else key for key in state.keys]
                await pilot.press(*keys)
                if state.do is not None:
                    state.do(app)
                # What is looked up beside the keys begins where they rest.
                await settle(soon=2 * REST_SECONDS)
                while due := [w for w in app.workers if w.name in WORKERS and not w.is_finished]:
                    await app.workers.wait_for_complete(due)
                    await pilot.pause()
                # The desk reads what is ahead last, once it has been drawn.
                for _ in range(250):
                    if not isinstance(app.screen, DeskScreen) or app.screen.ahead:
                        break
                    await pilot.pause(0.02)
                await pilot.pause()
                if not state.name:
                    continue
                for theme in (*themes[1:], themes[0]):  # The first one again last, for the keys that follow.
                    if len(themes) > 1:
                        wear(app, theme, own)
                        await pilot.pause()
                    _write(app, to / f"{state.name}-{size[0]}x{size[1]}-{theme}.svg")
        conn.close()


def _write(app: RoundtuiApp, path: Path) -> None:
    path.write_text(_offline(app.export_screenshot(title="roundtui")), encoding="utf-8")


def _demo(scratch: Path) -> Demo:
    """The sample farm, its entries made on a laptop whose name says nothing of this machine."""
    os.environ["XDG_STATE_HOME"] = str(scratch)
    name = scratch / "roundtui" / "device"
    name.parent.mkdir()
    name.write_text("pc\n", encoding="utf-8")
    return prepare_demo(scratch / "farm")


def _offline(svg: str) -> str:
    """The picture without fonts from elsewhere."""
    svg = re.sub(r"<!--.*?-->\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r"@font-face \{.*?\}\s*", "", svg, flags=re.DOTALL)
    return svg.replace("Fira Code, monospace", "monospace").replace("Fira Code", "monospace")


def page() -> str:
    """The page that shows them."""
    head = (
        "# Pictures\n\nEvery screen state, pressed in the real app on the sample farm, whose farms, people and weather "
        "are invented. Made by `python -m tests.make_pictures`; named themes (dark, light, contrast, no-color, "
        "sixteen, plain) come in three sizes into `build/pictures`.\n"
    )
    parts = [head]
    for state in (state for sitting in SITTINGS for state in sitting.states if state.name):
        parts.append(f"\n## {state.name}\n\nTo look for: {state.look_for}.\n")
        parts.append(f"\n![{state.name}](pictures/{state.name}-80x24-dark.svg)\n")
    return "".join(parts)


def main() -> None:
    """Take the pictures that the page shows, or those of the themes named."""
    install()
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("themes", nargs="*", choices=[*THEMES, []])
    parser.add_argument("--size", choices=[f"{width}x{height}" for width, height in (*SIZES, WIDEST)])
    parser.add_argument("--to", type=Path)
    parser.add_argument("--only", default="", help="Only states whose names have this pattern.")
    asked = parser.parse_args()
    to = asked.to or (OTHERS if asked.themes else PICTURES)
    to.mkdir(parents=True, exist_ok=True)
    os.environ.pop("NO_COLOR", None)
    sizes = [size for size in (*SIZES, WIDEST) if f"{size[0]}x{size[1]}" == asked.size] or (
        SIZES if asked.themes else SIZES[:1]
    )
    with tempfile.TemporaryDirectory() as scratch:
        demo = _demo(Path(scratch))
        for size in sizes:
            for sitting in (one.only(asked.only) for one in SITTINGS):
                if sitting.states:
                    asyncio.run(take(asked.themes or ["dark"], size, sitting, demo, to))
    if not asked.themes:
        (ROOT / "docs" / "pictures.md").write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
