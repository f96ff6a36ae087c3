"""The command line as people use it: data on one stream, words on the other, and an exit code that tells."""

from __future__ import annotations

import errno
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from io import StringIO
from itertools import count
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from rich.console import Console

from roundtui import __version__
from roundtui.cli import main
from roundtui.command_line import at_work, show, so_far
from roundtui.report.text import Line, paragraph
from roundtui.store.db import DB_NAME
from roundtui.store.failures import Store
from tests.cli.every_command import Ready, ready
from tests.conftest import FARMS, MakeFolder

TODAY = date.today()  # noqa: DTZ011
HUNG = TODAY - timedelta(days=14)
TRAPS = (
    "trap,block,species,style,hung_on\n"
    f"A1,N,CM,delta,{HUNG}\nA2,N,CM,delta,{HUNG}\nA3,N,CM,delta,{HUNG}\nA4,S,OFM,delta,{HUNG}\n"
)
SHEET = f"trap,read_on,count,no_reading\nA1,{TODAY},4,\nA2,{TODAY},0,\nA3,{TODAY},,missing\nA4,{TODAY},,\n"


@dataclass
class Ran:
    code: int
    out: str
    err: str


def run(*args: object) -> Ran:
    done = CliRunner().invoke(main, [str(arg) for arg in args])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return Ran(done.exit_code, done.stdout, done.stderr)


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    return make_folder(traps=TRAPS)


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "sheet.csv"
    path.write_text(SHEET)
    return path


def test_a_folder_is_loaded_and_loaded_again(farm: Path) -> None:
    first = run("load", farm)
    assert (first.code, first.out) == (0, "")
    assert "traps.csv: 4 rows added" in first.err
    again = run("load", farm)
    assert (again.code, again.out) == (0, "")
    assert again.err.startswith(f"{farm}: nothing new\n")
    assert "those that ship judge, CM mean (3 to 5)" in again.err


def test_a_faulty_folder_is_refused_with_every_fault(make_folder: MakeFolder) -> None:
    folder = make_folder(farms="farm,nmae\nHF,x\n", traps=TRAPS.replace("A1,N", "A1,Z"))
    ran = run("load", folder)
    assert (ran.code, ran.out) == (1, "")
    assert "farms.csv, line 1: unknown column nmae (did you mean name?)" in ran.err
    assert "nothing was changed" in ran.err
    assert not (folder / DB_NAME).exists()


def test_a_sheet_is_entered_once(farm: Path, sheet: Path) -> None:
    """Opening the folder loads its set-up first; nobody has to think of it."""
    first = run("enter", farm, sheet, "--scout", "Ada")
    assert (first.code, first.out) == (0, "")
    assert "sheet.csv: 3 added, 1 without an entry" in first.err
    assert "line 5: A4 has neither a count nor a reason" in first.err
    again = run("enter", farm, sheet, "--scout", "Ada")
    assert again.code == 0
    assert "sheet.csv: 3 on record before" in again.err


def test_rows_that_disagree_are_named_and_the_others_added(farm: Path, sheet: Path) -> None:
    run("enter", farm, sheet, "--scout", "Ada")
    sheet.write_text(SHEET.replace(f"A1,{TODAY},4", f"A1,{TODAY},14").replace(f"A4,{TODAY},", f"A4,{TODAY},7"))
    ran = run("enter", farm, sheet, "--scout", "Ada")
    assert (ran.code, ran.out) == (1, "")
    assert f"line 2: A1 on {TODAY} disagrees with the record: count is 14 in the file and 4 on record" in ran.err
    with sqlite3.connect(farm / DB_NAME) as conn:
        assert conn.execute("SELECT trap, count FROM visits ORDER BY trap").fetchall() == [
            *(("A1", 4), ("A2", 0), ("A3", None), ("A4", 7))
        ]
    conn.close()


def test_a_malformed_sheet_adds_nothing(farm: Path, sheet: Path) -> None:
    sheet.write_text(SHEET + f"A1,{TODAY}\n")
    ran = run("enter", farm, sheet, "--scout", "Ada")
    assert (ran.code, ran.out) == (1, "")
    assert "sheet.csv, line 6: 2 fields where the header has 4" in ran.err
    assert json.loads(run("replay", farm, "--on", TODAY, "--json").out) == []


