"""What all screens have in common: opening one another by name, work beside the app, and the texts they are made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual.app import App, ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from roundtui.domain.text import cells, padded, sanitize
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.store.session import Session

T = TypeVar("T")
SCREENS: Mapping[str, tuple[str, str]] = {
    "walk": ("WalkScreen", "The round cannot be opened"),
    "sheet": ("TallySheetScreen", "The sheet cannot be opened"),
    "double_entry": ("DoubleEntryScreen", "The two entries cannot be compared"),
    "summary": ("SummaryScreen", "There is no summary"),
    "season": ("SeasonScreen", "There is no season to show"),
    "years": ("YearsScreen", "The years cannot be read"),
    "replay": ("ReplayScreen", "There is nothing to replay"),
    "conflicts": ("ConflictsScreen", "The conflicts cannot be listed"),
    "set_up_rows": ("SetUpRowsScreen", "The set-up rows cannot be listed"),
    "sample": ("SampleScreen", "There is nothing to look for"),
    "vials": ("VialsScreen", "The vials cannot be listed"),
    "letters": ("LettersScreen", "The letters cannot be read"),
    "plan": ("PlanScreen", "There is no plan"),
    "assembly": ("AssemblyScreen", "Parts and traps cannot be read"),
    "season_close": ("SeasonCloseScreen", "Parts and traps cannot be read"),
    "bring": ("BringScreen", "No table can be brought"),
    "register": ("RegisterScreen", "The register cannot be read"),
}
"""Folder of each screen that is opened by name: its class, and what is said where it cannot be opened."""
BARS = {"head": "bar", "keys": "keys"}
"""Classes of the texts at the top and the bottom."""


def load(name: str) -> Callable[..., Screen[Any]]:
    """The class of a screen, loaded when it is first asked for."""
    found: Callable[..., Screen[Any]] = getattr(import_module(f"roundtui.app.screens.{name}.screen"), SCREENS[name][0])
    return found


def show_error(app: App[Any], title: str, error: RoundtuiError, ticks: Callable[[], float]) -> None:
    """Say what stopped, over the screen that it stopped."""
    from roundtui.app.dialogs.form import ErrorDialog

    app.push_screen(ErrorDialog(title, error.message, error.hint, ticks))


class RoundtuiScreen(Screen[T]):
    """A screen on a session.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._jobs: dict[str, tuple[Callable[[Any], None], str, Callable[[], None] | None]] = {}
        """What is done beside the app: whom its result is told, and what is said where it stops."""

    # --- other screens -----------------------------------------------------------------------------------------------

    async def open_screen(
        self, name: str, *asked: object, done: Callable[[Any], None] | None = None, **more: object
    ) -> None:
        """Open a screen over this one.

        Args:
            name: Its folder.
            asked: What it is asked to show.
            done: Notified what it gives back; None: ``came_back`` is called.
            more: The same, by name.
        """
        try:
            screen = load(name)(self.session, *asked, **more)
        except RoundtuiError as error:
            self.show_error(SCREENS[name][1], error)
            return
        await self.app.push_screen(screen, done or (lambda _: self.came_back()))

    def open_soon(self, name: str, *asked: object, done: Callable[[Any], None] | None = None) -> None:
        """The same, from where nothing can be waited for."""
        self.app.run_worker(self.open_screen(name, *asked, done=done), exclusive=True)

    def came_back(self) -> None:
        """A screen that was opened from here is closed: it may have put something on record."""

    def show_error(self, title: str, error: RoundtuiError) -> None:
        """Say what stopped."""
        show_error(self.app, title, error, self.session.ticks)

    def ask(self, title: str, said: Sequence[tuple[str, bool]], then: Callable[[], None]) -> None:
        """Do something once it is answered by yes.

        Args:
            title: What is asked.
            said: What changes, and whether each sentence is to be marked.
            then: Does it.
        """
        from roundtui.app.dialogs.form import AskDialog

        def answered(yes: bool | None) -> None:
            if yes:
                then()

        self.app.push_screen(AskDialog(title, said, self.session.ticks), answered)

    def show_keys(self) -> None:
        """Show the keys of this screen."""
        self.app.run_worker(self.app.run_action("app.keys"), exclusive=True)

    def action_back(self) -> None:
        """One step back."""
        self.dismiss()

    # --- work beside the app -----------------------------------------------------------------------------------------

    def observations(
        self,
        name: str,
        work: Callable[[], object],
        done: Callable[[Any], None],
        title: str,
        *,
        stopped: Callable[[], None] | None = None,
    ) -> Worker[Any]:
        """Do something in a thread of its own; the same work asked for again takes its place.

        Args:
            name: Name of the work.
            work: The work; it touches no widget and no connection of the app.
            done: Notified the result.
            title: What is said where the work stops.
            stopped: Notified then as well.
        """
        self._jobs[name] = (done, title, stopped)
        return self.run_worker(work, name=name, group=name, thread=True, exclusive=True, exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was worked out, or say why it was not."""
        if event.worker.name not in self._jobs:
            return
        done, title, stopped = self._jobs[event.worker.name]
        if event.state is WorkerState.SUCCESS:
            done(event.worker.result)
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            if stopped is not None:
                stopped()
            if not isinstance(event.worker.error, RoundtuiError):
                raise event.worker.error
            self.show_error(title, event.worker.error)

    # --- texts -------------------------------------------------------------------------------------------------------

    def put(self, part: str, words: Content | str) -> None:
        """Put words into one of the texts; people's words are never markup."""
        self.query_one(f"#{part}", Static).update(Content(words) if isinstance(words, str) else words)

    @property
    def width(self) -> int:
        """Columns to write in."""
        return max(40, self.size.width)

    def put_head(self, left: str, right: str = "") -> None:
        """The title: where one is, and at the right the day and who is at the keys."""
        session = self.session
        right = right or f"{session.on:%a} {session.on.isoformat()}   {sanitize(session.scout, 20) or 'nobody named'} "
        left = sanitize(f" {left}", max(1, self.width - cells(right) - 1))
        self.put("head", sanitize(left + " " * max(1, self.width - cells(left) - cells(right)) + right, self.width))


class TextsScreen(RoundtuiScreen[T]):
    """Texts named by ``PARTS``, from the top down; what they say is put there by ``_show``."""

    PARTS: ClassVar[tuple[str, ...]] = ()
    """Names of the texts."""

    def compose(self) -> ComposeResult:
        """The texts, empty."""
        for name in self.PARTS:
            yield Static(id=name, markup=False, classes=BARS.get(name, ""))

    def on_mount(self) -> None:
        """Say what there is to say."""
        self._begin()

    # Textual calls a handler of a base as well as that of the class below it: this is what a screen changes instead.
    def _begin(self) -> None:
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show()

    def _show(self) -> None:
        raise NotImplementedError


def first_shown(marked: int, rows: int, height: int) -> int:
    """The first row of a list that is shown, so that the marked one is among them."""
    return max(0, min(marked - height // 2, rows - height))


def marked_list(lines: Sequence[str], marked: int, width: int, height: int) -> Content:
    """As many lines of a list as fit, the marked one in reverse among them.

    Args:
        lines: What each row says.
        marked: Which one is marked.
        width: Columns.
        height: Lines.
    """
    first = first_shown(marked, len(lines), height)
    return Content("\n").join(
        Content.styled(padded(f"{'>' if at == marked else ' '} {words}", width), "bold reverse" if at == marked else "")
        for at, words in enumerate(lines[first : first + height], first)
    )
