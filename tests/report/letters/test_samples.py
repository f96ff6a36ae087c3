"""What the scout saw on leaf and fruit, in letters and summary: each figure against the JSON of its command."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from scipy.stats import betabinom

from roundtui.cli import main
from roundtui.domain.entries import Sample, SampleKind
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import Letter, figures
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates, letter_html, letter_text
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.observations import present
from roundtui.store.record.rows import SAMPLES
from tests.report.letters.conftest import NOW, ON
from tests.report.letters.test_figures import as_json, look_up

FRUIT = Sample(
    block="POND",
    sampled_on=ON - timedelta(days=9),
    kind=SampleKind.FRUIT,
    pest="",
    looked_at="fruit",
    looked=500,
    found=2,
    plan="fruit-washington",
    entries=1,
    stings=3,
    trees=5,
)
MITES = Sample(
    block="POND",
    sampled_on=ON,
    kind=SampleKind.LEAF,
    pest="ERM",
    looked_at="leaf",
    looked=100,
    found=61,
    plan="mites-penn-early-summer",
    counted=499,
    beneficials=7,
    grade=2,
    note="grower: <b>& hedge</b> [red]",
)
ROLLERS = replace(MITES, pest="OBLR", looked_at="shoot", looked=60, found=2, plan="oblr-maine", counted=None, note="")
WITHOUT = replace(MITES, pest="sooty blotch", plan="", counted=None, beneficials=None, grade=None, note="")


@pytest.fixture
def conn(conn: sqlite3.Connection) -> sqlite3.Connection:
    """The store of the copy, without the samples that come with the sample."""
    for sample in present(conn, SAMPLES, date(2000, 1, 1), ON):
        withdraw(conn, sample.id, "not in this story", Author("Perrin Alderquist", "truck"), NOW)
    return conn


@pytest.fixture
def reports(farm: Path) -> Callable[..., Any]:
    def of(command: str, on: date, *options: str) -> Any:
        found = CliRunner().invoke(main, [command, str(farm), "--on", on.isoformat(), "--json", *options])
        assert found.exit_code == 0, found.output
        return json.loads(found.stdout)

    return of


def letter(conn: sqlite3.Connection, farm: Path, *samples: Sample) -> Letter:
    record(conn, list(samples), Author("Perrin Alderquist", "truck"), NOW)
    return compose(read_material(conn, farm, ON, read_office(farm), farms=("DUSK",)), "DUSK")


def said(made: Letter, templates: Templates) -> str:
    return " ".join(letter_text(made, templates).split())


def test_every_figure_of_a_sample_is_that_of_its_command(
    conn: sqlite3.Connection, farm: Path, reports: Callable[..., Any], templates: Templates
) -> None:
    made = letter(conn, farm, FRUIT, MITES, ROLLERS, WITHOUT)
    own = [figure for figure in figures(made) if figure.place[0] == "samples"]
    assert {figure.place[2] for figure in own} == {
        *(
            "sampled_on",
            "found",
            "looked",
            "percent",
            "interval_percent",
            "by_trees_percent",
            "per_unit",
            "entries",
            "stings",
        ),
        *("beneficials", "trees", "grade", "verdict", "more"),
    }
    page = unescape(letter_html(made, templates))
    for figure in own:
        assert as_json(figure.value) == pytest.approx(look_up(figure, reports, ON)), figure
        assert figure.text in page


def test_a_low_catch_under_disruption_asks_for_a_sample_until_one_is_on_record(
    conn: sqlite3.Connection, farm: Path, templates: Templates
) -> None:
    asked = "Under mating disruption a low catch is weak evidence: check the fruit."
    old = replace(FRUIT, sampled_on=ON - timedelta(days=14))
    assert asked in said(letter(conn, farm), templates)
    assert asked in said(letter(conn, farm, old), templates)
    summary = CliRunner().invoke(main, ["summary", str(farm), "--on", ON.isoformat()]).stdout
    assert "weak evidence; check the fruit" in " ".join(summary.split())

    words = said(letter(conn, farm, FRUIT), templates)
    assert asked not in words
    # 500 from five trees are worth 46: 0 and 8.5 % by scipy's beta, see tests/domain/test_intervals.py.
    found = "2 of 500 fruit injured, 0.4 % (between 0.0 and 8.5 %, as far as its trees can tell)"
    assert f"The fruit was checked on Sun 6 Jul 2025: {found}, 1 with entries, 3 more with stings alone" in words
    assert "Below its plan's number" in words
    summary = " ".join(CliRunner().invoke(main, ["summary", str(farm), "--on", ON.isoformat()]).stdout.split())
    assert "weak evidence: check the fruit" not in summary
    assert "weak evidence; the fruit on Sun 6 Jul: 2 of 500 fruit injured, 0.4 % (0.0 to 8.5 % by its trees)" in summary


def test_what_the_scout_saw_says_what_was_found_and_by_whose_number(
    conn: sqlite3.Connection, farm: Path, templates: Templates
) -> None:
    words = said(letter(conn, farm, MITES, ROLLERS, WITHOUT), templates)
    # 499 mites on 100 leaves are under 5 a leaf, and rounding may not lift them to it.
    assert "61 of 100 leaves with it, 61.0 %" in words
    assert "4.99 mites a leaf, predators on 7, grade 2 (slight, below threshold); <b>& hedge</b> [red]. Below" in words
    assert "Sample not finished: the scout has 30 shoots more to look at [" in words
    assert "oblr-maine: stops, of shoots, at 60 with 1 or fewer or with 4 or more; at 90" in words
    assert "sooty blotch: 61 of 100 leaves with it" in words
    assert "Not a full sample" in words
    assert "<b>& hedge" not in letter_html(letter(conn, farm), templates)


def test_the_command_lists_looks_by_block_and_names_a_block_nobody_knows(conn: sqlite3.Connection, farm: Path) -> None:
    letter(conn, farm, FRUIT, MITES, replace(MITES, block="KILN"))
    run = CliRunner()
    pond = run.invoke(main, ["samples", str(farm), "--block", "POND"]).stdout
    assert "KILN" not in pond
    assert "▲" not in pond
    assert "▽ POND Pond Block" in pond
    assert json.loads(run.invoke(main, ["samples", str(farm), "--on", "2025-07-07", "--json"]).stdout)[0]["found"] == 2
    assert run.invoke(main, ["samples", str(farm), "--on", "2024-07-07"]).stdout.startswith("No leaf or fruit check")
    wrong = run.invoke(main, ["samples", str(farm), "--block", "PND"])
    assert wrong.exit_code == 1
    assert "there is no block PND" in wrong.stderr
    assert "did you mean POND?" in wrong.stderr


def test_a_fault_in_the_plans_of_the_office_is_named_and_stops_every_verdict(farm: Path) -> None:
    (farm / "samples.toml").write_text('[[sample]]\ncode = "ERM"\n[[sample.plan]]\nid = "ours"\nmeasure = "mean"\n')
    wrong = CliRunner().invoke(main, ["samples", str(farm)])
    assert wrong.exit_code == 1
    assert "samples.toml cannot be used" in wrong.stderr
    assert "samples.toml, sample 1 (ERM), plan 1 (ours): low, high: are both missing" in wrong.stderr
    (farm / "samples.toml").write_text("[[look]\n")
    assert "samples.toml: is no TOML" in CliRunner().invoke(main, ["samples", str(farm)]).stderr


def test_a_clean_export_sample_says_how_often_an_injured_block_passes_as_well(
    conn: sqlite3.Connection, farm: Path, reports: Callable[..., Any], templates: Templates
) -> None:
    """None in 60 fruit of each of 21 trees: of blocks with 0.2 % injured 8 in 100 pass so where fruit of one tree are
    no more alike than others, 45 where they are by 0.1. The chances are scipy's.

    Source of the plan: Washington State University, entomology.tfrec.wsu.edu; of the shares: INTA Alto Valle, SAG.
    """
    clean = replace(
        FRUIT, sampled_on=ON, looked=1260, found=0, entries=0, stings=0, trees=21, plan="fruit-export-clean"
    )
    written = letter(conn, farm, clean)
    text = " ".join(letter_text(written, templates).split())
    assert (
        "So clean a sample comes from 8 to 45 of 100 blocks with 0.2 % of fruit injured and from under 1 to 14" in text
    )
    assert "from more where it left out the edge." in text
    found = [one for one in figures(written) if "clean_percent" in one.place]
    assert [look_up(one, reports, ON) for one in found] == [one.value for one in found]
    many = 0.9 / 0.1
    expected = [
        100 * chance
        for share in (0.002, 0.005)
        for chance in ((1 - share) ** 1260, betabinom.pmf(0, 60, share * many, (1 - share) * many) ** 21)
    ]
    assert [one.value for one in found] == pytest.approx(expected)
    assert "95 % certainty that" not in text
