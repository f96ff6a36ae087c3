"""Random histories of lures and bodies, judged twice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import Assembled, PartKind, PartNoted, PartState, Visit
from roundtui.domain.figures.figures import series
from roundtui.domain.figures.integrity import Integrity, examine
from roundtui.domain.programme.farm import Block, Farm, Lot, Programme, Stop, Trap
from tests.domain.orchard import hung_with

from .naive_integrity import Diary, Found

SPECIES = ("CM", "OFM", "OBLR")
LOTS = {f"{species}-{number}": Lot(f"{species}-{number}", species) for species in SPECIES for number in (1, 2)}
FARMS = {"F": Farm("F", "Far"), "N": Farm("N", "Near")}
BLOCKS = {
    "B1": Block("B1", "F", "one", "apple"),
    "B2": Block("B2", "F", "two", "apple"),
    "B3": Block("B3", "N", "three", "pear"),
}
LABELS = ("L1", "L2", "L3")
DAYS = [
    date(year, month, day) for year in (2024, 2025, 2026) for month, day in ((4, 6), (5, 4), (5, 11), (6, 1), (8, 31))
]
NOON = datetime(2026, 9, 1, 12, tzinfo=UTC)


@st.composite
def programmes(draw: st.DrawFn) -> Programme:
    rows: list[Trap] = []
    labels = [
        f"T{number}"
        for number in draw(st.lists(st.sampled_from((1, 2, 3, 9, 10)), min_size=1, max_size=5, unique=True))
    ]
    for label in labels:
        species = draw(st.sampled_from(SPECIES))
        begins = draw(st.lists(st.sampled_from(DAYS), min_size=1, max_size=3, unique=True).map(sorted))
        for at, begin in enumerate(begins):
            down_on = None
            if draw(st.booleans()):
                latest = begins[at + 1] if at + 1 < len(begins) else DAYS[-1] + timedelta(days=5)
                down_on = draw(st.sampled_from([day for day in (*DAYS, latest) if begin <= day <= latest]))
            rows.append(
                Trap(
                    label,
                    draw(st.sampled_from(tuple(BLOCKS))),
                    species,
                    hung_on=None if at == 0 and draw(st.integers(0, 7)) == 0 else begin,
                    down_on=down_on,
                    lot=draw(st.sampled_from(("", "", "", *LOTS))),
                    body_label=draw(st.sampled_from(("", "", *LABELS))),
                )
            )
    walk = draw(st.permutations(labels))
    stops = [Stop("east", at, trap) for at, trap in enumerate(walk) if draw(st.booleans())]
    stops += [Stop("west", at, trap) for at, trap in enumerate(reversed(walk)) if draw(st.booleans())]
    return Programme(farms=FARMS, blocks=BLOCKS, traps=tuple(rows), lots=LOTS, stops=tuple(stops))


@dataclass(frozen=True, repr=False)
class Past:
    """A history that prints itself as a short story."""

    programme: Programme
    visits: list[Visit]
    on: date
    assembled: tuple[Assembled, ...] = ()
    parts: tuple[PartNoted, ...] = ()

    @property
    def diary(self) -> Diary:
        """What the judge makes of it."""
        return Diary(self.programme, self.visits, self.on, self.assembled, self.parts)

    @property
    def said(self) -> Integrity:
        """What the product makes of it."""
        return examine(self.hung, self.visits, self.on, self.assembled, self.parts)

    @property
    def hung(self) -> Programme:
        """What is set up, with what it was made up of."""
        return replace(self.programme, traps=hung_with(self.programme.traps, self.assembled))

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))

    def __repr__(self) -> str:
        lines = [f"as of {self.on}"]
        for row in self.programme.traps:
            lot, body = row.lot and f" with {row.lot}", row.body_label and f" in {row.body_label}"
            lines.append(f"{row.trap} ({row.species}) in {row.block} hung {row.hung_on} to {row.down_on}{lot}{body}")
        for visit in sorted(self.visits, key=lambda v: v.order):
            words = {"lure": visit.lure, "body": visit.body, "found": visit.lure_found}
            lines.append(f"{visit.read_on} {visit.trap} { ({key: said for key, said in words.items() if said}) }")
        lines += [f"{a.assembled_on} {a.trap} made up in {a.body_label!r} with {a.lot!r}" for a in self.assembled]
        lines += [f"{part.noted_on} {part.part} {part.label} of {part.species} {part.state}" for part in self.parts]
        lines += [f"{stop.route} {stop.position} {stop.trap}" for stop in self.programme.stops]
        return "\n".join(("", *lines, ""))


@st.composite
def swaps(draw: st.DrawFn, programme: Programme) -> tuple[date, str, list[tuple[str, str]]]:
    """On one day two traps get, or are found with, a lure of the other's species."""
    species = {row.trap: row.species for row in programme.traps}
    one, other = draw(st.sampled_from(sorted(species))), draw(st.sampled_from(sorted(species)))
    return (
        draw(st.sampled_from(DAYS)),
        draw(st.sampled_from(("lure", "lure", "lure_found"))),
        [
            (one, species[other]),
            (other, species[one]),
        ],
    )


