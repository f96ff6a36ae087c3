"""A season of area updates under attack: late sheets, corrections, a farm that declines, two updates in one week."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.publication import FEWEST_GROWERS, Cell
from roundtui.report.charts import Chart
from roundtui.report.letters.material import species_name
from roundtui.report.letters.template import Templates
from roundtui.report.letters.update import Area, AreaUpdate, catch_figures, compose_update, read_area, write_update
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.season.season import SeasonRecord
from tests.conftest import write_folder
from tests.judge.attacker import Published, Unknown, pinned

FARMS = "ABCDEF"
FIRST = date(2031, 5, 5)
WEEKS = 8
HUNG = FIRST - timedelta(days=7)
SPECIES = {"CM": "ABCDEF", "OFM": "AB", "OBLR": "ABC"}
"""Farms with traps of each species."""


@dataclass(frozen=True)
class Issue:
    """One update that went out, with what nobody outside knows."""

    update: AreaUpdate
    area: Area
    truth: dict[tuple[str, str, date], Fraction]
    """Each farm's own figure on the day of the update, by farm, species and week."""


def season(folder: Path, seed: int) -> Iterator[Issue]:
    """Enter a season week by week and publish as it goes, twice in many weeks, and while the record changes behind."""
    chance = random.Random(seed)
    traps = [
        (f"{farm}{species}{at}", farm, species) for species, farms in SPECIES.items() for farm in farms for at in (1, 2)
    ]
    write_folder(
        folder,
        farms="farm,name\n" + "".join(f"{farm},Farm {farm}\n" for farm in FARMS),
        blocks="block,farm,name,crop\n" + "".join(f"N{farm},{farm},North,apple\n" for farm in FARMS),
        lures="lot,species,life_days\n" + "".join(f"{species}1,{species},200\n" for species in SPECIES),
        traps="trap,block,species,style,hung_on\n" + "".join(f"{t},N{f},{s},delta,{HUNG}\n" for t, f, s in traps),
        routes="route,position,trap\n" + "".join(f"all,{at},{t}\n" for at, (t, _, _) in enumerate(traps)),
    )
    now = datetime(2031, 10, 1, 8, tzinfo=UTC)
    with closing(open_folder(folder, now=now).conn) as conn:
        for week in range(WEEKS):
            late: list[Visit] = []
            for farm in FARMS:
                day = FIRST + timedelta(days=7 * week + chance.choice((0, 0, 1, 2)))
                visits = [Visit(trap=t, read_on=day, count=chance.randint(1, 30)) for t, f, _ in traps if f == farm]
                where = chance.choice(("now", "now", "now", "late", "never"))
                if where == "now":
                    record(conn, visits, Author("Ada", "truck"), now)
                elif where == "late":
                    late += visits
            yield publish(conn, folder, FIRST + timedelta(days=7 * week + 1))
            record(conn, late, Author("Ada", "truck"), now)
            if week == 4:
                (folder / "letters.toml").write_text('[area]\ndeclined = ["C"]\n')
            yield publish(conn, folder, FIRST + timedelta(days=7 * week + 3))
            correct_one(conn, chance, now)
            yield publish(conn, folder, FIRST + timedelta(days=7 * week + 5))


def correct_one(conn: object, chance: random.Random, now: datetime) -> None:
    from roundtui.store.record.rows import VISITS

    rows = conn.execute(f"SELECT {VISITS.listed} FROM present_visits").fetchall()  # type: ignore[attr-defined]
    visit = VISITS.entry(chance.choice(rows))
    fixed = replace(visit, count=chance.randint(0, 30), replaces=visit.id, reason="miscounted", id="")
    record(conn, [fixed], Author("Ada", "truck"), now)  # type: ignore[arg-type]


def publish(conn: object, folder: Path, on: date) -> Issue:
    office = read_office(folder)
    area = read_area(conn, folder, on, office)  # type: ignore[arg-type]
    update = compose_update(area)
    write_update(conn, area, update, Templates(), folder / "out")  # type: ignore[arg-type]
    known = SeasonRecord(conn, folder, on, office)  # type: ignore[arg-type]
    figures = catch_figures(known.programme, known.series, area.cells.weeks)
    truth = {(one.farm, what, week): one.value for (_, what, week), found in figures.items() for one in found}
    return Issue(update, area, truth)


