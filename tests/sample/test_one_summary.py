"""App and command show one summary: the same sections and figures on every day of the sample, for every route."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from rich.console import Console

from roundtui.cli import main
from roundtui.report.figures.sections import summary_page
from roundtui.report.figures.summary import summary_json
from roundtui.store.connect import open_store
from roundtui.store.demo import Demo
from roundtui.store.office import read_office
from roundtui.store.session import Session
from tests.sample.conftest import NOW

FIRST = date(2025, 4, 14)
"""First week of the sample in which traps hang."""


@pytest.fixture(scope="module")
def folder(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy, since the command looks for newer files when it opens a folder."""
    return Path(shutil.copytree(demo.folder, tmp_path_factory.mktemp("one") / "farm"))


@pytest.fixture
def sessions(folder: Path) -> Iterator[list[Session]]:
    """Sessions as the app opens them, one for each day that is asked about."""
    made: list[Session] = []
    yield made
    for session in made:
        session.conn.close()


def shown(day: Session, route: str | None) -> str:
    """What the Summary screen draws."""
    out = Console(file=io.StringIO(), width=80, highlight=False, markup=False, emoji=False, color_system=None)
    for part in summary_page(day.day_summary(route=route), width=80):
        out.print(part)
    return str(out.file.getvalue())  # type: ignore[attr-defined]


@pytest.mark.parametrize("weeks", [*range(0, 13, 2), 13])
def test_the_app_shows_what_the_command_prints(
    folder: Path, demo: Demo, sessions: list[Session], weeks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A day of each week, another day of the week each time; on the last day the routes too."""
    monkeypatch.setenv("COLUMNS", "80")
    on = min(FIRST + timedelta(days=8 * weeks), demo.on)
    conn = open_store(folder, now=NOW)
    session = Session(folder, conn, on=on, device="desk", office=lambda: read_office(folder), scout="Ida")
    sessions.append(session)
    routes = (None, *session.programme.routes) if weeks == 13 else (None,)
    for route in routes:
        words = ["summary", str(folder), "--on", on.isoformat(), *(("--route", route) if route else ())]
        printed = CliRunner().invoke(main, words)
        assert printed.exit_code == 0, printed.stderr
        assert shown(session, route) == printed.stdout


def test_the_stock_of_lures_stands_in_the_apps_summary(folder: Path, demo: Demo) -> None:
    """A lot that runs out before the season ends is as much news in the app as at the command line."""
    with closing(open_store(folder, now=NOW)) as conn:
        session = Session(folder, conn, on=demo.on, device="desk", office=lambda: read_office(folder), scout="Ida")
        made = session.day_summary()
        assert any(lot.warned for lot in made.observations.lots)
        assert "Lures in stock" in shown(session, None)
        assert summary_json(made.summary)["on"] == demo.on.isoformat()
