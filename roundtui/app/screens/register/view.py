"""What the Register shows: its rows a line each, and all of the marked one; text from people goes through ``plain``."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from difflib import unified_diff

from textual.content import Content

from roundtui.domain.entries import SetUpChanged, change_words
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import OutOfOrder
from roundtui.domain.text import padded, sanitize
from roundtui.domain.traps.placement import Advice
from roundtui.store.session import Session
from roundtui.store.set_up.columns import Values, cell, file_of, named
from roundtui.store.set_up.register import (
    BLOCKS,
    FARMS,
    LOTS,
    RULES,
    VIEWS,
    RegisterRow,
)
from roundtui.store.set_up.register import ROUTES_REGISTER_DESK as ROUTES
from roundtui.store.set_up.register import TRAPS_REGISTER_DESK as TRAPS

MARK = "! "
"""Stands before every warning, so that it is one without colour too."""
_TABLES = [
    [(title.replace("_", " "), column, int(width)) for title, column, width in map(str.split, line.split("|"))]
    for line in (
        "Trap trap 9|For species 5|Block block 8|Row row 5|Tree tree 5|Hung_on hung_on 11|Lot lot 9",
        "Block block 9|Farm farm 7|Name name 16|Crop crop 8|ha area_ha 6",
        "Farm farm 10|Name name 26|Grower grower 22",
        "Lot lot 14|For species 5|Load_mg load_mg 8|Life_d life_days 7|Bought bought_on 11|Expires expires_on 11",
        "Route route 12|Place position 6|Trap trap 10|Block block 9|Farm farm 24",
        "Station station 10|Name name 26|Latitude lat 10|Longitude lon 10",
        "Species species 8|Name name 24|Latin latin 26|Lure_d lure_days 7",
        "Rule id 30|For species 5|Kind kind 12|Low low 6|High high 6",
        "What what 16|Says says 58",
    )
]
"""Of each view its columns: heading, name and width."""


def views(view: int, width: int) -> Content:
    """The views with their digits; the one shown in brackets."""
    parts: list[str | tuple[str, str]] = []
    for at, name in enumerate(VIEWS):
        words = f"{at + 1} {name}"
        parts += [(f"[{words}]", "bold reverse")] if at == view else [" " if at and at - 1 != view else "", words]
    return Content.assemble(*parts) if width >= 80 else Content(sanitize(f" {view + 1} {VIEWS[view]}", width))


def head_line(view: int) -> str:
    """The names of a view's columns."""
    return "  " + " ".join(f"{title:<{room}}" for title, _, room in _TABLES[view])


def row_line(view: int, row: RegisterRow, *, session: Session, behind: Collection[tuple[str, str]]) -> str:
    """A row in the list."""
    return f"{_columns(view, row.values, session.programme)} {_state(view, row, session.programme, session.on, behind)}"


def _columns(view: int, values: Values, programme: Programme) -> str:
    def shown(column: str, width: int) -> str:
        return padded(cell(column, values.get(column)), width)

    if view == ROUTES:
        hangings = programme.hangings.get(str(values["trap"]), ())
        block = hangings[-1].block if hangings else ""
        farm = programme.farms.get(programme.farm_of(block))
        place = f"{padded(block, 9)} {padded(farm.name if farm else '', 24)}"
        return f"{shown('route', 12)} {shown('position', 6)} {shown('trap', 10)} {place}"
    return " ".join(shown(column, room) for _, column, room in _TABLES[view])


def _state(view: int, row: RegisterRow, programme: Programme, on: date, behind: Collection[tuple[str, str]]) -> str:
    """What is remarkable about a row, in words."""
    values, words = row.values, []
    if view == TRAPS:
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
    elif view == ROUTES:
        hanging = programme.hanging(row.label, on)
        known = programme.farms.get(programme.farm_of(hanging.block)) if hanging else None
        words += ["not hanging"] if hanging is None else ["visit last"] if known and known.visit_last else []
    words += [str(values["origin"])] if values.get("origin") else []
    label = row.file.name if view >= RULES else named(row.file, values)
    if (row.file.name, label) in behind and not values.get("origin"):
        words.append("not in file")
    return ", ".join(words)


