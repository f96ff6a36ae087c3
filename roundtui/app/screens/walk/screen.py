"""A round, one trap at a time. Keys go to ``domain.round.entry``; this screen shows and records what comes out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from textual.app import ComposeResult, SystemCommand
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from roundtui.app.count_screen import CountScreen
from roundtui.app.keys import keys_of
from roundtui.app.screen import texts
from roundtui.app.screens.walk import view
from roundtui.app.screens.walk.turns import WalkedRound
from roundtui.app.threads import OPENING_SECONDS
from roundtui.app.widgets.board import rule
from roundtui.app.widgets.count_input import CountInput, presses
from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.programme.rounds import last_recorded, next_trap, progress
from roundtui.domain.round.entry import LISTS, TEXT_MODES, Mode, TrapEntry, Want, ask_for, press, refused, take_grid
from roundtui.domain.round.walk import first_counted, last_readings
from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from roundtui.report.maps import Spot
    from roundtui.store.figures.summary import DaySummary
    from roundtui.store.session import Session

WALK = keys_of("round", "walk")


_CLOSED = Visit(trap="", read_on=date.min, no_reading=NoReading.CLOSED)
"""What is entered at a trap of a farm that is closed."""
GROW = ("where", "ask", "said")
"""Parts that are as high as what they say."""
_OTHER_LINES, _FIELD = 4, 28
"""Lines that always stand, and columns of the field with its label."""


class WalkScreen(CountScreen[None]):
    """The round of one route."""

    STOPPED = "The round cannot be opened"
    KEYS = WALK
    HELD = "Enter is held down or came twice: stage not saved. Let go, then Enter saves"
    # Keys of the stage line itself: after one of them an Enter that waited was no answer yet.
    NO_ANSWER = frozenset({"escape", "up", "down", "-", "f"})

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session)
        self._named = session.scout
        self.route = route
        self.round = WalkedRound(session, route)
        self.opened_at = self.enters.last
        self._shown: dict[str, tuple[Content | str, ...]] = {}
        self._lines = dict.fromkeys(GROW, 0)
        self._spots: tuple[tuple[str, int], Sequence[Spot]] = (("", 0), ())
        """Block and number of changes, and its traps with the catch of the week, for the map."""
        self._before: TrapEntry | None = None
        self._overs = (-1, ("", ""))
        """Number of changes, and which blocks of the route are over by then: in words, and how these are drawn."""

    def compose(self) -> ComposeResult:
        """Few widgets, none of them ever rebuilt: the field must not lose a key."""
        yield from texts("head", "where", "ask")
        with Horizontal(id="row"):
            yield Static(id="label", markup=False)
            yield CountInput(self.press, self._pasted, id="count")
            yield Static(id="flags", markup=False)
        yield from texts("toggles", "said", "below", "next", "keys")

    def on_unmount(self) -> None:
        """Whoever was at the desk is there again, where the round was its own scout's."""
        if not self.session.said_who:
            self.session.scout = self._named

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        if self._shown:
            self._before = None
            self._show()

    def put_strip(self) -> None:
        """The strip follows the step of the entry, and is put there with the rest."""

    def have_due(self) -> None:
        """What is due at the traps is known by now."""
        self.round.state, self._before = self.session.round_of(self.route), None
        if self._shown:
            self._show()

    def open_label(self, label: str) -> None:
        """A trap of the round is gone to; another label opens its season or row."""
        if label in self.round.state.traps:
            self.round.ask(label, went=True)
            self._show()
        else:
            super().open_label(label)

    def came_back(self) -> None:
        """Somebody else may be at the keys, and something may have been recorded; what is typed stays."""
        self._read_anew(self.round.asked_anew)

    def _read_anew(self, then: Callable[[], object] = lambda: None) -> None:
        """Read what may have been recorded meanwhile, then go on; nothing else is shown before."""

        def have() -> None:
            with self.saying(self.STOPPED):
                self.have_due()
                then()
                self._show()

        self.session.forget()
        self.read_record("said", have)

    def commands(self) -> Iterable[SystemCommand]:
        """The keys of the round too, for the palette."""
        yield from super().commands()
        for action in WALK:
            if not action.menu and action.id != "walk.back":
                key = presses(action.keys.split(",")[0], None)[0]
                yield SystemCommand(action.words.capitalize(), action.help, partial(self.call_later, self.press, key))

    # --- keys --------------------------------------------------------------------------------------------------------

    def _enter_is_meant(self, at: float) -> bool:
        if at - self.opened_at >= OPENING_SECONDS:
            return super()._enter_is_meant(at)
        self.enters.enter(at, at_stage=False)
        self._say("That Enter came too soon after opening and was dropped: nothing saved")
        return False

    def _is_asked(self) -> bool:
        return self.round.now.mode is Mode.STAGE

    def _say(self, words: str) -> None:
        self.round.say(words)

    def _press(self, key: str) -> None:
        if not self.have_read.is_set():
            # All other keys wait for what is read.
            self.dismiss()
            return
        now = self.round.now
        if now.mode in TEXT_MODES:
            now = replace(now, line=self.count.value)
        self.round.now = press(now, key)
        if self.round.now.draft.lure_found not in (None, now.draft.lure_found):
            # What it changes is said in its place, with the day and the readings.
            self.round.say("")
        if self.round.now.want is Want.STAGE:
            self._see_stage(now)
        elif self.round.now.want is not Want.NOTHING:
            self._do(self.round.now)
        self._show()

    def _do(self, now: TrapEntry) -> None:
        act: dict[Want, Callable[[], object]] = {
            Want.RECORD: lambda: self._record(now),
            Want.BEFORE: lambda: self.round.look(-1, now.said),
            Want.AFTER: lambda: self.round.look(1, now.said),
            Want.GO_TO: lambda: self.round.go_to(now),
            Want.LAST: lambda: self.round.corrected(now),
            Want.BACK: lambda: self._back(now),
            Want.SUMMARY: lambda: self.open_soon("summary", self.route),
            # Leaf and fruit sample of this block; what is typed here stays.
            Want.SAMPLES: lambda: self.open_soon("sample", self.round.place[0], self.route, done=self._noted),
            Want.SPECIMEN: lambda: self._open_specimen(now),
            Want.TREATMENT: self._open_treatment,
            Want.GRID: lambda: self._open_grid(now),
            Want.SECOND: lambda: self.ask(*view.second_words(now), partial(self._record_second, now)),
            Want.WITHDRAW: lambda: self._withdraw(now),
            Want.MENU: self.action_menu,
            Want.HELP: self.show_keys,
        }
        act[now.want]()

    def _record_second(self, now: TrapEntry) -> None:
        self._record(now)
        self._show()

    def _withdraw(self, now: TrapEntry) -> None:
        """Ask whether the entry under correction is withdrawn, with all of its act."""
        from roundtui.app.dialogs.entry import withdrawing

        old = now.asked.old
        with self.saying("Nothing is withdrawn"):
            if old is not None:
                self.ask(*withdrawing(self.session, old, self._withdrawn))

    def _withdrawn(self, said: str) -> None:
        def turn() -> None:
            self.round.recorded = (last_recorded(self.round.state), None)
            self.round.unlikely, self.round.found = self.round.slip(), ""
            self.round.turn(next_trap(self.round.state, None), passed=said)

        self._read_anew(turn)

    def _open_specimen(self, now: TrapEntry) -> None:
        from roundtui.app.dialogs.trap import SpecimenDialog
        from roundtui.report.round.specimens import SpecimenDesk

        trap = now.draft.trap
        standing = now.asked.old or now.asked.standing or self.round.state.done.get(trap)
        day = standing.read_on if standing is not None else now.draft.read_on
        typed = int(now.text) if now.text else None
        self.app.push_screen(SpecimenDialog(SpecimenDesk(self.session), trap, day, typed), self._noted)

    def _open_treatment(self) -> None:
        from roundtui.app.dialogs.season import TreatmentDialog

        self.app.push_screen(TreatmentDialog(self.session, *self.round.place), self._noted)

    def _open_grid(self, now: TrapEntry) -> None:
        from roundtui.app.dialogs.trap import GridDialog

        self.app.push_screen(GridDialog(self.session, sanitize(now.draft.trap, 20)), self._estimated)

    def _noted(self, said: str | None) -> None:
        """What else was in the trap is on record, or was called off; what is typed stays."""
        if said is not None:
            self.round.say(said)
            self._read_anew()

    def _estimated(self, found: tuple[int, str] | None) -> None:
        if found is not None:
            self.round.now = take_grid(self.round.now, *found)
            self._show()

    def _see_stage(self, before: TrapEntry) -> None:
        """Put the stage on the disk; only then is the count asked for."""
        try:
            self.session.see_stage(self.round.now)
        except RoundtuiError as error:
            self.show_error(f"Stage {self.round.now.stage} is not recorded", error)
            self.round.now = ask_for(before, Want.NOTHING, "Stage not saved: Enter tries again")
            self._read_anew()

    def _record(self, now: TrapEntry) -> None:
        """Put the entry on the disk; only then is the next trap shown."""
        visit, old = now.visit, now.asked.old
        if problems := self.session.problems(visit):
            said = filter(None, (problems[0].message, problems[0].hint))
            self.round.say(". ".join(f"{one[:1].upper()}{one[1:]}" for one in said))
            self._read_anew()
            return
        found = self.round.found_mark(visit)
        closed = (replace(_CLOSED, trap=one, read_on=visit.read_on) for one in self.round.rest_of_farm() if now.farm)
        try:
            recorded, *rest = self.session.record([visit, *closed])
        except RoundtuiError as error:
            self.show_error(f"{now.draft.trap} is not recorded", error)
            self.round.now = refused(self.round.now)
            self._read_anew()
            return
        self.round.state = self.session.round_of(self.route)
        self.round.recorded = (recorded, old)
        self.round.unlikely = self.round.slip()
        self.round.found = found
        if now.asked.ask_stage and now.stage is None:
            self.round.declined.add(self.round.block(recorded.trap))
        if old is not None:
            self.round.turn(next_trap(self.round.state, None) if self.round.home is None else self.round.home)
        else:
            closed_words = f"Farm closed: {', '.join([recorded.trap, *(one.trap for one in rest)])}" if now.farm else ""
            passed = self.round.passed(now.draft.trap)
            self.round.turn(next_trap(self.round.state, now.draft.trap), passed=closed_words or passed)

    def _back(self, now: TrapEntry) -> None:
        if self.round.at != self.round.home or now.asked.old is not None:
            self.round.ask(self.round.home, now.said)
        else:
            self.dismiss()

    # --- showing -----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        """Bring the screen up to what is so, touching only what changed."""
        now, session, width = self.round.now, self.session, self.size.width
        before, self._before = self._before, now
        takes_text = now.mode in TEXT_MODES
        typed = now.text if now.mode in {Mode.COUNT, Mode.STAGE} else now.line
        self.count.show(typed, takes_text=takes_text)
        self.count.set_class(now.asked.finished and not takes_text, "-done")
        # What is marked above or below has the focus, until something is typed.
        self.count.set_class(now.mode in {Mode.STAGE, *LISTS} and not typed, "-waits")
        same = before is not None and now.mode is Mode.COUNT and replace(before, text=now.text) == now
        if not self.have_read.is_set() or (same and now.draft.lure_found is None):
            return
        hanging = self.round.hanging(self.round.at)
        block = session.programme.blocks.get(hanging.block) if hanging else None
        self.put_head(f"Round {sanitize(self.route, 20)}")
        last, old = self.round.recorded
        first = first_counted(last, session.visits(last.trap)) if last is not None and last.recount else None
        before_line = view.before(last, self.round.unlikely, old, width - 2, self.round.found, first=first)
        way = view.way_line(self.round, progress(self.round.state, self.round.at), width - 2)
        caution = view.caution(self.round, width - 2)
        where = Content("The round is done. Enter shows the summary")
        where = view.place(session.programme, hanging.block, width - 2) if hanging is not None else where
        self.put("where", way, where, caution, before_line)
        seen = session.stage(hanging.block) if hanging else None
        stage = view.stage(now, block.crop if block else "", seen, width - 2)
        again = hanging is not None and hanging.trap in self.round.asked_again
        due = view.due(hanging, now, session, width - 2)
        asked = (stage, due, view.trap(hanging, now, width - 2, again=again))
        self.put("ask", *(asked if hanging is not None else ()))
        self.put("label", view.label(now))
        self.put("flags", view.flags(now, session.on, self.parts["flags"].size.width or width - _FIELD))
        self.put("toggles", *view.toggles(now, width))
        # A note that the line of the trap has no room for stands where nothing else is said.
        note = hanging.note if hanging is not None and sanitize(hanging.note) not in asked[-1].plain else ""
        self.put("said", view.said(now, self.round.found_words(), width - 2, note))
        shown = last_readings(hanging, session.visits(hanging.trap), session.on) if hanging else ()
        # A list that is longer than its place, and a round that is done, have the lines of what is not asked for then.
        room = self.size.height - _OTHER_LINES - sum(map(self._lines.__getitem__, GROW))
        asks = hanging is not None and not (now.mode in LISTS and len(now.choices) > room - 3)
        self.parts["toggles"].display, self.parts["next"].display = asks, asks and width < view.WIDE
        size = width - 2, max(3, room - (2 if asks else 0) - (1 if asks and width < view.WIDE else 0))
        band = session.thresholds.get((hanging.block, hanging.species)) if hanging else None
        if hanging is None and now.choices == ():
            self.put("below", view.done(self.round.state, session, *size, self._over_words()))
        elif width >= view.WIDE and now.mode not in LISTS:
            traps = partial(view.ahead, self.round.state, session, self.round.at)
            draw = partial(self._map, hanging.block if hanging is not None else "")
            self.put("below", view.wide(shown, band, draw, traps, size))
        else:
            past = Content("\n".join(view.readings(shown, *size, band)))
            self.put("below", view.choices(now, *size) if now.mode in LISTS else past)
        if width < view.WIDE:
            self.put("next", view.upcoming(self.round.state, session, self.round.at, width - 2))
        self.put("keys", *view.keys(now, width))

    def _over_words(self) -> tuple[str, str]:
        """Blocks of the route over their thresholds; they are looked up beside the keys."""
        changes = self.session.changes
        if self._overs[0] != changes:
            self._overs = changes, ("Looking up which blocks are over …", "")

            def have(found: DaySummary) -> None:
                self._overs, self._before = (changes, view.overs(found.summary.blocks)), None
                self._show()

            read = partial(self.session.day_summary, route=self.route, how_sure=False)
            self.aside("overs", read, have, "Which blocks are over cannot be read")
        return self._overs[1]

    def _map(self, block: str, width: int, height: int) -> list[str]:
        """The block with what each trap caught in the week; what is new in it is looked up behind the key."""
        from roundtui.report.maps import block_map

        now = block, self.session.changes
        if self._spots[0] != now:
            self._spots = now, self._spots[1] if self._spots[0][0] == block else ()
            self.call_after_refresh(self._look_at, block)
        title = rule(f"{sanitize(block, 12)}; catch of the week, · not read", width)
        return [title, *(block_map(self._spots[1], width, height - 1) if self._spots[1] else ())]

    def _look_at(self, block: str) -> None:
        from roundtui.report.maps import spots

        session, self._before = self.session, None
        self._spots = self._spots[0], spots(session.programme, session.present_history, session.on, {block})
        self._show()

    def put(self, part: str, *lines: Content | str) -> None:
        """Put lines into one of the texts, where they are not those that it has."""
        if self._shown.get(part) != lines:
            self._shown[part] = lines
            said = Content("\n").join(lines)
            high = said.plain.count("\n") + bool(lines)
            if part in GROW and self._lines[part] != high:
                self.parts[part].styles.height = self._lines[part] = high
            self.parts[part].update(said, layout=False)
