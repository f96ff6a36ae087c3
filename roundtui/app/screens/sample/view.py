"""What the screen of samples says, line by line; text from people goes through ``sanitize``, never read as markup."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from textwrap import wrap

from textual.content import Content

from roundtui.app.keys import MORE
from roundtui.app.screens.walk.view import place as farm_and_block
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import SampleKind
from roundtui.domain.intervals import clopper_pearson
from roundtui.domain.sampling.counting import SAMPLED, STING, Counting, Step
from roundtui.domain.sampling.findings import GRADES, HighestCatch
from roundtui.domain.sampling.records import Outcome, plural, presence
from roundtui.domain.text import cells, padded, sanitize, several, spoken_day
from roundtui.report import text as numbers
from roundtui.report.sampling import interval_words, plan_words, sought_words
from roundtui.store.sampling import Offer, SampleKeeper
from roundtui.store.session import Session

CAUTION = "A verdict compares a sample with a published number. It is not spray advice."
"""What stands on the screen all the time."""
KEYS_LEAF = ("digits Enter checked   f found   h how many on it   n note   Backspace undo", "", MORE)
KEYS_FRUIT = ("digits Enter checked   e entry   j sting   o other   f injured   n note   Backspace undo", "", MORE)
CHOOSE = "Enter select   1 to 9 pick"
FREE_WORD = ("what to look for, in a word or two   Enter go on", "", "Esc cancel")
STEPS = {
    Step.EACH: ("how many on this one, then Enter", "", "Esc cancel"),
    Step.PREDATORS: ("units with a predator or parasite, then Enter", "", "Esc cancel"),
    Step.TREES: ("number of trees sampled, then Enter", "", "Esc cancel"),
    Step.GRADE: ("   ".join(f"{at} {words.split(',')[0]}" for at, words in enumerate(GRADES)), "", "Esc cancel"),
    Step.PLACE: ("where in the block   Enter keep it", "", "Esc as it was"),
    Step.NOTE: ("Enter keep the note", "", "Esc as it was"),
}
"""What the keys do while a step stands open: what acts, what moves, what leads out."""


def place(session: Session, block: str, width: int) -> Content:
    """Farm, crop, and whether the block may be entered."""
    known = session.programme.blocks.get(block)
    if known is None:
        return Content("No block is set up yet")
    waits = known.no_entry_before is not None and session.on < known.no_entry_before
    stop = f"  ! no entry before {spoken_day(known.no_entry_before or session.on, session.on)}" if waits else ""
    return farm_and_block(session.programme, block, width - len(stop)) + Content.styled(stop, "bold $text-warning")


def what(now: Counting, on: date, width: int) -> Content:
    """What is looked for, and on what."""
    day = "" if now.sampled_on == on else f", begun on {spoken_day(now.sampled_on, on)}"
    day += ", corrected" if now.replaces else ""
    name, unit = sought_words(now.sought), sanitize(plural(now.sought.looked_at), 20)
    words = f"{name}{'' if unit in name else f', {unit}'}{day}"
    return Content.styled(sanitize(words[:1].upper() + words[1:], width), "bold")


def plan(now: Counting, width: int, rows: int) -> Content:
    """The plan with its number and source."""
    if now.plan is None:
        words = "No plan: the interval only."
        more = now.sought.remark if not now.plans else "m 2: a published plan."
        return Content(_folded(f"{words} {more}", width, rows))
    others = f" (m 2: {len(now.plans)} more, or none)" if len(now.plans) > 1 else ""
    words = plan_words(now.plan, sanitize(now.sought.looked_at, 20))
    return Content(_folded(f"Plan {words.replace(':', f'{others}:', 1)}", width, rows))


def start(now: Counting, highest: HighestCatch | None, width: int) -> Content:
    """Where to start, or how to spread it."""
    if now.sought.kind is not SampleKind.FRUIT:
        return Content(sanitize(now.sought.spread, width))
    if highest is None:
        return Content(sanitize("Cut suspect fruit; count fruit, not larvae. No catch here says where to start", width))
    where = ", ".join(
        sanitize(words, 20)
        for words in (f"row {highest.row}" if highest.row else "", f"tree {highest.tree}" if highest.tree else "")
        if words
    )
    at = f"trap {sanitize(highest.trap, 16)}{f' ({where})' if where else ''}"
    rate = f"{sanitize(highest.species, 8)} {numbers.figure(highest.per_week)} a week, the highest"
    return Content(_folded(f"Start at {at}: {rate}. Cut suspect fruit; count fruit, not larvae", width, 2))


def verdict(now: Counting) -> Content:
    """The running verdict, as it stands big."""
    found = now.verdict
    if found.outcome is Outcome.MORE and not now.looked:
        words = f"look on: {now.ends_at} {plural(now.sought.looked_at)}"
    elif found.outcome is Outcome.NO_PLAN:
        words = "no plan"
    else:
        words = found.words
    mark = _SIGNS.get(found.outcome, "")
    return Content.styled(f"{mark} {words.upper()}".strip(), "bold")


_SIGNS = {Outcome.OVER: "▲", Outcome.WITHIN: "◆", Outcome.BELOW: "▽"}


def next_step(now: Counting, width: int) -> Content:
    """What stands behind the verdict, and what Enter does."""
    found = now.verdict
    why = f"{found.why}{', by arithmetic' if found.derived else ''}   " if found.why else ""
    if now.text:
        enter = f"Enter: {now.text} {plural(now.sought.looked_at, int(now.text))} checked"
    elif now.settled and (not found.more or now.ends_at == now.looked):
        enter = "Enter: save"
    elif now.sought.kind is SampleKind.FRUIT:
        enter = "Type how many fruit were checked, then Enter"
    else:
        enter = f"Enter: {now.ends_at} {plural(now.sought.looked_at, now.ends_at)} checked, digits: another number"
    return Content.assemble(sanitize(why, max(10, width - cells(enter))), (enter, "bold"))


def tally(now: Counting, width: int) -> Content:
    """What was counted so far."""
    fruit = now.sought.kind is SampleKind.FRUIT
    words = [f"{'injured' if fruit else 'found'} {now.found}"]
    if fruit:
        marks = (("entries", now.sample.entries), ("other", now.sample.other_injury), ("stings apart", now.stings))
        words += [f"{name} {number}" for name, number in marks if number]
    words.append(f"checked {now.looked or '–'}")
    if now.sought.counted and now.found and now.counted is not None:
        words.append(f"{sanitize(now.sought.counted, 16)} {now.counted}")
    for name, number in (("with predators", now.beneficials), ("trees", now.trees), ("grade", now.grade)):
        words += [f"{name} {number}"] if number is not None else []
    words += [sanitize(f"“{text}”", 24) for text in (now.place, now.note) if text]
    said, way = "   ".join(words), ruler(now)
    return Content.styled(sanitize(f"{said}     {way}" if cells(said + way) + 5 <= width else said, width), "bold")


def ruler(now: Counting) -> str:
    """The stops of the plan on a line, and where the sample stands on it; empty without a plan."""
    stops = [] if now.plan is None else [one.looked for one in now.plan.stops] or [now.plan.units]
    drawn, before = "0" if stops else "", 0
    for stop in stops:
        line = ["─"] * _STOP
        if before <= now.looked < stop:
            line[_STOP * (now.looked - before) // (stop - before)] = "●"
        drawn, before = f"{drawn} {''.join(line)} {stop}", stop
    return f"{drawn} ●" if stops and now.looked >= before else drawn


_STOP = 8
"""Columns from one stop of a plan to the next."""


def below(now: Counting, width: int) -> Content:
    """The interval, what a table makes of it, and the last keys."""
    lines = []
    if now.looked:
        found, looked = min(now.found, now.looked), now.looked
        lines.append(f"{100 * found / looked:.1f} % ({interval_words(clopper_pearson(found, looked))})")
        made = presence(now.sought.by_presence, looked, found) if now.counted is None else None
        if made is not None and found:
            ends = [numbers.number(end) for end in made if end is not None]
            mites = " to ".join(dict.fromkeys(ends)) if made[1] is not None else f"more than {ends[0]}"
            lines.append(
                f"By leaves with mites: {mites} {sanitize(now.sought.counted, 16)} a leaf (table of 25 leaves)"
            )
        if now.counted is not None and now.sought.counted:
            lines.append(
                f"{now.counted / looked:.2f} {sanitize(now.sought.counted, 16)} a {sanitize(now.sought.looked_at, 16)}"
            )
    if now.marks:
        last = " ".join(_shown(mark) for mark in now.marks[-24:])
        lines.append(f"Keyed: {'… ' if len(now.marks) > 24 else ''}{last}   Backspace undoes the last")
    return Content("\n".join(sanitize(line, width) for line in lines))


def _shown(mark: str) -> str:
    return f"={mark[1:]}" if mark[0] == SAMPLED else mark.replace(STING, "j")


def keys(now: Counting) -> tuple[str, str, str]:
    """The keys that act now."""
    return STEPS.get(now.step, KEYS_FRUIT if now.sought.kind is SampleKind.FRUIT else KEYS_LEAF)


def offers(rows: Sequence[Offer], cursor: int, on: date, width: int, height: int) -> Content:
    """What can be looked for."""
    lines = []
    for offer in rows:
        words = sought_words(offer.sought)
        if offer.draft is not None:
            day = "" if offer.draft.sampled_on == on else f" since {spoken_day(offer.draft.sampled_on, on)}"
            rest = f", {offer.draft.found} found{day}, not saved"
            words = f"go on: {sanitize(words, max(12, width - 14 - cells(rest)))}{rest}"
        elif not offer.in_season:
            words += "  (another time of the year)"
        lines.append(words)
    return _list(lines, cursor, width, height)


def block_list(keeper: SampleKeeper, blocks: Sequence[str], cursor: int, width: int, height: int) -> Content:
    """Blocks to choose from."""
    programme = keeper.session.programme
    lines = []
    for block in blocks:
        known = programme.blocks[block]
        farm = programme.farms.get(known.farm)
        begun = f"  {several(keeper.begun(block), 'sample')} begun" if keeper.begun(block) else ""
        name = f"{padded(block, 10)} {padded(known.name, 22)} {sanitize(farm.name, 24) if farm else ''}"
        lines.append(f"{name}, {sanitize(known.crop, 12)}{begun}")
    return _list(lines or ["No block is set up yet"], cursor, width, height)


def _list(lines: Sequence[str], cursor: int, width: int, height: int) -> Content:
    numbered = [f"{str(at) if at < 10 else '':>2}  {line}" for at, line in enumerate(lines, 1)]
    whole = numbered[cursor].strip() if cells(numbered[cursor]) > width - 3 else ""
    shown = listed(numbered, cursor, (width - 1, height - 2 if whole else height), str)
    return shown + Content(f"\n  {_folded(whole, width - 2, 2)}") if whole else shown


def label(now: Counting) -> Content:
    """What the field takes."""
    return Content.styled(f"  {'Checked' if now.step is Step.COUNT else now.step:<15}", "bold")


def _folded(words: str, width: int, rows: int) -> str:
    """Words on so many lines, cut where they do not fit."""
    return "\n".join(wrap(sanitize(words), width, max_lines=rows, placeholder=" …", break_on_hyphens=False))
