"""What the Register shows: its rows a line each, and all of the marked one; text from people goes through ``plain``."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date
from difflib import unified_diff
from itertools import accumulate, zip_longest
from textwrap import wrap

from textual.content import Content

from roundtui.domain.entries import SetUpChanged, change_words
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import OutOfOrder
from roundtui.domain.text import WARNS, cells, padded, sanitize, spoken_day, spoken_days
from roundtui.domain.traps.placement import Advice
from roundtui.store.session import Session
from roundtui.store.set_up import register
from roundtui.store.set_up.columns import Values, cell, file_of, named
from roundtui.store.set_up.register import BLOCKS, FARMS, LOTS, RULES, RegisterDesk, RegisterRow

_TABLES = [
    [(title.replace("_", " "), column, int(width)) for title, column, width in map(str.split, line.split("|"))]
    for line in (
        "Trap trap 8|Pest species 4|Block block 7|Row row 4|Tree tree 4|Hung_on hung_on 11|Lot lot 8",
        "Block block 9|Farm farm 7|Name name 16|Crop crop 8|ha area_ha 6",
        "Farm farm 10|Name name 26|Grower grower 22",
        "Lot lot 14|Pest species 5|Load_mg load_mg 8|Life_d life_days 7|Bought bought_on 11|Expires expires_on 11",
        "Route route 10|Place position 5|Trap trap 8|Block block 6|Farm farm 19",
        "Station station 10|Name name 26|Latitude lat 10|Longitude lon 10",
        "Species species 8|Name name 24|Latin latin 26|Lure_d lure_days 7",
        "Rule id 30|Pest species 5|Kind kind 12|Low low 6|High high 6",
        "What what 16|Says says 58",
    )
]
"""Of each view its columns: heading, name and width."""


def head_line(view: int) -> str:
    """The names of a view's columns."""
    return "  " + " ".join(f"{title:<{room}}" for title, _, room in _TABLES[view])


def row_line(view: int, row: RegisterRow, *, session: Session, behind: Collection[tuple[str, str]]) -> str:
    """A row in the list."""
    state = _state(view, row, session.programme, session.on, behind)
    return f"{_columns(view, row.values, session.programme, session.on)} {spoken_days(state, session.on)}".rstrip()


def _columns(view: int, values: Values, programme: Programme, on: date) -> str:
    def shown(column: str, width: int) -> str:
        said = cell(column, values.get(column))
        spoken = spoken_days(said, on)
        # Without the day of the week, so that the columns have room.
        return padded(said if spoken == said else spoken[4:], width)

    if view == register.ROUTES_VIEW:
        hangings = programme.hangings.get(str(values["trap"]), ())
        block = hangings[-1].block if hangings else ""
        farm = programme.farms.get(programme.farm_of(block))
        values = {**values, "block": block, "farm": farm.name if farm else ""}
    return " ".join(shown(column, room) for _, column, room in _TABLES[view])


def _state(view: int, row: RegisterRow, programme: Programme, on: date, behind: Collection[tuple[str, str]]) -> str:
    """What is remarkable about a row, in words."""
    values, words = row.values, []
    if view == register.TRAPS_VIEW:
        if values["down_on"] is not None:
            words.append(f"down {values['down_on']}")
        elif row.earlier and str(row.earlier[0]["down_on"] or "")[:4] == str(values["hung_on"])[:4]:
            words.append("moved" if row.earlier[0]["down_on"] == values["hung_on"] else "again")
        words += ["edge"] if values["edge"] else []
        stops = any(row.label in traps for traps in programme.routes.values())
        words += ["no route"] if values["down_on"] is None and not stops else []
    elif view == BLOCKS:
        closed = values["no_entry_before"]
        words += [f"NO ENTRY before {closed}"] if closed and str(closed) > on.isoformat() else []
        words += ["disrupted"] if values["disrupted"] else []
    elif view == FARMS:
        words += ["visit last"] if values["visit_last"] else []
    elif view == LOTS:
        expires = values["expires_on"]
        words += ["expired"] if expires and str(expires) < on.isoformat() else []
    elif view == register.ROUTES_VIEW:
        hanging = programme.hanging(row.label, on)
        known = programme.farms.get(programme.farm_of(hanging.block)) if hanging else None
        words += ["not hanging"] if hanging is None else ["last"] if known and known.visit_last else []
    words += [str(values["origin"])] if values.get("origin") else []
    label = row.file.name if view >= RULES else named(row.file, values)
    if (row.file.name, label) in behind and not values.get("origin"):
        words.append("not in file")
    return ", ".join(words)


