"""One entry of a round as it is keyed in: keys go in, a draft and the next step come out.

Nothing here knows a screen. A ``Entry`` is a value; ``press`` gives the next one. The count is digits only, so every
letter is free to act; ``4o12lr`` and ``xml`` are whole entries, and one Enter wants the lot recorded.

What a key does while the count is being keyed: digits are the count, letters are flags, Enter wants it recorded.
Keys of the steps beside the count: stage, reason, numbers, note, label, lists. ``press`` is the way in.
Enter at the stage line: whether somebody pressed it there, or it comes from a key that is held or struck twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from typing import Any

from roundtui.domain.entries import KIND_OF, MOST_MOTHS, YES, Form, NoReading, StageSeen, Visit, anew, marked
from roundtui.domain.programme.stages import runs_backward
from roundtui.domain.records import Frozen
from roundtui.domain.round.agenda import NOT_LOOKED_AT, Choice, place_of
from roundtui.domain.round.tally import REASONS


class Mode(StrEnum):
    """Which step of an entry the next key belongs to."""

    STAGE = "stage"
    """The fruit stage stands above the count and waits."""
    COUNT = "count"
    REASON = "reason"
    NUMBER = "number"
    """Digits of a number beside the count."""
    NOTE = "note"
    BODY = "body"
    GO_TO = "go-to"
    LURE = "lure"
    FOUND = "found"
    STAGES = "stages"


class Want(StrEnum):
    """What an entry asks of the screen around it."""

    NOTHING = ""
    RECORD = "record"
    STAGE = "stage"
    """The stage is answered: it is recorded before anything else is asked."""
    BEFORE = "before"
    AFTER = "after"
    GO_TO = "go-to"
    LAST = "last"
    BACK = "back"
    SUMMARY = "summary"
    HELP = "help"
    SPECIMEN = "specimen"
    """What else was in the trap."""
    SAMPLES = "samples"
    """A leaf and fruit sample of the block."""
    TREATMENT = "treatment"
    """A treatment of the block that the grower spoke of."""
    GRID = "grid"
    """A count from some squares of the liner."""
    SECOND = "second"
    """A count of a trap that somebody else read today: it is asked about before it is recorded."""
    WITHDRAW = "withdraw"
    """The entry under correction is withdrawn: that is asked about first."""
    MENU = "menu"


TEXT_MODES = frozenset({Mode.NOTE, Mode.BODY, Mode.GO_TO})
"""Modes in which every character is text."""
LISTS = frozenset({Mode.LURE, Mode.FOUND, Mode.STAGES})
"""Modes in which a list stands open."""
NOT_SAVED = "Not saved. It is still here: Enter tries again, a digit begins anew"
NO_COUNT = "No count yet: 0, or x"
"""Said to marks alone, on the walk and on a sheet."""
CORRECTED = "corrected on the walk"
"""Reason that stands on a correction made with ``z``."""


class Asked(Frozen, kw_only=True):
    """What is asked for: a trap, and what can be chosen there."""

    draft: Visit
    """The entry before anything is keyed: trap and day, or the old flags where an entry is corrected."""
    lures: tuple[Choice, ...] = ()
    """Lures that can be put in; the first is the default."""
    found: tuple[Choice, ...] = ()
    """Lures that can be found in it."""
    stages: tuple[Choice, ...] = ()
    """Stages of the block's crop, earliest first; empty where there is no block."""
    stage_before: str | None = None
    """Stage seen last in this season."""
    ask_stage: bool = False
    """Whether the stage stands above the count and waits."""
    standing: Visit | None = None
    """Entry of this trap that stands in this round already."""
    theirs: Visit | None = None
    """Entry of this trap that somebody else made on the day."""
    old: Visit | None = None
    """Entry that is corrected; None for a new one."""
    finished: bool = False
    """Nothing is left to ask: the round is done."""


