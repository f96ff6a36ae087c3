"""One entry of a round as it is keyed in: keys go in, a draft and the next step come out.

Nothing here knows a screen. A ``Keying`` is a value; ``press`` gives the next one. The count is digits only, so every
letter is free to act; ``4o12lr`` and ``xml`` are whole entries, and one Enter wants the lot recorded.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from roundtui.domain.choices import NOT_LOOKED_AT, Choice, place_of
from roundtui.domain.stages import runs_backward
from roundtui.domain.visits import StageSeen, Visit


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
    LOOKS = "looks"
    """A look at leaf and fruit of the block."""
    TREATMENT = "treatment"
    """A treatment of the block that the grower spoke of."""
    GRID = "grid"
    """A count from some squares of the liner."""
    LEAVE = "leave"


TEXT_MODES = frozenset({Mode.NOTE, Mode.BODY, Mode.GO_TO})
"""Modes in which every character is text."""
LISTS = frozenset({Mode.LURE, Mode.FOUND, Mode.STAGES})
"""Modes in which a list stands open."""
SET_RIGHT = "set right on the walk"
"""Reason that stands on a correction made with ``z``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked for: a trap, and what can be chosen there."""

    draft: Visit
    """The entry before anything is keyed: trap and day, or the old flags where an entry is set right."""
    own_lots: int = 0
    """How many unexpired lots of the trap's own species there are."""
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
    old: Visit | None = None
    """Entry that is set right; None for a new one."""
    finished: bool = False
    """Nothing is left to ask: the round is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Keying:
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
    """Stage that was warned about, and that one more Enter takes."""
    looked: bool = False
    """Whether the key before was a bare Up or Down."""
    leaving: bool = False
    """Whether Escape was pressed while something was typed."""
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
            reason=SET_RIGHT if same_day else "",
        )


def begin(asked: Asked, said: str = "", *, looked: bool = False) -> Keying:
    """An entry of which nothing is keyed yet.

    Args:
        asked: What is asked for.
        said: A word to begin with.
        looked: Whether a bare Up or Down led here.

    Returns:
        The entry, waiting for the stage where that is asked, else for the count.
    """
    stage_open = asked.ask_stage and bool(asked.stages)
    return Keying(
        asked=asked,
        draft=asked.draft,
        mode=Mode.STAGE if stage_open else Mode.COUNT,
        stage_open=stage_open,
        cursor=place_of(asked.stages, asked.stage_before) if stage_open else 0,
        said=said,
        looked=looked,
    )


def correction(asked: Asked, old: Visit) -> Keying:
    """An entry that sets another right, with the other's flags to begin with.

    Args:
        asked: What can be chosen at the trap.
        old: The entry to set right; it stays on record.

    Returns:
        The entry; a count or a reason is to be keyed, else the old one goes on standing.
    """
    draft = replace(
        old,
        count=None,
        no_reading=None,
        scout="",
        device="",
        recorded_at=None,
        id="",
        replaces=old.id,
        reason=SET_RIGHT,
    )
    return begin(replace(asked, draft=draft, old=old, standing=None, ask_stage=False, finished=False))


def take_stage(now: Keying, code: str) -> Keying:
    """A stage is answered: it is to be recorded, and the count is next.

    One that stands before the stage seen last is warned about first, and a second Enter takes it: a number pad without
    NumLock sends Up for an 8.
    """
    warning = backward(now, code)
    if warning and now.doubted != code:
        return replace(now, doubted=code, said=f"{warning}, or Enter again takes it. An 8 typed? NumLock is off")
    said = f"Stage {code} seen, unchanged" if code == now.asked.stage_before else f"Stage {code} seen"
    taken = replace(now, mode=Mode.COUNT, line="", cursor=0, stage_open=False, stage=code)
    return ask_for(taken, Want.STAGE, f"{said}. {warning}" if warning else said)


def say(now: Keying, said: str) -> Keying:
    """The entry as it is, with a word for the person at the keys."""
    return replace(now, said=said)


def ask_for(now: Keying, want: Want, said: str = "") -> Keying:
    """The entry as it is, asking the screen for something."""
    return replace(now, want=want, said=said)


def base(now: Keying) -> Keying:
    """Back from a step to the count, or to the stage where that still waits."""
    return replace(now, mode=Mode.STAGE if now.stage_open else Mode.COUNT, line="", cursor=stage_cursor(now))


def stage_cursor(now: Keying) -> int:
    """Where the stage stands in the list while it waits; 0 else."""
    return place_of(now.asked.stages, now.stage or now.asked.stage_before) if now.stage_open else 0


def close_stage(now: Keying) -> Keying:
    """The count is begun: the stage stays as it is, not looked at unless it was answered."""
    if not now.stage_open:
        return now
    standing = now.asked.stages[now.cursor].value
    untouched = now.mode is not Mode.STAGE or now.cursor == place_of(now.asked.stages, now.asked.stage_before)
    said = "" if untouched else f"Stage {standing} not taken: Enter takes it before the count, f after"
    return replace(now, mode=Mode.COUNT, stage_open=False, stage=None, said=said)


def backward(now: Keying, code: str) -> str:
    """A warning where a stage stands before the one seen last; empty where it does not."""
    before = now.asked.stage_before
    if before is None or not runs_backward(before, code):
        return ""
    return f"Stage {code} is before {before}, and stages do not run backward: look again"


def says_the_same(visit: Visit, old: Visit) -> bool:
    """Whether a correction says what the entry says that it would replace."""
    bare = replace(old, scout="", device="", recorded_at=None, id="", replaces=old.id, reason=SET_RIGHT)
    return visit == bare
