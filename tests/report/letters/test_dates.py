"""Dates in a letter: what is to come lies ahead, and the next visit is the round that comes to the farm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

from roundtui.domain.round.agenda import agenda
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import figures
from roundtui.report.letters.material import Material
from roundtui.report.letters.season_lines import old_temperatures
from roundtui.report.open_files import calendar

from .conftest import NOW, ON

Materials = Callable[[date], Material]


def moved(material: Material, days: int, counted_to: date | None = None) -> Material:
    """The same material with every expected day so many days off, and temperatures that end on another day."""
    by = timedelta(days=days)

    def one(row):  # type: ignore[no-untyped-def]
        event = row.event
        if event.expected_on is not None:
            event = replace(event, expected_on=event.expected_on + by)
        outlook = row.outlook if counted_to is None else replace(row.outlook, counted_to=counted_to)
        return replace(row, event=event, outlook=outlook)

    return replace(material, outlooks={key: tuple(one(row) for row in rows) for key, rows in material.outlooks.items()})


def expected(material: Material) -> list[date]:
    return [
        figure.value
        for farm in material.farms
        for figure in figures(compose(material, farm).events)
        if figure.place[-1] == "expected_on" and isinstance(figure.value, date)
    ]


def test_nothing_is_expected_before_the_letters_own_day_and_the_next_dates_are_told(material_of: Materials) -> None:
    """Temperatures of three weeks ago: what was expected in these weeks is no news, what comes next is."""
    material = material_of(ON)
    assert expected(material)
    late = moved(material, -21)
    assert all(day > ON for day in expected(late))
    notified = {day for rows in late.outlooks.values() for row in rows if (day := row.event.expected_on)}
    assert set(expected(late)) <= {day for day in notified if day > ON}


def test_the_last_day_of_temperatures_is_named_and_old_ones_before_anything_is_written(material_of: Materials) -> None:
    material = material_of(ON)
    old = moved(material, 0, counted_to=ON - timedelta(days=9))
    assert "temperatures end on Sun 6 Jul, 9 days before" in old_temperatures(old)
    assert old_temperatures(moved(material, 0, counted_to=ON - timedelta(days=1))) == ""
    said = [str(line) for farm in old.farms for line in compose(old, farm).events]
    assert any("worked out from temperatures up to Sun 6 Jul" in words for words in said)


def test_a_range_is_called_what_it_is(material_of: Materials) -> None:
    material = material_of(ON)
    said = [str(line) for farm in material.farms for line in compose(material, farm).events]
    assert any(" (8 in 10: " in words for words in said)


def test_the_next_visit_is_the_day_of_the_next_round_of_the_route(material_of: Materials) -> None:
    """One trap was read a day late; the round comes a week after it began all the same."""
    material = material_of(ON)
    route, traps = next((route, traps) for route, traps in material.programme.routes.items() if route == "north")
    farm = material.programme.farm_of(material.programme.hangings[traps[0]][-1].block)
    begun = ON
    visits = {
        trap: [
            replace(v, read_on=v.read_on + timedelta(days=1)) if v.read_on == ON and trap == traps[1] else v
            for v in rows
        ]
        for trap, rows in material.history.visits.items()
    }
    late = replace(material, history=replace(material.history, visits=visits))
    (due,) = [f.value for f in figures(compose(late, farm).next_visit)]
    assert (route, due) == ("north", begun + timedelta(days=7))
    sooner = replace(material, due={traps[0]: begun + timedelta(days=3)})
    assert [f.value for f in figures(compose(sooner, farm).next_visit)] == [begun + timedelta(days=3)]


def test_a_letter_bears_the_official_numbers_and_the_markets(material_of: Materials) -> None:
    """Each orchard is traced by name and code: apples from Serbia to China, 2023."""
    material = material_of(ON)
    farm = material.farms[0]
    known = material.programme
    (block, _species), *_ = [(row.block, row.species) for row in material.rows[farm]]
    assert (str(compose(material, farm).name), "unit" in str(compose(material, farm).blocks)) == (
        known.farms[farm].name,
        False,
    )
    farms = {**known.farms, farm: replace(known.farms[farm], property_no="P-77")}
    blocks = {**known.blocks, block: replace(known.blocks[block], unit_no="U-1", markets=("Taiwan", "Japan"))}
    letter = compose(replace(material, programme=replace(known, farms=farms, blocks=blocks)), farm)
    assert letter.name == f"{known.farms[farm].name} (property P-77)"
    assert str(letter.blocks[0].details[0]) == "Unit U-1; fruit meant for Taiwan and Japan."


def test_events_without_a_confirmed_biofix_are_tentative_in_the_calendar(material_of: Materials) -> None:
    material = material_of(ON)
    rows = [row for group in material.outlooks.values() for row in group]
    sure, open_rows = ([replace(row, confirmed=confirmed) for row in rows] for confirmed in (True, False))
    for group, status in ((sure, "CONFIRMED"), (open_rows, "TENTATIVE")):
        items = [one for one in agenda(material.programme, material.history, ON, group) if one.matter == "event"]
        dated = [one for one in items if one.on is not None and (status == "TENTATIVE" or not one.tentative)]
        assert dated
        text = calendar(dated, NOW)
        assert text.count(f"STATUS:{status}") == len(dated)


def test_a_first_catch_that_the_traps_made_is_not_expected_any_more(material_of: Materials) -> None:
    """Apple maggots are in the traps of TARN; the published range of the first one ends later."""
    material = material_of(ON)
    now = material.years["TARN", "AM"].now
    assert now is not None
    assert now.caught.first is not None
    said = [str(line) for line in compose(material, "LARK").events]
    assert any("Apple maggot" in words for words in said)
    assert not any("first catch" in words for words in said)