def test_a_reading_of_a_day_to_come_is_refused(farm: Path, sheet: Path) -> None:
    sheet.write_text(f"trap,read_on,count\nA1,{TODAY + timedelta(days=2)},4\n")
    ran = run("enter", farm, sheet, "--scout", "Ada")
    assert ran.code == 1
    assert "is still to come" in ran.err


def test_whose_sheet_it_is_must_be_said(farm: Path, sheet: Path) -> None:
    ran = run("enter", farm, sheet)
    assert ran.code == 2
    assert "--scout NAME" in ran.err


def test_the_summary_prints_data_alone(farm: Path, sheet: Path) -> None:
    run("enter", farm, sheet, "--scout", "Ada")
    ran = run("summary", farm, "--json")
    found = json.loads(ran.out)
    assert (ran.code, ran.err) == (0, "")
    lists = ["blocks", "integrity", "upkeep", "not_read", "unlikely", "conflicts", "long_readings", "attention"]
    assert list(found) == ["on", *lists]
    assert found["on"] == str(TODAY)
    (north, south) = sorted(found["blocks"], key=lambda row: row["block"])
    assert (north["hung"], north["read"], north["mean_per_week"]) == (3, 2, 1.0)
    assert (south["status"], south["mean_per_week"]) == ("not-read", None)
    assert {row["trap"]: row["reason"] for row in found["not_read"]} == {"A3": "missing", "A4": None}
    assert "Hollow Farm" in run("summary", farm).out


def test_the_summary_of_a_route_and_of_a_day(farm: Path, sheet: Path) -> None:
    run("enter", farm, sheet, "--scout", "Ada")
    early = json.loads(run("summary", farm, "--on", HUNG + timedelta(days=2), "--json").out)
    assert {row["status"] for row in early["blocks"]} == {"not-read"}
    assert run("summary", farm, "--route", "home", "--json").code == 0
    wrong = run("summary", farm, "--route", "hoem", "--json")
    assert (wrong.code, wrong.out) == (1, "")
    assert "there is no route hoem" in wrong.err
    assert "did you mean home?" in wrong.err


def test_an_empty_record_has_a_summary_too(farm: Path) -> None:
    found = json.loads(run("summary", farm, "--json").out)
    assert {row["status"] for row in found["blocks"]} == {"not-read"}


def test_the_replay_has_entries_in_the_order_recorded(farm: Path, sheet: Path) -> None:
    run("enter", farm, sheet, "--scout", "Ada")
    rows = json.loads(run("replay", farm, "--on", TODAY, "--json").out)
    assert [(row["kind"], row["trap"], row["scout"]) for row in rows] == [
        ("visit", t, "Ada") for t in ("A1", "A2", "A3")
    ]
    keys = ["id", "kind", "trap", "read_on", "recorded_at", "scout", "device", "replaces", "reason"]
    assert list(rows[0])[: len(keys)] == keys
    assert json.loads(run("replay", farm, "--on", TODAY - timedelta(days=7), "--json").out) == []
    assert "Ada" in run("replay", farm, "--on", TODAY, "--route", "home").out


def test_thresholds_that_cannot_be_read_stop_the_summary_and_are_a_problem_of_the_load(farm: Path) -> None:
    (farm / "thresholds.toml").write_text("[[rule]\n")
    loaded = run("load", farm)
    assert loaded.code == 1
    assert "thresholds.toml: is no TOML" in loaded.err
    ran = run("summary", farm, "--json")
    assert (ran.code, ran.out) == (1, "")
    assert "thresholds.toml: is no TOML" in ran.err


def test_a_backup_is_restored(farm: Path, sheet: Path) -> None:
    run("load", farm)
    backup = farm / "copy.db"
    with sqlite3.connect(farm / DB_NAME) as conn, sqlite3.connect(backup) as copy:
        conn.backup(copy)
    conn.close()
    copy.close()
    run("enter", farm, sheet, "--scout", "Ada")
    ran = run("restore", farm, backup)
    assert (ran.code, ran.out) == (0, "")
    lacked, placed = ran.err.split(f"{backup} is in place now")
    assert f"on record here and not in copy.db:\n  {TODAY}, Ada: " in lacked
    assert "is kept as" in placed
    assert json.loads(run("replay", farm, "--on", TODAY, "--json").out) == []
    kept = next(farm.glob("roundtui-before-restore-*.db"))
    assert str(kept) in ran.err