class TrapEntry(Frozen, kw_only=True):
    """An entry under way."""

    asked: Asked
    draft: Visit
    """The entry so far, its count apart."""
    mode: Mode
    text: str = ""
    """Digits of the count."""
    line: str = ""
    """Text or digits of the step that stands open."""
    number: str = ""
    """Which number the digits are of, as its field is named."""
    cursor: int = 0
    """Line of the list that stands open."""
    stage: str | None = None
    """Stage that was chosen; None: not looked at."""
    stage_open: bool = False
    """Whether the stage still waits for an answer."""
    doubted: str = ""
    """Stage that was warned about, and that ``y`` takes."""
    looked: bool = False
    """Whether the key before was a bare Up or Down."""
    farm: bool = False
    """Whether the reason is that of all traps of the farm that are left."""
    leaving: bool = False
    """Whether Escape was pressed while something was typed."""
    refused: bool = False
    """Whether it could not be put on record just now: a digit is then a new count, and none is added to the old one."""
    want: Want = Want.NOTHING
    said: str = ""
    """A word for the person at the keys."""

    @property
    def visit(self) -> Visit:
        """The entry as it would be recorded."""
        old = self.asked.old
        if self.text:
            return replace(self.draft, count=int(self.text), no_reading=None)
        if old is not None and self.draft.no_reading is None:
            return replace(self.draft, count=old.count, no_reading=old.no_reading)
        return self.draft

    @property
    def typed(self) -> bool:
        """Whether anything would be lost if this entry were dropped."""
        return bool(self.text) or self.draft != self.asked.draft

    @property
    def unchanged(self) -> bool:
        """Whether the stage is seen and the same as last time."""
        return self.stage is not None and self.stage == self.asked.stage_before

    @property
    def choices(self) -> tuple[Choice, ...]:
        """Lines of the list that stands open."""
        match self.mode:
            case Mode.LURE:
                return self.asked.lures
            case Mode.FOUND:
                return self.asked.found
            case Mode.STAGES:
                return (NOT_LOOKED_AT, *self.asked.stages)
            case _:
                return ()

    def seen(self, block: str, before: StageSeen | None) -> StageSeen | None:
        """The stage to record.

        Args:
            block: Code of the block.
            before: What was seen there last; it is replaced if it was seen on the same day.

        Returns:
            None where the stage was not looked at, or stands already.
        """
        day = self.draft.read_on
        if self.stage is None:
            return None
        same_day = before if before is not None and before.seen_on == day else None
        if same_day is not None and same_day.code == self.stage:
            return None
        return StageSeen(
            block=block,
            seen_on=day,
            code=self.stage,
            unchanged=same_day is None and self.unchanged,
            replaces=same_day.id if same_day else None,
            reason=CORRECTED if same_day else "",
        )


def begin(asked: Asked, said: str = "", *, looked: bool = False) -> TrapEntry:
    """An entry of which nothing is keyed yet.

    Args:
        asked: What is asked for.
        said: A word to begin with.
        looked: Whether a bare Up or Down led here.

    Returns:
        The entry, waiting for the stage where that is asked, else for the count.
    """
    waits = asked.ask_stage and bool(asked.stages)
    bare = TrapEntry(asked=asked, draft=asked.draft, mode=Mode.COUNT, stage_open=waits, said=said, looked=looked)
    return base(bare)


def correction(asked: Asked, old: Visit) -> TrapEntry:
    """An entry that sets another right, with the other's flags to begin with.

    Args:
        asked: What can be chosen at the trap.
        old: The entry to corrected; it stays on record.

    Returns:
        The entry; a count or a reason is to be keyed, else the old one goes on standing.
    """
    draft = anew(old, count=None, no_reading=None, replaces=old.id, reason=CORRECTED)
    theirs = None if asked.theirs is None or asked.theirs.id == old.id else asked.theirs
    return begin(replace(asked, draft=draft, old=old, standing=None, theirs=theirs, ask_stage=False, finished=False))


def take_stage(now: TrapEntry, code: str) -> TrapEntry:
    """A stage is answered: it is to be recorded, and the count is next.

    One that stands before the stage seen last is warned about first, and ``y`` takes it: a number pad without NumLock
    sends Up for an 8.
    """
    warning = backward(now, code)
    if warning and now.doubted != code:
        return replace(now, doubted=code, said=f"{warning}, or y saves it. An 8 typed? NumLock is off")
    said = f"Stage {code} seen, unchanged" if code == now.asked.stage_before else f"Stage {code} seen"
    taken = replace(now, mode=Mode.COUNT, line="", cursor=0, stage_open=False, stage=code)
    return ask_for(taken, Want.STAGE, f"{said}. {warning}" if warning else said)


def say(now: TrapEntry, said: str) -> TrapEntry:
    """The entry as it is, with a word for the person at the keys."""
    return replace(now, said=said)


