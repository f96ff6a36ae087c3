"""Operating curves of the published plans: random blocks of known infestation beside an exact recursion.

``python -m tests.domain.look_curves`` prints what docs/looks.md shows; with ``--write`` it writes page and picture.

The walks ask ``domain.looks.plans.judge`` after every unit, as the screen does. The recursion knows nothing of it: it
is written from the numbers of the plans alone.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import exp, log
from pathlib import Path
from random import Random
from textwrap import wrap

from roundtui.domain.sampling.data import BY_PRESENCE_NOTE, SHIPPED_LOOKS
from roundtui.domain.sampling.records import COMMON, Measure, Outcome, Plan, Seen, Sought, judge, plural
from roundtui.report.sampling.samples import number_words

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "looks.md"
PICTURE = DOCS / "pictures" / "looks-operating-curves.svg"
SEED = 20311
BLOCKS = 2000
COUNTED_BLOCKS = 300
TIMES = (Fraction(1, 2), Fraction(4, 5), Fraction(1), Fraction(5, 4), Fraction(2))
"""True levels, beside the plan's number."""
OWN_LEVELS = {
    "oblr-maine": ("0.005", "0.01", "0.02", "0.03", "0.04", "0.05", "0.08", "0.12"),
    "fruit-export-clean": ("0", "0.0005", "0.001", "0.002", "0.005"),
}
"""True shares for plans that print no number to compare with."""
DRAWN = ("oblr-maine", "fruit-washington", "fruit-export-clean", "raa-uk", "gaa-uk", "mites-uk")
ENDS = (Outcome.BELOW, Outcome.WITHIN, Outcome.OVER, Outcome.CANNOT_TELL)


@dataclass(frozen=True)
class Point:
    """A plan at one true level."""

    plan: Plan
    sought: Sought
    level: Fraction
    """True share, or animals a unit."""
    ends: dict[Outcome, float]
    """How often it ends in each."""
    units: float
    """Mean number of units looked at."""

    @property
    def truth(self) -> Outcome | None:
        """What would be right; None where the plan prints no number."""
        if self.plan.id == "fruit-export-clean":
            return Outcome.OVER if self.level else Outcome.BELOW
        low, high = self.plan.low, self.plan.high
        if low is None or high is None:
            return None
        if self.level > high or (self.level == high and not self.plan.above):
            return Outcome.OVER
        return Outcome.BELOW if self.level < low or self.plan.above else Outcome.WITHIN

    @property
    def wrong(self) -> float | None:
        """How often it stops with another word than the right one."""
        if self.truth is None:
            return None
        return sum(self.ends[end] for end in ENDS[:3] if end is not self.truth)


def plans() -> Iterator[tuple[Plan, Sought]]:
    """Every plan that ships, once."""
    seen = set()
    for sought in SHIPPED_LOOKS:
        for plan in sought.plans:
            if plan.id not in seen:
                seen.add(plan.id)
                yield plan, sought


def levels(plan: Plan) -> tuple[Fraction, ...]:
    """True levels at which a plan is tried."""
    if plan.id in OWN_LEVELS:
        return tuple(map(Fraction, OWN_LEVELS[plan.id]))
    low, high = plan.low or Fraction(0), plan.high or Fraction(0)
    tried = {times * (low if times < 1 else high) for times in TIMES} | ({(low + high) / 2} if low != high else set())
    return tuple(sorted(level for level in tried if plan.measure is not Measure.SHARE or level < 1))


# --- exact -----------------------------------------------------------------------------------------------------------


def exact(plan: Plan, sought: Sought, level: Fraction) -> Point:
    """A plan at one true level, by recursion over units: no block is drawn."""
    if plan.measure is Measure.MEAN:
        return _exact_counted(plan, sought, level)
    share, last = float(level), plan.stops[-1].looked if plan.stops else plan.units
    # From here on more is no different: whatever the stop, the plan has said what it says of so many.
    most = max(stop.low + 1 if stop.high is None else stop.high for stop in plan.stops) if plan.stops else last
    going = {0: 1.0}
    ends: dict[Outcome, float] = defaultdict(float)
    units = 0.0
    for looked in range(1, last + 1):
        units += sum(going.values())
        grown: dict[int, float] = defaultdict(float)
        for found, chance in going.items():
            grown[found] += chance * (1 - share)
            grown[min(found + 1, most)] += chance * share
        going = {}
        for found, chance in grown.items():
            end = _stop_end(plan, looked, found) if plan.stops else _share_end(plan, looked, found)
            if end is None:
                going[found] = chance
            else:
                ends[end] += chance
    return Point(plan, sought, level, ends, units)