def test_the_demo_is_made_ready(tmp_path: Path) -> None:
    ran = run("demo", "--to", tmp_path / "demo", "--no-open")
    assert (ran.code, ran.out) == (0, f"{tmp_path / 'demo'}\n")
    assert "invented" in ran.err
    found = json.loads(run("summary", tmp_path / "demo", "--on", "2025-07-15", "--json").out)
    assert {row["kind"] for row in found["integrity"]} == {"wrong-lure", "swapped-lures", "scented-body", "no-lure"}
    again = run("demo", "--to", tmp_path / "demo", "--no-open")
    assert again.code == 1
    assert "is there already" in again.err


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["summary"], "Missing argument 'FOLDER"),
        (["summary", ".", "--on", "yesterday"], "is no date; write it as 2026-05-01"),
        (["summary", ".", "--on", "2026-02-30"], "is no date"),
        (["summary", ".", "--on", "0001-01-01"], "is no date"),
        (["replay", "."], "Missing option '--on'"),
        (["summary", ".", "--nonsense"], "No such option"),
        (["one", "two"], "there is no command one; roundtui --help lists them"),
    ],
)
def test_wrong_usage_ends_with_two(args: Sequence[str], words: str) -> None:
    ran = run(*args)
    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err


def test_a_word_that_is_neither_command_nor_folder_is_answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "did you mean the command roundtui summary?" in run("sumary").err
    assert "To begin a programme: roundtui new season." in run("season").err
    assert run("new", "season").code == 0
    assert "the app needs a terminal" in run("season").err, "it opens"
    nowhere = run("nowhere")
    assert nowhere.code == 1
    assert "there is no folder nowhere" in nowhere.err
    assert run().code == 1


@pytest.mark.parametrize("command", [["summary"], ["replay", "--on", str(TODAY)], ["load"]])
@pytest.mark.parametrize("content", [b"", b"rubbish" * 2000])
def test_a_damaged_store_is_one_clear_message_for_every_command(farm: Path, command: list[str], content: bytes) -> None:
    run("load", farm)
    for name in (DB_NAME, f"{DB_NAME}-wal", f"{DB_NAME}-shm"):
        (farm / name).unlink(missing_ok=True)
    (farm / DB_NAME).write_bytes(content)
    ran = run(*command, farm)
    assert (ran.code, ran.out) == (1, "")
    assert f"{farm / DB_NAME} is damaged" in ran.err
    assert "Traceback" not in ran.err
    assert (farm / DB_NAME).read_bytes() == content


def _stuck(*_: object) -> None:
    raise TimeoutError("it waits for a pipe")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes in folders here")
def test_a_pipe_or_a_device_is_no_input_file_and_nobody_waits_for_it(farm: Path, tmp_path: Path) -> None:
    (farm / "stations.csv").write_text("station,name\nORCH,Orchard\n")
    assert run("load", farm).code == 0
    pipe, shared, package = tmp_path / "sheet.pipe", tmp_path / "shared", tmp_path / "package"
    for folder in (shared, package):
        folder.mkdir()
    for path in (pipe, shared / "van.bundle", package / "datapackage.json"):
        os.mkfifo(path)
    commands: list[tuple[object, ...]] = [
        ("enter", farm, pipe, "--scout", "Ada"),
        ("record", "samples", farm, pipe, "--scout", "Ada"),
        ("merge", farm, pipe),
        ("exchange", farm, shared),
        ("restore", farm, pipe),
        ("verify", farm, "--against", pipe),
        ("import", tmp_path / "new", package),
        ("bring", farm, pipe, "--as", "blocks"),
        ("bring", farm, farm / "traps.csv", "--as", "traps", "--map", pipe),
        ("compare", pipe, pipe),
        ("weather", farm, pipe, "--station", "ORCH"),
        ("weather", farm, "/dev/zero", "--station", "ORCH"),
        ("load", farm),
        ("summary", farm),
    ]
    before = signal.signal(signal.SIGALRM, _stuck)
    try:
        for command in commands:
            if command[0] == "load":
                (farm / "traps.csv").unlink()
                os.mkfifo(farm / "traps.csv")
            signal.alarm(20)
            ran = run(*command)
            assert ran.code == 1, command
            assert "fault of its own" not in ran.err, command
            assert any(words in ran.err for words in ("a pipe or a device", "is no file", "there is no backup")), ran
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@pytest.fixture(scope="module")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Ready:
    return ready(tmp_path_factory.mktemp("programme"))


