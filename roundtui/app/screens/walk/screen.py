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

from roundtui.app.keys import Action, keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.screens.walk import view as walk_lines
from roundtui.app.screens.walk.turns import WalkedRound, saying
from roundtui.app.widgets.count_input import CountInput, presses
from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.programme.rounds import last_recorded, next_trap, progress
from roundtui.domain.round.entry import (
    HELD_SECONDS,
    TEXT_MODES,
    EnterWatch,
    Mode,
    Pressed,
    TrapEntry,
    Want,
    press,
    refused,
    take_grid,
)
from roundtui.domain.round.walk import first_counted, last_readings
from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from textual import events
    from textual.timer import Timer

    from roundtui.store.session import Session

WALK = keys_of("round", "walk")

OPENING_SECONDS = 0.3
"""Enter that comes sooner after a round is opened was meant for the screen before. [s]"""

HELD = "Enter is held down or came twice: stage not saved. Let go, then Enter saves"
_CLOSED = Visit(trap="", read_on=date.min, no_reading=NoReading.CLOSED)
"""What is entered at a trap of a farm that is closed."""
NO_ANSWER = frozenset({"escape", "up", "down", "-", "f"})
"""Keys of the stage line itself: after one of them an Enter that waited was no answer yet."""


class WalkScreen(RoundtuiScreen[None]):
    """The round of one route."""

    STOPPED = "The round cannot be opened"
    KEYS = WALK
    AUTO_FOCUS = "#count"

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session)
        self._named = session.scout
        self.route = route
        self.round = WalkedRound(session, route)
        self.opened_at = self.session.ticks()
        self.enters = EnterWatch(self.opened_at)
        self.waiting: Timer | None = None
        self._shown: dict[str, tuple[Content, ...]] = {}
        self._before: TrapEntry | None = None

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

    def on_mount(self) -> None:
        """Show the first trap."""
        self.parts = {widget.id or "": widget for widget in self.query(Static)}
        self.count = self.query_one(CountInput)
        self.set_focus(self.count)
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        if self._shown:
            self._before = None
            self._show()

    async def on_key(self, event: events.Key) -> None:
        """Send unhandled keys to the count field."""
        if self.focused is not self.count:
            await self.count._on_key(event)

    def do(self, action: Action) -> None:
        """A row of the menu is a key of the entry."""
        self._press(action.keys)

    def tell(self, words: str) -> None:
        """Words have their own line here."""
        if words:
            self.round.say(words)
            self._show()

    def put_strip(self) -> None:
        """The strip follows the step of the entry, and is put there with the rest."""

    def came_back(self) -> None:
        """Somebody else may be at the keys, and something may have been recorded; what is typed stays."""
        self.round.read_anew()
        self.round.asked_anew()
        self._show()

    async def action_go_to(self) -> None:
        """The count field has its own."""
        self.press("g")

    def commands(self) -> Iterable[SystemCommand]:
        """The keys of the round, for the palette."""
        for action in WALK:
            key = action.keys if action.menu else presses(action.keys.split(",")[0], None)[0]
            yield SystemCommand(action.words.capitalize(), action.help, partial(self.call_later, self.press, key))

    # --- keys --------------------------------------------------------------------------------------------------------

    def press(self, key: str) -> None:
        """What a key of an entry does here; nothing where a dialog came in between."""
        if not self.is_active:
            return
        if key != "enter":
            if self.enters.other() and key not in NO_ANSWER:
                self._press("enter")
        elif not self._enter_is_meant():
            self._show()
            return
        self._press(key)

    def _enter_is_meant(self) -> bool:
        at = self.session.ticks()
        opening = at - self.opened_at < OPENING_SECONDS
        found = self.enters.enter(at, at_stage=self.round.now.mode is Mode.STAGE and not opening)
        if self.waiting is not None:
            self.waiting.stop()
        if opening:
            self.round.say("That Enter came too soon after opening and was dropped: nothing saved")
            return False
        if found is Pressed.HELD:
            self.round.say(HELD)
        elif found is Pressed.DOUBTFUL:
            self.waiting = self.set_timer(HELD_SECONDS, self._enter_waited)
        return found is Pressed.MEANT

    def _enter_waited(self) -> None:
        """A moment after an Enter that could have been the first of many."""
        match self.enters.elapsed():
            case Pressed.MEANT:
                self._press("enter")
            case Pressed.HELD:
                self.round.say(HELD)
                self._show()

    def _press(self, key: str) -> None:
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

    def _pasted(self) -> None:
        self.round.say("Pasting is off here: type the count")
        self._show()

    def _do(self, now: TrapEntry) -> None:
        act: dict[Want, Callable[[], object]] = {
            Want.RECORD: lambda: self._record(now),
            Want.BEFORE: lambda: self.round.sample(-1, now.said),
            Want.AFTER: lambda: self.round.sample(1, now.said),
            Want.GO_TO: lambda: self.round.go_to(now),
            Want.LAST: lambda: self.round.corrected(now),
            Want.BACK: lambda: self._back(now),
            Want.SUMMARY: lambda: self.open_soon("summary", self.route),
            Want.SAMPLES: self._open_sample,
            Want.SPECIMEN: lambda: self._open_specimen(now),
            Want.TREATMENT: self._open_treatment,
            Want.GRID: lambda: self._open_grid(now),
            Want.SECOND: lambda: self.ask(*walk_lines.second_words(now), partial(self._record_second, now)),
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
        try:
            if old is not None:
                self.ask(*withdrawing(self.session, old, self._withdrawn))
        except RoundtuiError as error:
            self.show_error("Nothing is withdrawn", error)

    def _withdrawn(self, said: str) -> None:
        self.round.read_anew()
        self.round.recorded = (last_recorded(self.round.state), None)
        self.round.unlikely, self.round.found = self.round.slip(), ""
        self.round.turn(next_trap(self.round.state, None), passed=said)
        self._show()

    def _open_sample(self) -> None:
        """Leaf and fruit sample of this block; what is typed here stays."""
        here = self.round.here
        hanging = self.session.hanging(here) if here is not None else None
        self.open_soon("sample", hanging.block if hanging is not None else "", self.route, done=self._noted)

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

        here = self.round.here
        hanging = self.session.hanging(here) if here is not None else None
        key = (hanging.block, hanging.species) if hanging is not None else ("", "")
        self.app.push_screen(TreatmentDialog(self.session, *key), self._noted)

    def _open_grid(self, now: TrapEntry) -> None:
        from roundtui.app.dialogs.trap import GridDialog

        self.app.push_screen(GridDialog(self.session, sanitize(now.draft.trap, 20)), self._estimated)

    def _noted(self, said: str | None) -> None:
        """What else was in the trap is on record, or was called off; what is typed stays."""
        if said is not None:
            self.round.read_anew()
            self.round.say(said)
            self._show()

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
            self.round.read_anew()
            self.round.now = saying(before, "Stage not saved: Enter tries again")

    def _record(self, now: TrapEntry) -> None:
        """Put the entry on the disk; only then is the next trap shown."""
        visit, old = now.visit, now.asked.old
        problems = self.session.problems(visit)
        if problems:
            self.round.read_anew()
            self.round.say(". ".join(filter(None, (_sentence(problems[0].message), problems[0].hint))))
            return
        found = self.round.found_mark(visit)
        closed = (replace(_CLOSED, trap=one, read_on=visit.read_on) for one in self.round.rest_of_farm() if now.farm)
        try:
            recorded, *rest = self.session.record([visit, *closed])
        except RoundtuiError as error:
            self.show_error(f"{now.draft.trap} is not recorded", error)
            self.round.read_anew()
            self.round.now = refused(self.round.now)
            return
        self.round.state = self.session.round_of(self.route)
        self.round.recorded = (recorded, old)
        self.round.unlikely = self.round.slip()
        self.round.found = found
        hanging = self.session.hanging(recorded.trap)
        if hanging is not None and now.asked.ask_stage and now.stage is None:
            self.round.declined.add(hanging.block)
        if old is not None:
            self.round.turn(next_trap(self.round.state, None) if self.round.home is None else self.round.home)
        else:
            closed_words = f"Farm closed: {', '.join([recorded.trap, *(one.trap for one in rest)])}" if now.farm else ""
            passed = self.round.passed(now.draft.trap)
            self.round.turn(next_trap(self.round.state, now.draft.trap), passed=closed_words or passed)

    def _back(self, now: TrapEntry) -> None:
        if self.round.at != self.round.home or now.asked.old is not None:
            self.round.ask(self.round.home, now.said)
            return
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
        same = before is not None and now.mode is Mode.COUNT and replace(before, text=now.text) == now
        if same and now.draft.lure_found is None:
            return
        hanging = session.hanging(self.round.at) if self.round.at is not None else None
        block = session.programme.blocks.get(hanging.block) if hanging else None
        so_far = progress(self.round.state, self.round.at)
        self._put("head", walk_lines.head(self.route, session.on, session.scout, width))
        last, old = self.round.recorded
        first = first_counted(last, session.visits(last.trap)) if last is not None and last.recount else None
        before_line = walk_lines.before(last, self.round.unlikely, old, width - 2, self.round.found, first=first)
        way = walk_lines.way_line(self.round.state, self.round.at, so_far, self._block_of, width - 2)
        caution = self._caution()
        where = self.parts["where"]
        if where.styles.height is None or where.styles.height.cells != caution.plain.count("\n") + 4:
            where.styles.height = caution.plain.count("\n") + 4
        self._put("where", way, walk_lines.place(session.programme, hanging, width - 2), caution, before_line)
        seen = session.stage(hanging.block) if hanging else None
        stage = walk_lines.stage(now, block.crop if block else "", seen, width - 2)
        again = hanging is not None and hanging.trap in self.round.asked_again
        due = walk_lines.due(hanging, now, session, width - 2)
        self._put("ask", stage, due, walk_lines.trap(hanging, now, width - 2, again=again))
        self._put("label", walk_lines.label(now))
        self._put("flags", walk_lines.flags(now, session.on))
        self._put("toggles", *walk_lines.toggles(now, width))
        self._put("said", walk_lines.said(now, self.round.found_words(), width - 2))
        shown = last_readings(hanging, session.visits(hanging.trap), session.on) if hanging else ()
        height = max(3, self.parts["below"].size.height)
        if hanging is None and now.choices == ():
            self._put("below", walk_lines.entries(self.round.state, session.slip, width - 2, height))
        else:
            band = session.thresholds.get((hanging.block, hanging.species)) if hanging else None
            self._put("below", walk_lines.below(now, shown, width - 2, height, band))
        self._put("next", walk_lines.upcoming(self.round.state, session, self.round.at, width - 2))
        self._put("keys", *walk_lines.keys(now, width))

    def _block_of(self, trap: str) -> str:
        hanging = self.session.hanging(trap)
        return hanging.block if hanging is not None else ""

    def _caution(self) -> Content:
        trap, state, farm_of = self.round.at, self.round.state, self.round.farm
        farm, following = farm_of(trap), next_trap(state, trap) if trap is not None else None
        return walk_lines.caution(
            self.session.programme,
            self.session.hanging(trap) if trap is not None else None,
            self.session.on,
            self.size.width - 2,
            entering=bool(farm) and not any(farm_of(label) == farm for label in state.done),
            others_left=any(farm_of(label) != farm for label in state.left),
            upcoming=self.session.hanging(following) if following is not None else None,
        )

    def _put(self, part: str, *lines: Content) -> None:
        if self._shown.get(part) != lines:
            self._shown[part] = lines
            self.parts[part].update(Content("\n").join(lines), layout=False)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