def ask_for(now: TrapEntry, want: Want, said: str = "") -> TrapEntry:
    """The entry as it is, asking the screen for something."""
    return replace(now, want=want, said=said)


def base(now: TrapEntry) -> TrapEntry:
    """Back from a step to the count, or to the stage where that still waits."""
    return replace(now, mode=Mode.STAGE if now.stage_open else Mode.COUNT, line="", cursor=stage_cursor(now))


def stage_cursor(now: TrapEntry) -> int:
    """Where the stage stands in the list while it waits; 0 else."""
    return place_of(now.asked.stages, now.stage or now.asked.stage_before) if now.stage_open else 0


def refused(now: TrapEntry) -> TrapEntry:
    """An entry that could not be put on record: it stays as it was typed.

    Args:
        now: The entry.
    """
    return replace(now, refused=True, want=Want.NOTHING, said=NOT_SAVED)


def close_stage(now: TrapEntry) -> TrapEntry:
    """The count is begun: the stage stays as it is, not looked at unless it was answered."""
    if not now.stage_open:
        return now
    standing = now.asked.stages[now.cursor].value
    untouched = now.mode is not Mode.STAGE or now.cursor == place_of(now.asked.stages, now.asked.stage_before)
    said = "" if untouched else f"Stage {standing} not saved: Enter saves it before the count, f after"
    return replace(now, mode=Mode.COUNT, stage_open=False, stage=None, said=said)


def backward(now: TrapEntry, code: str) -> str:
    """A warning where a stage stands before the one seen last; empty where it does not."""
    before = now.asked.stage_before
    if before is None or not runs_backward(before, code):
        return ""
    return f"Stage {code} is before {before}; stages do not run backward: check it"


NUMLOCK_OFF = "NumLock is off: the number pad sends arrows, not digits"
"""Said on keys that a number pad sends with NumLock off."""
NUMLOCK_KEYS = frozenset({"home", "end", "insert", "delete", "pageup", "pagedown", "left", "right", "kp_begin"})
WIDEST = len(str(MOST_MOTHS))


def count(now: TrapEntry, key: str) -> TrapEntry:
    """What a key does to an entry whose count is being keyed.

    Args:
        now: The entry so far.
        key: One character in small letters, or the name of a key.
    """
    if now.asked.finished and key not in _WHEN_FINISHED:
        return say(now, "The round is done: Enter summary, Up back, z last entry, a and t its block")
    if key.isascii() and key.isdigit():
        return _digit(now, key)
    if key in NUMLOCK_KEYS:
        return _numlock_off(now)
    act = _ACTS.get(key)
    if act is not None:
        return act(now)
    return now if key in _IDLE else say(now, f"{key} does nothing here: ? shows the keys")


def _numlock_off(now: TrapEntry) -> TrapEntry:
    """Arrows that came before were digits too: a stage they moved goes back to where it was."""
    if now.stage_open:
        now = replace(now, stage=None)
        now = replace(now, cursor=stage_cursor(now))
    return say(now, NUMLOCK_OFF)


def _digit(now: TrapEntry, digit: str) -> TrapEntry:
    now = close_stage(now)
    if len(now.text) >= WIDEST:
        return say(now, f"{MOST_MOTHS} is the most a trap can hold")
    # Behind a reason too it is not swallowed: an Enter typed after it would record the reason.
    return replace(now, text=now.text + digit, said=_both(now) or now.said)


def _both(now: TrapEntry) -> str:
    """A word where a reason is set and a count may not stand beside it; empty where none is."""
    reason = now.draft.no_reading
    return f"Not read ({reason.value}) and a count: Backspace until one is left" if reason is not None else ""


def _enter(now: TrapEntry) -> TrapEntry:
    if now.asked.finished:
        return ask_for(now, Want.SUMMARY)
    if now.text and _both(now):
        return say(now, _both(now))
    old, standing = now.asked.old, now.asked.standing
    if old is not None and now.visit == anew(old, replaces=old.id, reason=CORRECTED):
        return say(now, "Nothing changed: Escape goes on")
    if not now.text and now.visit.no_reading is None and old is None:
        return say(now, _blank(now))
    if standing is not None and old is None:
        return say(now, f"{now.draft.trap} is read already: z makes this a correction, Escape goes back")
    second = now.asked.theirs is not None and old is None and not now.draft.recount
    return ask_for(now, Want.SECOND if second else Want.RECORD)


