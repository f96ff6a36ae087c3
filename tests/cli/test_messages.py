"""Every input in ``messages.md`` is given to the program, and every message of the code stands there."""

from __future__ import annotations

import ast
import re
import shlex
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

import roundtui
from roundtui.cli import main
from roundtui.domain.round.tally import parse_tally
from roundtui.errors import ProblemsError, StoreError
from roundtui.store.bring.answers import read_answers
from roundtui.store.bring.bring import preview
from roundtui.store.bring.table import Kind
from roundtui.store.folder import open_folder
from roundtui.store.inventory import read_plan_office
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author
from roundtui.store.record.read import programme
from roundtui.store.round.enter import enter_tally
from roundtui.store.season.season import read_season_office
from roundtui.store.season.weather_load import import_weather
from tests.conftest import NOW, write_folder

PAGE = (Path(__file__).parent / "messages.md").read_text(encoding="utf-8")
CODE = Path(roundtui.__file__).parent
FILES = (
    "cli.py",
    "command_line.py",
    "commands/begin.py",
    "commands/corrections.py",
    "commands/letters.py",
    "commands/exchange.py",
    "report/letters/desk.py",
    "report/letters/update.py",
    "report/letters/files.py",
    "commands/plan.py",
    "report/traps/labels.py",
    "domain/inventory/plan_rules.py",
    "domain/inventory/stock.py",
    "commands/season.py",
    "domain/season/weather_rows.py",
    "domain/season/weather_files.py",
    "store/round/changes.py",
    "domain/round/checks.py",
    "domain/round/tally.py",
)
STORE = (
    "backup",
    "begin",
    "bring/answers",
    "bring/bring",
    "bring/counts",
    "bring/set_up",
    "bring/table",
    "record/chains",
    "connect",
    "csv_file",
    "demo",
    "exchange/bundle",
    "exchange/exchange",
    "exchange/importing",
    "exchange/merge",
    "exchange/package",
    "exchange/reading",
    "failures",
    "figures/found_lures",
    "files",
    "folder",
    "inventory",
    "hub/connection",
    "hub/exchange",
    "hub/check",
    "record/journal",
    "office",
    "reports",
    "round/changes",
    "round/conflicts",
    "round/enter",
    "round/recounts",
    "round/tally_file",
    "season/biofix",
    "season/season",
    "season/weather",
    "season/weather_load",
    "set_up/columns",
    "set_up/load",
    "set_up/load_checks",
    "set_up/register",
    "set_up/versions",
)


def rows(title: str) -> list[tuple[str, ...]]:
    """Rows of the table under a heading."""
    section = PAGE.split(f"\n## {title}\n", 1)[1].split("\n## ", 1)[0]
    lines = [line for line in section.splitlines() if line.startswith("| ")]
    return [tuple(cell.strip() for cell in line.strip("|").split(" | ")) for line in lines[2:]]


def written(cell: str) -> bytes:
    """Bytes that a cell of the page stands for: ``\\n`` is an end of line, ``\\xfc`` a byte."""
    return cell.encode("ascii").decode("unicode_escape").encode("latin-1")


def said(error: ProblemsError) -> list[str]:
    return [str(problem) for problem in error.problems]


@pytest.mark.parametrize(("files", "message"), rows("Set-up files"))
def test_set_up_files(tmp_path: Path, files: str, message: str) -> None:
    contents = {name.split(".")[0]: written(content) for name, content in re.findall(r"`([^`]+)`: `([^`]*)`", files)}
    assert contents
    folder = write_folder(tmp_path / "farm", **contents)
    with pytest.raises(ProblemsError) as caught:
        use(folder)
    assert message in said(caught.value)


def use(folder: Path) -> None:
    """Read everything that a person writes into a folder."""
    open_folder(folder, now=NOW).conn.close()
    read_office(folder)


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, sqlite3.Connection]]:
    """A programme into which nothing of what is refused gets, so that every refusal may share it."""
    folder = write_folder(tmp_path_factory.mktemp("refusing") / "farm", stations=STATIONS)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        yield folder, conn
        assert conn.execute("SELECT count(*) FROM visits").fetchone() == (0,)


@pytest.mark.parametrize(("content", "message"), rows("Tally files"))
def test_tally_files(farm: tuple[Path, sqlite3.Connection], tmp_path: Path, content: str, message: str) -> None:
    _, conn = farm
    sheet = tmp_path / "sheet.csv"
    sheet.write_bytes(written(content.strip("`")))
    with pytest.raises(ProblemsError) as caught:
        enter_tally(conn, sheet, Author("Ada", "truck"), NOW, date(2026, 5, 20))
    assert message in said(caught.value)


