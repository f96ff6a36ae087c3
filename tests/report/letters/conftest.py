"""The sample farm with its north round walked, and what letters are made from there."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.entries import StageSeen, Visit
from roundtui.report import charts
from roundtui.report.letters.material import Material, read_material
from roundtui.report.letters.template import Templates
from roundtui.report.season.years import years_json
from roundtui.store.figures.learned import renew
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.season.years import YearsRecord
from tests.conftest import made_once, ready_demo

ON = date(2025, 7, 15)
"""The sample's running day."""
NOW = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)


def walk_north(conn: sqlite3.Connection) -> None:
    """Read the traps of the north round on the running day, all but one."""
    known = programme(conn)
    traps = known.routes["north"]
    entries: list[Visit | StageSeen] = [
        Visit(trap=trap, read_on=ON, count=at % 5, note="ants in it" if at == 3 else "")
        for at, trap in enumerate(traps)
        if trap != "L2"
    ]
    blocks = dict.fromkeys(known.hangings[trap][-1].block for trap in traps)
    entries += [StageSeen(block=block, seen_on=ON, code="75") for block in blocks]
    record(conn, entries, Author("Perrin Alderquist", "truck"), NOW)


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder; not to be written to."""

    def make(folder: Path) -> None:
        ready_demo(folder)
        with closing(open_folder(folder, now=NOW).conn) as conn:
            walk_north(conn)
            renew(conn, read_office(folder))

    return Path(shutil.copytree(made_once("letters", make), tmp_path_factory.mktemp("letters") / "farm"))


@pytest.fixture(autouse=True, scope="session")
def drawn_once() -> Iterator[None]:
    """A picture is turned into pixels once: most letters of these tests have the same ones."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(charts, "png", cache(charts.png))
        yield


@pytest.fixture
def farm(sample: Path, tmp_path: Path) -> Path:
    """A copy of it for one test."""
    return Path(shutil.copytree(sample, tmp_path / "farm"))


@pytest.fixture
def conn(farm: Path) -> Iterator[sqlite3.Connection]:
    """The store of that copy."""
    with closing(open_folder(farm, now=NOW).conn) as conn:
        yield conn


@pytest.fixture(scope="session")
def material_of(sample: Path) -> Callable[[date], Material]:
    """What the letters of a day are made from."""

    @lru_cache
    def of(on: date) -> Material:
        with closing(open_folder(sample, now=NOW).conn) as conn:
            return read_material(conn, sample, on, read_office(sample))

    return of


@pytest.fixture(scope="session")
def templates() -> Templates:
    """The templates that ship."""
    return Templates()


@pytest.fixture(scope="session")
def reports(sample: Path) -> Iterator[Callable[..., Any]]:
    """What a command of the command line prints as JSON about the sample."""
    with closing(open_folder(sample, now=NOW).conn) as conn:

        @cache
        def years(on: date) -> YearsRecord:
            return YearsRecord(conn, sample, on, read_office(sample))

        @cache
        def of(command: str, on: date, *options: str) -> Any:
            if command == "years":
                # As the command has it, which would read the seasons again for every block.
                return json.loads(json.dumps(years_json(years(on).of(*options))))
            found = CliRunner().invoke(main, [command, str(sample), "--on", on.isoformat(), "--json", *options])
            assert found.exit_code == 0, found.output
            return json.loads(found.stdout)

        yield of
