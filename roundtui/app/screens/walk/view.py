"""What a round shows, line by line; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.entries import KIND_OF, StageSeen, Visit
from roundtui.domain.figures.figures import Reading
from roundtui.domain.programme.cautions import ENTRY_CHECK
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.programme.rounds import Progress, RoundState
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.round.entry import LISTS, Mode, TrapEntry
from roundtui.domain.round.walk import catch, first_counted, in_words, still_due, work_done
from roundtui.domain.text import cells, padded, sanitize

if TYPE_CHECKING:
    from roundtui.store.session import Session

MARK = "! "
"""Stands before every warning, so that it is one without colour too."""
NO_STAGE = "none on record this season"
_UNDO = ", z goes back"
_LEAST = 12
"""Columns that the entry before keeps beside its mark."""
LABELS = {
    Mode.REASON: "Not read",
    Mode.NOTE: "Note",
    Mode.BODY: "New body",
    Mode.GO_TO: "Go to",
    Mode.LURE: "Lure in",
    Mode.FOUND: "Found",
    Mode.STAGES: "Stage",
}
HINTS = {
    Mode.STAGE: "Enter: seen, as shown   Up Down: another   f: list   a digit starts the count",
    Mode.REASON: "s 1 skipped  c 2 closed  m 3 missing  d 4 down  g 5 damaged  o 6 other",
    Mode.NUMBER: "digits, then a letter goes on   Enter records   Escape cancels",
    Mode.NOTE: "Enter ends the line and records   Escape keeps the note and goes back to the count",
    Mode.BODY: "Enter alone: a clean body, never used   Escape cancels",
    Mode.GO_TO: "a trap of this round, Enter goes there   Escape cancels",
    Mode.LURE: "a number or Enter selects   Up Down move   Escape cancels",
    Mode.FOUND: "a number or Enter selects   Up Down move   Escape cancels",
    Mode.STAGES: "two digits, Up or Down   Enter selects   Escape cancels",
}


def head(route: str, on: date, scout: str, so_far: Progress, width: int) -> Content:
    """Route, date in the header, who, and how far the round has come."""
    left = f" Round {sanitize(route, 20)}   {on:%a} {on.isoformat()}   {sanitize(scout, 16)}"
    right = f"{so_far} "
    return Content(left + " " * max(1, width - cells(left) - cells(right)) + right)


def place(programme: Programme, hanging: Trap | None) -> Content:
    """Farm and block."""
    if hanging is None:
        return Content("The round is done.")
    block = programme.blocks.get(hanging.block)
    farm = programme.farms.get(block.farm) if block else None
    words = [
        f"block {sanitize(hanging.block, 12)} {sanitize(block.name, 24) if block and block.name != block.block else ''}"
    ]
    if block is not None:
        words.append(sanitize(f"{block.crop} {block.variety}".strip(), 20))
        if block.disrupted:
            words.append("mating disruption")
    return Content.assemble(
        (sanitize(farm.name, 28) if farm else "no farm", "bold"), "   ", ", ".join(map(str.strip, words))
    )


def caution(
    programme: Programme,
    hanging: Trap | None,
    on: date,
    width: int,
    *,
    entering: bool,
    others_left: bool,
    upcoming: Trap | None = None,
) -> Content:
    """The question asked on entering a farm, and warnings of its blocks and of the next one: always two lines."""
    block = programme.blocks.get(hanging.block) if hanging else None
    if block is not None and block.no_entry_before is not None and block.no_entry_before > on:
        words = (
            f"{MARK}NO ENTRY before {block.no_entry_before.isoformat()} into block {sanitize(block.block, 20)}, "
            "by the set-up. Ask the grower, and stay out until the interval is over."
        )
        return Content.styled(_two_lines(words, width), "bold $text-error")
    then = programme.blocks.get(upcoming.block) if upcoming else None
    if then is not None and then is not block and then.no_entry_before is not None and then.no_entry_before > on:
        words = (
            f"{MARK}NEXT is block {sanitize(then.block, 20)}, NO ENTRY before {then.no_entry_before.isoformat()}, by "
            f"the set-up: stay out until then. {ENTRY_CHECK if entering else 'Ask the grower.'}"
        )
        return Content.styled(_two_lines(words, width), "bold $text-error")
    if not entering:
        return Content("\n")
    farm = programme.farms.get(block.farm) if block else None
    last = "This farm should be visited last. " if farm and farm.visit_last and others_left else ""
    return Content.styled(_two_lines(f"{MARK}{last}{ENTRY_CHECK}", width), "$text-warning")


def _two_lines(words: str, width: int) -> str:
    if cells(words) <= width:
        return f"{words}\n"
    space = words.rfind(" ", 0, width + 1)
    at = space if space > 0 else width
    return f"{words[:at]}\n{sanitize(words[at:].strip(), width)}"


def before(
    visit: Visit | None,
    unlikely: str,
    old: Visit | None,
    width: int,
    found: str = "",
    *,
    first: Visit | None = None,
) -> Content:
    """The entry recorded just before, with its mark where it is unlikely or what the lure found there has changed."""
    if visit is None:
        return Content("Before: nothing yet")
    was = "" if old is None else f", was {catch(old) if catch(old) != catch(visit) else in_words(old)}"
    words = f"Before: {sanitize(visit.trap, 16)}  {in_words(visit, first)}{was}"
    if not unlikely and not found:
        return Content(sanitize(words, width))
    if unlikely and found:
        # The number first, since the find was named before it was recorded.
        mark = "  " + sanitize(f"{MARK}unlikely: {unlikely.split(' (', maxsplit=1)[0]}; {found}", width - _LEAST)
    else:
        said = found or f"unlikely: {unlikely}"
        mark = f"  {sanitize(MARK + said, width - _LEAST - len(_UNDO))}{_UNDO}"
    return Content.assemble(sanitize(words, max(_LEAST, width - cells(mark))), (mark, "bold $text-warning"))


def stage(now: TrapEntry, crop: str, seen: StageSeen | None, width: int) -> Content:
    """The fruit stage, above the count."""
    if not now.asked.stages:
        return Content("")
    code = now.stage or (now.asked.stage_before if now.stage_open else None)
    last = f"last {seen.code} on {seen.seen_on.isoformat()}" if seen else NO_STAGE
    if now.mode is Mode.STAGE:
        what = f"{code} {stage_name(crop, code)}" if code else NO_STAGE
        how = "  unchanged?" if code == now.asked.stage_before else f"  {last}" if seen else ""
        how = how if code else ""
        head = "> Fruit stage  "
        return Content.assemble(
            (head, "bold"), (sanitize(what, max(8, width - len(head) - len(how))), "bold reverse"), (how, "bold")
        )
    if now.stage is None and seen is not None and seen.seen_on == now.draft.read_on:
        return Content(sanitize(f"  Fruit stage  {seen.code} {stage_name(crop, seen.code)}: seen today", width))
    if now.stage is None:
        return Content(sanitize(f"  Fruit stage  not checked, {last}   f opens the list", width))
    how = "seen, unchanged" if now.unchanged else "seen"
    return Content(sanitize(f"  Fruit stage  {now.stage} {stage_name(crop, now.stage)}: {how}", width))


def trap(hanging: Trap | None, now: TrapEntry, width: int, *, again: bool = False) -> Content:
    """Which trap the count is of, and whether somebody else is asked to count it as well."""
    if hanging is None:
        return Content.styled("Enter shows the summary", "bold")
    words = [hanging.species, hanging.style]
    words += [f"row {hanging.row}" if hanging.row else "", f"tree {hanging.tree}" if hanging.tree else ""]
    words += ["edge" if hanging.edge else "", hanging.note]
    where = ", ".join(sanitize(word) for word in words if word)
    name = sanitize(hanging.trap, 20)
    mode = "correcting" if now.asked.old is not None else "Second person to count here" if again else ""
    return Content.assemble(
        ("  Trap ", ""),
        (name, "bold"),
        "  ",
        sanitize(where, width - cells(name) - (30 if again else 22)),
        (f"  {mode}" if mode else "", "bold"),
    )


def due(hanging: Trap | None, now: TrapEntry, session: Session, width: int) -> Content:
    """What is due or wrong at the trap, each with the key that says it is done."""
    if hanging is None:
        return Content("")
    done = (now.draft, *(visit for visit in session.visits(hanging.trap) if visit.read_on == session.on))
    items = still_due(session.due.get(hanging.trap, ()), *done)
    said = "  ".join(f"{MARK if item.now else ''}{sanitize(item.words, 40)} ({item.key})" for item in items)
    return Content.styled(sanitize(f"  {said}", width), "bold $text-warning" if any(one.now for one in items) else "")


def label(now: TrapEntry) -> Content:
    """What the field takes."""
    if now.mode is Mode.NUMBER:
        words = KIND_OF["visit"].field(now.number).fact.short.capitalize()
    else:
        words = "Count" if now.mode in {Mode.COUNT, Mode.STAGE} else LABELS[now.mode]
    return Content.styled(f"  {words:<11}", "bold")


def flags(now: TrapEntry, on: date) -> Content:
    """What goes with the count, and the old value where there is one."""
    parts: list[str | tuple[str, str]] = []
    if now.text and now.mode not in {Mode.COUNT, Mode.STAGE}:
        parts.append((f"{now.text} ", "bold"))
    if now.draft.no_reading is not None:
        parts.append((f"no reading: {now.draft.no_reading.value} ", "bold"))
    done = "  ".join(f"[{word}]" for word in work_done(now.draft))
    parts.append(sanitize(done, 200))
    old = now.asked.old or now.asked.standing
    if old is not None:
        day = "" if old.read_on == on else f" of {old.read_on.isoformat()}"
        word = "was" if now.asked.old is not None else "on record"
        parts.append((f"  {word}: {sanitize(in_words(old), 60)}{day}", "$text-muted"))
    return Content.assemble(*parts)


def said(now: TrapEntry, found: str, width: int) -> Content:
    """The word to the person at the keys, what a lure found changes, or the keys of the step that stands open."""
    if found and not now.said:
        return Content.styled(f"  {sanitize(MARK + found[:1].upper() + found[1:], width)}", "bold $text-warning")
    if now.said:
        return Content.styled(f"  {sanitize(now.said)}", "bold $text-accent")
    effect = now.choices[now.cursor].effect if now.choices else ""
    if effect:
        return Content.styled(f"  {MARK}{sanitize(effect)}", "$text-warning")
    if now.mode is Mode.STAGE and now.stage is None and now.asked.stage_before is None:
        return Content("  No stage on record yet   Up Down: choose   f: list   a digit starts the count")
    return Content(f"  {HINTS.get(now.mode, '')}")


def below(now: TrapEntry, shown: Sequence[tuple[Visit, Reading | None]], width: int, height: int) -> Content:
    """The list that stands open, else the last readings of the trap."""
    if now.mode in LISTS:
        return _choices(now, width, height)
    if not shown:
        return Content("  No reading of this trap since it was hung here.")
    lines = [f"  {'Last readings':<14}{'catch':>8}   {'days':>4}   {'a week':>7}   done"]
    visits = [visit for visit, _ in shown]
    lines += [
        _reading(visit, reading, first_counted(visit, visits), width) for visit, reading in shown[: max(1, height - 1)]
    ]
    return Content("\n".join(lines))


def entries(state: RoundState, width: int, height: int) -> Content:
    """The entries of a round that is done, the newest first."""
    newest = sorted(state.done.values(), key=lambda visit: (str(visit.recorded_at or ""), visit.id), reverse=True)
    lines = [
        f"  {padded(visit.trap, 14)}{catch(visit):>8}   {', '.join(work_done(visit))}" for visit in newest[: height - 1]
    ]
    return Content("\n".join(["  This round, the newest first", *(sanitize(line, width) for line in lines)]))


def _reading(visit: Visit, reading: Reading | None, first: Visit | None, width: int) -> str:
    days = week = ""
    if reading is not None:
        days = "?" if reading.days is None else str(reading.days)
        week = "two" if reading.conflict else "-" if reading.per_week is None else f"{float(reading.per_week):.1f}"
    done = ", ".join(work_done(visit, first))
    if reading is not None and reading.conflict:
        done = ", ".join(word for word in (f"two scouts disagree ({visit.scout})", done) if word)
    line = f"  {visit.read_on.isoformat():<14}{catch(visit):>8}   {days:>4}   {week:>7}   "
    return line + sanitize(done, max(4, width - len(line)))


def _choices(now: TrapEntry, width: int, height: int) -> Content:
    choices = now.choices
    first = max(0, min(now.cursor - height // 2, len(choices) - height))
    lines: list[str | tuple[str, str]] = []
    for at in range(first, min(len(choices), first + height)):
        choice = choices[at]
        number = choice.value if now.mode is Mode.STAGES else str(at + 1) if at < 9 else ""
        words = f"{number:>4}  {choice.words}"
        chosen = at == now.cursor
        lines.append((f"{'>' if chosen else ' '}{padded(words, width - 2)}\n", "bold reverse" if chosen else ""))
    return Content.assemble(*lines)


def left(so_far: Progress, width: int) -> Content:
    """What is left."""
    if not so_far.left:
        return Content("Nothing left.")
    labels = " ".join(sanitize(one, 12) for one in so_far.left)
    return Content(sanitize(f"{len(so_far.left)} left: {labels}", width))