@st.composite
def histories(draw: st.DrawFn) -> Past:
    programme = draw(programmes())
    traps = sorted({row.trap for row in programme.traps})
    visits = [
        Visit(
            trap=draw(st.sampled_from(traps)),
            read_on=draw(st.sampled_from(DAYS)),
            count=draw(st.sampled_from((None, 0, 3))),
            lure=draw(st.sampled_from((None, None, "yes", "none", *LOTS))),
            body=draw(st.sampled_from((None, None, None, "yes", *LABELS))),
            lure_found=draw(st.sampled_from((None, None, None, "none", *SPECIES, "CM-1", "OFM-2"))),
            recorded_at=NOON + timedelta(minutes=at),
            id=f"{at:03}",
        )
        for at in range(draw(st.integers(0, 12)))
    ]
    visits += [
        Visit(trap=one, read_on=day, **{how: f"{other}-1"}, recorded_at=NOON + timedelta(minutes=50 + at), id=one)
        for at, (day, how, pair) in enumerate(draw(st.lists(swaps(programme), max_size=3)))
        for one, other in pair
    ]
    return Past(programme, visits, draw(st.sampled_from(DAYS)) + timedelta(days=draw(st.integers(0, 8))))


@given(histories(), st.data())
def test_two_readings_of_the_integrity_rule_agree(past: Past, data: st.DataObject) -> None:
    agree(past, data)


def agree(past: Past, data: st.DataObject) -> None:
    """Both name the same troubles, and distrust the same days."""
    programme, on = past.programme, past.on
    judge, said = past.diary, past.said

    assert {
        trouble.trap: Found(trouble.kind.value, trouble.found, trouble.since, trouble.partner)
        for trouble in said.troubles
    } == judge.troubles()
    trap = data.draw(st.sampled_from(sorted({row.trap for row in programme.traps})))
    start = data.draw(st.sampled_from(DAYS)) - timedelta(days=1)
    end = min(on, start + timedelta(days=data.draw(st.integers(1, 20))))
    if start < end:
        assert said.suspect(trap, start, end) == judge.suspect(trap, start, end)


@st.composite
def mixed_up_days(draw: st.DrawFn) -> Past:
    """Many traps of two species get the other's lure on one day, so that each has several partners to choose from."""
    hung, day = DAYS[10], DAYS[12]
    labels = [f"T{number}" for number in (1, 2, 3, 9, 10, 11)]
    rows = tuple(
        Trap(label, draw(st.sampled_from(tuple(BLOCKS))), draw(st.sampled_from(SPECIES[:2])), hung_on=hung)
        for label in labels[: draw(st.integers(3, 6))]
    )
    stops = [
        Stop(route, at, row.trap)
        for route in ("east", "west")
        for at, row in enumerate(draw(st.permutations(rows)))
        if draw(st.integers(0, 3))
    ]
    visits = [
        Visit(
            trap=row.trap, read_on=day, lure="OFM-1" if row.species == "CM" else "CM-1", recorded_at=NOON, id=row.trap
        )
        for row in rows
        if draw(st.integers(0, 5))
    ]
    programme = Programme(farms=FARMS, blocks=BLOCKS, traps=rows, lots=LOTS, stops=tuple(stops))
    return Past(programme, visits, day)


@given(mixed_up_days())
def test_two_readings_of_who_swapped_with_whom_agree(past: Past) -> None:
    said = examine(past.programme, past.visits, past.on)
    judged = Diary(past.programme, past.visits, past.on).troubles()

    assert {t.trap: t.partner for t in said.troubles} == {trap: found.partner for trap, found in judged.items()}


@st.composite
def seasons_with_kit(draw: st.DrawFn) -> Past:
    """Random histories in which traps are assembled, taken apart, put away and hung again in any order."""
    past = draw(histories())
    if draw(st.booleans()):
        past = replace(past, visits=past.visits[:1])
    hung = [row.hung_on - timedelta(days=3) for row in past.programme.traps if row.hung_on]
    traps = [*sorted({row.trap for row in past.programme.traps}), "T77"]
    species = {row.trap: row.species for row in past.programme.traps}
    days = [*hung, *hung, *hung, *DAYS, *(day - timedelta(days=20) for day in DAYS)]
    assembled = tuple(
        Assembled(
            trap=trap,
            species=draw(st.sampled_from((species.get(trap, "CM"), *SPECIES))),
            assembled_on=draw(st.sampled_from(days)),
            body_label=draw(st.sampled_from(("", *LABELS))),
            lot=draw(st.sampled_from(("", *LOTS, "no such lot"))),
            despite=draw(st.sampled_from(("", "nothing else was there"))),
            recorded_at=NOON + timedelta(minutes=draw(st.integers(0, 3))),
            id=f"a{at:03}",
        )
        for at in range(draw(st.integers(0, 5)))
        for trap in (draw(st.sampled_from(traps)),)
    )
    parts = tuple(
        PartNoted(
            label=draw(st.sampled_from(LABELS)),
            part=draw(st.sampled_from((PartKind.BODY, PartKind.BODY, PartKind.LID))),
            species=draw(st.sampled_from(SPECIES)),
            state=draw(st.sampled_from(PartState)),
            noted_on=draw(st.sampled_from(days)),
            recorded_at=NOON + timedelta(minutes=draw(st.integers(0, 3))),
            id=f"p{at:03}",
        )
        for at in range(draw(st.integers(0, 3)))
    )
    return replace(past, assembled=assembled, parts=parts)


@given(seasons_with_kit(), st.data())
def test_two_readings_agree_whatever_was_assembled_put_away_and_hung_again(past: Past, data: st.DataObject) -> None:
    agree(past, data)


@given(seasons_with_kit())
def test_no_count_from_a_contaminated_body_gets_into_a_mean(past: Past) -> None:
    """Every reading that is good for a mean spent no night in a body that the judge says smells of another species."""
    judge, said = past.diary, past.said
    for trap, hangings in past.hung.hangings.items():
        visits = [v for v in past.visits if v.trap == trap and v.read_on <= past.on]
        for one in series(hangings, sorted(visits, key=lambda v: v.order), said):
            for reading in one.readings:
                if not reading.suspect and reading.start is not None:
                    assert not judge.suspect(trap, reading.start, reading.read_on)
