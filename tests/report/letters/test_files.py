"""Letters on disk: mail read back, names, what is kept of writing, and letters that no longer hold."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from itertools import count
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.errors import StoreError
from roundtui.report.letters.compose import compose
from roundtui.report.letters.files import ENDINGS, write_letters
from roundtui.report.letters.material import Material, read_material
from roundtui.report.letters.template import Templates
from roundtui.report.letters.update import compose_update, read_area
from roundtui.store.files import write_whole
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.rows import VISITS
from roundtui.store.reports import letters_written, released
from tests.report.letters.conftest import NOW, ON

Materials = Callable[[date], Material]
SECONDS = count()
"""No two letters are written at one instant."""


def run(*words: object) -> tuple[int, str, str]:
    found = CliRunner().invoke(main, [str(word) for word in words])
    return found.exit_code, found.stdout, found.stderr


def write(conn: sqlite3.Connection, farm: Path, *farms: str, note: str = "") -> list[str]:
    material = read_material(conn, farm, ON, read_office(farm), farms=farms)
    written = write_letters(
        conn,
        material,
        Templates(farm),
        farm / "out",
        notes=dict.fromkeys(farms, note),
        by="Ida",
        now=lambda: NOW + timedelta(seconds=next(SECONDS)),
    )
    return [letter.farm for _, letter in written]


def parsed(path: Path) -> EmailMessage:
    message = message_from_bytes(path.read_bytes(), policy=default)
    assert isinstance(message, EmailMessage)
    return message


def test_mail_has_both_parts_and_the_pictures_that_the_page_asks_for(farm: Path, conn: sqlite3.Connection) -> None:
    write(conn, farm, "PELL", note="See you on Friday.\nTamsin")
    path = farm / "out" / f"letter-{ON}-PELL.eml"
    assert all(len(line) <= 998 for line in path.read_bytes().split(b"\r\n"))
    assert b"\n" not in path.read_bytes().replace(b"\r\n", b"")
    mail = parsed(path)
    assert not mail.defects
    assert mail["To"].addresses[0].addr_spec == "wren@pellhurst.example"
    assert mail["From"].addresses[0].display_name == "Hollowmere Scouting (invented)"
    assert mail["Subject"] == "Pellhurst Fruit: what your traps show, seven days to Tue 15 Jul 2025"
    assert mail["Date"].datetime.date() == ON
    assert mail.get_content_type() == "multipart/alternative"
    sanitize, rich = mail.iter_parts()
    assert sanitize.get_content().replace("\r\n", "\n") == (farm / "out" / f"letter-{ON}-PELL.txt").read_text(
        encoding="utf-8"
    )
    assert "See you on Friday." in sanitize.get_content()
    assert rich.get_content_type() == "multipart/related"
    page, *pictures = rich.iter_parts()
    wanted = [part.split('"')[0] for part in page.get_content().split('src="cid:')[1:]]
    assert [picture["Content-ID"].strip("<>") for picture in pictures] == wanted
    assert len(wanted) >= 4
    assert all(picture.get_content().startswith(b"\x89PNG") for picture in pictures)
    again = message_from_bytes(mail.as_bytes(), policy=default)
    assert [part.get_content_type() for part in again.walk()] == [part.get_content_type() for part in mail.walk()]
    assert again.get_body(("plain",)).get_content().split() == sanitize.get_content().split()


def test_a_farm_without_an_address_gets_mail_without_one(material_of: Materials) -> None:
    from roundtui.report.letters.mail import eml
    from roundtui.report.letters.template import letter_mail

    letter = replace(compose(material_of(ON), "PELL"), email="ask at the gate", sender_email="")
    mail = message_from_bytes(eml(letter_mail(letter, Templates()), NOW), policy=default)
    assert mail["To"] is None
    assert mail["From"] is None


def test_what_was_written_is_kept_and_a_correction_makes_it_out_of_date(farm: Path, conn: sqlite3.Connection) -> None:
    assert write(conn, farm, "DUSK", "PELL") == ["DUSK", "PELL"]
    first = letters_written(conn, ON)["PELL"]
    assert [(one.by, one.round_on, one.at.date()) for one in first] == [("Ida", ON, ON)]
    write(conn, farm, "PELL", note="Again, with a note")
    assert {one.digest for one in letters_written(conn, ON)["PELL"]} == {first[0].digest}
    assert "replaces" not in (farm / "out" / f"letter-{ON}-PELL.txt").read_text()
    row = conn.execute(
        f"SELECT {VISITS.listed} FROM present_visits WHERE trap = 'G5' AND read_on = '2025-07-14'"
    ).fetchone()
    wrong = VISITS.entry(row)
    fixed = replace(wrong, count=12, replaces=wrong.id, reason="a zero too many")
    record(conn, [fixed], Author("Ida", "desk"), datetime(2025, 7, 16, tzinfo=UTC))
    write(conn, farm, "PELL", "DUSK")
    kept = letters_written(conn, ON)
    assert len(kept["PELL"]) == 3
    assert kept["PELL"][-1].digest != first[0].digest
    assert {one.digest for one in kept["DUSK"]} == {kept["DUSK"][0].digest}
    text = (farm / "out" / f"letter-{ON}-PELL.txt").read_text(encoding="utf-8")
    assert "This letter replaces the one of Tue 15 Jul 2025." in text
    assert "120" not in text
    assert letters_written(conn, date(2025, 7, 8)) == {}


def test_a_file_is_whole_or_as_it_was(tmp_path: Path) -> None:
    write_whole(tmp_path / "new" / "a.txt", b"one")
    write_whole(tmp_path / "new" / "a.txt", "two")
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["a.txt"]
    (tmp_path / "full").write_text("a file")
    with pytest.raises(StoreError, match="cannot be written"):
        write_whole(tmp_path / "full" / "a.txt", b"one")


def test_letters_from_the_command_line(farm: Path, tmp_path: Path) -> None:
    code, out, err = run("letters", farm, "--on", ON, "--to", tmp_path / "out", "--note", "Hello {{ 1 }}")
    assert code == 0, err
    assert len(out.splitlines()) == 5
    assert "5 letters of 2025-07-15; nothing was sent" in err
    assert {path.suffix for path in (tmp_path / "out").iterdir()} == set(ENDINGS)
    assert "Hello {{ 1 }}" in (tmp_path / "out" / f"letter-{ON}-MOSS.html").read_text(encoding="utf-8")
    code, out, err = run("letters", farm, "--on", ON, "--to", tmp_path / "one", "--farm", "MOSS")
    assert (code, len(list((tmp_path / "one").iterdir()))) == (0, 3)
    err = run("letters", farm, "--on", "2020-05-05", "--to", tmp_path / "none")[2]
    assert "0 letters of 2020-05-05, since no trap hung in its seven days; nothing was sent" in err
    code, _, err = run("letters", farm, "--on", ON, "--to", tmp_path / "one", "--farm", "MOOS")
    assert code == 1
    assert "farm MOOS: there is no such farm" in err
    assert "MOSS" in err


def test_a_faulty_template_stops_the_command_with_its_line(farm: Path, tmp_path: Path) -> None:
    (farm / "templates").mkdir()
    (farm / "templates" / "letter.html").write_text("<p>\n{{ letter.nmae }}</p>")
    code, _, err = run("letters", farm, "--on", ON, "--to", tmp_path / "out")
    assert code == 1
    assert "templates/letter.html, line 2" in err
    assert not (tmp_path / "out").exists()


def test_the_update_from_the_command_line(farm: Path, conn: sqlite3.Connection, tmp_path: Path) -> None:
    code, out, err = run("update", farm, "--on", ON, "--preview")
    assert code == 0, err
    assert "Codling moth: " in out
    assert released(conn, 2025) == {}
    code, out, err = run("update", farm, "--on", ON, "--to", tmp_path / "out", "--note", "A <b>quiet</b> week")
    assert code == 0, err
    assert [Path(line).name for line in out.splitlines()] == [f"area-update-{ON}.html", f"area-update-{ON}.txt"]
    text = (tmp_path / "out" / f"area-update-{ON}.txt").read_text(encoding="utf-8")
    assert "A <b>quiet</b> week" in text
    assert "A &lt;b&gt;quiet&lt;/b&gt; week" in (tmp_path / "out" / f"area-update-{ON}.html").read_text("utf-8")
    assert "Greater peachtree borer: withheld, farms –, traps –" in text
    for word in ("Mossbarrow", "Pellhurst", "Kiln", "KILN", "Tamsin", "51.", "lat", "K1"):
        assert word not in text.replace("late", ""), word
    assert released(conn, 2025)["catch", "CM", ON].farms == ("DUSK", "FENN", "LARK", "MOSS", "PELL")
    assert run("update", farm, "--on", ON)[0] == 2


def test_weeks_cannot_be_moved_within_a_season(farm: Path, tmp_path: Path) -> None:
    assert run("update", farm, "--on", ON, "--to", tmp_path / "out")[0] == 0
    office = (farm / "letters.toml").read_text(encoding="utf-8")
    (farm / "letters.toml").write_text(office.replace('"tuesday"', '"monday"'), encoding="utf-8")
    code, _, err = run("update", farm, "--on", ON, "--to", tmp_path / "out")
    assert code == 1
    assert "on which they end since the first update of this season" in err


def test_a_declined_farm_that_nobody_knows_stops_the_update(farm: Path, tmp_path: Path) -> None:
    (farm / "letters.toml").write_text('[area]\ndeclined = ["MOSSS"]\n')
    code, _, err = run("update", farm, "--on", ON, "--to", tmp_path / "out")
    assert code == 1
    assert "letters.toml, area: declined names no farm: MOSSS" in err


def test_what_is_kept_of_a_withheld_figure_names_nobody(farm: Path, conn: sqlite3.Connection, tmp_path: Path) -> None:
    assert run("update", farm, "--on", ON, "--to", tmp_path / "out")[0] == 0
    rows = conn.execute("SELECT key, value FROM settings WHERE key LIKE 'area/2025/cell/%'").fetchall()
    assert all(len(json.loads(value)["farms"]) >= 3 for _, value in rows)
    assert not any("GPTB" in key for key, _ in rows)


def test_a_replacing_letter_opens_with_what_changed_since_the_one_before(farm: Path, conn: sqlite3.Connection) -> None:
    """A count of MILL is corrected after its letter went out: figure and headline are told, as they were and are."""
    write(conn, farm, "PELL")
    row = conn.execute(
        f"SELECT {VISITS.listed} FROM present_visits WHERE trap = 'M1' ORDER BY read_on DESC LIMIT 1"
    ).fetchone()
    old = VISITS.entry(row)
    mended = replace(old, count=0, id="", recorded_at=None, replaces=old.id, reason="misread")
    record(conn, [mended], Author("Ida", "desk"), NOW + timedelta(seconds=next(SECONDS)))
    write(conn, farm, "PELL")
    text = " ".join((farm / "out" / f"letter-{ON}-PELL.txt").read_text("utf-8").split())
    _, _, changed = text.partition("What changed since the letter of Tue 15 Jul 2025")
    assert "MILL, codling moth, catch a week: " in changed
    assert ", it was " in changed
    html = (farm / "out" / f"letter-{ON}-PELL.html").read_text("utf-8")
    assert "<h2>What changed since the letter of Tue 15 Jul 2025</h2>" in html
    write(conn, farm, "PELL")
    assert "What changed since" not in (farm / "out" / f"letter-{ON}-PELL.txt").read_text("utf-8"), "nothing did"


def test_the_area_update_says_whose_blocks_it_holds_and_compares_only_the_same_farms(sample: Path) -> None:
    with closing(open_folder(sample, now=NOW).conn) as conn:
        area = read_area(conn, sample, ON, read_office(sample))
    key = ("catch", "CM", area.cells.weeks[-2])
    (moths,) = [one for one in compose_update(area).species if one.name == "Codling moth"]
    assert moths.blocks == "blocks with and without mating disruption together"
    assert "the week before" in str(moths.trend)
    other = replace(area.cells.cells[key], farms=area.cells.cells[key].farms[1:])
    cells = replace(area.cells, cells={**area.cells.cells, key: other})
    (moths,) = [one for one in compose_update(replace(area, cells=cells)).species if one.name == "Codling moth"]
    assert str(moths.trend) == "other farms than the week before, so no comparison"
