"""A round replayed: its entries one by one in the order recorded, with what the record showed after each."""

from __future__ import annotations

from datetime import date

from textual.content import Content
from textual.timer import Timer
from textual.worker import get_current_worker

from roundtui.app.keys import keys_of
from roundtui.app.screen import TextsScreen
from roundtui.app.screens.help.screen import PageScreen
from roundtui.app.screens.replay import view as replay_lines
from roundtui.domain.round.recounts import Question, Talk, talks
from roundtui.domain.text import full_day, sanitize, spoken_day, spoken_days
from roundtui.errors import RoundtuiError
from roundtui.report.round.replay import ReplayStep, Rounds, history_lines, talk_about
from roundtui.report.text import Names
from roundtui.store.record.chains import mark_after
from roundtui.store.session import Session

REPLAY = keys_of("desk", "replay")
FEW_TRAPS = 60
"""Traps of a programme up to which a key waits for what it looks up: some 40 ms."""
REST_SECONDS = 0.05
"""How long a step is rested on before what takes longer is looked up. [s]"""
PLAY_SECONDS = 1.0
"""How long an entry stands while a round plays. [s]"""
LONGEST = 4000
"""Characters of a line in the story of an entry."""
LOG_LINES = 6
"""Lines of the entries around the step, at 24 lines."""


