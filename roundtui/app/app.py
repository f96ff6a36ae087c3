"""The app: its looks, its keys, and what is done when something goes wrong."""

from __future__ import annotations

import gc
import os
from datetime import UTC, date, datetime
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, ClassVar

from textual.app import App, SystemCommand

from roundtui.app.keys import APP, bindings
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.session import LOOKS as LOOKS_SETTING
from roundtui.app.session import Session
from roundtui.app.themes import LOOKS, next_look
from roundtui.errors import Problem, RoundtuiError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from textual.binding import BindingType
    from textual.screen import Screen
    from textual.theme import Theme
    from textual.timer import Timer

    from roundtui.app.screens.season.seasons import Ready
    from roundtui.domain.figures.rules import Office
    from roundtui.store.round.past import Mark

REST_SECONDS = 0.2
"""How long a window keeps its size before it is drawn once more. [s]"""


class RoundtuiApp(App[int]):
    """One scouting folder on one day.

    Args:
        session: Who, where and when.
        problems: What kept newer set-up files from being loaded.
    """

    TITLE = "roundtui"
    # A style file that comes with a screen makes Textual parse all of them anew: 10 ms at the first trap, measured.
    CSS_PATH: ClassVar[list[str | PurePath]] = [
        "styles/base.tcss",
        "screens/desk/style.tcss",
        "screens/walk/style.tcss",
    ]
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(APP[:-1]), *bindings(APP[-1:], priority=True)]
    """The last leaves from a dialog too."""
    ENABLE_COMMAND_PALETTE = True

    def __init__(self, session: Session, problems: Sequence[Problem] = ()) -> None:
        super().__init__()
        self.session = session
        self.problems = tuple(problems)
        for look in LOOKS:
            self.register_theme(look)
        for name in [name for name in self.available_themes if name not in {look.name for look in LOOKS}]:
            self.unregister_theme(name)
        kept = session.kept(LOOKS_SETTING)
        self.theme = kept if kept in self.available_themes else LOOKS[0].name
        self.report: Path | None = None
        """Where a crash was written down."""
        self._drawn = False
        self._at_rest: Timer | None = None

    def on_resize(self) -> None:
        """Draw everything once more when the window has come to rest.

        What was on its way to a window of the old size may have fallen on the new one, and only what changes is drawn
        again by itself.
        """
        if self._at_rest is not None:
            self._at_rest.stop()
        if self._drawn:
            self._at_rest = self.set_timer(REST_SECONDS, self._draw_anew)
        self._drawn = True

    def _draw_anew(self) -> None:
        for screen in self.screen_stack[-1:]:  # None is left while the app is being closed.
            screen.refresh()

    def on_ready(self) -> None:
        """The first screen stands: from here on garbage is collected, but not among what is there for good."""
        if not self.is_headless:
            gc.freeze()
            gc.enable()
        if self.problems:
            more = f", and {len(self.problems) - 1} more" if len(self.problems) > 1 else ""
            words = f"{self.problems[0]}{more}"
            hint = "mend the file and open the folder again; until then the set-up is as it was before"
            self.show_error("Newer set-up files were not loaded", RoundtuiError(words, hint))

    def get_theme(self, theme_name: str) -> Theme | None:
        """One of the looks. Asked some hundred times while a screen opens, so it copies no table first."""
        return self._registered_themes.get(theme_name)

    def get_default_screen(self) -> Screen[None]:
        """The desk is what the app opens on."""
        return DeskScreen(self.session)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The palette lists what the keys of this screen do, those of a round among them."""
        yield from getattr(screen, "commands", tuple)()
        for binding in screen.active_bindings.values():
            if binding.enabled and binding.binding.id and binding.node in (screen, self):
                action, node = binding.binding.action, binding.node
                yield SystemCommand(
                    binding.binding.description.capitalize(),
                    binding.binding.tooltip,
                    lambda action=action, node=node: self.call_later(self.run_action, action, node),
                )

    # --- screens, imported when they are opened ----------------------------------------------------------------------

    async def open_round(self, route: str) -> None:
        """Walk a route."""
        from roundtui.app.screens.walk.screen import WalkScreen

        try:
            walk = WalkScreen(self.session, route)
        except RoundtuiError as error:
            self.show_error("The round cannot be opened", error)
            return
        await self.push_screen(walk, lambda _: self.desk_changed())

    async def open_summary(self, route: str | None = None, *, at: Mark | None = None, on: date | None = None) -> None:
        """Read the summary of a route, or of all blocks; as it was recorded up to a mark, where one is given."""
        from roundtui.app.screens.summary.screen import SummaryScreen

        try:
            summary = SummaryScreen(self.session, route, at=at, on=on)
        except RoundtuiError as error:
            self.show_error("There is no summary", error)
            return
        await self.push_screen(summary)

    async def open_season(self, block: str = "", species: str = "", ready: Ready | None = None) -> None:
        """Look at the season of a block and species; where none is named, of the first that there is."""
        from roundtui.app.screens.season.screen import SeasonScreen

        try:
            season = SeasonScreen(self.session, block, species, ready)
        except RoundtuiError as error:
            self.show_error("There is no season to show", error)
            return
        await self.push_screen(season, lambda _: self.desk_changed())

    async def open_replay(self, route: str, on: date | None = None, entry: str = "") -> None:
        """Replay a round of a route, at an entry where one is named."""
        from roundtui.app.screens.replay.screen import ReplayScreen

        try:
            replay = ReplayScreen(self.session, route, on, entry)
        except RoundtuiError as error:
            self.show_error("There is nothing to replay", error)
            return
        await self.push_screen(replay, lambda _: self.desk_changed())

    async def open_conflicts(self, afterwards: Callable[[], None] | None = None) -> None:
        """Entries that cannot both hold."""
        from roundtui.app.screens.conflicts.screen import ConflictsScreen

        try:
            conflicts = ConflictsScreen(self.session)
        except RoundtuiError as error:
            self.show_error("The conflicts cannot be listed", error)
            return
        await self.push_screen(conflicts, lambda _: (afterwards or self.desk_changed)())

    async def open_set_up_rows(self) -> None:
        """Set-up rows that another laptop, or the file, has otherwise."""
        from roundtui.app.screens.set_up_rows.screen import SetUpRowsScreen

        try:
            rows = SetUpRowsScreen(self.session)
        except RoundtuiError as error:
            self.show_error("The set-up rows cannot be listed", error)
            return
        await self.push_screen(rows, lambda _: self.desk_changed())

    async def open_sheet(self, route: str) -> None:
        """Type in the paper sheet of a route."""
        from roundtui.app.screens.sheet.screen import TallySheetScreen

        try:
            sheet = TallySheetScreen(self.session, route)
        except RoundtuiError as error:
            self.show_error("The sheet cannot be opened", error)
            return
        await self.push_screen(sheet, lambda _: self.desk_changed())

    async def open_keyings(self, route: str) -> None:
        """See where the two keyings of a sheet disagree."""
        from roundtui.app.screens.double_entry.screen import KeyingsScreen

        try:
            keyings = KeyingsScreen(self.session, route)
        except RoundtuiError as error:
            self.show_error("The two entries cannot be compared", error)
            return
        await self.push_screen(keyings)

    async def open_plan(self) -> None:
        """The plan of the season, packing lists and stock."""
        from roundtui.app.screens.plan.screen import PlanScreen

        await self.push_screen(PlanScreen(self.session), lambda _: self.desk_changed())

    async def open_letters(self) -> None:
        """Letters to the growers."""
        from roundtui.app.screens.letters.screen import LettersScreen

        await self.push_screen(LettersScreen(self.session))

    async def open_looks(
        self, block: str = "", route: str = "", afterwards: Callable[[str | None], None] | None = None
    ) -> None:
        """Look at leaf and fruit of a block; where none is named it is asked for, those of a route first."""
        from roundtui.app.screens.sample.screen import LookScreen

        try:
            look = LookScreen(self.session, block, route)
        except RoundtuiError as error:
            self.show_error("There is nothing to look for", error)
            return
        await self.push_screen(look, afterwards or (lambda _: self.desk_changed()))

    async def open_vials(self) -> None:
        """Vials that wait for a name."""
        from roundtui.app.screens.vials.screen import VialsScreen

        try:
            vials = VialsScreen(self.session)
        except RoundtuiError as error:
            self.show_error("The vials cannot be listed", error)
            return
        await self.push_screen(vials, lambda _: self.desk_changed())

    async def open_register(self) -> None:
        """The register: what is set up, and every change of it."""
        from roundtui.app.screens.register.screen import RegisterScreen

        try:
            register = RegisterScreen(self.session)
        except RoundtuiError as error:
            self.show_error("The register cannot be read", error)
            return
        await self.push_screen(register, lambda _: self.desk_changed())

    async def open_assembly(self) -> None:
        """Traps made up before they are hung."""
        from roundtui.app.screens.assembly.screen import AssemblyScreen

        try:
            assembly = AssemblyScreen(self.session)
        except RoundtuiError as error:
            self.show_error("Parts and traps cannot be read", error)
            return
        await self.push_screen(assembly, lambda _: self.desk_changed())

    async def open_season_close(self) -> None:
        """Traps taken down, parts put away."""
        from roundtui.app.screens.season_close.screen import SeasonCloseScreen

        try:
            close = SeasonCloseScreen(self.session)
        except RoundtuiError as error:
            self.show_error("Parts and traps cannot be read", error)
            return
        await self.push_screen(close, lambda _: self.desk_changed())

    async def action_keys(self) -> None:
        """All keys on one page."""
        from roundtui.app.screens.help.screen import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            here = {one.binding.id or "" for one in self.screen.active_bindings.values()}
            await self.push_screen(HelpScreen(here))

    async def action_guide(self) -> None:
        """How a round goes."""
        from roundtui.app.screens.help.screen import GuideScreen

        if not isinstance(self.screen, GuideScreen):
            await self.push_screen(GuideScreen())

    def action_looks(self) -> None:
        """The next look, kept for the next time."""
        self.theme = next_look(self.theme)
        self.session.keep(LOOKS_SETTING, self.theme)

    def desk_changed(self) -> None:
        """Entries were made: the desk shows what is due now."""
        for screen in self.screen_stack:
            if isinstance(screen, DeskScreen):
                screen.refill()

    def show_error(self, title: str, error: RoundtuiError) -> None:
        """Say what stopped, over the screen that it stopped."""
        from roundtui.app.dialogs.error import ErrorDialog

        self.push_screen(ErrorDialog(title, error.message, error.hint))

    # --- crashes -----------------------------------------------------------------------------------------------------

    def _handle_exception(self, error: Exception) -> None:
        """Write a report and leave in plain words; what was entered is on the disk already."""
        if self.is_headless:
            super()._handle_exception(error)
            return
        from roundtui.app.crash import write_report

        self._return_code = 1
        if self._exception is None:
            self._exception = error
            self._exception_event.set()
            self.report = write_report(self.session.folder, error, self.session.clock())
        self._close_messages_no_wait()


def run_app(folder: Path, *, on: date | None, scout: str | None) -> int:
    """Open the app on a scouting folder.

    Args:
        folder: The scouting folder.
        on: The day to stand on; None: today.
        scout: Who is at the keys; None: the one kept from before, else the app asks.

    Returns:
        The exit code.

    Raises:
        RoundtuiError: The folder or its store cannot be used.
    """
    from roundtui.store.device import device_name
    from roundtui.store.folder import open_folder

    opened = open_folder(folder, now=datetime.now(UTC), daily_check=True, tolerant=True)
    conn = opened.conn
    try:
        session = Session(
            folder,
            conn,
            on=on or date.today(),  # noqa: DTZ011
            device=device_name(),
            office=lambda: _office(folder),
            scout=scout or "",
        )
        os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
        app = RoundtuiApp(session, opened.problems)
        app.run()
    finally:
        conn.close()
    if app.report is not None or app.return_code:
        from roundtui.app.crash import say_crashed

        return say_crashed(app.report)
    return app.return_value or 0


def _office(folder: Path) -> Office:
    from roundtui.store.office import read_office

    return read_office(folder)
