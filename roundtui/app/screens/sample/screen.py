"""A leaf and fruit sample of a block. Keys go to ``domain.sampling.counting``; this screen shows, keeps and records."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from roundtui.app.count_screen import CountScreen
from roundtui.app.keys import MORE, keys_of, step_strip
from roundtui.app.screen import texts
from roundtui.app.screens.sample import view
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.sampling.counting import TEXT_STEPS, Counting, Wish, press
from roundtui.domain.sampling.findings import HighestCatch
from roundtui.domain.sampling.records import plural
from roundtui.domain.text import cells, sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.report.sampling import sought_words
from roundtui.store.sampling import Offer, SampleKeeper
from roundtui.store.session import Session

SAMPLES = keys_of("round", "samples")
_OTHER_LINES, _HIGH = 19, 24
"""Lines that all but the plan take while a sample is counted, and from which the verdict has a frame."""


class Phase(StrEnum):
    """What the screen asks for while no sample is under way."""

    BLOCK = "block"
    OFFER = "offer"
    WORD = "word"


class SampleScreen(CountScreen[str | None]):
    """Leaf and fruit samples, one after another, until somebody goes back with a word on what was recorded.

    Args:
        session: Who, where and when.
        block: The block; empty: it is asked for.
        route: Route whose blocks stand first; empty for none.
    """

    STOPPED = "There is nothing to look for"
    CSS_PATH = "style.tcss"
    KEYS = SAMPLES
    HELD = "Enter is held down or came twice: nothing saved. Let go, then Enter saves"

    def __init__(self, session: Session, block: str = "", route: str = "") -> None:
        super().__init__(session)
        self.keeper = SampleKeeper(session)
        self.asked_block = not block
        """Whether the block was asked for here, so that Escape asks again."""
        self.block = block
        self.blocks = self.keeper.blocks(route) if not block else ()
        self.phase = Phase.OFFER if block else Phase.BLOCK
        self.cursor = 0
        self.offers: tuple[Offer, ...] = self.keeper.offers(block) if block else ()
        self.now: Counting | None = None
        self.highest: HighestCatch | None = None
        self.said = ""
        self.recorded = ""
        """What was put on record last, in words."""

    def compose(self) -> ComposeResult:
        """Few widgets, none of them ever rebuilt: the field must not lose a key."""
        yield from texts("head", "where", "what", "verdict", "next", "tally")
        with Horizontal(id="row"):
            yield Static(id="label", markup=False)
            yield CountInput(self.press, self._pasted, id="count")
        yield from texts("said", "below", "start", "plan", "caution", "keys")

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        if self.is_mounted:
            self._show()

    # --- keys --------------------------------------------------------------------------------------------------------

    def put_strip(self) -> None:
        """The keys of the step that stands open, in the same two lines as everywhere."""
        if self.now is not None:
            step = view.keys(self.now)
        elif self.phase is Phase.WORD:
            step = view.FREE_WORD
        else:
            begun = bool(self.offers) and self.offers[0].draft is not None
            more = f"   n something else   {'x discard' if begun else 'z fix your last'}"
            step = (view.CHOOSE + (more if self.phase is Phase.OFFER else ""), "↑↓ mark", MORE)
        self.put("keys", "\n".join(step_strip(*step, self.width)))

    def _is_asked(self) -> bool:
        return self.now is not None and self.now.settled

    def _press(self, key: str) -> None:
        takes_text = self.phase is Phase.WORD or (self.now is not None and self.now.step in TEXT_STEPS)
        if key in "?m" and not takes_text:
            (self.show_keys if key == "?" else self.action_menu)()
            return
        self.said = ""
        if self.now is not None:
            self._count(self.now, key)
        elif self.phase is Phase.WORD:
            self._word(key)
        else:
            self._choose(key.lower() if len(key) == 1 else key)
        if self.is_current:
            self._show()

    def _choose(self, key: str) -> None:
        rows = len(self.blocks if self.phase is Phase.BLOCK else self.offers)
        if key in {"up", "-", "down", "+"}:
            self.cursor = max(0, min(rows - 1, self.cursor + (1 if key in {"down", "+"} else -1)))
        elif key.isascii() and key.isdigit() and 0 < int(key) <= rows:
            self.cursor = int(key) - 1
            self._take()
        elif key == "enter" and rows:
            self._take()
        elif key == "escape":
            self._back()
        elif key == "n" and self.phase is Phase.OFFER:
            self.phase = Phase.WORD
        elif key == "z" and self.phase is Phase.OFFER:
            self._corrected()
        elif key == "x" and self.phase is Phase.OFFER:
            self._drop()
        else:
            self.said = f"{sanitize(key, 12)} does nothing here: a number, Up, Down or Enter"

    def _take(self) -> None:
        if self.phase is Phase.BLOCK:
            self.block, self.phase, self.cursor = self.blocks[self.cursor], Phase.OFFER, 0
            self.offers = self.keeper.offers(self.block)
            return
        offer = self.offers[self.cursor]
        if offer.draft is not None:
            day = spoken_day(offer.draft.sampled_on, self.session.on)
            self._begin(offer.draft, f"Going on with the sample of {day}")
        elif (sample := self.keeper.looked_today(self.block, offer.sought)) is None:
            self._begin(self.keeper.begin(self.block, offer.sought))
        else:
            # What was recorded last stands first in the list, and a few stray Enters would put an empty look beside it.
            already = (
                f"Sampled already today: {sample.found} of {sample.looked} {plural(sample.looked_at, sample.looked)}."
            )
            self.ask(
                f"Begin another sample of {sanitize(sought_words(offer.sought), 40)}?",
                [(already, True), ("z corrects the one that is saved.", False)],
                lambda: self._again(offer),
            )

    def _again(self, offer: Offer) -> None:
        self._begin(self.keeper.begin(self.block, offer.sought))
        self._show()

    def _begin(self, now: Counting, said: str = "") -> None:
        self.now, self.phase, self.said = now, Phase.OFFER, said
        self.highest = self.keeper.start(now)

    def _drop(self) -> None:
        draft = self.offers[self.cursor].draft if self.offers else None
        if draft is None:
            self.said = "x discards a sample under way; this one was not begun"
        else:
            self.ask(
                "Discard the sample under way?", [("What was counted is lost.", True)], lambda: self._dropped(draft)
            )

    def _dropped(self, draft: Counting) -> None:
        self.keeper.drop(draft)
        self._offer("Discarded: nothing was saved")
        self._show()

    def _corrected(self) -> None:
        now = self.keeper.corrected(self.block)
        if now is None:
            self.said = "You have no sample in this block today"
        elif any(offer.draft is not None and offer.sought.key == now.sought.key for offer in self.offers):
            self.said = "A sample of this kind is under way: finish or discard it before you correct the other"
        else:
            self._begin(now, "Correcting the saved sample: both stay on record, Enter saves")

    def _offer(self, said: str) -> None:
        self.now, self.phase, self.cursor, self.said = None, Phase.OFFER, 0, said
        self.offers = self.keeper.offers(self.block)

    def _word(self, key: str) -> None:
        words = " ".join(self.count.value.split())
        if key == "escape":
            self._offer("Cancelled")
        elif key == "enter" and words:
            self._begin(self.keeper.free(self.block, words))
        elif key == "enter":
            self.said = "Type what to look for, or Escape"

    def _back(self) -> None:
        if self.phase is Phase.OFFER and self.asked_block:
            self.phase, self.cursor, self.block = Phase.BLOCK, 0, ""
        else:
            self.dismiss(self.recorded or None)

    def _count(self, before: Counting, key: str) -> None:
        if before.step in TEXT_STEPS:
            before = replace(before, line=self.count.value)
        now = press(before, key)
        self.now, self.said = now, now.said
        if now.wish is Wish.RECORD:
            self._record(now)
        elif now.wish is Wish.BACK:
            begun = any(draft.block == self.block for draft in self.keeper.drafts)
            self._offer("What was counted is kept: go on here" if begun and now.marks else "")
        elif replace(now, text="", line="", said="") != replace(before, text="", line="", said=""):
            self.keeper.keep(now)

    def _record(self, now: Counting) -> None:
        """Put the sample on the disk; only then is another one offered."""
        try:
            sample = self.keeper.record(now)
        except RoundtuiError as error:
            self.show_error("The sample is not saved", error)
            self.now = replace(now, wish=Wish.NOTHING, said="Not recorded: what was counted is still here")
            return
        verdict = now.verdict.words
        unit = plural(sample.looked_at, sample.looked)
        found = f", {sample.found} of {sample.looked} {unit}; {verdict}"
        name = sanitize(sought_words(now.sought), max(12, self.size.width - 14 - cells(found)))
        self.recorded = f"Saved: {name}{found}"
        self._offer(self.recorded)

    # --- showing -----------------------------------------------------------------------------------------------------

    def _say(self, words: str) -> None:
        self.said = words

    def _show(self) -> None:
        width = max(20, self.size.width - 2)
        counting = self.now
        for name in ("what", "plan", "start", "verdict", "next", "tally"):
            self.parts[name].display = counting is not None
        typing = counting is not None or self.phase is Phase.WORD
        self.query_one("#row").display = typing
        if typing and self.focused is not self.count:
            # A field that was hidden has lost its cursor.
            self.set_focus(self.count)
        self.put_head(f"Leaf and fruit check{'   Which block?' if self.phase is Phase.BLOCK else ''}")
        marked = self.blocks[self.cursor] if self.phase is Phase.BLOCK and self.blocks else self.block
        self.put("where", view.place(self.session, marked, width))
        caution = wrap(view.CAUTION, width)
        self.put("caution", "\n".join(caution))
        self.put_strip()
        if counting is not None:
            self._show_count(counting, width)
            return
        self.count.show(self.count.value if self.phase is Phase.WORD else "", takes_text=self.phase is Phase.WORD)
        height = max(3, self.size.height - (7 if self.phase is Phase.WORD else 6) - len(caution))
        if self.phase is Phase.BLOCK:
            listed = view.block_list(self.keeper, self.blocks, self.cursor, width, height)
        else:
            listed = view.offers(self.offers, self.cursor, self.session.on, width, height)
        self.put("label", Content.styled("  Pest", "bold"))
        self.parts["said"].styles.height = 2
        self.put("said", Content.styled(sanitize(self.said, width), "bold"))
        self.put("below", listed)

    def _show_count(self, now: Counting, width: int) -> None:
        takes_text = now.step in TEXT_STEPS
        self.count.show(now.line if takes_text else now.text, takes_text=takes_text)
        self.put("what", view.what(now, self.session.on, width))
        low = self.size.height < _HIGH
        self.parts["verdict"].set_class(low, "-low")
        room = max(2, self.size.height - _OTHER_LINES + 3 * low)
        # A long source takes the two lines that stand free while nothing is said.
        plan = view.plan(now, width, room + 2 - bool(self.said))
        self.parts["said"].styles.height = 2 - max(0, len(plan.plain.splitlines()) - room)
        self.put("plan", plan)
        self.put("start", view.start(now, self.highest, width))
        self.put("verdict", view.verdict(now))
        self.put("next", view.next_step(now, width))
        self.put("tally", view.tally(now, width))
        self.put("label", view.label(now))
        self.put("said", Content.styled(sanitize(self.said, width), "bold $text-accent"))
        self.put("below", view.below(now, width))