def _blank(now: TrapEntry) -> str:
    if now.looked:
        return "Nothing recorded. If that was a digit: NumLock is off"
    if now.typed:
        return NO_COUNT
    return "Blank is not zero, nothing saved: 0 is a count, x is not read"


def _escape(now: TrapEntry) -> TrapEntry:
    if now.asked.old is not None or now.asked.standing is not None:
        return ask_for(now, Want.BACK, dropped(now))
    if now.draft.no_reading is not None and not now.text:
        return _backspace(now)
    if now.typed and not now.leaving:
        what = f"{now.text} is" if now.text else "This is"
        return replace(now, leaving=True, said=f"{what} not saved yet: Enter saves, Escape again goes back")
    return ask_for(now, Want.BACK)


def _backspace(now: TrapEntry) -> TrapEntry:
    if now.text:
        return replace(now, text=now.text[:-1])
    if now.draft.no_reading is not None:
        return replace(now, farm=False, draft=replace(now.draft, no_reading=None), said="Reason cancelled")
    return now


def dropped(now: TrapEntry) -> str:
    """A word on what is lost when the entry is left as it is; empty where nothing is."""
    if now.typed:
        what = now.text or (now.draft.no_reading.value if now.draft.no_reading else "what was typed")
    elif now.stage is not None and now.stage_open:
        what = f"stage {now.stage}"
    else:
        return ""
    return f"{now.draft.trap}: {what} dropped, not saved"


def _minus(now: TrapEntry) -> TrapEntry:
    if now.typed:
        return say(now, f"{now.text or 'Something'} is typed: - stays here, Up would drop it")
    return ask_for(now, Want.BEFORE)


def _back_to_last(now: TrapEntry) -> TrapEntry:
    standing = now.asked.standing or now.asked.theirs
    if standing is None or now.asked.old is not None:
        return ask_for(now, Want.LAST, dropped(now))
    whose = f", read by {standing.scout}" if standing is now.asked.theirs else ""
    return replace(correction(now.asked, standing), text=now.text, said=f"Correcting {standing.trap}{whose}")


def _toggle(now: TrapEntry, *, name: str) -> TrapEntry:
    turned: dict[str, Any] = {name: not getattr(now.draft, name)}
    now = replace(now, draft=replace(now.draft, **turned))
    return say(now, "Kill strip: gloves on, wash after, as its label says") if turned.get("kill_strip") else now


def _recount(now: TrapEntry) -> TrapEntry:
    again, asked = not now.draft.recount, now.asked
    first = asked.theirs is not None and asked.theirs.count is not None and asked.theirs.read_on == now.draft.read_on
    if again and not first and not (asked.old is not None and asked.old.recount):
        how = (
            "z corrects yours" if asked.standing else "Escape goes back" if asked.old else "Count, Enter: a first count"
        )
        return say(now, f"No recount: nobody else counted {now.draft.trap} today. {how}")
    said = "Recount of a catch that somebody else counted; no catch of its own" if again else ""
    return say(replace(now, draft=replace(now.draft, recount=again)), said)


def take_grid(now: TrapEntry, count: int, note: str) -> TrapEntry:
    """A count estimated from a grid stands in the field; Enter records it.

    Args:
        now: The entry so far.
        count: The estimate. [moths]
        note: How it came about; it goes behind a note that stands already.
    """
    notes = "; ".join(words for words in (now.draft.note, note) if words)
    estimated = replace(now, text=str(count), draft=replace(now.draft, estimated=True, note=notes))
    return say(close_stage(estimated), f"{count} estimated from the grid: Enter records")


def _withdraw(now: TrapEntry) -> TrapEntry:
    if now.asked.old is None:
        return say(now, "u withdraws the entry that z shows; a recount is m 1")
    return ask_for(now, Want.WITHDRAW)


def _grid(now: TrapEntry) -> TrapEntry:
    if now.draft.no_reading is not None:
        return say(now, f"Not read ({now.draft.no_reading.value}) is set: Backspace cancels, then count")
    return ask_for(now, Want.GRID)


def _lure(now: TrapEntry) -> TrapEntry:
    if now.draft.lure is not None:
        return replace(now, draft=replace(now.draft, lure=None))
    # Digits that follow are the count: no list may swallow them.
    first = now.asked.lures[0] if now.asked.lures else Choice(YES, "lot not known")
    return say(replace(now, draft=replace(now.draft, lure=first.value)), f"Lure in: {first.words}. m 4: another lot")


