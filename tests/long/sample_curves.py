"""Operating curves of the published plans: random blocks of known infestation beside an exact recursion.

``python -m tests.long.sample_curves`` prints what docs/sampling.md shows; with ``--write`` it writes page and picture.

The walks ask ``judge`` after every unit, as the screen does. The recursion knows nothing of it: it
is written from the numbers of the plans alone.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import exp, lgamma, log, sqrt
from pathlib import Path
from random import Random
from textwrap import wrap

from scipy.stats import betabinom, binom

from roundtui.domain.sampling.data import BY_PRESENCE_NOTE, SHIPPED_SAMPLES
from roundtui.domain.sampling.records import COMMON, Measure, Outcome, Plan, Seen, Sought, judge, plural
from roundtui.report.sampling import number_words

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "sampling.md"
PICTURE = DOCS / "pictures" / "samples-operating-curves.svg"
SEED = 20311
BLOCKS = 2000
COUNTED_BLOCKS = 300
TIMES = (Fraction(1, 2), Fraction(4, 5), Fraction(1), Fraction(5, 4), Fraction(2))
"""True levels, beside the plan's number."""
OWN_LEVELS = {
    "oblr-maine": ("0.005", "0.01", "0.02", "0.03", "0.04", "0.05", "0.08", "0.12"),
    "fruit-export-clean": ("0", "0.0005", "0.001", "0.002", "0.005"),
    "fruit-600-clean": ("0", "0.0005", "0.001", "0.002", "0.005"),
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
        if self.plan.id in ("fruit-export-clean", "fruit-600-clean"):
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
    for sought in SHIPPED_SAMPLES:
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
    numbers = (0, 0) if plan.stops else _numbers(plan)
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
            end = _stop_end(plan, looked, found) if plan.stops else _share_end(plan.units, numbers, looked, found)
            if end is None:
                going[found] = chance
            else:
                ends[end] += chance
    return Point(plan, sought, level, ends, units)


def _share_end(units: int, numbers: tuple[int, int], looked: int, found: int) -> Outcome | None:
    least_over, least_within = numbers
    if found >= least_over:
        return Outcome.OVER
    if found + units - looked < least_within:
        return Outcome.BELOW
    return Outcome.WITHIN if looked == units else None


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
    # Of smaller numbers nothing is left that a float could hold beside the sum.
    first = max(0, int(mean - 15 * sqrt(mean)))
    total, chance = 0.0, exp(first * log(mean) - mean - lgamma(first + 1))
    for at in range(first, number):
        total += chance
        chance *= mean / (at + 1)
    return min(total, 1.0)


# --- drawn -----------------------------------------------------------------------------------------------------------


_SAID: dict[str, dict[tuple[int, int], Outcome]] = {}
"""What each plan says of so many units and so many found, whatever the true level is."""


def walked(plan: Plan, sought: Sought, level: Fraction, blocks: int) -> Point:
    """A plan at one true level, in so many random blocks, each walked unit by unit."""
    random = Random(f"{SEED} {plan.id} {level}")
    ends: dict[Outcome, float] = defaultdict(float)
    units = 0
    known = _SAID.setdefault(plan.id, {})
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
        "| true level | says over | says below | stops wrongly | units sampled |",
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
    """What is looked for without a plan published."""
    return ", ".join(sought.name for sought in SHIPPED_SAMPLES if not sought.plans)


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
# Sampling plans, and how often they err

Made by `python -m tests.long.sample_curves --write`; a test compares page and picture with the code.

A leaf, shoot or fruit sample counts how many units of a block are infested. With a published plan the screen says
`stop: below`, `stop: within`, `stop: over`, or how many more units to sample. Without one it shows the interval
alone. A verdict compares a sample with a published number; it is not spray advice.
[Methods](methods.md#7-leaf-and-fruit-checks) has the arithmetic, [the coordinator's
week](coordinator.md#the-offices-files) how an office adds its own plans.

- **Early stops** of fixed plans are arithmetic and marked as derived: they come only where the rest of the sample
  could not change the verdict.
- **Mites a leaf** come from a published table where mites are not counted; nothing is interpolated between its rows.
  {by_presence}.
- **Mite-days** and leaf-infested days are summed by `samples`, with the limits published for a season; no plan goes
  by them. New York separates sampling again in 7 and in 14 days (Cornell, nysipm.cornell.edu); its table could not be
  read.
- **Days of the year** of a plan are its source's, else {common}. South of the equator they are half a year later
  (derived).
- **Intervals** of 95 % are exact (Clopper and Pearson 1934); the JSON has the score interval too (Wilson 1927). Both
  assume units picked one by one. Leaves of one tree are alike, so few trees say less.
- **No published plan found:** {without}.

## How often a plan is wrong

Each plan sampled {blocks} random blocks of known infestation ({counted} where animals are counted), unit by unit. Each
cell has the exact figure from a recursion written from the plan's numbers alone, and the simulated one in brackets. A
verdict is wrong when it does not fit the true level; the export plan is wrong when it passes an injured block as clean.

![{alt}](pictures/samples-operating-curves.svg)

Lines are exact, circles simulated; the dashed line is the plan's number. At that number every plan says over in about
half of all blocks. A small number separates slowly: with 0.5 % of 500 fruit, a block with twice that is called below
in {missed} of samples, and one with half of it over in {alarmed}. The leafroller plan says over in half of all blocks
at {half}. With one fruit in a thousand injured, the export plan passes {clean} of blocks as clean.

{sections}

## Clumps, and the edge

How often an injured lot passes as clean where fruit of one tree or bin are alike by so much (beta-binomial; a sample of
m fruit a tree needs 1 + (m − 1) × that as many). Injury by codling moth was not clumped in the one trial published
(Cellier 1960, Aust. J. Agric. Res. 11:186–196, on hand-sprayed trees).

{clumps}

From edge to middle injury falls steeply: by stink bugs within 9–27 m of a wood (pomatech.org, 9 September 2024). With
0.2 % over all, four times the middle's in the outer quarter, the export plan passes {even} of blocks sampled in
proportion, {middle} sampled in the middle alone and {border} at the edge alone: give edge and middle apart (`place` of
a sample). Derived.

## What this does not show

Above, units are drawn one by one and animals scattered at random; mites clump on leaves. How many are overlooked on a
leaf is not included.
"""

LOTS = (("export, 21 trees of 60, none", 21, 60, 0), ("bins, 60 of 25, two at most", 60, 25, 2))
"""Samples of an export, each with trees or bins, fruit of each, and how many injured pass."""


def passes(trees: int, each: int, most: int, share: float, alike: float) -> float:
    """How often a lot passes: a beta-binomial for each tree, added up over the trees."""
    a, b = (share * (1 - alike) / alike, (1 - share) * (1 - alike) / alike) if alike else (0.0, 0.0)
    one = [float(betabinom.pmf(k, each, a, b) if alike else binom.pmf(k, each, share)) for k in range(most + 1)]
    found = [1.0] + [0.0] * most
    for _ in range(trees):
        found = [sum(found[k - j] * one[j] for j in range(k + 1)) for k in range(most + 1)]
    return sum(found)


def clumps() -> str:
    """How often each sample passes, by true share and by how alike fruit of a tree are."""
    alike = (0, 0.01, 0.03, 0.1)
    lines = [f"| sample | true share | {' | '.join(map(str, alike))} |", f"| --- | --: {'| --: ' * len(alike)}|"]
    for name, trees, each, most in LOTS:
        for share in (0.001, 0.002, 0.005):
            cells = (f"{100 * passes(trees, each, most, share, one):.1f} %" for one in alike)
            lines.append(f"| {name} | {100 * share:g} % | {' | '.join(cells)} |")
    return "\n".join(lines)


def gradient(edge: float) -> str:
    """How often the export plan passes 0.2 % with the outer quarter four times as bad, by the share sampled there."""
    middle = 0.002 / (0.75 + 0.25 * 4)
    chance = (1 - 4 * middle) ** (1260 * edge) * (1 - middle) ** (1260 * (1 - edge))
    return f"{100 * chance:.1f} %"


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
        clumps=clumps(),
        even=gradient(0.25),
        middle=gradient(0),
        border=gradient(1),
    )


def picture(points: Sequence[tuple[Point, Point]]) -> str:
    """How often six plans say over, or clean, against the true share: exact lines, drawn circles."""
    wide, high, edge = 230, 170, 34
    columns = 3
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide * columns} {2 * high}" role="img"'
        ' font-family="sans-serif" font-size="9">',
        "<title>Operating curves of six plans for leaf and fruit samples</title>",
        "<desc>Six small charts. Each shows how often a plan says over, or, for the export plan, stops as clean, "
        "against the true share of units with it. All rise from 0 to 100 % over a range of several times the plan's "
        "number, the export curve falls; circles of random blocks lie on the exact lines.</desc>",
        f'<rect width="{wide * columns}" height="{2 * high}" fill="#ffffff"/>',
    ]
    for number, plan_id in enumerate(DRAWN):
        plan, sought = next(pair for pair in plans() if pair[0].id == plan_id)
        left, top = wide * (number % columns), high * (number // columns)
        end = Outcome.BELOW if plan_id.endswith("-clean") else Outcome.OVER
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