WRITES_FILES_ALONE = {"demo", "import", "new"}
ASKS_NO_DISK = {"compare", "hub", "rules"}


@pytest.mark.parametrize(
    ("said", "error", "words"),
    [
        ("database or disk is full", errno.ENOSPC, "the disk is full: "),
        ("attempt to write a readonly database", errno.EROFS, "cannot be written: it or its folder is read-only"),
        ("database is locked", None, "is in use by another window or program"),
    ],
)
def test_every_command_names_a_fault_of_the_disk_as_such(
    programme: Ready, monkeypatch: pytest.MonkeyPatch, said: str, error: int | None, words: str
) -> None:
    """A restore that finds no room has no damaged backup; a folder that nobody may write is no fault of the program."""

    def database(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError(said)

    def system(*_: object, **__: object) -> None:
        raise OSError(error, os.strerror(error or 0))

    monkeypatch.setattr(Store, "execute", database)
    if error:
        monkeypatch.setattr("roundtui.store.files.os.open", system)
        monkeypatch.setattr("roundtui.store.files.Path.mkdir", system)
    calls = programme.calls()
    assert set(calls) == set(main.list_commands(click.Context(main))) - {"open"}
    for name, args in calls.items():
        if name in ASKS_NO_DISK or (name in WRITES_FILES_ALONE and not error):
            continue
        ran = run(name, *args)
        assert (ran.code, ran.out) == (1, ""), name
        assert words in ran.err or (name == "restore" and "is open in another window" in ran.err), (name, ran.err)
        assert "What to do: " in ran.err, name
        assert not re.search("damaged|fault of its own|Traceback", ran.err), (name, ran.err)


def test_a_fault_of_its_own_leaves_a_report_and_no_traceback(
    farm: Path, no_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(value: object) -> None:
        raise ZeroDivisionError("inside")

    monkeypatch.setattr("roundtui.command_line.show_json", fail)
    ran = run("summary", farm, "--json")
    assert (ran.code, ran.out) == (1, "")
    assert "stopped by a fault of its own" in ran.err
    assert "Traceback" not in ran.err
    (report,) = (no_home / "state" / "roundtui").glob("roundtui-report-*.txt")
    assert "ZeroDivisionError: inside" in report.read_text()


def test_hostile_text_shows_harmlessly_everywhere(make_folder: MakeFolder, sheet: Path) -> None:
    name = "[red]Farm[/] \x1b[2J\x07\u202e" + "x" * 10_000
    folder = make_folder(traps=TRAPS, farms=FARMS.replace("Hollow Farm", f'"{name}"'))
    sheet.write_text(f'trap,read_on,count,note\nA1,{TODAY},9,"{name}"\n')
    assert run("enter", folder, sheet, "--scout", "Ada [/]").code == 0
    for args in (["summary", folder], ["replay", folder, "--on", TODAY]):
        for more in ([], ["--json"]):
            ran = run(*args, *more)
            assert ran.code == 0
            assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e]", ran.out + ran.err)
    assert "[red]Farm[/]" in run("summary", folder).out


def test_the_small_commands_load_little(farm: Path) -> None:
    code = (
        "import sys\nfrom roundtui.cli import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "print(sorted({'textual', 'rich', 'sqlite_utils'} & set(sys.modules)), file=sys.stderr)"
    )
    run("load", farm)
    for args in (["--help"], ["--version"], ["summary", str(farm), "--json"]):
        done = subprocess.run([sys.executable, "-c", code, *args], capture_output=True, text=True, check=True)
        loaded = done.stderr.splitlines()[-1]
        assert loaded == ("[]" if "summary" not in args else loaded), (args, loaded)
        assert "textual" not in loaded
        assert "sqlite_utils" not in loaded


def test_the_module_runs_and_says_its_version() -> None:
    done = subprocess.run([sys.executable, "-m", "roundtui", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout == f"roundtui {__version__}\n"


def test_help_says_both_ways_and_every_command() -> None:
    shown = run("--help").out
    assert shown.startswith("Usage: ")
    assert "[FOLDER] [--on DATE] [--scout NAME]" in shown
    for name in main.commands:
        assert f"  {name} " in shown


# --- long work --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stand_in", "words"),
    [
        ("roundtui.store.checks.verify.verify", ["verify", "FARM"]),
        ("roundtui.store.figures.summary.summary_of", ["summary", "FARM"]),
        ("roundtui.store.exchange.package.write_package", ["export", "FARM", "--to", "out"]),
        ("roundtui.store.exchange.importing.import_package", ["import", "new", "out"]),
        ("roundtui.store.exchange.merge.merge", ["merge", "FARM", "a.bundle"]),
        ("roundtui.store.exchange.exchange.exchange", ["exchange", "FARM", "shared"]),
        ("roundtui.store.bring.bring.preview", ["bring", "FARM", "SHEET", "--as", "counts", "--scout", "Ida"]),
        ("roundtui.report.letters.material.read_material", ["letters", "FARM", "--to", "out"]),
        ("roundtui.store.folder.open_folder", ["years", "FARM", "--species", "CM"]),
        ("roundtui.store.folder.open_folder", ["season-end", "FARM", "--to", "out"]),
        ("roundtui.store.folder.open_folder", ["load", "FARM"]),
        ("roundtui.store.backup.restore", ["restore", "FARM", "a.db"]),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_ctrl_c_ends_a_command_in_words(
    farm: Path, sheet: Path, monkeypatch: pytest.MonkeyPatch, stand_in: str, words: list[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    run("load", farm)
    with monkeypatch.context() as patched:
        patched.setattr(stand_in, stopped)
        ran = run(*({"FARM": farm, "SHEET": sheet}.get(word, word) for word in words))
    assert (ran.code, ran.out) == (1, "")
    assert "stopped by Ctrl-C: what was saved before stays" in ran.err
    assert "What to do: give the same command again" in ran.err
    assert not Path("out").exists()


def test_a_silent_command_says_how_far_it_has_come_and_makes_room_for_words(monkeypatch: pytest.MonkeyPatch) -> None:
    class Screen(StringIO):
        def isatty(self) -> bool:
            return True

        def waits(self, words: str) -> None:
            until = time.monotonic() + 5
            while words not in self.getvalue() and time.monotonic() < until:
                time.sleep(0.01)
            assert words in self.getvalue()

    screen, seconds = Screen(), count(0, 2)
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr("roundtui.command_line.monotonic", lambda: next(seconds))
    with at_work(app=True):
        assert sys.stderr is screen
    with at_work(app=False):
        so_far("b\x1b.bundle", 1200, 4000)
        screen.waits("1,200 of 4,000 (")
        print("merged", file=sys.stderr)
        assert screen.getvalue().split("\r")[-1] == "merged\n"
        so_far("b", 4000, 4000)
        screen.waits("working (")
        print("Make the change?", end=" ", file=sys.stderr)
        asked = screen.getvalue()
        time.sleep(0.3)
        assert screen.getvalue() == asked
    assert sys.stderr is screen
    assert "\x1b" not in asked


@pytest.mark.parametrize("columns", [12, 40, 80])
def test_a_table_in_a_file_is_as_a_terminal_shows_it_without_colours(
    columns: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    long = "Two orchards of 梨 stand below the hill, the older one at Steepbankfarmhousegate."
    lines = [paragraph(long), paragraph([("! ", "bold"), (long, "")], 6), Line([("Trap  Day", "underline")])]
    monkeypatch.setenv("COLUMNS", str(columns))
    show(lines)
    plain = capsys.readouterr().out
    Console().print(*lines, sep="", end="")
    assert plain == capsys.readouterr().out
    assert max(map(len, plain.splitlines())) <= columns
    monkeypatch.setenv("FORCE_COLOR", "1")
    show(lines)
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured := capsys.readouterr().out) == plain != coloured