def _any_lure(now: TrapEntry) -> TrapEntry:
    return replace(now, mode=Mode.LURE, cursor=place_of(now.asked.lures, now.draft.lure))


def _found(now: TrapEntry) -> TrapEntry:
    if now.draft.lure_found is not None:
        return replace(now, draft=replace(now.draft, lure_found=None))
    return replace(now, mode=Mode.FOUND, cursor=0)


def _body(now: TrapEntry) -> TrapEntry:
    if now.draft.body is not None:
        return replace(now, draft=replace(now.draft, body=None))
    return replace(now, mode=Mode.BODY, line="")


def _no_reading(now: TrapEntry) -> TrapEntry:
    if now.text:
        return say(now, f"Backspace the {now.text} first, then x and its letter: a count has no reason")
    return replace(close_stage(now), mode=Mode.REASON)


def _open_number(now: TrapEntry, *, name: str) -> TrapEntry:
    number = getattr(now.draft, name)
    return replace(close_stage(now), mode=Mode.NUMBER, number=name, line="" if number is None else str(number))


def _note(now: TrapEntry) -> TrapEntry:
    opened = replace(close_stage(now), mode=Mode.NOTE)
    if not now.draft.note:
        return opened
    # The space is taken off again where nothing is typed behind it.
    said = "Edit the note: Left, Right, Home, Backspace"
    return say(replace(opened, line=f"{now.draft.note} "), said)


def open_stages(now: TrapEntry) -> TrapEntry:
    """The whole list of stages, opened at the one that stands."""
    if not now.asked.stages:
        return say(now, "No block here, so no stage")
    chosen = now.stage or now.asked.stage_before
    return replace(now, mode=Mode.STAGES, line="", cursor=place_of((NOT_LOOKED_AT, *now.asked.stages), chosen))


_IDLE = frozenset({" ", "tab", "shift+tab", "ignore"})
_ACTS: Mapping[str, Callable[[TrapEntry], TrapEntry]] = {
    "enter": _enter,
    "escape": _escape,
    "backspace": _backspace,
    **{one.fact.mark: partial(_toggle, name=one.attribute) for one in marked(KIND_OF["visit"], Form.FLAG)},
    **{one.fact.mark: partial(_open_number, name=one.attribute) for one in marked(KIND_OF["visit"], Form.WHOLE)},
    "+": partial(_toggle, name="liner"),
    "r": _lure,
    "*": _lure,
    "menu-1": _recount,
    "menu-2": partial(ask_for, want=Want.SPECIMEN),
    "menu-3": _grid,
    "menu-4": _any_lure,
    "m": partial(ask_for, want=Want.MENU),
    "b": _body,
    ".": partial(_toggle, name="cleared"),
    ",": partial(_toggle, name="cleared"),
    "x": _no_reading,
    "/": _no_reading,
    "a": partial(ask_for, want=Want.SAMPLES),
    "t": partial(ask_for, want=Want.TREATMENT),
    **{key: partial(say, said=f"Moved: m {number}") for key, number in (("v", 2), ("j", 3), ("f3", 4))},
    "u": _withdraw,
    "n": _note,
    "w": _found,
    "f": open_stages,
    "up": lambda now: ask_for(now, Want.BEFORE, dropped(now)),
    "-": _minus,
    "down": lambda now: ask_for(now, Want.AFTER, dropped(now)),
    "g": lambda now: replace(now, mode=Mode.GO_TO, line=""),
    "z": _back_to_last,
    "s": partial(ask_for, want=Want.SUMMARY),
    "?": partial(ask_for, want=Want.HELP),
    "f1": partial(ask_for, want=Want.HELP),
}
_WHEN_FINISHED = frozenset(
    {"a", "t", "enter", "escape", "backspace", "up", "-", "g", "z", "s", "m", "?", "f1", "tab", " "}
)


REASON_KEYS: Mapping[str, NoReading] = {
    **REASONS,
    **{str(number): reason for number, reason in enumerate(REASONS.values(), 1)},
}
"""Letter, or digit on the number pad, of each reason for no reading."""
_FARM = ("f", "7")
"""Keys that say it of the rest of the farm: it is closed."""


