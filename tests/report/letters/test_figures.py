"""Every figure of a letter against the JSON of the reports it stands in."""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import Figure, digest, figures
from roundtui.report.letters.material import A_YEAR, Material
from roundtui.report.letters.template import Templates, letter_html, letter_text
from tests.judge.recount import Recount, Setup
from tests.judge.recount_beside import Letters
from tests.judge.test_recount import entries
from tests.report.letters.conftest import ON

TRAPS = Path(__file__).parents[3] / "sample_farm" / "traps.csv"
Reports = Callable[..., Any]
Materials = Callable[[date], Material]


def look_up(figure: Figure, reports: Reports, on: date) -> Any:
    """What the report says at a figure's place."""
    report, *path = figure.place
    if report in ("summary", "last-year"):
        return from_a_summary(reports("summary", on if report == "summary" else on - A_YEAR), path)
    if report == "record":
        return from_the_record(path, reports, on)
    if report == "years":
        block, species, *keys = path
        return from_years(reports("years", on, block, species), keys)
    if report == "register":
        trap, hung_on, key = path
        series = only(reports("register", on)["traps"], trap=trap)["series"]
        return only(series, hung_on=hung_on or None)[key]
    named = NAMED[report]
    found: Any = only(reports(report, on), **dict(zip(named, map(as_key, named, path), strict=False)))
    for key in path[len(named) :]:
        found = found[int(key)] if isinstance(found, list) else found[key]
    return found


NAMED = {
    "biofix": ("block", "species", "generation"),
    "outlook": ("block", "species", "generation", "event"),
    "samples": ("id",),
    "vials": ("id",),
    "treatments": ("block", "species", "treated_on"),
}
"""What a row of each report is known by; the rest of a figure's place leads on from there."""


def as_key(name: str, text: str) -> str | int:
    """A key as JSON has it."""
    return int(text) if name == "generation" else text


def from_a_summary(found: dict[str, Any], path: list[str]) -> Any:
    part, *keys = path
    if part == "on":
        return found["on"]
    if part == "blocks":
        block, species, key = keys
        row = only(found["blocks"], block=block, species=species)
        for name in key.split("."):
            row = row[name]
        return row
    trap, *keys = keys
    named = {"item": keys[0]} if part == "upkeep" else {}
    return only(found[part], trap=trap, **named)[keys[-1]]


def from_years(found: dict[str, Any], path: list[str]) -> Any:
    if path == ["newest", "on"]:
        return found["seasons"][-1]["points"][-1]["on"]
    part, season, key = path
    row = only(found[part], season=int(season))
    for name in key.split("."):
        row = row[name]
    return row


def from_the_record(path: list[str], reports: Reports, on: date) -> Any:
    rows = [row for row in reports("replay", on) if row["present"]]
    match path:
        case ["first"]:
            return (on - timedelta(days=6)).isoformat()
        case ["read_on", trap, day]:
            return next(row["read_on"] for row in rows if (row["trap"], row["read_on"]) == (trap, day))
        case ["others", trap, day]:
            return next(row["others"] for row in rows if (row["trap"], row["read_on"]) == (trap, day))
        case ["estimated", block, species]:
            hung = {
                row["trap"]
                for row in csv.DictReader(TRAPS.open())
                if (row["block"], row["species"]) == (block, species)
            }
            return sum(1 for row in rows if row["kind"] == "visit" and row["estimated"] and row["trap"] in hung)
        case ["seen_on", block]:
            seen = [row for row in rows if row["kind"] == "stage" and row["block"] == block]
            seen = seen or [
                row
                for row in reports("replay", on - timedelta(days=7))
                if row["kind"] == "stage" and row["block"] == block
            ]
            return max(row["read_on"] for row in seen)
        case ["next_visit", _]:
            return None
    raise AssertionError(f"nobody looks up {path}")


def only(rows: list[dict[str, Any]], **keys: Any) -> dict[str, Any]:
    found = [row for row in rows if all(row[key] == value for key, value in keys.items())]
    assert len(found) == 1, (keys, found)
    return found[0]


@pytest.fixture
def sample_connection(sample: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(f"file:{sample / 'roundtui.db'}?mode=ro", uri=True)) as conn:
        yield conn


