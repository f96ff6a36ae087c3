"""Random seasons of counts, judged twice: exposure, carry, joins, means, the previous figure and the season's sum."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.figures import figures
from roundtui.domain.figures.figures import readings
from roundtui.domain.figures.integrity import Integrity, Spell
from roundtui.domain.programme.farm import Trap

from . import naive_figures as naive

FIRST = date(2026, 5, 1)
NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)
FAR = 60


@dataclass(frozen=True, repr=False)
class Season:
    """A block's season that prints itself as a short story."""

    traps: dict[str, Trap]
    visits: dict[str, list[Visit]]
    spells: dict[str, tuple[Spell, ...]]
    on: date

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))

    def __repr__(self) -> str:
        lines = [f"as of {self.on}"]
        for label, trap in self.traps.items():
            bad = [f"{spell.start} to {spell.end}" for spell in self.spells.get(label, ())]
            lines.append(f"{label} hung {trap.hung_on} to {trap.down_on}" + (f", bad {bad}" if bad else ""))
            for visit in self.visits[label]:
                words = {
                    "count": visit.count,
                    "no reading": visit.no_reading and visit.no_reading.value,
                    "left in": not visit.cleared,
                    "liner": visit.liner,
                    "body": visit.body,
                    "recount": visit.recount,
                }
                said = {key: word for key, word in words.items() if word is not None and word is not False}
                lines.append(f"  {visit.read_on} {said}")
        return "\n".join(("", *lines, ""))


@st.composite
def trap_visits(draw: st.DrawFn, label: str) -> list[Visit]:
    day, visits, number = FIRST, [], 0
    while (
        day := day + timedelta(days=draw(st.sampled_from((1, 2, 3, 4, 5, 6, 7, 7, 7, 8, 9, 12, 14, 28, 29))))
    ) <= FIRST + timedelta(days=FAR):
        for _ in range(draw(st.sampled_from((1, 1, 1, 1, 2)))):
            count = draw(st.one_of(st.integers(0, 12), st.none()))
            reason = draw(st.sampled_from((None, *NoReading))) if count is None else None
            number += 1
            visits.append(
                Visit(
                    trap=label,
                    read_on=day,
                    count=count,
                    no_reading=reason,
                    cleared=count is None or draw(st.sampled_from((True, True, False))),
                    liner=draw(st.sampled_from((False, False, False, True))),
                    body=draw(st.sampled_from((None, None, None, None, None, "yes"))),
                    recount=count is not None and draw(st.sampled_from((False, False, False, False, True))),
                    recorded_at=NOON + timedelta(minutes=number),
                    id=f"{number:03}",
                )
            )
    return visits


@st.composite
def seasons(draw: st.DrawFn) -> Season:
    traps: dict[str, Trap] = {}
    visits: dict[str, list[Visit]] = {}
    spells: dict[str, tuple[Spell, ...]] = {}
    for label in ("A1", "A2", "A3")[: draw(st.integers(1, 3))]:
        hung_on = draw(st.sampled_from((FIRST, FIRST, FIRST - timedelta(days=9), FIRST + timedelta(days=6), None)))
        down_on = draw(st.sampled_from((None, None, None, FIRST + timedelta(days=30))))
        traps[label] = Trap(label, "B", "CM", hung_on=hung_on, down_on=down_on)
        visits[label] = [v for v in draw(trap_visits(label)) if traps[label].hangs_on(v.read_on)]
        bad = draw(st.lists(st.integers(0, FAR), max_size=2, unique=True).map(sorted))
        if bad:
            end = FIRST + timedelta(days=bad[1]) if len(bad) > 1 else None
            spells[label] = (Spell(FIRST + timedelta(days=bad[0]), end),)
    return Season(traps, visits, spells, FIRST + timedelta(days=draw(st.integers(0, FAR + 7))))


def bad_nights(spells: tuple[Spell, ...]) -> list[date]:
    """Nights on which a trap was in trouble, each named by the day it ends on."""
    nights = [FIRST + timedelta(days=number) for number in range(-10, FAR + 10)]
    return [
        night
        for night in nights
        for spell in spells
        if (spell.start is None or spell.start < night) and (spell.end is None or night <= spell.end)
    ]


@given(seasons())
def test_two_readings_of_the_figures_agree(season: Season) -> None:
    on = season.on
    upto = {label: [v for v in rows if v.read_on <= on] for label, rows in season.visits.items()}
    found = Integrity(troubles=(), spells=season.spells)
    series = {label: figures.series((trap,), upto[label], found)[0] for label, trap in season.traps.items()}
    heaps = {
        label: naive.heaps(trap, upto[label], on, bad_nights(season.spells.get(label, ())))
        for label, trap in season.traps.items()
    }

    for label, trap in season.traps.items():
        assert [(r.read_on, r.net, r.days, r.conflict) for r in readings(trap, upto[label])] == [
            (h.read_on, h.net, None if h.nights is None else len(h.nights), h.conflict) for h in heaps[label]
        ]
    for suspect in (False, True):
        said = figures.block_figure(series.values(), on, with_suspect=suspect)
        highest = said.highest.per_week if said.highest else None
        assert (said.mean, highest, len(said.traps), said.first_end) == naive.block(heaps, on, suspect=suspect)
    now = figures.block_figure(series.values(), on)
    assert sorted(r.days or 0 for trap in now.traps for r in trap.readings) == naive.exposures(heaps, on)
    day = figures.day_before(series.values(), now, on)
    assert (figures.block_figure(series.values(), day).mean if day else None) == naive.before(heaps, on)
    first = FIRST + timedelta(days=4)
    assert figures.cumulative(series.values(), first, on) == naive.cumulative(heaps, first, on)
