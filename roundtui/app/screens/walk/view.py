"""What a round shows, line by line; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.app.keys import MORE, keys_of, step_strip, strip
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import KIND_OF, StageSeen, Visit
from roundtui.domain.figures.figures import Reading
from roundtui.domain.programme.cautions import ENTRY_CHECK
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.programme.rounds import Progress, RoundState, next_trap
from roundtui.domain.programme.species import called
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.round.entry import LISTS, Mode, TrapEntry
from roundtui.domain.round.walk import (
    DueItem,
    catch,
    first_counted,
    in_words,
    read_before,
    read_in_words,
    still_due,
    work_done,
)
from roundtui.domain.text import WARNS, cells, padded, sanitize, spoken_day
from roundtui.report.bars import columns, way
from roundtui.store.session import Session

if TYPE_CHECKING:
    from roundtui.app.screens.walk.turns import WalkedRound
    from roundtui.domain.figures.verdicts import BlockRow

WALK = keys_of("round", "walk")

NO_STAGE = "none on record this season"
_UNDO = ", z fixes it"
_ROOMY = 70
"""Columns from which lines are kept for what may come to stand there."""
_TOGGLES = (
    (
        *(("liner", "l", "liner"), ("lure", "r", "lure"), ("kill_strip", "k", "kill strip"), ("body", "b", "body")),
        ("cleared", "c", "not cleared"),
    ),
    (
        *(("estimated", "e", "estimate"), ("others", "o", "others"), ("females", "h", "females")),
        *(("sterile", "d", "sterile"), ("note", "n", "note"), ("lure_found", "w", "wrong lure")),
    ),
)
"""Marks of an entry: field, letter, words."""
REASON_HINT = "s 1 skipped   c 2 closed   m 3 missing   d 4 down   g 5 damaged   o 6 other   f 7 farm closed"
LABELS = {
    Mode.REASON: "Not read",
    Mode.NOTE: "Note",
    Mode.BODY: "New body",
    Mode.GO_TO: "Go to",
    Mode.LURE: "Lure in",
    Mode.FOUND: "Found",
    Mode.STAGES: "Stage",
}
_PICK = ("Enter select   1 to 9 pick", "↑↓ mark", "Esc cancel")
STEPS = {
    Mode.STAGE: ("Enter seen, as shown   f list   digits: the count at once", "↑↓ another stage", MORE),
    Mode.REASON: (REASON_HINT, "", "Esc cancel"),
    Mode.NUMBER: ("digits, then a letter goes on   Enter record", "", "Esc cancel"),
    Mode.NOTE: ("Enter end the note and record", "←→ in the note", "Esc keep the note, back to the count"),
    Mode.BODY: ("its label; Enter alone: a clean body, never used", "", "Esc cancel"),
    Mode.GO_TO: ("a trap of this round   Enter go there", "", "Esc cancel"),
    Mode.LURE: _PICK,
    Mode.FOUND: _PICK,
    Mode.STAGES: ("two digits or Enter select", "↑↓ mark", "Esc cancel"),
}
"""What the keys do while a step stands open: what acts, what moves, what leads out."""
_DONE = ("Enter summary   z fix last   a leaf, fruit   t spray reported", "↑↓ look back   g go to", MORE)


def way_line(turn: WalkedRound, so_far: Progress, width: int) -> Content:
    """The route as a bar with its blocks, and how far the round has come."""
    state, at = turn.state, turn.at
    blocks = [turn.block(trap) for trap in state.traps]
    right = f"  trap {so_far}"
    drawn = way(
        [trap in state.done for trap in state.traps],
        lambda place: place + 1 == len(blocks) or blocks[place + 1] != blocks[place],
        state.traps.index(at) if at is not None else None,
        max(1, width - cells(right)),
    )
    return Content(drawn + right)


def place(programme: Programme, code: str, width: int) -> Content:
    """Farm and block, on one line."""
    block = programme.blocks.get(code)
    farm = programme.farms.get(block.farm) if block else None
    words = [f"{sanitize(code, 12)} {sanitize(block.name, 24) if block and block.name != code else ''}".strip()]
    if block is not None:
        words += [sanitize(f"{block.crop} {block.variety}".strip(), 20)]
        words += ["mating disruption"] if block.disrupted else []
    name, said = sanitize(farm.name, 28) if farm else "no farm", ", ".join(words)
    room = width - cells(name) - 3
    return Content.assemble((name, "bold"), "   ", sanitize(said if cells(said) + 6 > room else f"block {said}", room))


def caution(turn: WalkedRound, width: int) -> Content:
    """The question asked on entering a farm, and warnings of its blocks and the next one: whole, two lines at least."""
    state, on, programme = turn.state, turn.session.on, turn.session.programme
    upcoming, farm = next_trap(state, turn.at) if turn.at is not None else None, turn.farm(turn.at)
    here, then = (programme.blocks.get(turn.block(trap)) for trap in (turn.at, upcoming))
    entering = bool(farm) and not any(turn.farm(label) == farm for label in state.done)
    if here is not None and here.no_entry_before is not None and here.no_entry_before > on:
        words = (
            f"NO ENTRY before {spoken_day(here.no_entry_before, on)} into block {sanitize(here.block, 20)}, "
            "by the set-up. Ask the grower, and stay out until the interval is over."
        )
    elif then is not None and then is not here and then.no_entry_before is not None and then.no_entry_before > on:
        words = (
            f"NEXT is block {sanitize(then.block, 20)}, NO ENTRY before {spoken_day(then.no_entry_before, on)}, "
            f"by the set-up: stay out until then. {ENTRY_CHECK if entering else 'Ask the grower.'}"
        )
    elif entering:
        known = programme.farms.get(farm)
        waits = known is not None and known.visit_last and any(turn.farm(label) != farm for label in state.left)
        words = f"{WARNS}{'This farm should be visited last. ' if waits else ''}{ENTRY_CHECK}"
        return Content.styled(_whole(words, width), "$text-warning")
    else:
        return Content("\n" if turn.hanging(turn.at) is not None and width >= _ROOMY else "")
    return Content.styled(_whole(f"{WARNS}{words}", width), "bold $text-error")


def _whole(words: str, width: int) -> str:
    lines = wrap(sanitize(words), width)
    return "\n".join([*lines, ""] if len(lines) < 2 else lines)


def before(
    visit: Visit | None, unlikely: str, old: Visit | None, width: int, found: str = "", *, first: Visit | None = None
) -> Content:
    """The entry recorded just before, with its mark where it is unlikely or what the lure found there has changed."""
    if visit is None:
        return Content("Last saved: nothing yet")
    was = "" if old is None else f", was {catch(old) if catch(old) != catch(visit) else in_words(old)}"
    words = sanitize(f"Last saved: {sanitize(visit.trap, 16)}  {in_words(visit, first)}{was}", width)
    if not unlikely and not found:
        return Content(words)
    # The number first, since the find was named before it was recorded.
    doubt = f"unlikely: {unlikely.split(' (', maxsplit=1)[0] if found else unlikely}" if unlikely else ""
    said = f"{WARNS}{'; '.join(filter(None, (doubt, found)))}"
    said += _UNDO if cells(said + _UNDO) <= width - 2 else ""
    beside = cells(f"{words}  {said}") <= width
    lines = [sanitize(said)] if beside else wrap(sanitize(said), width - 2, max_lines=2, placeholder=" …")
    mark = Content.styled("\n  ".join(lines), "bold $text-warning")
    return Content.assemble(words, "  " if beside else "\n  ", mark)


def stage(now: TrapEntry, crop: str, seen: StageSeen | None, width: int) -> Content:
    """The fruit stage, above the count; while it waits, among those before and after it."""
    if not now.asked.stages:
        return Content("")
    code = now.stage or (now.asked.stage_before if now.stage_open else None)
    last = f"last {seen.code}, {spoken_day(seen.seen_on, now.draft.read_on)}" if seen else NO_STAGE
    if now.mode is Mode.STAGE:
        what = sanitize(f"{code} {stage_name(crop, code)}" if code else NO_STAGE)
        how = "  unchanged?" if code == now.asked.stage_before else f"  {last}" if seen else ""
        head, codes = "> Fruit stage  ", [one.value for one in now.asked.stages]
        head = head if cells(f"{head}{what}{how}") <= width else "> Stage  "
        at = codes.index(code) if code in codes else 0
        sides = (
            "".join(f"{one} " for one in codes[max(0, at - 2) : at]),
            "".join(f" {one}" for one in codes[at + 1 :][:2]),
        )
        if not code or sum(map(cells, (head, what, how, *sides))) > width:
            sides = ("", "")
        room = max(8, width - sum(map(cells, (head, how, *sides))))
        return Content.assemble(
            (head, "bold"), sides[0], (sanitize(what, room), "bold reverse"), sides[1], (how if code else "", "bold")
        )
    if now.stage is not None:
        code, how = now.stage, ": seen, unchanged" if now.unchanged else ": seen"
    elif seen is not None and seen.seen_on == now.draft.read_on:
        code, how = seen.code, ": seen today"
    else:
        return Content(sanitize(f"  Fruit stage  not checked, {last}   f: list", width))
    said, room = f"  Fruit stage  {code} {stage_name(crop, code)}", width - cells(how)
    return Content(sanitize(said if cells(said) <= room else said.replace("Fruit stage", "Stage", 1), room) + how)


def trap(hanging: Trap | None, now: TrapEntry, width: int, *, again: bool = False) -> Content:
    """Which trap the count is of, and whether somebody else is asked to count it as well."""
    if hanging is None:
        return Content("")
    mode = "  correcting" if now.asked.old is not None else "  Second person to count here" if again else ""
    words = [f"row {hanging.row}" if hanging.row else "", f"tree {hanging.tree}" if hanging.tree else ""]
    words += ["edge" if hanging.edge else "", hanging.note]
    name, species, style = sanitize(hanging.trap, 20), hanging.species, hanging.style
    room = width - cells(f"  Trap {name}  {mode}")
    for first in ((called(species), style), (species, style), (species,)):
        where = sanitize(", ".join(filter(None, (*first, *words))))
        if cells(where) <= room:
            break
    return Content.assemble("  Trap ", (name, "bold"), "  ", sanitize(where, room), (mode, "bold"))


def due(hanging: Trap | None, now: TrapEntry, session: Session, width: int) -> Content:
    """What is due or wrong at the trap, each with the key that says it is done."""
    if hanging is None:
        return Content("")
    done = (now.draft, *(visit for visit in session.visits(hanging.trap) if visit.read_on == session.on))
    items = still_due(session.due.get(hanging.trap, ()), *done)
    if now.draft.lure_found is not None and now.draft.lure is None:
        rest = (item for item in items if item.key != "r")
        items = (DueItem("r", f"put in a lure for {hanging.species}", now=True), *rest)
    later = session.next_visits.get(hanging.trap, session.on)
    if later > session.on:
        items = (*items, DueItem("", f"not due before {spoken_day(later, session.on)}", now=False))
    said = "  ".join(item.said for item in items)
    return Content.styled(sanitize(f"  {said}", width), "bold $text-warning" if any(one.now for one in items) else "")


def label(now: TrapEntry) -> Content:
    """What the field takes."""
    if now.asked.finished and now.mode is Mode.COUNT:
        return Content("")
    if now.mode is Mode.NUMBER:
        words = KIND_OF["visit"].field(now.number).fact.short.capitalize()
    else:
        words = "Count" if now.mode in {Mode.COUNT, Mode.STAGE} else LABELS[now.mode]
    return Content.styled(f"  {words:<11}", "bold")


def flags(now: TrapEntry, on: date, width: int) -> Content:
    """What goes with the count and is more than a yes, and the old value where there is one."""
    parts: list[str | tuple[str, str]] = []
    if now.text and now.mode not in {Mode.COUNT, Mode.STAGE}:
        parts.append((f"{now.text} ", "bold"))
    if now.draft.no_reading is not None:
        farm = " (the whole farm)" if now.farm else ""
        parts.append((f"not read: {now.draft.no_reading.value}{farm} ", "bold"))
    ticked = replace(now.draft, liner=False, kill_strip=False, cleared=True, estimated=False)
    # A list may stand where the marks are ticked.
    parts.append(", ".join(map(sanitize, work_done(now.draft if now.mode in LISTS else ticked))))
    old, theirs = now.asked.old or now.asked.standing, now.asked.theirs
    if old is not None:
        day = "" if old.read_on == on else f" of {spoken_day(old.read_on, on)}"
        word = "was" if now.asked.old is not None else "on record"
        parts.append(f"  {word}: {sanitize(in_words(old), 60)}{day}")
    elif theirs is not None:
        parts.append((f"  {WARNS}read today by {sanitize(theirs.scout, 30)}: {sanitize(in_words(theirs), 40)}", "bold"))
    return Content.assemble(*parts).truncate(width, ellipsis=True)


def toggles(now: TrapEntry, width: int) -> tuple[Content, Content]:
    """The marks of an entry, ticked or not, in two lines; with little room boxes or words of those alone ticked."""
    entry, lines = now.draft, list[Content]()
    for row in _TOGGLES:
        # Few programmes release moths, and the line is full.
        shown = [(*one, _is_set(entry, one[0])) for one in row if one[0] != "sterile" or _is_set(entry, "sterile")]
        for boxes, words, apart in ((True, True, "  "), (False, True, "  "), (False, True, " "), (True, False, "  ")):
            said = [
                (
                    f"{'[x] ' if on else '[ ] ' if boxes else ''}{letter}{f' {name}' if words or on else ''}",
                    "bold" if on else "",
                )
                for _, letter, name, on in shown
            ]
            if sum(cells(one) + len(apart) for one, _ in said) + 2 <= width + len(apart):
                break
        lines.append(Content.assemble("  ", Content(apart).join(Content.styled(*one) for one in said)))
    return lines[0], lines[1]


def _is_set(entry: Visit, name: str) -> bool:
    value = getattr(entry, name)
    return not value if name == "cleared" else value is not None and value is not False and value != ""


def second_words(now: TrapEntry) -> tuple[str, list[tuple[str, bool]]]:
    """What is asked before a trap gets a second count on one day."""
    theirs, mine = now.asked.theirs, now.visit
    if theirs is None:
        return "", []
    there, here = (sanitize(in_words(one), 60) for one in (theirs, mine))
    title = f"{sanitize(mine.trap, 16)} was read today by {sanitize(theirs.scout, 30)}: {there}. Save {here} as well?"
    return title, [
        ("Two counts of one catch contradict each other: neither is used until one is settled.", True),
        ("A recount of theirs is m 1, a correction of theirs z: press Escape first.", False),
    ]


def said(now: TrapEntry, found: str, width: int, note: str = "") -> Content:
    """The word to the person at the keys, or what a lure found changes: whole, in two lines where it is long.

    Where there is none it is a choice that is cut in its list, or what was noted of the trap.
    """
    choice = now.choices[now.cursor] if now.choices else None
    effect = choice.effect if choice is not None else ""
    if now.said:
        words, style = now.said, "bold $text-accent"
    elif found:
        words, style = f"{WARNS}{found[:1].upper()}{found[1:]}", "bold $text-warning"
    elif effect:
        words, style = f"{WARNS}{effect}", "$text-warning"
    else:
        none = now.mode is Mode.STAGE and now.stage is None and now.asked.stage_before is None
        words, style = "No stage on record yet: f chooses one" if none else note, ""
        if choice is not None:
            words = choice.words if cells(choice.words) > width - 8 else ""
    lines = wrap(sanitize(words), width - 2, max_lines=2, placeholder=" …") or [""]
    return Content.styled("\n".join(sanitize(f"  {line}", width) for line in lines), style)


WIDE = 110
"""Columns from which the traps ahead stand beside the readings, and a map of the block below where there is room."""
_ASIDE, _ABOVE_MAP, _LEAST_MAP = 44, 13, 7
"""Columns of the traps ahead, lines of the readings above a map, and lines of a map at least."""


def wide(
    shown: Sequence[tuple[Visit, Reading | None]],
    band: tuple[Fraction, Fraction] | None,
    block: Callable[[int, int], Sequence[str]],
    ahead: Callable[[int, int], Sequence[str]],
    size: tuple[int, int],
) -> Content:
    """Readings, the map of the block, and the traps ahead, on a wide screen.

    Args:
        shown: The last readings of the trap.
        band: Lower and upper threshold of the catch a week.
        block: Draws the map of the block, so wide and high.
        ahead: Says which traps come next, so wide and high.
        size: Columns and lines.
    """
    width, height = size
    left, maps = width - _ASIDE - 2, height - _ABOVE_MAP
    drawn = [*readings(shown, left, _ABOVE_MAP if maps >= _LEAST_MAP else height, band)]
    if maps >= _LEAST_MAP:
        drawn += [""] * (_ABOVE_MAP - len(drawn)) + [*block(left, maps)]
    lines = zip_longest(drawn, ahead(_ASIDE, height), fillvalue="")
    return Content("\n".join(f"{padded(one, left)}  {other}" for one, other in lines))


def readings(
    shown: Sequence[tuple[Visit, Reading | None]],
    width: int,
    height: int,
    band: tuple[Fraction, Fraction] | None = None,
) -> list[str]:
    """The last readings of a trap, a column each, drawn from zero up where there is room."""
    if not shown:
        return ["  No reading of this trap since it was hung here."]
    last = list(reversed(shown[: max(1, min(_MOST, (width - _NAMES) // _COLUMN))]))
    visits = [visit for visit, _ in shown]
    days = [f"{visit.read_on.day} {visit.read_on:%b}" for visit, _ in last]
    rows = [("Last readings", days), ("  moths", [_caught(*one) for one in last])]
    rows.append(("  days", ["" if one is None else "?" if one.days is None else str(one.days) for _, one in last]))
    weeks = [None if one is None or one.conflict else one.per_week for _, one in last]
    uneven = any(one is not None and one.days != 7 for _, one in last)
    if uneven and height > _SMALL:
        rows.append(("  a week", ["-" if one is None else f"{float(one):.1f}" for one in weeks]))
    done = [_marks(visit, first_counted(visit, visits)) for visit, _ in last]
    foot = [("  done", done)] if any(done) else []
    note = next((f"  note {days[-1]}: “{visit.note}”" for visit, _ in shown[:1] if visit.note), "")
    room = height - len(rows) - len(foot) - bool(note)
    lines = [_row(*row) for row in rows]
    if room > 1:
        rows_drawn = columns(weeks, band, min(room, _TALLEST), _COLUMN)
        apart = {edge for _, edge in rows_drawn}
        for drawn, edge in rows_drawn:
            here = [] if edge is None else [one for one in dict.fromkeys(band or ()) if one == edge or one not in apart]
            name = f"  threshold {'–'.join(f'{float(one):g}' for one in here)}" if here else _OFF * ("^" in drawn)
            lines.append(f"{name if len(name) <= _NAMES else name.replace('threshold ', ''):<{_NAMES}}{drawn}")
    lines += [_row(*row) for row in foot]
    return [sanitize(line, width) for line in [*lines, note][:height]]


_OFF = "  ^ off scale"
_NAMES, _COLUMN = 15, 7
"""Columns of the names at the left, and of each reading."""
_SMALL = 6
_MOST, _TALLEST = 18, 14
"""Readings, and lines of their columns, at most."""


def _row(name: str, values: Sequence[str]) -> str:
    return f"{name:<{_NAMES}}{''.join(f'{value:>{_COLUMN - 1}} ' for value in values)}"


def _caught(visit: Visit, reading: Reading | None) -> str:
    return "two" if reading is not None and reading.conflict else catch(visit)[: _COLUMN - 1] or "·"


def _marks(visit: Visit, first: Visit | None) -> str:
    """What was done at a visit, in the letters of the notation."""
    ticked = (letter for row in _TOGGLES for name, letter, _ in row if _is_set(visit, name))
    return "".join((*ticked, "u" if first is not None else ""))[: _COLUMN - 1]


@lru_cache(maxsize=1)
def _unlikely(session: Session, entries: Sequence[Visit], _changes: int) -> list[str]:
    """Counts of a round that are unlikely; of hundreds it takes a second, so they are looked at once."""
    return [f"{visit.trap} {visit.count}" for visit in entries if session.slip(visit)]


def overs(rows: Sequence[BlockRow]) -> tuple[str, str]:
    """Blocks over their thresholds, each with the number that its rule looks at, and how that is drawn."""
    from roundtui.domain.figures.verdicts import AttentionKind, Status
    from roundtui.report.figures.summary import attention_mark, judged_words

    found = [f"{one.block} {one.species} {judged_words(one).rstrip()}" for one in rows if one.status is Status.OVER]
    words = f"{attention_mark(AttentionKind.OVER)} over: {', '.join(found)}"
    return (words, "bold $text-error") if found else ("no block is over", "")


def done(state: RoundState, session: Session, width: int, height: int, over: tuple[str, str]) -> Content:
    """A round that is done: what it comes to, unlikely counts, blocks over, then its entries in the order of walking.

    Each entry stands in words, where there is room with what the trap showed before.
    """
    entries = [state.done[trap] for trap in state.traps if trap in state.done]
    counts = [visit.count for visit in entries if visit.count is not None]
    why = Counter(visit.no_reading.value for visit in entries if visit.no_reading is not None)
    unread = ", ".join(f"{number} {words}" for words, number in why.items()) or "none"
    unlikely = _unlikely(session, tuple(entries), session.changes)
    counted = f"  {len(counts)} of {len(state.traps)} traps counted, {sum(counts)} moths   not read {unread}"
    lines = [(counted, ""), (f"  {over[0]}; no count is unlikely", over[1])]
    if unlikely:
        lines[1:] = [(f"  {WARNS}unlikely: {', '.join(unlikely)}", "bold $text-warning"), (f"  {over[0]}", over[1])]
    lines += [("", "")] * (height - len(lines) > -(-len(entries) // (width // _ENTRY)))
    room = max(2, height - len(lines))
    side = max(1, min(-(-len(entries) // room), width // _ENTRY))
    shown = entries if len(entries) <= room * side else entries[: (room - 1) * side]
    # Down the first column, then down the next.
    high, said = -(-len(shown) // side), [_worded(one, session, width // side) for one in shown]
    lines += [("".join(said[at::high]), "") for at in range(high)]
    lines += [(f"  and {len(entries) - len(shown)} more: Up looks back", "")] * (len(shown) < len(entries))
    return Content("\n").join(Content.styled(sanitize(line, width), style) for line, style in lines)


_ENTRY = 26
"""Columns of an entry of a round that is done, at least."""


def _worded(visit: Visit, session: Session, width: int) -> str:
    """An entry with its pest, in words, and what its trap showed before."""
    hanging = session.hanging(visit.trap)
    said = f"  {padded(visit.trap, 6)} {padded(hanging.species if hanging else '', 5)} "
    words, room = in_words(visit), min(24, width - cells(said) - 1)
    said += padded(words if cells(words) <= room else f"{catch(visit)} {_marks(visit, None)}", room)
    past = read_before(session.visits(visit.trap), visit.read_on)[: max(0, (width - cells(said) - 8) // 14)]
    return padded(f"{said} {f'before {read_in_words(past)}' if past else ''}", width)


def choices(now: TrapEntry, width: int, height: int) -> Content:
    """The list that stands open."""
    lines = []
    for at, one in enumerate(now.choices, 1):
        number = one.value if now.mode is Mode.STAGES else str(at) if at < 10 else ""
        lines.append(f"{number:>3}  {one.words}")
    # Rows stand side by side where all but the longest have room.
    return listed(lines, now.cursor, (width, height), str, each=min(56, 4 + max(map(cells, lines), default=0)))


def _ahead(state: RoundState, session: Session, at: str | None) -> Iterator[tuple[Trap | None, str, bool]]:
    """The traps that come next: where each hangs, its label, and whether a block begins with it."""
    place = state.traps.index(at) if at in state.traps else 0
    here = session.hanging(at) if at is not None else None
    for trap in (*state.traps[place:], *state.traps[:place]):
        if trap not in state.done and trap != at:
            before, here = here, session.hanging(trap)
            yield here, sanitize(trap, 12), here is not None and (before is None or before.block != here.block)


def _next(state: RoundState, at: str | None) -> str:
    left = [one for one in state.left if one not in state.later] or state.left
    return f"Next, {len(left) - (at in left)} more"


def ahead(state: RoundState, session: Session, at: str | None, width: int, height: int) -> list[str]:
    """The traps that come next, a line each, with pest and what is due there, and a line for each block."""
    lines = [f"{f'─ {_next(state, at)} ':─<{width}}"]
    for hanging, trap, begins in _ahead(state, session, at):
        if hanging is not None and begins:
            block = session.programme.blocks.get(hanging.block)
            lines.append(f"  then {sanitize(hanging.block, 12)} {sanitize(block.name, 20) if block else ''}")
        due = needs(session, trap)
        lines.append(f"  {trap:<8}{sanitize(hanging.species if hanging else '', 5):<6}{f'{WARNS}{due}' if due else ''}")
    return [
        sanitize(line, width)
        for line in lines[: height - 1] + (["  …"] if len(lines) > height else lines[height - 1 :])
    ]


def upcoming(state: RoundState, session: Session, at: str | None, width: int) -> Content:
    """The traps that come next, each with what is due there; a block is named where it begins."""
    if not state.left:
        return Content("Nothing left.")
    said = f"{_next(state, at)}: "
    for hanging, trap, begins in _ahead(state, session, at):
        due = needs(session, trap)
        one = f"{f'then {sanitize(hanging.block, 12)}  ' if hanging is not None and begins else ''}{trap}"
        one += f" {WARNS}{due}" if due else ""
        if cells(f"{said}{one}   …") > width:
            said += "…"
            break
        said += f"{one}   "
    return Content(sanitize(said.rstrip(), width))


def needs(session: Session, trap: str) -> str:
    """What is due or wrong at a trap by now, in as few words as can be."""
    found = [item.words for item in session.due.get(trap, ()) if item.now]
    return sanitize(", ".join(one.replace(" due,", "").replace(" due", "").replace(" in it", "") for one in found))


def keys(now: TrapEntry, width: int) -> tuple[Content, Content]:
    """The keys that matter now, in two lines."""
    step = _DONE if now.asked.finished and now.mode is Mode.COUNT else STEPS.get(now.mode)
    if now.mode is Mode.STAGE and now.stage is None and now.asked.stage_before is None:
        step = ("f choose a stage   digits: the count at once", "↑↓ a stage", MORE)
    # A count has no reason: x is refused while one is typed.
    works = [one for one in WALK if not now.text or one.id != "walk.no-reading"]
    first, second = strip(works, width) if step is None else step_strip(*step, width)
    return Content(first), Content(second)