class ReplayScreen(TextsScreen[None]):
    """One round, step by step.

    Args:
        session: Who, where and when.
        route: Name of the route.
        on: A day of the round; None: the newest one up to the session's day.
        entry: Id of an entry to stand on at first; empty: the first one.
    """

    STOPPED = "There is nothing to replay"
    CSS_PATH = "style.tcss"
    KEYS = REPLAY
    PARTS = ("head", "ribbon", "about", "changed", "log", "keys")

    def __init__(self, session: Session, route: str, on: date | None = None, entry: str = "") -> None:
        super().__init__(session)
        self.rounds = Rounds(session)
        self.at = 0
        self.playing: Timer | None = None
        self._resting: Timer | None = None
        self.pace = PLAY_SECONDS
        """How long each entry stands while it plays. [s]"""
        try:
            self._open(route, on or session.on)
            if on is None and not self.replay.rows and (before := self.replay.neighbour(-1)) is not None:
                self._open(route, before)
            self.at = self.replay.step_of(entry) or self.at
        except BaseException:
            self.rounds.close()
            raise

    def _open(self, route: str, on: date) -> None:
        self.replay = self.rounds.open(route, on)
        self.talks: dict[str, Talk] = dict(
            talks(row.entry for row in self.replay.rows if isinstance(row.entry, Question) and row.present)
        )
        ids = {step.row.id for step in self.replay.steps}
        self.asked = {entry: talk for entry, talk in self.talks.items() if talk.open and entry in ids}
        self.at = min(1, len(self.replay.steps))

    def on_unmount(self) -> None:
        """Let go of the store."""
        self.rounds.close()

    @property
    def step(self) -> ReplayStep | None:
        """The entry that is shown; None before the first."""
        return self.replay.steps[self.at - 1] if self.at else None

    # --- stepping ----------------------------------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        """So many entries on or back; a key stops what plays."""
        self._stop()
        self._go(self.at + by)

    def action_play(self) -> None:
        """Play from here, or stop."""
        if self.playing is not None:
            self._stop()
            self._show()
            return
        if self.at >= len(self.replay.steps):
            self._go(0)
        self._wait()

    def _wait(self) -> None:
        self._stop()
        if self.at < len(self.replay.steps):
            self.playing = self.set_timer(self.pace, self._play_on)
        self._show()

    def _play_on(self) -> None:
        self.playing = None
        self._go(self.at + 1, show=False)
        self._wait()

    def _stop(self) -> None:
        if self.playing is not None:
            self.playing.stop()
            self.playing = None

    def _go(self, at: int, *, show: bool = True) -> None:
        self.at = max(0, min(at, len(self.replay.steps)))
        if show:
            self._show()

    async def action_go_to(self) -> None:
        """To the first entry about a trap."""
        self._stop()
        labels = dict.fromkeys(row.trap for row in self.replay.rows if row.trap)
        await self.ask_label(
            "The first entry about a trap", labels, lambda trap: self._go(self.replay.step_at(trap) or self.at)
        )

    # --- rounds ------------------------------------------------------------------------------------------------------

    def action_round(self, direction: int) -> None:
        """The round before or after."""
        self._stop()
        on = self.replay.neighbour(direction)
        if on is None:
            word = "earlier" if direction < 0 else "later"
            self.tell(f"There is no {word} round of this route")
            return
        self._change(self.replay.route, on)

    def action_route(self) -> None:
        """The next route, its newest round up to this day."""
        self._stop()
        routes = list(self.session.programme.routes)
        if len(routes) < 2:
            self.tell("There is one route only")
            return
        on = self.replay.span.last
        route = routes[(routes.index(self.replay.route) + 1) % len(routes)]
        self._change(route, on)
        if not self.replay.rows and (before := self.replay.neighbour(-1)) is not None:
            self._change(route, before)

    async def action_day(self) -> None:
        """The round of a day that is typed."""
        from roundtui.app.dialogs.form import LineDialog

        self._stop()

        def fault(text: str) -> str:
            try:
                day = date.fromisoformat(text)
            except ValueError:
                return "Write the day as 2031-06-03"
            return f"The app is on {self.session.on}: no later day" if day > self.session.on else ""

        def go(day: str | None) -> None:
            if day is not None:
                self._change(self.replay.route, date.fromisoformat(day))

        await self.app.push_screen(LineDialog("The round of a day", "Day", str(self.replay.span.last), fault=fault), go)

    def _change(self, route: str, on: date) -> None:
        with self.saying("The round cannot be read"):
            self._open(route, on)
        self._show()

    # --- what is done about an entry ---------------------------------------------------------------------------------

    async def action_correct(self, withdraw: bool) -> None:
        """Replace the entry that stands, or withdraw it."""
        from roundtui.app.dialogs.entry import open_change

        self._stop()
        if self.step is not None:
            await open_change(self, self.step.row, self._done, withdraw=withdraw)

    async def action_question(self) -> None:
        """Ask about the entry, answer, or close the question."""
        from roundtui.app.dialogs.entry import QuestionDialog

        self._stop()
        if self.step is not None:
            talk = talk_about(self.replay.rows, self.step.row)
            dialog = QuestionDialog(self.session, self.step.row, talk, self.step.said)
            await self.app.push_screen(dialog, self._done)

    def _done(self, said: str | None) -> None:
        """Something was put on record about the entry, or None."""
        if said is not None:
            self._read_anew()
            self.tell(said)

    async def action_history(self) -> None:
        """All that belongs to the entry."""
        self._stop()
        if self.step is not None:
            talk = talk_about(self.replay.rows, self.step.row)
            await self.app.push_screen(HistoryScreen(self.session, self.step, talk))

    async def action_summary(self) -> None:
        """The whole summary as it was at this step."""
        self._stop()
        if self.step is not None:
            at, on = mark_after(self.step.rows[-1]), self.replay.span.last
            await self.open_screen("summary", self.replay.route, at=at, on=on)

    def came_back(self) -> None:
        """A conflict may have been settled meanwhile."""
        self._read_anew()

    def action_place(self, name: str) -> None:
        """Nothing plays on below a place."""
        self._stop()
        super().action_place(name)

    @property
    def route(self) -> str:
        """Name of the route."""
        return self.replay.route

    def _read_anew(self) -> None:
        shown = self.step.row.id if self.step else None
        at = self.at
        with self.saying("The round cannot be read"):
            self._open(self.replay.route, self.replay.on)
            self.at = (self.replay.step_of(shown) if shown else None) or min(at, len(self.replay.steps))
            self._show()

    def action_back(self) -> None:
        """Back to where one was."""
        self._stop()
        self.dismiss()

    # --- showing -----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        replay, at, width, height = self.replay, self.at, self.width, self.size.height
        step = self.step
        talk = talk_about(replay.rows, step.row) if step else None
        log = LOG_LINES + max(0, height - 24) // 2
        about = min(6, max(3, (height - log - 4) // 2))
        lines = {"about": about, "changed": height - 4 - log - about, "log": log}
        for name, rows in lines.items():
            self.query_one(f"#{name}").styles.height = rows
        playing = "" if self.playing is None else "playing   "
        span = replay.span
        since = f"{spoken_day(span.first, span.last)} to " if span.first != span.last else ""
        where = f"Replay   route {sanitize(replay.route, 20)}   {since}{full_day(span.last)}"
        self.put_head(where, f"{playing}entry {at} of {len(replay.steps)} ")
        self.put("ribbon", replay_lines.ribbon(replay, at, self.session.programme, width))
        self.put("about", replay_lines.about(replay, at, talk, self.session.programme, (width, about - 1)))
        self.put("changed", self._changed(width, lines["changed"]))
        self.put("log", replay_lines.log(replay.steps, self.asked, at, width, log))

    def _changed(self, width: int, height: int) -> Content:
        """What the step changed; where looking it up takes long, a word first, and the rest when it is there."""
        replay, at = self.replay, self.at
        needed = [step for step in (at - 1, at) if step >= 0 and step not in replay.known]
        if needed and len(self.session.programme.hangings) > FEW_TRAPS:
            # A key that is held down runs past many steps; only where it rests is looked up.
            if self._resting is not None:
                self._resting.stop()
            self._resting = self.set_timer(REST_SECONDS, self._start_aside)
            return Content("  Looking up what held then …")
        try:
            before, names = replay.look_up(at - 1) if at else None, Names(self.session.programme)
            return replay_lines.changed(before, replay.look_up(at), names, width, height)
        except RoundtuiError as error:
            self._stop()
            self.show_error("What held then cannot be read", error)
            return Content("")

    def _start_aside(self) -> None:
        self._resting = None
        title = "What held then cannot be read"
        self.aside("figures", self._look_up_observations, lambda _: None, title, stopped=self._stop)

    def _look_up_observations(self) -> None:
        """Look up the step that is shown, the one before, and those that come next."""
        worker, at = get_current_worker(), self.at
        for step in self.replay.look_up_aside(at, 3):
            if step == at:
                self.call_later(self._show)
            if worker.is_cancelled:
                return


class HistoryScreen(PageScreen):
    """One entry's story.

    Args:
        session: Who, where and when.
        step: The entry as replayed.
        talk: What was said about it.
    """

    NAME = "Entry"

    def __init__(self, session: Session, step: ReplayStep, talk: Talk | None) -> None:
        super().__init__(session)
        self._rows = session.chain_of(step.row.id)
        self._step = step
        self._talk = talk

    def page(self) -> Content:
        """What stands is marked with a star."""
        row = self._step.row
        what = f"{row.kind.capitalize()} of {sanitize(row.trap or row.block or '', 40)}, {full_day(row.read_on)}\n\n"
        parts: list[str | tuple[str, str]] = [
            (what, "bold"),
            "In the order recorded; * marks what holds. Times in UTC.\n\n",
        ]
        parts += [self.fold(spoken_days(line, self.session.on)) for line in history_lines(self._rows, LONGEST)]
        if self._step.remarks:
            parts.append(("\nRemarks\n\n", "bold"))
            parts += [self.fold(spoken_days(f"! {words}", self.session.on)) for words in self._step.remarks.values()]
        if self._talk is not None:
            parts.append((f"\nQuestion, {'open' if self._talk.open else 'closed'}\n\n", "bold"))
            for one in self._talk.rows:
                parts += [self.fold(f"{one.says.value} by {sanitize(one.scout, 40)}: {sanitize(one.words, LONGEST)}")]
        return Content.assemble(*parts)
