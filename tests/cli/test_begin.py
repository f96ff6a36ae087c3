"""From nothing: a programme begun, refused, opened, and what it says of the rules that judge it."""

from __future__ import annotations

import tomllib
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from roundtui.app.dialogs.begin import BeginApp
from roundtui.app.themes import dress, fit
from roundtui.cli import main
from roundtui.domain.figures.rules import SHIPPED_RULES
from roundtui.domain.programme.rounds import next_step, steps
from roundtui.store.begin import known_zone
from roundtui.store.demo import sample_farm
from roundtui.store.folder import open_folder
from roundtui.store.invented import invented_in
from roundtui.store.office import read_office
from roundtui.store.record.read import programme, setting
from roundtui.store.reports import read_letters_office
from roundtui.store.season.season import read_season_office
from roundtui.store.session import THEME
from roundtui.store.set_up.columns import FILES
from tests.conftest import ready_demo

NOW = datetime(2026, 5, 20, 16, 30, tzinfo=UTC)


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_programme_begins_with_every_file_and_no_rule_of_its_own(tmp_path: Path) -> None:
    folder = tmp_path / "programme"
    result = run(
        *("new", folder, "--office", 'The "Hill" office', "--unit", "C", "--timezone", "Europe/Vienna"),
        *("--farm", "HF=Hollow Farm", "--farm", "LF=Low = Farm"),
    )
    assert result.exit_code == 0, result.stderr
    assert result.stdout == ""
    for file in FILES:
        assert (folder / file.name).read_text().startswith(",".join((*file.required, *file.optional)))
    assert (folder / "weather.csv").read_text().strip() == "station,date,tmin,tmax,unit,observed_at"
    assert tomllib.loads((folder / "thresholds.toml").read_text()) == {}
    assert read_office(folder).rules == SHIPPED_RULES
    office = read_season_office(folder)
    assert (office.unit, office.timezone) == ("C", "Europe/Vienna")
    assert read_letters_office(folder, ()).name == 'The "Hill" office'
    with closing(open_folder(folder, now=NOW).conn) as conn:
        assert {code: farm.name for code, farm in programme(conn).farms.items()} == {
            "HF": "Hollow Farm",
            "LF": "Low = Farm",
        }
    assert "CM mean (3 to 5)" in result.stderr
    assert "Next: blocks" in result.stderr
    assert run("load", folder).exit_code == 0
    assert run("summary", folder, "--json").exit_code == 0


def test_unit_and_zone_are_named_where_nobody_gave_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "America/Denver")
    result = run("new", tmp_path / "p")
    assert "Temperatures without a unit are taken as F" in result.stderr
    assert "this computer's, America/Denver" in result.stderr
    assert read_season_office(tmp_path / "p").timezone == "America/Denver"


def test_the_commented_rule_loads_once_it_is_no_comment(tmp_path: Path) -> None:
    run("new", tmp_path / "p")
    path = tmp_path / "p" / "thresholds.toml"
    example = path.read_text().partition("# [[rule]]")[2]
    path.write_text("[[rule]]" + example.replace("\n# ", "\n"))
    assert read_office(tmp_path / "p").rules[0].id == "cm-first-flight"


def test_a_folder_that_is_not_empty_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    result = run("new", tmp_path)
    assert result.exit_code == 1
    assert "is not empty" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize(
    ("option", "value"), [("--timezone", "Middle/Earth"), ("--timezone", "EST5"), ("--farm", "HF"), ("--unit", "K")]
)
def test_wrong_words_are_wrong_usage_and_make_nothing(tmp_path: Path, option: str, value: str) -> None:
    assert run("new", tmp_path / "p", option, value).exit_code == 2
    assert not (tmp_path / "p").exists()


def test_a_farm_twice_makes_nothing(tmp_path: Path) -> None:
    result = run("new", tmp_path / "p", "--farm", "HF=One", "--farm", "HF=Two")
    assert result.exit_code == 1
    assert "a second row for HF" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_zone_is_one_of_the_published_names() -> None:
    """IANA time zone database, zone names."""
    assert known_zone("America/New_York")
    assert not known_zone("../../etc/passwd")
    assert not known_zone("")


def test_the_steps_lead_from_nothing_to_a_round(tmp_path: Path) -> None:
    folder = tmp_path / "p"
    run("new", folder)
    order = []
    rows = {
        "farms": "farm,name\nHF,Hollow Farm\n",
        "blocks": "block,farm,name,crop\nN1,HF,North,apple\n",
        "traps": "trap,block,species,hung_on\nA1,N1,CM,2026-05-01\n",
        "routes": "route,position,trap\nhome,1,A1\n",
    }
    for _ in range(5):
        with closing(open_folder(folder, now=NOW).conn) as conn:
            step = next_step(steps(programme(conn), 0))
        if step is None:
            break
        order.append(step.name)
        (folder / step.file).write_text(rows[step.name])
    assert order == ["farms", "blocks", "traps", "routes"], "stations and rules may wait"


