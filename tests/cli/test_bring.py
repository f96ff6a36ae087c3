"""Bringing a table at the command line: what it says, what it asks, and what it ends with."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pexpect
import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from tests.conftest import MakeFolder

COUNTS = "Date,A1,A2,A3\n4/27/2026,0,3,\n5/4/2026,2,,weg\n"


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def entries(folder: Path) -> int:
    with closing(sqlite3.connect(folder / "roundtui.db")) as conn:
        return int(conn.execute("SELECT count(*) FROM visits").fetchone()[0])


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    folder = make_folder()
    assert run("load", folder).exit_code == 0
    return folder


def table(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "counts.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_nothing_is_written_before_it_is_told_to(farm: Path, tmp_path: Path) -> None:
    path = table(tmp_path, COUNTS)
    dry = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--dry-run")
    assert (dry.exit_code, dry.stdout, entries(farm)) == (0, "", 0)
    for said in (
        "days read as month, day, year",
        "3 counts, 1 of them zero; 1 without a count; 2 blank",
        "weg (1): missing",
    ):
        assert said in dry.stderr
    silent = run("bring", farm, path, "--as", "counts", "--scout", "Ada")
    assert (silent.exit_code, entries(farm)) == (1, 0)
    notified = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--yes")
    assert (notified.exit_code, entries(farm)) == (0, 4), notified.stderr
    again = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--yes")
    assert (again.exit_code, entries(farm)) == (0, 4)
    assert "4 on record before" in again.stderr


def test_an_open_question_without_a_terminal_writes_nothing(farm: Path, tmp_path: Path) -> None:
    for text, said in (
        ("Date,A1\n03/05/2025,1\n", "is 03/05/2025 day or month first?"),
        ("Date,A1,A2\n2026-05-04,1,-\n", "What does - stand for"),
        ("Wann,A1\n2026-05-04,1\n", "Which column of counts.csv is the read_on"),
    ):
        result = run("bring", farm, table(tmp_path, text), "--as", "counts", "--scout", "Ada", "--yes")
        assert (result.exit_code, entries(farm)) == (1, 0)
        assert said in result.stderr
    assert run("bring", farm, tmp_path / "counts.csv", "--as", "counts", "--yes").exit_code == 2


def test_good_rows_go_in_and_wrong_ones_are_named(farm: Path, tmp_path: Path) -> None:
    path = table(tmp_path, "date,trap,count\n2026-05-04,A1,1\n2026-05-04,A9,1\n2026-05-40,A2,1\n")
    result = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--yes")
    assert (result.exit_code, entries(farm)) == (1, 1)
    assert "counts.csv, line 3: 'A9' is no trap that is set up" in result.stderr
    assert "counts.csv, line 4: '2026-05-40' is no date" in result.stderr


def test_a_file_that_is_none_is_said_in_words(farm: Path, tmp_path: Path) -> None:
    (tmp_path / "broken.xlsx").write_bytes(b"PK\x03\x04rest")
    for path in (tmp_path / "broken.xlsx", tmp_path / "missing.csv", tmp_path):
        result = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--yes")
        assert result.exit_code == 1
        assert "What to do" in result.stderr


def test_what_is_unclear_is_asked_on_a_terminal_once(farm: Path, tmp_path: Path) -> None:
    path = table(tmp_path, "Wann,A1,A2\n03/05/2025,1,-\n10/05/2025,2,0\n")
    words = ["-m", "roundtui", "bring", str(farm), str(path), "--as", "counts", "--scout", "Ada"]
    env = {**os.environ, "TERM": "dumb", "PYTHONPATH": str(Path(__file__).parents[2])}
    child = pexpect.spawn(sys.executable, words, env=env, timeout=60, encoding="utf-8")
    child.expect("Which column .* is the read_on")
    child.expect("Number")
    child.sendline("1")
    child.expect("day or month first")
    child.expect("Number")
    child.sendline("1")
    child.expect("What does - stand for")
    child.expect("Number")
    child.sendline("1")
    child.expect("Write 3 rows")
    child.sendline("y")
    child.expect("3 added; 2 hangings")
    child.expect(pexpect.EOF)
    assert entries(farm) == 3
    result = run("bring", farm, path, "--as", "counts", "--scout", "Ada", "--yes")
    assert (result.exit_code, entries(farm)) == (0, 3)


def test_the_shell_completes_commands() -> None:
    env = {**os.environ, "_ROUNDTUI_COMPLETE": "bash_complete", "COMP_WORDS": "roundtui br", "COMP_CWORD": "1"}
    code = "import sys; sys.argv = ['roundtui']; from roundtui.opening import main; main()"
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=False)
    assert "plain,bring" in done.stdout
