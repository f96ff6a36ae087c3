"""A round replayed: its entries one by one in the order recorded, with what the record showed after each."""

from __future__ import annotations

from datetime import date
from functools import partial

from textual.content import Content
from textual.timer import Timer

from roundtui.app.keys import keys_of
from roundtui.app.screen import TextsScreen
from roundtui.app.screens.help.screen import PageScreen
from roundtui.app.screens.replay import view
from roundtui.domain.round.recounts import Talk
from roundtui.domain.text import WARNS, full_day, sanitize, spoken_day, spoken_days
from roundtui.report.bars import NARROW
from roundtui.report.round.replay import LONGEST, ReplayStep, RoundReplay, history_lines, open_round, talk_about
from roundtui.report.text import Names
from roundtui.store.record.chains import mark_after
from roundtui.store.session import Session

REPLAY = keys_of("desk", "replay")
PLAY_SECONDS = 1.0
"""How long an entry stands while a round plays. [s]"""
LOG_LINES = 6
LEAST_LOG = 4
"""Lines of the entries around the step, at 24 lines, and where what is said of one needs them."""


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
    replay: RoundReplay
    """The round, once it is read."""

    def __init__(self, session: Session, route: str, on: date | None = None, entry: str = "") -> None:
        super().__init__(session)
        self.route = route
        self._first_asked = on, entry
        self._is_read = False
        self.at = 0
        self.playing: Timer | None = None
        self.pace = PLAY_SECONDS
        """How long each entry stands while it plays. [s]"""

    def _begin(self) -> None:
        on, entry = self._first_asked
        self._change(self.route, on or self.session.on, entry, or_before=on is None)

    @property
    def step(self) -> ReplayStep | None:
        """The entry that is shown; None before the first."""
        return self.replay.steps[self.at - 1] if self.at else None

    def idle(self) -> str:
        """Before the first entry there is none to do anything about."""
        return "" if self.at else "correct withdraw question entry"

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
        title = "The first entry about a trap"
        await self.ask_label(title, labels, lambda trap: self._go(self.replay.step_at(trap) or self.at))

    # --- rounds ------------------------------------------------------------------------------------------------------

    def action_round(self, direction: int) -> None:
        """The round before or after."""
        self._stop()
        on = self.replay.neighbour(direction)
        if on is None:
            word = "earlier" if direction < 0 else "later"
            self.tell(f"There is no {word} round of this route")
            return
        self._change(self.route, on)

    def action_route(self) -> None:
        """The next route, its newest round up to this day."""
        self._stop()
        routes = list(self.session.programme.routes)
        if len(routes) < 2:
            self.tell("There is one route only")
            return
        route = routes[(routes.index(self.route) + 1) % len(routes)]
        self._change(route, self.replay.last, or_before=True)

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
                self._change(self.route, date.fromisoformat(day))

        await self.app.push_screen(LineDialog("The round of a day", "Day", str(self.replay.last), fault=fault), go)

    def _change(
        self, route: str, on: date, entry: str = "", at: int = 1, *, or_before: bool = False, said: str = ""
    ) -> None:
        """Read a round in a thread, and stand on an entry of it, else at a step."""

        def have(found: RoundReplay) -> None:
            self.replay, self.route, self._is_read = found, route, True
            self.at = found.step_of(entry) or min(at, len(found.steps))
            self._show()
            self.tell(said)

        def without() -> None:
            if not self._is_read:
                self.dismiss()

        self.tell("Reading the round …")
        work = partial(open_round, self.session, route, on, or_before=or_before)
        self.read(work, have, "The round cannot be read", without)

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
            self._read_anew(said)

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
            at, on = mark_after(self.step.rows[-1]), self.replay.last
            await self.open_screen("summary", self.route, at=at, on=on)

    def came_back(self) -> None:
        """A conflict may have been settled meanwhile."""
        self._read_anew()

    def action_place(self, name: str) -> None:
        """Nothing plays on below a place."""
        self._stop()
        super().action_place(name)

    def _read_anew(self, said: str = "") -> None:
        self._change(self.route, self.replay.on, self.step.row.id if self.step else "", self.at, said=said)

    def action_back(self) -> None:
        """Back to where one was."""
        self._stop()
        self.dismiss()

    # --- showing -----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        if not self._is_read:
            self.put_head(f"Replay   route {sanitize(self.route, 20)}")
            return
        replay, at, width, height = self.replay, self.at, self.width, self.height
        step = self.step
        talk = talk_about(replay.rows, step.row) if step else None
        log = LOG_LINES + max(0, height - 24)
        room = height - 4 - log
        about = min(6, max(3, room // 2))
        changed = self._changed(width, room - about)
        # What has no room in its half goes on in what the other leaves free, and then in place of the log.
        free = height - 4 - len(changed.plain.splitlines())
        entry = view.about(replay, at, talk, self.session.programme, (width, free - LEAST_LOG - 1))
        about = max(about, len(entry.plain.splitlines()))
        log = min(log, free - about)
        room = height - 4 - log
        for name, rows in (("about", about), ("changed", room - about), ("log", log)):
            self.query_one(f"#{name}").styles.height = rows
        playing = "" if self.playing is None else "playing   "
        since = f"{spoken_day(replay.first, replay.last)} to " if replay.first != replay.last else ""
        where = f"Replay   route {sanitize(self.route, 20)}   {since}{full_day(replay.last)}"
        if width < NARROW:
            where = f"Replay   {sanitize(self.route, 20)}   {since}{spoken_day(replay.last, self.session.on)}"
        self.put_head(where, f"{playing}entry {at} of {len(replay.steps)} ")
        self.put_strip()
        self.put("ribbon", view.ribbon(replay, at, self.session.programme, width))
        self.put("about", entry)
        self.put("changed", changed)
        self.put("log", view.log(replay.steps, replay.asked, at, width, log))

    def _changed(self, width: int, height: int) -> Content:
        """What the step changed; a word first where it is still to be looked up, and the rest when it is there."""
        replay, at = self.replay, self.at
        # A key that is held down runs past many steps; only where it rests is looked up, with what comes next.
        asked = [step for step in (at - 1, at, at + 1) if 0 <= step <= len(replay.steps) and step not in replay.known]
        self.at_rest(self._start_aside if asked else None)
        before, now = replay.known.get(at - 1), replay.known.get(at)
        if now is None or (at and before is None):
            return Content("  Looking up what held then …")
        return view.changed(before, now, Names(self.session.programme), width, height)

    def _start_aside(self) -> None:
        title = "What held then cannot be read"
        self.aside("figures", self._look_up_around, lambda _: None, title, stopped=self._stop)

    def _look_up_around(self) -> None:
        """Look up the step that is shown, the one before, and those that come next."""
        at = self.at
        for step in self.replay.look_up_aside(at, 3):
            if step == at:
                self.call_later(self._show)


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
        """What holds is marked with a dot."""
        row, on = self._step.row, self.session.on
        what = f"{row.kind.capitalize()} of {sanitize(row.trap or row.block or '', 40)}, {full_day(row.read_on)}\n\n"
        parts: list[str | tuple[str, str]] = [
            (what, "bold"),
            "In the order recorded; ● marks what holds. Times in UTC.\n\n",
        ]
        parts += [self.fold(spoken_days(line, on)) for line in history_lines(self._rows)]
        if self._step.remarks:
            parts.append(("\nRemarks\n\n", "bold"))
            parts += [self.fold(spoken_days(f"{WARNS}{words}", on)) for words in self._step.remarks.values()]
        if self._talk is not None:
            parts.append((f"\nQuestion, {'open' if self._talk.open else 'closed'}\n\n", "bold"))
            for one in self._talk.rows:
                parts += [self.fold(f"{one.says.value} by {sanitize(one.scout, 40)}: {sanitize(one.words, LONGEST)}")]
        return Content.assemble(*parts)