def detail(desk: RegisterDesk, view: int, row: RegisterRow | None, size: tuple[int, int], room: int) -> Content:
    """What a row's line does not say in its room: columns, earlier hangings, advice on its place, the last change."""
    (width, height), on = size, desk.session.on
    if row is None:
        return Content("")
    state = _state(view, row, desk.session.programme, on, desk.behind)
    line = row_line(view, row, session=desk.session, behind=desk.behind)
    lines = _wrapped(spoken_days(state, on), width) if cells(line) > room - 2 else []
    lines += _sheet(view, row, on, width - 2, room)
    for one in row.earlier[:1]:
        place = " ".join(f"{name} {one[name]}" for name in ("block", "row", "tree") if one[name])
        hung, down = one["hung_on"] or "day unknown", one["down_on"] or row.values["hung_on"]
        more = f" {len(row.earlier)} times, last" if len(row.earlier) > 1 else ""
        words = f"Hung before{more}: {place}, {hung} to {down}. Its catch there is counted apart."
        lines += _wrapped(spoken_days(words, on), width)
    for words in desk.needed(row):
        lines += _wrapped(words, width)
    for last in desk.history(row)[:1]:
        day, why = spoken_day(last.done_on, on), f": {last.words}" if last.words else ""
        lines += _wrapped(f"Last {change_words(last)} by {last.scout}, {day}{why}   h: all changes", width)
    lines += advice_lines(desk.advice(row), width - 2)
    if len(lines) > height:
        lines = [*lines[: height - 1], f"and {len(lines) - height + 1} more lines: roundtui register has them"]
    styles = ["$text-warning" if line.startswith(WARNS) else "" for line in lines]
    said = zip((sanitize(f"  {line}", width) for line in lines), styles, strict=True)
    return Content("\n").join(Content.styled(*one) for one in said)


def advice_lines(advice: Sequence[Advice], width: int) -> list[str]:
    """Advice with what is published, who prints it and who does not, cut to lines."""
    lines: list[str] = []
    for one in advice:
        otherwise = f" Others: {one.rule.otherwise}." if one.rule.otherwise else ""
        words = f"{WARNS}{sanitize(one.found, 80)}; published: {one.rule.words} ({one.rule.by}).{otherwise}"
        lines += _wrapped(words, width)
    return lines


def heading(column: str) -> str:
    """A column as people call it."""
    return column.replace("_", " ").capitalize()


def _sheet(view: int, row: RegisterRow, on: date, width: int, across: int) -> list[str]:
    """Columns that the line of a row, so many cells across, does not say in full; the short ones side by side."""
    ends = accumulate(cells + 1 for _, _, cells in _TABLES[view])
    shown = [one for one, end in zip(_TABLES[view], ends, strict=True) if end < across]
    room, half = {column: cells for _, column, cells in shown}, width // 2
    short, long = list[str](), list[str]()
    for column in row.file.columns:
        words = sanitize(spoken_days(cell(column, row.values[column]), on), 240)
        if row.values[column] not in (None, "", 0) and cells(words) > room.get(column, 0):
            one = f"{heading(column):<14} {words}"
            (short if cells(one) < half else long).append(one)
    pairs = zip_longest(short[::2], short[1::2], fillvalue="")
    lines = [f"{padded(left, half)}{right}".rstrip() for left, right in pairs]
    return [*lines, *(line for one in long for line in wrap(one, width, subsequent_indent=" " * 15))]


def _wrapped(words: str, width: int) -> list[str]:
    return wrap(words, max(20, width - 3), subsequent_indent="  ", break_on_hyphens=False)


def order_words(found: OutOfOrder | None, programme: Programme) -> str:
    """A route that has a farm to be visited last before another; empty where it has none."""
    if found is None:
        return ""
    farm, other = (
        sanitize(known.name if (known := programme.farms.get(code)) else code, 24)
        for code in (found.farm, found.before)
    )
    since = f"from trap {sanitize(found.trap, 12)} on"
    return f"{WARNS}{farm} should come last, and is before {other} {since}: m 5 puts it last"


def change_lines(entry: SetUpChanged, others: Sequence[SetUpChanged], on: date, width: int) -> tuple[str, list[str]]:
    """A change of the register: when, who and what was done; and each column from what to what.

    A hanging that begins is held against the one that ended with it, among other changes of the row.
    """
    import json

    ended = (one for one in others if one.was and one.recorded_at == entry.recorded_at)
    entry = entry if entry.was else replace(entry, was=next(ended, entry).was)
    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    at = spoken_days(entry.recorded_at.strftime("%Y-%m-%d %H:%M"), on) if entry.recorded_at else ""
    file = file_of(entry.file)
    label = named(file, {column: (becomes or was).get(column) for column in file.key}) if file else entry.file
    label = spoken_days(sanitize(label, 24), on)
    head = f"{at} UTC  {padded(change_words(entry), 11)} {padded(label, 22)} {entry.scout}"
    who = f"{sanitize(entry.scout, 24)} on {sanitize(entry.device, 24)}"
    lines = [f"holds from {spoken_day(entry.done_on, on)}, entered by {who}"]
    if entry.words:
        lines.append(f"why: {entry.words}")
    if not becomes:
        lines.append("the row is gone; the one it came from is back")
    if file is not None and file.whole:
        found = unified_diff(was.get("text", "").splitlines(), becomes.get("text", "").splitlines(), lineterm="", n=0)
        return sanitize(head, width), [sanitize(f"  {line}", width) for line in [*lines, *list(found)[2:]]]
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    for column in columns:
        before = f"{was.get(column, 'blank')} -> " if was else ""
        lines.append(spoken_days(f"{heading(column)}: {before}{becomes.get(column, 'blank')}", on))
    return sanitize(head, width), [f"  {part}" for line in lines for part in _wrapped(sanitize(line), width)]