def as_json(value: object) -> object:
    if isinstance(value, Fraction):
        return float(value)
    if isinstance(value, tuple):
        return [float(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value


@pytest.mark.parametrize("on", [ON, date(2024, 7, 16)], ids=str)
def test_every_figure_of_every_letter_is_that_of_summary_biofix_or_outlook(
    on: date, material_of: Materials, reports: Reports
) -> None:
    material = material_of(on)
    kinds = set()
    looked_up = 0
    for farm in material.farms:
        for figure in figures(compose(material, farm)):
            kinds.add(figure.place[:2] if figure.place[0] == "summary" else figure.place[:1])
            if figure.place[:2] != ("record", "next_visit"):
                assert as_json(figure.value) == look_up(figure, reports, on), figure
                looked_up += 1
    assert looked_up > 150
    if on == ON:
        parts = ("on", "blocks", "not_read", "integrity", "upkeep", "unlikely", "conflicts")
        wanted = {("summary", part) for part in parts} | {
            ("last-year",),
            ("biofix",),
            ("outlook",),
            ("record",),
            ("years",),
        }
        assert kinds - {("samples",), ("register",), ("vials",)} == wanted | {("treatments",)}


def letters_counted_again(
    material: Material, folder: Path, conn: sqlite3.Connection, on: date
) -> tuple[int, dict[tuple[str, ...], tuple[Any, Any]]]:
    """How many figures of a day's letters were counted again, and those that came out otherwise."""
    every = entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")
    again = Letters(Recount(Setup(folder), *every, on), on - A_YEAR, conn)
    said = [figure for farm in material.farms for figure in figures(compose(material, farm))]
    counted = [figure for figure in said if again.counts(figure.place)]
    two = {figure.place: (figure.value, again.value(figure.place)) for figure in counted}
    return len(counted), {place: (one, other) for place, (one, other) in two.items() if one != pytest.approx(other)}


def test_the_letters_of_a_day_counted_again_from_files_and_entries(
    material_of: Materials, sample: Path, sample_connection: sqlite3.Connection
) -> None:
    """Summary, last year, seasons, samples, vials, stages: by the second implementation, not by the reports."""
    counted, differ = letters_counted_again(material_of(ON), sample, sample_connection, ON)
    assert differ == {}
    assert counted > 500


def test_every_figure_is_written_as_it_is_and_stands_in_page_and_text(
    material_of: Materials, templates: Templates
) -> None:
    material = material_of(ON)
    for farm in material.farms:
        letter = compose(material, farm)
        page, text = letter_html(letter, templates), " ".join(letter_text(letter, templates).split())
        for figure in figures(letter):
            assert figure.text in text, figure
            assert figure.text in page.replace("&#39;", "'").replace("&gt;", ">").replace("&lt;", "<"), figure
            if isinstance(figure.value, Fraction):
                assert abs(float(figure.text.lstrip("<>")) - float(figure.value)) <= 0.0500001, figure
            elif isinstance(figure.value, date):
                assert f"{figure.value:%a} {figure.value.day} {figure.value:%b}" in figure.text
            elif isinstance(figure.value, int) and figure.value:
                assert str(abs(figure.value)) in figure.text


def test_the_letters_tell_the_stories_of_the_sample(material_of: Materials, templates: Templates) -> None:
    def text(farm: str) -> str:
        return " ".join(letter_text(compose(material_of(ON), farm, note="We meet on Friday."), templates).split())

    pell, dusk, fenn, moss = text("PELL"), text("DUSK"), text("FENN"), text("MOSS")
    assert "We meet on Friday." in pell
    assert "GATE Gate Block, Codling moth: over threshold" in pell
    assert "It is exactly at the upper number, which counts as over." in pell
    assert "Trap G5 in GATE Gate Block: 120 is far above what it usually catches" in pell
    assert "new liner due: G5 1 day ago (129 moths on it)" in pell
    # The scout's own note stays in the office; what is marked for the grower goes out.
    assert "B3: the trap was down." in dusk
    assert "post knocked over" not in dusk
    assert "two counts on Mon 14 Jul" in dusk
    assert "B5 (row 6, tree 2) two counts, not counted" in dusk
    assert "How sure: not worked out, under mating disruption." in dusk
    assert "Under mating disruption a low catch is weak evidence. The fruit was checked on Mon 14 Jul 2025" in dusk
    assert "6 of 300 fruit injured, 2.0 %" in dusk
    assert "fresh entries in the fruit on two trees of this row" in dusk
    assert "Codling moth, first flight, POND Pond Block: began on Mon 5 May 2025." in dusk
    swapped = "Traps R2 (codling moth) and R4 (oriental fruit moth) in RISE The Rise hold each other's lure since"
    assert f"{swapped} Mon 30 Jun 2025." in fenn
    assert "RISE The Rise, Codling moth: not counted: R2 (lures swapped) and R3 (wrong lure)." in fenn
    assert "LANE Long Lane, L2: no entry was made." in moss
    assert "The next visit is due on Tue 22 Jul 2025." in moss
    assert "The product label is the law" in moss


def test_a_letter_is_the_same_for_the_same_record_and_another_for_another(material_of: Materials) -> None:
    material = material_of(ON)
    said = digest(compose(material, "PELL"))
    assert digest(compose(material, "PELL", note="Hello", replaces="2025-07-15")) == said
    assert digest(compose(material_of(date(2025, 7, 14)), "PELL")) != said


def test_a_date_by_normal_says_so(material_of: Materials, templates: Templates) -> None:
    """A station with too few past years goes by stated normals, and a grower may not take that for its own past."""
    material = material_of(ON)
    by_normal = {
        key: tuple(
            replace(row, event=replace(row.event, by_normal=True, earliest=None, latest=None, years=0)) for row in rows
        )
        for key, rows in material.outlooks.items()
    }

    def text(material: Material) -> str:
        return " ".join(letter_text(compose(material, "DUSK"), templates).split())

    words = "by normal temperatures, so without a range"
    assert words not in text(material)
    assert words in text(replace(material, outlooks=by_normal))
