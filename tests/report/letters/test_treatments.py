"""Treatments in letters: every figure is that of the command, nothing of what was applied, and nothing in public."""

from __future__ import annotations

import json
import re
import sqlite3
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.entries import TreatmentSaid
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import Letter, figures
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates, letter_text
from roundtui.report.letters.update import compose_update, read_area, update_page
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from tests.report.letters.conftest import NOW, ON
from tests.report.letters.test_figures import as_json, look_up

SAID = (
    TreatmentSaid(block="MILL", species="CM", treated_on=date(2025, 7, 7), words="a word of theirs", said_by="Wren"),
    TreatmentSaid(block="TARN", species="AM", treated_on=date(2025, 6, 30)),
    TreatmentSaid(block="OWLS", species="CM", treated_on=date(2025, 5, 5)),
)
"""Observations those of the sample."""


def tell(conn: sqlite3.Connection) -> None:
    record(conn, list(SAID), Author("Perrin Alderquist", "truck"), NOW)


def letters(conn: sqlite3.Connection, farm: Path, *codes: str) -> list[Letter]:
    material = read_material(conn, farm, ON, read_office(farm), farms=codes)
    return [compose(material, code) for code in codes]


def words(made: Letter) -> str:
    return " ".join(letter_text(made, Templates()).split())


def test_every_figure_about_a_treatment_is_that_of_the_command(conn: sqlite3.Connection, farm: Path) -> None:
    tell(conn)

    @cache
    def reports(command: str, on: date) -> Any:
        ran = CliRunner().invoke(main, [command, str(farm), "--on", on.isoformat(), "--json"])
        return json.loads(ran.stdout)

    found = [
        figure
        for made in letters(conn, farm, "PELL", "LARK", "MOSS")
        for figure in figures(made)
        if figure.place[0] == "treatments"
    ]
    assert {figure.place[1:4] for figure in found} == {
        ("GATE", "CM", "2025-07-10"),
        ("KILN", "CM", "2025-06-08"),
        ("MILL", "CM", "2025-06-24"),
        ("MILL", "CM", "2025-07-07"),
        ("TARN", "AM", "2025-06-30"),
    }
    assert len(found) > 15
    for figure in found:
        assert as_json(figure.value) == look_up(figure, reports, ON), figure


def test_a_letter_tells_of_the_catch_and_not_of_what_was_applied(conn: sqlite3.Connection, farm: Path) -> None:
    """MILL was treated on 24 June and again on 7 July; OWLS ten weeks ago, of which nothing is told any more."""
    pell, moss = map(words, letters(conn, farm, "PELL", "MOSS"))
    head = "You told us of a treatment against codling moth on Tue 24 Jun 2025: "
    head += "it is not enough to say whether it came down."
    before, after = "6.7 moths per trap per week before it (6 readings)", "8.5 since (6 readings)"
    _, _, why = pell.partition(f"{head} {before}, {after}: ")
    assert re.match(
        r"\d\.\d times what the \d untreated blocks lead one to expect \(probably between .+? times that\)\.", why
    )
    assert (
        "the catch came down. 4.0 moths per trap per week before it (6 readings), 1.1 after it, up to Tue 1 Jul"
        " (9 readings): down to a quarter of what the 4 untreated blocks lead one to expect" in moss
    )
    assert "coming down" not in moss
    assert "A catch also falls by itself" in moss
    tell(conn)
    pell, lark = map(words, letters(conn, farm, "PELL", "LARK"))
    assert "on Mon 7 Jul 2025: it is too early to say." in pell
    assert "cover spray" not in pell
    assert "a word of theirs" not in pell
    assert "a treatment against apple maggot on Mon 30 Jun 2025: too early to say; no valid" in lark
    assert "a treatment against codling moth" not in lark


def test_an_area_update_names_no_treatment(conn: sqlite3.Connection, farm: Path) -> None:
    def public() -> str:
        area = read_area(conn, farm, ON, read_office(farm))
        return update_page(compose_update(area), Templates(), "txt")

    before = public()
    tell(conn)
    assert public() == before
