"""Maps of traps: a block by its rows and trees, a route and the area by coordinates, with the catch of one week.

North is up. A map of one block holds traps of that block alone, so that it can stand in its grower's letter.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise, zip_longest
from math import cos, floor, log10, radians
from textwrap import wrap

from roundtui.domain.figures.figures import series, trap_figure
from roundtui.domain.figures.history import History
from roundtui.domain.figures.integrity import examine
from roundtui.domain.figures.summary import URGENCY
from roundtui.domain.figures.verdicts import BlockRow
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import cells, listed, padded, sanitize
from roundtui.report.bars import TREND, trend
from roundtui.report.figures.summary import MARKS, judged_words
from roundtui.report.text import figure

METRES_A_DEGREE = 111_195
"""Length of a degree of latitude on a sphere of 6,371 km. [m/°]"""
_WAY = "•"
"""Cells that are walked over from trap to trap."""
_LABEL = 8
"""Longest label on a map. [columns]"""


class Spot(Frozen):
    """A trap on a map."""

    here: Trap
    """Where it hangs."""
    per_week: Fraction | None
    """Catch of the week; None where it has no figure. [moths/trap/week]"""
    read_on: date | None
    """Day of the newest reading in it."""
    days: tuple[int, ...]
    """Days of exposure of its readings; empty where it has no figure. [d]"""
    suspect: bool
    """Whether lure or body are wrong, so that the catch is in no mean."""
    unlikely: bool = False
    """Whether its count is to be checked."""

    @property
    def said(self) -> str:
        """The catch, or ``·``; ``!`` stands before it where it is unlikely, behind it where it cannot be relied on."""
        return "!" * self.unlikely + ("·" if self.per_week is None else figure(self.per_week)) + "!" * self.suspect

    @property
    def words(self) -> str:
        """Label, species and catch, with ``e:`` before a trap at the edge."""
        label = f"{sanitize(self.here.trap, _LABEL)} {sanitize(self.here.species, 5)}"
        return f"{'e:' if self.here.edge else ''}{label} {self.said}"

    @property
    def tree(self) -> tuple[int, int] | None:
        """Row and tree; None where nobody wrote down both as numbers."""
        found = [re.search(r"\d{1,5}", words) for words in (self.here.row, self.here.tree)]
        return (int(found[0].group()), int(found[1].group())) if found[0] and found[1] else None

    @property
    def measured(self) -> bool:
        """Whether it has coordinates."""
        return self.here.lat is not None and self.here.lon is not None


def spots(programme: Programme, history: History, on: date, blocks: Collection[str]) -> tuple[Spot, ...]:
    """The traps that hang in some blocks on a day, with the catch of the week that ends on it.

    Args:
        programme: What is set up.
        history: The record up to a day not before.
        on: The day.
        blocks: Codes of the blocks.
    """
    found = examine(programme, history.scent, on, history.assembled, history.bodies)
    suspect, rows = {one.trap for one in found.troubles}, []
    for trap in sorted(programme.hangings, key=natural_key):
        here = programme.hanging(trap, on)
        if here is None or here.block not in blocks:
            continue
        every = series(programme.hangings[trap], history.visits.get(trap, ()), found)
        known = trap_figure(next(one for one in every if one.hanging is here), on, with_suspect=True)
        used = known.readings if known is not None else ()
        wrong = any(one.suspect for one in used) if used else trap in suspect
        rate, read_on = (known.per_week, used[-1].read_on) if known is not None else (None, None)
        rows.append(Spot(here, rate, read_on, tuple(one.days or 0 for one in used), wrong))
    return tuple(rows)


def places(found: Sequence[Spot]) -> dict[str, tuple[float, float]]:
    """How far east and north of the south-west corner each trap with coordinates hangs, by its label. [m]

    Args:
        found: The traps; so few kilometres apart that the ground between them is flat.
    """
    known = [(one.here.trap, one.here.lat or 0.0, one.here.lon or 0.0) for one in found if one.measured]
    if not known:
        return {}
    shrunk, first = cos(radians(known[0][1])), known[0][2]
    # Degrees of longitude begin anew at 180, which may lie between two traps.
    east = [((lon - first + 180) % 360 - 180) * shrunk * METRES_A_DEGREE for _, _, lon in known]
    north = [lat * METRES_A_DEGREE for _, lat, _ in known]
    return {one[0]: (x - min(east), y - min(north)) for one, x, y in zip(known, east, north, strict=True)}


class _Sheet:
    """Cells to write into; nothing is written over words."""

    def __init__(self, width: int, height: int) -> None:
        self.rows = [[" "] * width for _ in range(height)]

    def free(self, line: int, column: int, words: str, over: str = " ") -> bool:
        """Whether there is room for words, with a blank at each end."""
        end = column + cells(words)
        if not (0 <= line < len(self.rows) and column >= 0 and end <= len(self.rows[line])):
            return False
        return all(one in over for one in self.rows[line][max(0, column - 1) : end + 1])

    def put(self, line: int, column: int, words: str) -> None:
        """Write words; of a wide character the second cell stays empty."""
        wide = cells(words)
        self.rows[line][column : column + wide] = [*words, *[""] * (wide - len(words))]

    def near(self, line: int, column: int, words: str, others: Collection[int]) -> int | None:
        """Write words into a free line near to one, into those of others last; the line, or None without room."""
        lines = sorted(range(len(self.rows)), key=lambda at: (at in others, abs(at - line), -at))
        found = next((at for at in lines if self.free(at, column, words)), None)
        if found is not None:
            self.put(found, column, words)
        return found

    @property
    def lines(self) -> list[str]:
        """What is written."""
        return ["".join(row) for row in self.rows]


def block_map(found: Sequence[Spot], width: int, height: int) -> list[str]:
    """A block with each trap where it hangs: by rows and trees, or by coordinates where no trap has row and tree.

    Args:
        found: Traps of the block.
        width: Columns.
        height: Lines.

    Returns:
        So many lines at most: trees down the side and rows along the foot, or a scale; last, what is missing.
    """
    planted = any(one.tree for one in found)
    shown = [one for one in found if (one.tree if planted else one.measured)]
    missing = [one for one in found if one not in shown]
    foot = missing_words(missing, "row and tree" if planted else "row and tree, nor lat and lon", width)
    if not shown:
        return foot or ["  No trap hangs here."]
    if not planted:
        return [*_ground(shown, {one.here.trap: one.words for one in shown}, (), width, height - len(foot)), *foot]
    trees = {one.here.trap: one.tree or (0, 0) for one in shown}
    (first_row, last_row), (first_tree, last_tree) = (
        (min(values), max(*values, min(values) + 1)) for values in zip(*trees.values(), strict=True)
    )
    # Rows stand a few metres apart and trees less: where there is much room the picture is not pulled apart.
    room = max(3, min(height - 2 - len(foot), 2 * (last_tree - first_tree) + 1))
    # A line may stand for several trees, and then it says from which to which.
    aside = max(4, 2 * len(str(last_tree)) + 1)
    across = min(width - aside - 4, max(_LABEL * 5, 6 * (last_row - first_row)) + 18)
    sheet, names = _Sheet(across, room), _Sheet(across, 1)
    line_of, on_line = _lines(sorted({tree for _, tree in trees.values()}), room), dict[int, list[int]]()
    crowded: list[str] = []
    for one in sorted(shown, key=lambda one: trees[one.here.trap][::-1]):
        row, tree = trees[one.here.trap]
        column = round((row - first_row) / (last_row - first_row) * max(0, across - 18))
        own = line_of[tree]
        line = sheet.near(own, column, one.words, {*line_of.values()} - {own})
        if line is None:
            crowded.append(one.words)
        else:
            on_line.setdefault(line, []).append(tree)
        if names.free(0, column, str(row)):
            names.put(0, column, str(row))
    top = sanitize(f"─ no room for {', '.join(crowded)} ", across) if crowded else ""
    lines = [f" {'tree':>{aside}} ┌{top:─<{across}}┐"]
    for line, drawn in enumerate(sheet.lines):
        said = "–".join(map(str, dict.fromkeys((on_line[line][0], on_line[line][-1])))) if line in on_line else ""
        lines.append(f" {said:>{aside}} │{drawn}│")
    return [*lines, f" {'row':>{aside}}  {names.lines[0]}", *foot][:height]


def _lines(trees: Sequence[int], room: int) -> dict[int, int]:
    """The line of each tree, as far apart as they hang; each has its own where there is room.

    Args:
        trees: Trees with traps, from the first to the last.
        room: Lines.
    """
    apart, lines = max(1, trees[-1] - trees[0]), dict[int, int]()
    for at, tree in enumerate(trees):
        line = round((tree - trees[0]) / apart * (room - 1))
        if len(trees) <= room:
            least = lines[trees[at - 1]] + 1 if at else 0
            line = min(max(line, least), room - len(trees) + at)
        lines[tree] = line
    return lines


def trap_lines(programme: Programme, history: History, on: date, block: str, weeks: int = 12) -> list[str]:
    """The catch of each trap of a block in the last weeks, a line each, with where it hangs.

    Args:
        programme: What is set up.
        history: The record up to a day not before.
        on: The last day of the newest week.
        block: Code of the block.
        weeks: How many.
    """
    past = [spots(programme, history, on - timedelta(weeks=back), {block}) for back in reversed(range(weeks))]
    rates = [{one.here.trap: one.per_week for one in week} for week in past]
    lines = [f" {weeks} weeks, each trap from zero {TREND[0]} to its highest {TREND[-1]}"]
    for one in past[-1]:
        own = trend([week.get(one.here.trap) for week in rates])
        at = f"row {one.tree[0]}, tree {one.tree[1]}" if one.tree else "no row and tree"
        label = f"{padded(one.here.trap, _LABEL)} {padded(one.here.species, 5)}"
        lines.append(f" {label} {own} {one.said:>7}  {at}{', edge' if one.here.edge else ''} ")
    return lines


def beside(left: Sequence[str], right: Sequence[str]) -> list[str]:
    """Two texts side by side, each line of the left one as wide as its longest."""
    width = max(map(cells, left), default=0)
    return (
        [f"{padded(one, width)} {other}" for one, other in zip_longest(left, right, fillvalue="")] if right else [*left]
    )


def missing_words(missing: Sequence[Spot], what: str, width: int) -> list[str]:
    """Where to write what traps lack that are not on a map, and which those are; nothing where none is missing."""
    words = f"  No {what} (traps.csv, or m e): "
    words += listed(f"{sanitize(one.here.trap, _LABEL)} {one.said}" for one in missing)
    return wrap(words, width, subsequent_indent="  ", max_lines=2, placeholder=" …") if missing else []


def area_map(
    found: Sequence[Spot], rows: Sequence[BlockRow], way: Sequence[str], chosen: str, size: tuple[int, int]
) -> list[tuple[str, bool]]:
    """Blocks of a route, or of the whole area, where their traps hang, and a list of them at the right.

    Args:
        found: Traps of the blocks, in the order of the list.
        rows: What a summary says of the blocks; one that is not among them has no mark.
        way: Labels of traps in walking order, joined by dots; empty: no way is drawn.
        chosen: Code of the block that is marked.
        size: Columns and lines.

    Returns:
        So many lines at most, and whether each is that of the marked block: ``o`` a trap with a figure, ``○`` one
        without, and a scale; last, what is missing.
    """
    width, height = size
    own: dict[str, list[BlockRow]] = {one.here.block: [] for one in found}
    for row in rows:
        own.get(row.block, []).append(row)
    shown = [one for one in found if one.measured]
    foot = missing_words([one for one in found if not one.measured], "lat and lon", width)
    listed, words, long = [], {}, min(_LABEL, max(map(cells, own)))
    for block, mine in own.items():
        said = "  ".join(f"{MARKS[row.status]} {sanitize(row.species, 5)} {judged_words(row)}" for row in mine)
        listed.append((block, f"{'>' if block == chosen else ' '}{padded(block, long)} {said}"))
        mark = MARKS[min((row.status for row in mine), key=URGENCY.index)] if mine else ""
        words[block] = sanitize(f"[{mark}{block}]" if block == chosen else f"{mark}{block}", _LABEL + 3)
    room = height - len(foot)
    beside = min(width // 2, max(cells(said) for _, said in listed))
    # Much room is shared out at both sides, and the list stays near the picture.
    aside = max(0, (width - beside - 3 * room) // 2)
    across = width - beside - 1 - 2 * aside
    drawn: list[str] = []
    if shown:
        # Words stand beside the trap of the block that hangs farthest east.
        at, last = places(shown), {}
        for one in sorted(shown, key=lambda one: at[one.here.trap][0]):
            last[one.here.block] = one.here.trap
        drawn = _ground(shown, {trap: words[block] for block, trap in last.items()}, way, across, room)
    first = max(0, min([*own].index(chosen) - room // 2, len(listed) - room)) if chosen in own else 0
    listed = listed[first : first + room]
    drawn += [""] * (len(listed) - len(drawn))
    lines = [
        (f"{' ' * aside}{padded(left, across)} {sanitize(said, beside)}", bool(block) and block == chosen)
        for left, (block, said) in zip(drawn, [*listed, *[("", "")] * (len(drawn) - len(listed))], strict=True)
    ]
    return [*lines, *((said, False) for said in foot)]


def _ground(found: Sequence[Spot], words: Mapping[str, str], way: Sequence[str], width: int, height: int) -> list[str]:
    """Traps by their coordinates, as wide as high, with words beside some of them; a scale last."""
    at, room = places(found), max(2, height - 1)
    longest = max((cells(one) for one in words.values()), default=0) + 2
    east, north = (max(values) for values in zip(*at.values(), strict=True))
    # A cell of a terminal is about twice as high as wide.
    per = max(east / max(1, width - longest - 3), north / (2 * (room - 1)), 0.5)
    sheet = _Sheet(width, room)
    cell = {trap: (round((north - y) / (2 * per)), 1 + round(x / per)) for trap, (x, y) in at.items()}
    for (line, column), (to_line, to_column) in pairwise(cell[trap] for trap in way if trap in cell):
        down, right = to_line - line, to_column - column
        steps = max(abs(down), abs(right), 1)
        for step in range(steps + 1):
            sheet.put(line + round(down * step / steps), column + round(right * step / steps), _WAY)
    for one in found:
        sheet.put(*cell[one.here.trap], "○" if one.per_week is None else "o")
    for trap, said in words.items():
        line, column = cell[trap]
        tries = [(line + by, at) for at in (column + 2, column - 1 - cells(said)) for by in (0, -1, 1, -2, 2)]
        place = next((one for one in tries if sheet.free(*one, said, f" {_WAY}")), None)
        if place is not None:
            sheet.put(*place, said)
    return [*sheet.lines, f" {_scale(per, width // 3)} north up"]


def _scale(per: float, most: int) -> str:
    """A bar of a round number of metres.

    Args:
        per: Metres a column. [m]
        most: Longest bar. [columns]
    """
    power = 10.0 ** floor(log10(per * most))
    length = max(step * power for step in (1, 2, 5) if step * power <= per * most)
    said = f"{length / 1000:g} km" if length >= 1000 else f"{length:g} m"
    return f"├{'─' * max(1, round(length / per) - 2)}┤ {said}"


def means(found: Sequence[Spot]) -> str:
    """Mean catch of each species inside the block and at its edge; suspect traps are left out."""
    parts = []
    for species in dict.fromkeys(one.here.species for one in found):
        for name, edge in (("inside", False), ("edge", True)):
            mine = [one for one in found if one.here.species == species and one.here.edge is edge and not one.suspect]
            rates = [one.per_week for one in mine if one.per_week is not None]
            if rates:
                mean = figure(sum(rates, Fraction(0)) / len(rates))
                parts.append(f"{sanitize(species, 5)} {name} {mean} ({len(rates)} of {len(mine)})")
    return "   ".join(parts)