def press(now: TrapEntry, key: str) -> TrapEntry:
    """What a key does.

    Args:
        now: The entry so far.
        key: One character, or the name of a key: enter, escape, backspace, up, down, home …

    Returns:
        The entry after the key; ``want`` says what the screen is to do, ``said`` what the person is to know.
    """
    clean = replace(now, want=Want.NOTHING, said="", looked=False, leaving=False, refused=False)
    if now.refused and now.mode is Mode.COUNT and key.isascii() and key.isdigit():
        clean = replace(clean, text="")
    if key in {"y", "Y"} and now.doubted:
        return take_stage(clean, now.doubted)
    clean = replace(clean, doubted="")
    if clean.mode not in TEXT_MODES and len(key) == 1:
        key = key.lower()
    if now.mode is Mode.COUNT and key in {"enter", "escape"}:
        clean = replace(clean, looked=now.looked, leaving=now.leaving)
    return _STEPS[clean.mode](clean, key)


def _stage(now: TrapEntry, key: str) -> TrapEntry:
    at = now.cursor
    if now.stage is not None and key.isascii() and key.isdigit() and not backward(now, now.stage):
        taken = take_stage(now, now.stage)
        return ask_for(count(taken, key), Want.STAGE, taken.said)
    match key:
        case "enter":
            return _stage_enter(now)
        case "escape":
            return replace(now, mode=Mode.COUNT, stage_open=False, stage=None, said="Stage: not checked")
        case "up" | "-" | "down":
            unset = now.stage is None and now.asked.stage_before is None
            at = at if unset else max(0, min(len(now.asked.stages) - 1, at + (1 if key == "down" else -1)))
            chosen = now.asked.stages[at].value
            return replace(now, cursor=at, stage=chosen, said=backward(now, chosen))
        case "f":
            return open_stages(now)
    return count(now, key)


def _stage_enter(now: TrapEntry) -> TrapEntry:
    code = now.stage or now.asked.stage_before
    if code is None:
        return say(now, "No stage on record yet: Up, Down or f chooses one; a digit starts the count")
    return take_stage(now, code)


def _reason(now: TrapEntry, key: str) -> TrapEntry:
    if key in {"escape", "backspace"}:
        return replace(base(now), farm=False, draft=replace(now.draft, no_reading=None), said="Reason cancelled")
    farm = key in _FARM and now.asked.old is None and now.asked.standing is None
    reason = NoReading.CLOSED if farm else REASON_KEYS.get(key)
    if reason is None:
        return say(now, "Not read: s, c, m, d, g or o (1 to 6), f the rest of the farm (7); Escape cancels")
    chosen = replace(base(now), farm=farm, draft=replace(now.draft, no_reading=reason))
    if reason is NoReading.OTHER and not now.draft.note:
        return replace(chosen, mode=Mode.NOTE, said="Other: say why")
    return chosen


def _number_digit(now: TrapEntry, key: str) -> TrapEntry:
    if key.isascii() and key.isdigit():
        return replace(now, line=now.line + key) if len(now.line) < WIDEST else say(now, f"{MOST_MOTHS} is the most")
    if key == "backspace" and now.line:
        return replace(now, line=now.line[:-1])
    if key in {"escape", "backspace"}:
        return base(now)
    said: dict[str, Any] = {now.number: int(now.line) if now.line else None}
    done = replace(base(now), draft=replace(now.draft, **said))
    return done if key == KIND_OF["visit"].field(now.number).fact.mark else press(done, key)


def _text_line(now: TrapEntry, key: str) -> TrapEntry:
    if len(key) == 1:
        return replace(now, line=now.line + key)
    match key:
        case "backspace":
            return replace(now, line=now.line[:-1])
        case "enter":
            return _line_done(now)
        case "escape" if now.mode is Mode.NOTE:
            return _noted(now)
        case "escape":
            return base(now)
    return now


def _noted(now: TrapEntry) -> TrapEntry:
    note = now.line.strip().removeprefix(":").strip()
    return replace(base(now), draft=replace(now.draft, note=note))


def _line_done(now: TrapEntry) -> TrapEntry:
    line = now.line.strip()
    if now.mode is Mode.NOTE:
        return press(_noted(now), "enter")
    if now.mode is Mode.BODY:
        said = f"Body {line}" if line else "Clean body, never used"
        return replace(base(now), draft=replace(now.draft, body=line or YES), said=said)
    return replace(ask_for(base(now), Want.GO_TO, dropped(now)), line=line) if line else base(now)


