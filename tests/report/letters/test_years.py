"""A letter lays each season beside those before it, to the same day, and says which cannot be compared."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import LetterYears, digest
from roundtui.report.letters.material import MOST_PAST, Material, read_material
from roundtui.report.letters.template import Templates, letter_html, letter_mail, letter_text
from roundtui.store.connect import open_store
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.season.years import YearsRecord
from roundtui.store.set_up.load import load_folder
from tests.conftest import MakeFolder
from tests.report.letters.conftest import NOW, ON

Materials = Callable[[date], Material]


def years(material: Material, farm: str, block: str, species: str) -> LetterYears:
    found = compose(material, farm).years
    return next(one for one in found if one.block.startswith(block) and one.species == species)


def test_a_past_season_is_told_to_the_day_of_this_ones_newest_round_and_as_a_whole(
    material_of: Materials, farm: Path, conn: sqlite3.Connection
) -> None:
    """Apple maggots come late: by mid July of last year there was next to nothing, in the end 29 a trap."""
    notified = years(material_of(ON), "LARK", "TARN", "Apple maggot")
    now, last, before = notified.seasons
    assert str(notified.on) == "Tue 15 Jul"
    assert [str(one.season) for one in notified.seasons] == ["2025", "2024", "2023"]
    assert (str(last.peak), str(last.total)) == ("none", "0.4")
    assert str(last.whole) == "7.0 on Tue 1 Oct; 29.0 a trap in all"
    assert (str(last.first_catch), now.whole) == ("later, Tue 16 Jul", None)
    record = YearsRecord(conn, farm, ON, read_office(farm))
    full = {year.season: year for year in record.of("TARN", "AM").seasons}
    day = date(2024, 7, 15)
    assert last.total.value == full[2024].total_on(day)
    assert str(before.weeks) == " of ".join(map(str, full[2023].weeks_by(date(2023, 7, 15))))


def test_seasons_that_cannot_be_compared_are_marked_and_the_trap_is_named_once(
    material_of: Materials, templates: Templates
) -> None:
    letter = compose(material_of(ON), "MOSS")
    words = "* Not to be compared with 2024 and 2023: K5 was moved on Tue 10 Jun 2025."
    assert words in years(material_of(ON), "MOSS", "KILN", "Oriental fruit moth").notes
    assert not years(material_of(ON), "MOSS", "KILN", "Codling moth").notes
    mail = letter_mail(letter, templates)
    for form in (letter_html(letter, templates), letter_text(letter, templates), mail.html, mail.text):
        assert words in " ".join(form.split())
    assert "2024 *:" in letter_text(letter, templates)


def test_a_change_in_a_past_season_puts_a_letter_out_of_date(farm: Path, conn: sqlite3.Connection) -> None:
    def said() -> str:
        return digest(compose(read_material(conn, farm, ON, read_office(farm), farms=("LARK",)), "LARK"))

    before = said()
    record(conn, [Visit(trap="T1", read_on=date(2024, 5, 2), count=90)], Author("Bo", "desk"), NOW)
    assert said() != before


@pytest.fixture
def thin(make_folder: MakeFolder) -> tuple[sqlite3.Connection, Path, date]:
    """North's trap was read in 2021, 2024 and 2025, that of South in 2025 alone; nobody read anything in 2023."""
    hung = [f"A1,N,CM,{year}-05-01,{year}-08-01" for year in (2021, 2024)]
    traps = ["trap,block,species,hung_on,down_on", *hung, "A1,N,CM,2025-05-01,", "B1,S,CM,2025-05-01,"]
    folder = make_folder(
        farms="farm,name\nF1,Fernhollow\n",
        blocks="block,farm,name,crop\nN,F1,North,apple\nS,F1,South,apple\n",
        traps="\n".join(traps) + "\n",
        routes="route,position,trap\none,1,A1\none,2,B1\n",
    )
    conn = open_store(folder, now=NOW)
    load_folder(conn, folder, NOW)
    for year in (2021, 2024, 2025):
        for week in range(1, 4):
            day = date(year, 5, 1) + timedelta(days=7 * week)
            read = ("A1", "B1") if year == 2025 else ("A1",)
            record(conn, [Visit(trap=trap, read_on=day, count=week) for trap in read], Author("Bo", "desk"), NOW)
    return conn, folder, date(2025, 5, 22)


def test_a_season_that_is_missing_is_named_and_is_no_zero(thin: tuple[sqlite3.Connection, Path, date]) -> None:
    conn, folder, on = thin
    material = read_material(conn, folder, on, read_office(folder))
    conn.close()
    north, south = (years(material, "F1", block, "Codling moth") for block in ("N", "S"))
    assert [str(one.season) for one in north.seasons] == ["2025", "2024", "2021"]
    assert north.notes == ("2023: no reading is on record.",)
    assert [str(one.total) for one in north.seasons] == ["6.0", "6.0", "6.0"]
    assert [str(one.season) for one in south.seasons] == ["2025"]
    assert south.notes == ("2024: no trap of it hung here.", "2023: no reading is on record.")
    assert MOST_PAST == 2


def test_in_the_first_season_nothing_is_said_of_years(material_of: Materials, templates: Templates) -> None:
    first = replace(material_of(ON), seasons=(2025,))
    letter = compose(first, "PELL")
    assert letter.years == ()
    assert "Year against year" not in letter_html(letter, templates)
    assert "YEAR AGAINST YEAR" not in letter_text(letter, templates)