def shown(issue: Issue) -> dict[tuple[str, date], float]:
    """Every catch an update shows, from the points of its curves: more exact than any print."""
    found = {}
    codes = {species_name(code): code for code in SPECIES}
    for one in issue.update.species:
        if one.curve is not None:
            assert isinstance(one.curve.of, Chart)
            for piece in one.curve.of.panels[0].lines[0].pieces:
                found.update({(codes[one.name], week): value for week, value in piece})
    return found


def farms_behind(issues: list[Issue]) -> dict[tuple[str, date], Cell]:
    return {
        (cell.what, cell.week_ends): cell
        for issue in issues
        for cell in issue.area.cells.cells.values()
        if cell.released
    }


def collected(issues: list[Issue]) -> list[Published]:
    """What somebody has who kept every update and even knows which farms stand behind each figure.

    A farm's figure counts as the same unknown for as long as it stays the same, which the attacker may guess.
    """
    behind = farms_behind(issues)
    found: dict[tuple[tuple[Unknown, ...], float], Published] = {}
    first_truth: dict[tuple[str, date], dict[tuple[str, str, date], Fraction]] = {}
    for issue in issues:
        for (species, week), value in shown(issue).items():
            truth = first_truth.setdefault((species, week), issue.truth)
            farms = behind[species, week].farms
            unknowns = tuple((farm, species, week, truth[farm, species, week]) for farm in farms)
            below = max(value - 0.5, 1.0) if value else 0.0
            one = Published(unknowns, below * len(farms), (value + 0.5 if value else 1.0) * len(farms))
            found[one.of, value] = one
    return list(found.values())


@pytest.fixture(scope="module", params=[1, 2])
def issues(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Issue]:
    return list(season(tmp_path_factory.mktemp("area") / "farm", request.param))


def test_no_farm_can_be_worked_out_from_all_updates_of_a_season(issues: list[Issue]) -> None:
    known = collected(issues)
    assert len(known) >= WEEKS // 2
    assert pinned(known) == {}


def test_a_grower_who_knows_their_own_figures_learns_no_other(issues: list[Issue]) -> None:
    known = collected(issues)
    for farm in "AB":
        own = {name: float(name[3]) for one in known for name in one.of if isinstance(name, tuple) and name[0] == farm}
        assert own
        assert pinned(known, own) == {}


def test_every_figure_shown_rests_on_four_growers_and_never_changes(issues: list[Issue]) -> None:
    behind = farms_behind(issues)
    before: dict[tuple[str, date], float] = {}
    for issue in issues:
        for key, value in shown(issue).items():
            assert len(behind[key].farms) >= FEWEST_GROWERS
            assert before.setdefault(key, value) == value
    assert {species for species, _ in before} == {"CM"}


def test_the_updates_say_that_they_withhold(issues: list[Issue]) -> None:
    last = issues[-1].update
    assert str(next(one.catch for one in last.species if one.name == species_name("OFM"))) == "withheld"
    assert any("Oriental fruit moth" in words for words in last.withheld)


def test_a_farm_that_declined_is_in_no_week_published_afterwards(issues: list[Issue]) -> None:
    declined_from = FIRST + timedelta(days=7 * 5)
    behind = farms_behind(issues)
    assert any("C" in cell.farms for (_, week), cell in behind.items() if week < declined_from)
    assert not any("C" in cell.farms for (_, week), cell in behind.items() if week >= declined_from + timedelta(days=6))


def test_the_attacker_finds_out_farms_where_the_rules_are_not_kept(issues: list[Issue]) -> None:
    """Weeks counted anew in each update: whoever is read late, or declines, is the difference of two versions."""
    careless: list[Published] = []
    for issue in issues:
        declined = issue.area.office.declined
        for species in SPECIES:
            for week in issue.area.cells.weeks:
                farms = [f for f in FARMS if f not in declined and (f, species, week) in issue.truth]
                if len(farms) >= 3:
                    values = [(f, species, week, issue.truth[f, species, week]) for f in farms]
                    total = float(sum(one[3] for one in values))
                    careless.append(Published(tuple(values), total, total))
    found = pinned(careless)
    assert found
    assert all(abs(value - float(name[3])) < 1e-5 for name, value in found.items() if isinstance(name, tuple))