def _share_end(plan: Plan, looked: int, found: int) -> Outcome | None:
    least_over, least_within = _numbers(plan)
    if found >= least_over:
        return Outcome.OVER
    if found + plan.units - looked < least_within:
        return Outcome.BELOW
    return Outcome.WITHIN if looked == plan.units else None


@cache
def _numbers(plan: Plan) -> tuple[int, int]:
    """Fewest that are over, and fewest that are not below, found by counting upward."""
    low, high, units = plan.low or Fraction(0), plan.high or Fraction(0), plan.units
    shares = [Fraction(found, units) for found in range(units + 2)]
    least_over = next(at for at, share in enumerate(shares) if (share > high if plan.above else share >= high))
    return least_over, least_over if low == high else next(at for at, share in enumerate(shares) if share >= low)


def _stop_end(plan: Plan, looked: int, found: int) -> Outcome | None:
    ahead = next(stop for stop in plan.stops if stop.looked >= looked)
    if ahead.looked == looked and found <= ahead.low:
        return Outcome.BELOW
    if ahead.high is not None and found >= ahead.high:
        return Outcome.OVER
    return Outcome.CANNOT_TELL if looked == plan.stops[-1].looked else None


def _exact_counted(plan: Plan, sought: Sought, level: Fraction) -> Point:
    """Animals scattered at random: on so many units their number is a Poisson one."""
    low, high, mean = plan.low or Fraction(0), plan.high or Fraction(0), float(level)
    over_from, below_to = -(-high * plan.units // 1), -(-low * plan.units // 1) - 1
    not_over = [fewer_than(int(over_from), mean * looked) for looked in range(plan.units + 1)]
    below = fewer_than(int(below_to) + 1, mean * plan.units)
    ends: dict[Outcome, float] = defaultdict(float)
    ends[Outcome.OVER], ends[Outcome.BELOW] = 1 - not_over[-1], below
    ends[Outcome.WITHIN] = not_over[-1] - below
    return Point(plan, sought, level, ends, sum(not_over[:-1]))


def fewer_than(number: int, mean: float) -> float:
    """How likely a Poisson number of that mean is smaller."""
    if mean == 0:
        return 1.0
    total, logarithm = 0.0, -mean
    for at in range(number):
        total += exp(logarithm)
        logarithm += log(mean / (at + 1))
    return min(total, 1.0)


# --- drawn -----------------------------------------------------------------------------------------------------------


def walked(plan: Plan, sought: Sought, level: Fraction, blocks: int) -> Point:
    """A plan at one true level, in so many random blocks, each walked unit by unit."""
    random = Random(f"{SEED} {plan.id} {level}")
    ends: dict[Outcome, float] = defaultdict(float)
    units = 0
    known: dict[tuple[int, int], Outcome] = {}
    counted = plan.measure is Measure.MEAN
    nothing, share = exp(-float(level)), float(level)
    for _ in range(blocks):
        found = looked = 0
        end = Outcome.MORE
        while end is Outcome.MORE:
            looked += 1
            found += _poisson(random, nothing) if counted else random.random() < share
            if (looked, found) not in known:
                seen = Seen(looked, min(found, looked), found) if counted else Seen(looked, found)
                known[looked, found] = judge(plan, seen).outcome
            end = known[looked, found]
        ends[end] += 1 / blocks
        units += looked
    return Point(plan, sought, level, ends, units / blocks)


def _poisson(random: Random, nothing: float) -> int:
    number, product = 0, random.random()
    while product > nothing:
        number += 1
        product *= random.random()
    return number


def run(blocks: int = BLOCKS, counted_blocks: int = COUNTED_BLOCKS) -> list[tuple[Point, Point]]:
    """Every plan at every level: exact, and drawn."""
    return [
        (
            exact(plan, sought, level),
            walked(plan, sought, level, counted_blocks if plan.measure is Measure.MEAN else blocks),
        )
        for plan, sought in plans()
        for level in levels(plan)
    ]


# --- page ------------------------------------------------------------------------------------------------------------


def table(points: Sequence[tuple[Point, Point]], plan_id: str) -> str:
    """One plan: exact figures, and the drawn ones in brackets."""
    lines = [
        "| true level | says over | says below | stops wrongly | units looked at |",
        "| --: | --: | --: | --: | --: |",
    ]
    for one, drawn in points:
        if one.plan.id != plan_id:
            continue
        share = one.plan.measure is not Measure.MEAN
        level = f"{float(one.level * 100):.3g} %" if share else f"{float(one.level):.3g}"
        cells = [
            _both(one.ends[Outcome.OVER], drawn.ends[Outcome.OVER]),
            _both(one.ends[Outcome.BELOW], drawn.ends[Outcome.BELOW]),
            "–" if one.wrong is None or drawn.wrong is None else _both(one.wrong, drawn.wrong),
            f"{one.units:.1f} ({drawn.units:.1f})",
        ]
        lines.append(f"| {level} | {' | '.join(cells)} |")
    return "\n".join(lines)


def _both(one: float, drawn: float) -> str:
    return f"{abs(100 * one):.1f} % ({100 * drawn:.1f})"


def sections(points: Sequence[tuple[Point, Point]]) -> str:
    """Every plan with its number, source and table."""
    parts = []
    for plan, sought in plans():
        number = number_words(plan, sought.looked_at)
        parts.append(f"### {plan.id}\n\n{sought.name[:1].upper()}{sought.name[1:]}: {number}. Source: {plan.source}.")
        if plan.units_source:
            parts[-1] += f" Number of {plural(sought.looked_at)}: {plan.units_source}."
        if plan.note:
            parts[-1] += f" {plan.note[:1].upper()}{plan.note[1:]}."
        parts.append(table(points, plan.id))
    return "\n\n".join(parts)


def without_plan() -> str:
    """What is looked for without a plan in print."""
    return ", ".join(sought.name for sought in SHIPPED_LOOKS if not sought.plans)


def half(plan_id: str) -> str:
    """True share at which a plan says over in half of all blocks."""
    plan, sought = next(pair for pair in plans() if pair[0].id == plan_id)
    low, high = Fraction(0), Fraction(1, 2)
    for _ in range(12):
        middle = (low + high) / 2
        if exact(plan, sought, middle).ends[Outcome.OVER] < 0.5:
            low = middle
        else:
            high = middle
    return f"{float(high * 100):.1f} %"


TEXT = """\
# Looks at leaf and fruit: plans, and how far they can be trusted

Made by `python -m tests.domain.look_curves --write`; a test holds page and picture to the code.

A look says how many units of a block had something. Where a plan is in print, the screen says `stop: below`,
`stop: over`, `stop: within` or how many more; where none is, the interval stands alone. A verdict says on which side of
a published number the look came out. It is no advice: label, extension and licensed practice decide.

- **Fixed plans** look at so many units and compare the share, or the mean of what was counted, with a number. Before
  the end they stop only when nothing can change any more: so many are found that the number cannot be missed, or so few
  that it cannot be reached. That is arithmetic and is marked as derived.
- **Stops** of a sequential plan are those printed. What was few enough at a stop that was passed was few enough there,
  and what is enough for the next stop will be enough at it: that too is arithmetic and marked.
- **Counts.** A unit on which nobody counted has one animal at the least. No more is made of it: the plan then cannot
  tell, unless even that is over.
- **Leaves with mites.** Where mites are not counted, a published table makes mites a leaf of the leaves with any.
  Between two of its rows nothing is made up.
  {by_presence}.
- **Mite-days.** New York tolerates about 500 mite-days and tells treat, look again in 7 days and look again in 14 days
  apart (Cornell, Monitoring European red mite, nysipm.cornell.edu). Its table was not to be read, so the tool says
  over, below or how many more by the numbers below, and nothing about days.
- **Days of the year** on which a plan holds are those of its source where it has them, else {common}.
  South of the equator they are half a year on, which is derived: every source here is from the north.
- **Intervals** are exact ones of 95 % (Clopper and Pearson 1934); the JSON has the score interval too (Wilson 1927).
  Both take units as picked one by one. Leaves and fruit of one tree are alike, so few trees say less than that.
- **Without a plan in print:** {without}.

An office adds plans of its own in `looks.toml`, beside `thresholds.toml`:

```toml
[[look]]
code = "ERM"                 # or one of its own, with name, crops, months, looked_at, counted
[[look.plan]]
id = "our-mites"
measure = "mean"             # or share, a high of 0.05 being 5 %; or stops = [[60, 1, 4], [90, 2, 4]]
units = 50
high = 4                     # low as well for a band; above = true where it must be passed
first = "06-01"
last = "07-15"
source = "our own practice"
date = 2026-03-01
```

## How often a plan stops wrongly

{blocks} random blocks of known infestation were walked by each plan, unit by unit ({counted} where animals are
counted), asking for the verdict after every unit. Beside them stands an exact recursion over units that is written from
the plan's numbers alone. Each cell has the exact figure, and the drawn one in brackets; they agree within the sampling
error of the draws. Levels are half, four fifths, one, one and a quarter and two times the plan's number, of a band its
middle as well. A stop is wrong when it says another word than the one that fits the true level; the export plan stops
wrongly when it passes a block as clean that is not.

![{alt}](pictures/looks-operating-curves.svg)

Lines are exact, circles drawn; the dashed line is the plan's number. At the number itself a plan says over in roughly
half of all blocks, whatever it is. The smaller the number, the slower the curve: by 0.5 % of 500 fruit a block with
twice that is called below in {missed} of looks, and one with half of it over in {alarmed}. The leafroller plan prints
no number; it says over in half of all blocks at {half}. The export plan only knows clean: with one fruit in a thousand
injured, {clean} of blocks still pass as clean.

{sections}

## What this does not show

Units are drawn one by one, and animals are scattered at random over them. In an orchard both come in patches: a look
that stays at few trees is wrong more often than the tables say, and mites clump on leaves, so means scatter more.
How many are overlooked on a leaf is in none of these figures.
"""


def page(points: Sequence[tuple[Point, Point]], blocks: int = BLOCKS, counted: int = COUNTED_BLOCKS) -> str:
    """The whole page."""
    exacts = {(one.plan.id, one.level): one.ends for one, _ in points}
    clean = exacts["fruit-export-clean", Fraction(1, 1000)][Outcome.BELOW]
    missed = exacts["fruit-washington", Fraction(1, 100)][Outcome.BELOW]
    alarmed = exacts["fruit-washington", Fraction(25, 10000)][Outcome.OVER]
    return TEXT.format(
        alt="Operating curves: how often six plans say over, or stop as clean, against the true share",
        by_presence="\n  ".join(wrap(BY_PRESENCE_NOTE[:1].upper() + BY_PRESENCE_NOTE[1:], 116)),
        common=COMMON,
        without=without_plan(),
        blocks=blocks,
        counted=counted,
        half=half("oblr-maine"),
        clean=f"{100 * clean:.0f} %",
        missed=f"{100 * missed:.0f} %",
        alarmed=f"{100 * alarmed:.0f} %",
        sections=sections(points),
    )


def picture(points: Sequence[tuple[Point, Point]]) -> str:
    """How often six plans say over, or clean, against the true share: exact lines, drawn circles."""
    wide, high, edge = 230, 170, 34
    columns = 3
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide * columns} {2 * high}" role="img"'
        ' font-family="sans-serif" font-size="9">',
        "<title>Operating curves of six plans for looks at leaf and fruit</title>",
        "<desc>Six small charts. Each shows how often a plan says over, or, for the export plan, stops as clean, "
        "against the true share of units with it. All rise from 0 to 100 % over a range of several times the plan's "
        "number, the export curve falls; circles of random blocks lie on the exact lines.</desc>",
        f'<rect width="{wide * columns}" height="{2 * high}" fill="#ffffff"/>',
    ]
    for number, plan_id in enumerate(DRAWN):
        plan, sought = next(pair for pair in plans() if pair[0].id == plan_id)
        left, top = wide * (number % columns), high * (number // columns)
        end = Outcome.BELOW if plan_id == "fruit-export-clean" else Outcome.OVER
        own = [pair for pair in points if pair[0].plan.id == plan_id]
        most = float(max(one.level for one, _ in own))

        def at(
            level: float, chance: float, place: tuple[float, float, float] = (left, top, most)
        ) -> tuple[float, float]:
            x, y, far = place
            return (
                x + edge + level / far * (wide - edge - 14),
                y + high - edge - chance * (high - 2 * edge),
            )

        curve = [at(most * step / 40, exact(plan, sought, Fraction(most) * step / 40).ends[end]) for step in range(41)]
        line = " ".join(f"{x:.1f},{y:.1f}" for x, y in curve)
        said = "stops as clean" if end is Outcome.BELOW else "says over"
        (x0, y0), (x1, y1) = at(0, 0), at(most, 1)
        parts += [
            f'<text x="{left + edge}" y="{top + 16}" font-weight="bold">{plan_id}: {said}, %</text>',
            f'<path d="M {x0:.1f} {y1:.1f} H {x1:.1f} V {y0:.1f} H {x0:.1f} Z" fill="none" stroke="#555555"/>',
            f'<polyline points="{line}" fill="none" stroke="#000000" stroke-width="1.4"/>',
        ]
        if plan.high is not None:
            x, y = at(float(plan.high), 0)
            parts.append(
                f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{x:.1f}" y2="{y1:.1f}" stroke="#777777" stroke-dasharray="3 3"/>'
            )
        for one, drawn in own:
            x, y = at(float(one.level), drawn.ends[end])
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="#ffffff" stroke="#000000"/>')
        for tick in (0.0, 0.5, 1.0):
            x, y = at(0, tick)
            parts.append(f'<text x="{x - 4:.1f}" y="{y + 3:.1f}" text-anchor="end">{100 * tick:.0f}</text>')
            x, y = at(most * tick, 0)
            parts.append(f'<text x="{x:.1f}" y="{y + 12:.1f}" text-anchor="middle">{100 * most * tick:.3g} %</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


if __name__ == "__main__":
    found = run()
    print(page(found))
    if "--write" in sys.argv:
        PAGE.write_text(page(found), encoding="utf-8")
        PICTURE.write_text(picture(found), encoding="utf-8")