def detail(
    row: RegisterRow | None,
    advice: Sequence[Advice],
    history: Sequence[SetUpChanged],
    size: tuple[int, int],
    needed: Sequence[str] = (),
) -> Content:
    """All of a row: its columns, its earlier hangings, advice on its place, and who changed it last."""
    width, height = size
    if row is None:
        return Content("")
    lines = _wrapped(_says(row.values, row), width)
    for one in row.earlier[:1]:
        place = " ".join(f"{name} {one[name]}" for name in ("block", "row", "tree") if one[name])
        hung, down = one["hung_on"] or "day unknown", one["down_on"] or row.values["hung_on"]
        more = f" and {len(row.earlier) - 1} before" if len(row.earlier) > 1 else ""
        lines.append(f"before: {place}, {hung} to {down}, a series of its own{more}")
    for words in needed:
        lines += _wrapped(words, width)
    for last in history[:1]:
        why = f": {last.words}" if last.words else ""
        lines.append(f"last {change_words(last)} by {last.scout} on {last.done_on.isoformat()}{why}   h shows all")
    shown: list[str | tuple[str, str]] = [(sanitize(f"  {line}", width) + "\n", "") for line in lines]
    shown += [
        (sanitize(f"  {line}", width) + "\n", "$text-warning" if line.startswith(MARK) else "")
        for line in advice_lines(advice, width - 2)
    ]
    if len(shown) > height:
        shown = [*shown[: height - 1], f"  and {len(shown) - height + 1} more lines: roundtui register has them"]
    return Content.assemble(*shown)


def advice_lines(advice: Sequence[Advice], width: int) -> list[str]:
    """Advice with what is published, who prints it and who does not, cut to lines."""
    lines: list[str] = []
    for one in advice:
        otherwise = f" Others: {one.rule.otherwise}." if one.rule.otherwise else ""
        words = f"{MARK}{sanitize(one.found, 80)}; published: {one.rule.words} ({one.rule.by}).{otherwise}"
        lines += _wrapped(words, width)
    return lines


def _says(values: Values, row: RegisterRow) -> str:
    columns = row.file.columns
    return "  ".join(
        f"{column} {sanitize(cell(column, values[column]), 240 if column == 'source' else 40)}"
        for column in columns
        if _is_said(values[column])
    )


def _is_said(value: object) -> bool:
    return value not in (None, "", 0)


def _wrapped(words: str, width: int) -> list[str]:
    from textwrap import wrap

    return wrap(words, max(20, width - 2), subsequent_indent="  ", break_on_hyphens=False)


def order_words(found: OutOfOrder | None, programme: Programme) -> str:
    """A route that has a farm to be visited last before another; empty where it has none."""
    if found is None:
        return ""
    farm, other = (
        sanitize(known.name if (known := programme.farms.get(code)) else code, 24)
        for code in (found.farm, found.before)
    )
    since = f"from trap {sanitize(found.trap, 12)} on"
    return f"{MARK}{farm} should come last, and is before {other} {since}: m 5 puts it last"


def change_lines(entry: SetUpChanged, width: int) -> tuple[str, list[str]]:
    """A change of the register: when, who and what was done; and each column from what to what."""
    import json

    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    at = entry.recorded_at.strftime("%Y-%m-%d %H:%M") if entry.recorded_at else ""
    file = file_of(entry.file)
    label = named(file, {column: (becomes or was).get(column) for column in file.key}) if file else entry.file
    head = f"{at} UTC  {padded(entry.scout, 14)} {padded(change_words(entry), 11)} {sanitize(label, 24)}"
    lines = [f"holds from {entry.done_on.isoformat()}, entered on {sanitize(entry.device, 24)}"]
    if entry.words:
        lines.append(f"why: {entry.words}")
    if not becomes:
        lines.append("the row is gone; the one it came from is back")
    if file is not None and file.whole:
        found = unified_diff(was.get("text", "").splitlines(), becomes.get("text", "").splitlines(), lineterm="", n=0)
        return sanitize(head, width), [sanitize(f"  {line}", width) for line in [*lines, *list(found)[2:]]]
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    lines += [f"{column}: {was.get(column, 'blank')} -> {becomes.get(column, 'blank')}" for column in columns]
    return sanitize(head, width), [sanitize(f"  {line}", width) for line in lines]