@pytest.mark.parametrize(("kind", "content", "message"), rows("Tables of one's own"))
def test_tables_of_ones_own(
    farm: tuple[Path, sqlite3.Connection], tmp_path: Path, kind: str, content: str, message: str
) -> None:
    folder, conn = farm
    table = tmp_path / "table.csv"
    table.write_bytes(written(content.strip("`")))
    answers = read_answers(folder, Kind(kind), table)
    try:
        found = preview(conn, answers, scout="Ada", now=NOW)
        problems = [*map(str, found.problems), *(one.words for one in found.questions)]
    except StoreError as error:
        problems = [f"{error.message} ({error.hint})"]
    assert message in problems


STATIONS = "station,name,timezone\nV,Vale,America/New_York\nR,Ridge,\n"


@pytest.mark.parametrize(("form", "content", "message"), rows("Temperatures"))
def test_temperatures(
    farm: tuple[Path, sqlite3.Connection], tmp_path: Path, form: str, content: str, message: str
) -> None:
    folder, conn = farm
    sheet = tmp_path / "sheet.csv"
    sheet.write_bytes(written(content.strip("`")))
    with pytest.raises(ProblemsError) as caught:
        import_weather(
            conn, folder, sheet, programme(conn), station="R", style=form, author=Author("Ada", "truck"), now=NOW
        )
    assert message in said(caught.value)


RIGHT = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("text", RIGHT)
def test_what_the_page_calls_right_is_right(tmp_path: Path, text: str) -> None:
    (tmp_path / "models.toml").write_text(text)
    read_season_office(tmp_path)


@pytest.mark.parametrize(("before", "after", "message"), rows("The file models.toml"))
def test_models(tmp_path: Path, before: str, after: str, message: str) -> None:
    old, new = (written(cell.strip("`")).decode() for cell in (before, after))
    text = next(text for text in RIGHT if old in text)
    (tmp_path / "models.toml").write_text(text.replace(old, new, 1))
    with pytest.raises(ProblemsError) as caught:
        read_season_office(tmp_path)
    assert message in said(caught.value)


@pytest.mark.parametrize(("content", "message"), rows("The file plan.toml"))
def test_plan_file(tmp_path: Path, content: str, message: str) -> None:
    (tmp_path / "plan.toml").write_bytes(written(content.strip("`")))
    with pytest.raises(ProblemsError) as caught:
        read_plan_office(tmp_path)
    assert message in said(caught.value)


@pytest.mark.parametrize(("text", "message"), rows("The tally notation"))
def test_tally_notation(text: str, message: str) -> None:
    pattern = re.escape(message).replace("…", ".*")  # The list of marks grows with the fields of an entry.
    assert [problem for problem in parse_tally(text.strip("`"))[1] if re.fullmatch(pattern, str(problem))]


def sessions() -> list[str]:
    return re.findall(r"```console\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("session", sessions())
def test_sessions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, session: str) -> None:
    """Each line that begins with $ is run in a folder that holds the small programme; the rest is what it says."""
    monkeypatch.chdir(tmp_path)
    write_folder(tmp_path / "farm")
    for part in session.split("$ ")[1:]:
        line, _, expected = part.partition("\n")
        words = shlex.split(line)
        if words[0] == "cat":
            Path(words[1]).write_text(expected, encoding="utf-8")
        elif words[0] == "mkdir":
            Path(words[1]).mkdir()
        elif words[0] == "rm":
            Path(words[1]).unlink(missing_ok=True)
        else:
            assert words[0] == "roundtui"
            done = CliRunner().invoke(main, words[1:])
            pattern = re.escape(expected).replace("…", ".*")
            assert re.fullmatch(pattern, done.stderr), done.stderr
            assert done.exit_code == (1 if "What to do" in expected else 0)


def messages() -> Iterator[tuple[str, str]]:
    """Every message that the code can give, as file and line and its longest fixed part."""
    first = {"StoreError": 0, "RefusedError": 0, "RoundtuiError": 0, "ProblemsError": 0, "_refuse": 0}
    first |= {"Problem": 1, "refuse": 1, "damaged": 1, "BundleError": 2, "PackageError": 0}
    for name in (*FILES, *(f"store/{stem}.py" for stem in STORE)):
        for node in ast.walk(ast.parse((CODE / name).read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            at = 0 if called == "add" and len(node.args) > 2 else first.get(called)  # ``Faults.add``
            if at is None or len(node.args) <= at:
                continue
            argument = node.args[at]
            parts = [argument] if isinstance(argument, ast.Constant) else getattr(argument, "values", [])
            fixed = [part.value for part in parts if isinstance(part, ast.Constant) and isinstance(part.value, str)]
            if fixed:
                yield f"{name}:{node.lineno}", max(fixed, key=len).strip(" ':(")


def test_every_message_stands_on_the_page() -> None:
    assert [(place, words) for place, words in messages() if words not in PAGE] == []