def _list(now: TrapEntry, key: str) -> TrapEntry:
    choices = now.choices
    match key:
        case "escape" | "backspace":
            return base(now)
        case "up" | "-" | "down":
            step = 1 if key == "down" else -1
            return replace(now, cursor=max(0, min(len(choices) - 1, now.cursor + step)), line="")
        case "enter":
            return _take(now, choices[now.cursor]) if choices else base(now)
    if key.isascii() and key.isdigit():
        if now.mode is Mode.STAGES:
            return _stage_code(now, key)
        taken = choices[int(key) - 1 : int(key)] if key != "0" else ()
        return _take(now, taken[0]) if taken else say(now, f"There is no number {key}")
    return say(now, "Up and Down move, a number or Enter selects, Escape cancels")


def _stage_code(now: TrapEntry, digit: str) -> TrapEntry:
    line = (now.line + digit)[-2:]
    at = next((at for at, choice in enumerate(now.choices) if choice.value and choice.value.startswith(line)), None)
    if at is None:
        return replace(now, line="", said=f"There is no stage {line}")
    return replace(now, cursor=at, line="" if len(line) == 2 else line)


def _take(now: TrapEntry, choice: Choice) -> TrapEntry:
    match now.mode:
        case Mode.LURE:
            taken = replace(base(now), draft=replace(now.draft, lure=choice.value))
        case Mode.FOUND:
            taken = replace(base(now), draft=replace(now.draft, lure_found=choice.value))
        case _:
            if choice.value:
                return take_stage(now, choice.value)
            kept = None if now.stage_open else now.stage
            said = f"Stage {kept} is recorded: f chooses another" if kept else ""
            return replace(now, mode=Mode.COUNT, line="", cursor=0, stage_open=False, stage=kept, said=said)
    return say(taken, f"{choice.words}: {choice.effect}" if choice.effect else choice.words)


_STEPS: Mapping[Mode, Callable[[TrapEntry, str], TrapEntry]] = {
    Mode.STAGE: _stage,
    Mode.COUNT: count,
    Mode.REASON: _reason,
    Mode.NUMBER: _number_digit,
    Mode.NOTE: _text_line,
    Mode.BODY: _text_line,
    Mode.GO_TO: _text_line,
    Mode.LURE: _list,
    Mode.FOUND: _list,
    Mode.STAGES: _list,
}


HELD_SECONDS = 0.15
"""Enters that follow each other faster come from one key, held or chattering. [s]"""
DOUBTED_SECONDS = 1.0
"""Within this time of the Enter before, an Enter may be the first repeat of a held key. [s]"""


class Pressed(StrEnum):
    """What an Enter at the stage line is."""

    MEANT = "meant"
    DOUBTFUL = "doubtful"
    """It waits for what follows within ``HELD_SECONDS``."""
    HELD = "held"


@dataclass(slots=True)
class EnterWatch:
    """The Enters of one sitting, told one by one."""

    last: float
    """When Enter was pressed last; the one that opened the round counts. [s]"""
    _waiting: bool = False
    _soon: bool = False
    _in_run: bool = False

    def enter(self, at: float, *, at_stage: bool) -> Pressed:
        """An Enter is pressed.

        Args:
            at: When. [s]
            at_stage: Whether the stage line waits for it.
        """
        gap, self.last = at - self.last, at
        waiting, self._waiting = self._waiting, False
        self._soon = gap < HELD_SECONDS
        if not at_stage:
            return Pressed.MEANT
        if self._soon and (waiting or self._in_run):
            self._in_run = True
            return Pressed.HELD
        self._in_run = False
        if gap >= DOUBTED_SECONDS:
            return Pressed.MEANT
        self._waiting = True
        return Pressed.DOUBTFUL

    def other(self) -> bool:
        """Another key is pressed.

        Returns:
            Whether an Enter that waited was meant, because somebody types ahead.
        """
        waiting = self._waiting
        self._waiting = self._in_run = False
        self.last = float("-inf")
        return waiting

    def elapsed(self) -> Pressed | None:
        """``HELD_SECONDS`` have gone by since an Enter was doubtful.

        Returns:
            What it was after all; None where another key has settled it already.
        """
        if not self._waiting:
            return None
        self._waiting = False
        return Pressed.HELD if self._soon else Pressed.MEANT