def test_the_sample_copied_by_hand_is_named_at_load_and_in_every_letter(tmp_path: Path) -> None:
    import shutil

    copy = tmp_path / "mine"
    shutil.copytree(sample_farm(), copy, ignore=shutil.ignore_patterns("weather.csv", "observations"))
    result = run("load", copy)
    assert result.exit_code == 0
    assert "Not for use: the rule cm-late is invented" in result.stderr
    assert "Not for use: the biofix rule cm-two-moths is invented" in result.stderr
    assert "Not for use: the letterhead Hollowmere Scouting" in result.stderr
    with closing(open_folder(copy, now=NOW).conn) as conn:
        named = invented_in(conn, copy, programme(conn).farms)
    office, season = read_office(copy), read_season_office(copy)
    theirs = [*office.rules, *season.models, *season.biofix_rules]
    said = {name.split()[-1] for name in named if "rule" in name or "model" in name}
    assert {one.id for one in theirs if one.office} == said
    demo = ready_demo(tmp_path / "demo")
    assert "Not for use" not in run("load", demo.folder).stderr
    with closing(open_folder(demo.folder, now=NOW).conn) as conn, conn:
        conn.execute("DELETE FROM settings WHERE key = 'demo'")
    result = run("letters", demo.folder, "--on", demo.on, "--to", tmp_path / "letters", "--farm", "MOSS")
    assert result.exit_code == 0, result.stderr
    text = next((tmp_path / "letters").glob("*.txt")).read_text()
    assert "Not for use: the rule cm-late" in text
    assert "Do not act on it" in text


def test_thresholds_that_cannot_be_used_are_a_problem(tmp_path: Path) -> None:
    run("new", tmp_path / "p")
    (tmp_path / "p" / "thresholds.toml").write_text("[[rule]\n")
    result = run("load", tmp_path / "p")
    assert result.exit_code == 1
    assert "thresholds.toml cannot be used" in result.stderr


def test_an_empty_programme_has_no_block_on_any_day(tmp_path: Path) -> None:
    from json import loads

    run("new", tmp_path / "p")
    said = loads(run("summary", tmp_path / "p", "--on", date(2026, 5, 1), "--json").stdout)
    assert said["blocks"] == []


async def test_an_unknown_folder_is_begun_in_the_app(tmp_path: Path) -> None:
    folder = tmp_path / "valley"
    app = BeginApp(folder, lambda: NOW)
    async with app.run_test(size=(80, 24)) as pilot:
        for text in ("Hollow Office", "HF", "Hollow Farm", "N1", "North"):
            await pilot.press(*text, "enter")
        await pilot.press("shift+tab", "shift+tab", "shift+tab", "shift+tab", "shift+tab", "shift+tab", "x")
        await pilot.press("pagedown", "enter")
        assert not folder.exists(), "x is no time zone"
        await pilot.press("f4", "ctrl+u", *"UTC", "pagedown", "enter")
    assert app.return_value is not None
    assert read_letters_office(folder, ()).name == "Hollow Office"
    with closing(open_folder(folder, now=NOW).conn) as conn:
        assert programme(conn).blocks["N1"].name == "North"
        assert setting(conn, THEME) == "light", "the theme that was chosen is kept in the programme"


@pytest.mark.parametrize(
    ("terminal", "kept", "theme"),
    [
        ({"TERM": "xterm-256color"}, "", "dark"),
        ({"TERM": "xterm-256color", "COLORFGBG": "0;15"}, "", "light"),
        ({"TERM": "xterm-256color", "COLORFGBG": "0;default;7"}, "", "light"),
        ({"TERM": "xterm-256color", "COLORFGBG": "15;0"}, "", "dark"),
        ({"TERM": "xterm-256color", "COLORFGBG": "0;15"}, "dark", "dark"),
        ({"TERM": "xterm", "COLORFGBG": "0;15"}, "", "16 colours"),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, "high contrast", "high contrast"),
    ],
)
def test_the_form_looks_as_its_terminal_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, terminal: dict[str, str], kept: str, theme: str
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    app = BeginApp(tmp_path / "valley", lambda: NOW)
    dress(app, kept)
    fit(app, terminal, kept)
    assert app.theme == theme


async def test_nothing_is_begun_by_escape(tmp_path: Path) -> None:
    app = BeginApp(tmp_path / "valley", lambda: NOW)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("escape")
    assert app.return_value is None
    assert list(tmp_path.iterdir()) == []
