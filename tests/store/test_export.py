"""The record as open files: all of it, readable to others, harmless, and good enough to make the folder anew."""

from __future__ import annotations

import csv
import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import frictionless
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import NoReading, Notified, StageSeen, Visit
from roundtui.domain.figures.summary import summarise
from roundtui.errors import ProblemsError, RefusedError, StoreError
from roundtui.report.figures.summary import summary_json
from roundtui.report.round.replay import replay_json
from roundtui.store.connect import open_store
from roundtui.store.db import migrate, one_view
from roundtui.store.exchange.importing import import_package
from roundtui.store.exchange.package import members, write_package
from roundtui.store.figures.history import history
from roundtui.store.files import plain_text, safe_cell, scratch, whole_file, write_whole
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import journal_rows, programme, put_setting, setting
from roundtui.store.reports import RELEASED
from tests.conftest import NOW, MakeFolder, made_once, ready_demo, write_folder
from tests.hostile import WORST, texts
from tests.store.laptops import rows_of

ADA = Author("Ada", "truck")
EVENING = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample farm with a few corrections, and its package in ``out`` beside it."""
    base = tmp_path_factory.mktemp("export")
    ready_demo(base / "farm")
    with closing(open_store(base / "farm", now=EVENING)) as conn:
        first, second, *_ = [
            row.entry for row in journal_rows(conn, date(2025, 7, 14), date(2025, 7, 14)) if row.kind == "visit"
        ]
        assert isinstance(first, Visit)
        record(conn, [replace(first, count=7, replaces=first.id, reason="=misread")], ADA, EVENING)
        withdraw(conn, second.id, "the wrong block's sheet", ADA, EVENING)
        notified = Notified(
            block="MILL",
            species="CM",
            round_on=date(2025, 7, 14),
            status="over",
            notified_on=date(2025, 7, 14),
            by="Ada",
            how="by phone, -1 call",
        )
        record(conn, [notified], ADA, EVENING)
        write_package(conn, base / "farm", base / "out", EVENING)
    return base


def summaries(folder: Path, days: list[date]) -> list[object]:
    """What the summary command prints of each day, and what the journal holds."""
    with closing(open_store(folder, now=EVENING)) as conn:
        known, office = programme(conn), read_office(folder)
        said: list[object] = [
            summary_json(summarise(known, history(conn, known, day, office), office, day)) for day in days
        ]
        said.append(replay_json(journal_rows(conn, date(2000, 1, 1), date(2100, 1, 1))))
        said.append(rows_of(conn))
        said += [
            conn.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall()
            for name in ("present_weather", "traps", "lots")
        ]
    return said


@pytest.fixture(scope="module")
def again(sample: Path) -> Path:
    """The folder that is made of its package."""
    import_package(sample / "again", sample / "out", EVENING)
    return sample / "again"


def test_an_imported_package_says_the_same_of_every_day_and_entry(sample: Path, again: Path) -> None:
    days = [date(2023, 5, 8), date(2024, 6, 10), date(2024, 9, 2), date(2025, 6, 24), date(2025, 7, 8)]
    days += [date(2025, 7, 14) + timedelta(days=more) for more in (0, 1, 20)]
    assert summaries(again, days) == summaries(sample / "farm", days)


def test_the_package_of_the_imported_folder_is_the_same_again(sample: Path, again: Path, tmp_path: Path) -> None:
    with closing(open_store(again, now=EVENING)) as conn:
        write_package(conn, again, tmp_path / "out", EVENING)
    for path in sorted((sample / "out").rglob("*.*")):
        assert (tmp_path / "out" / path.relative_to(sample / "out")).read_bytes() == path.read_bytes()


def test_the_reference_library_finds_the_package_valid(sample: Path) -> None:
    package = frictionless.Package(str(sample / "out" / "datapackage.json"))
    assert package.validate().flatten(["title", "message"]) == []
    visits = package.get_resource("visits").read_rows()
    corrected = [row for row in visits if row["replaces"]]
    assert [row["count"] for row in corrected] == [7]
    assert isinstance(corrected[0]["read_on"], date)
    assert {row["cleared"] for row in visits} == {True, False}


def test_the_reference_library_sees_an_entry_of_a_trap_nobody_has(package: Path) -> None:
    """The keys in the descriptor say something: a broken reference does not pass."""
    table = package / "data" / "visits.csv"
    table.write_bytes(table.read_bytes().replace(b",A1,2026-05-18,", b",Z9,2026-05-18,", 1))
    found = frictionless.validate(str(package / "datapackage.json"), resource_name="visits")
    types = {row[0] for row in found.flatten(["type"])}
    assert {"foreign-key", "hash-count"} <= types


def test_every_column_is_described_and_typed(store: sqlite3.Connection) -> None:
    for member in members(store):
        for column, field in zip(member.columns, member.fields, strict=True):
            assert not field.about.startswith("The entry's"), f"say what {member.name}.{column} holds"


def test_zero_blank_and_no_reading_stay_three_things(store: sqlite3.Connection, folder: Path, tmp_path: Path) -> None:
    record(
        store,
        [
            Visit(trap="A1", read_on=date(2026, 5, 18), count=0),
            Visit(trap="A2", read_on=date(2026, 5, 18), no_reading=NoReading.DOWN),
            Visit(trap="A3", read_on=date(2026, 5, 18), liner=True),
        ],
        ADA,
        NOW,
    )
    told: list[tuple[str, int, int]] = []
    write_package(store, folder, tmp_path / "out", NOW, lambda *so_far: told.append(so_far))
    assert ("visits", 3, 3) in told
    rows = {row["trap"]: row for row in table(tmp_path / "out", "visits")}
    assert [(rows[t]["count"], rows[t]["no_reading"]) for t in ("A1", "A2", "A3")] == [
        ("0", ""),
        ("", "down"),
        ("", ""),
    ]


def table(package: Path, name: str) -> list[dict[str, str]]:
    with (package / "data" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# --- hostile text --------------------------------------------------------------------------------------------------


@given(texts)
def test_every_cell_is_harmless_and_gives_its_text_back(text: str) -> None:
    cell = safe_cell(text)
    assert plain_text(cell) == text
    assert not re.match(r"\s*[=+\-@\t\r＝＋－＠]", cell)
    assert not any(unicodedata.category(char) in {"Cc", "Zl", "Zp"} or char in "\u202e\u2066\u200f" for char in cell)


@given(st.lists(texts.filter(str.strip), min_size=5, max_size=5))
@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_hostile_words_go_through_the_package_and_come_back(
    tmp_path_factory: pytest.TempPathFactory, words: list[str]
) -> None:
    base = tmp_path_factory.mktemp("hostile")
    there_and_back(base, words)


def test_the_worst_words_go_through_the_package_and_come_back(tmp_path: Path) -> None:
    there_and_back(tmp_path, list(WORST))
    assert frictionless.validate(str(tmp_path / "out" / "datapackage.json")).flatten(["title", "message"]) == []


def there_and_back(base: Path, words: list[str]) -> None:
    """Put words wherever people can write some, export, look at the files, import, and compare."""
    note, reason, scout, how, grower = words[:5]
    farm = write_folder(base / "farm")
    with (farm / "farms.csv").open("w", encoding="utf-8", newline="") as file:
        row = ("HF", "Hollow Farm", " ".join(grower.replace("\0", "").split()))
        csv.writer(file, quoting=csv.QUOTE_ALL).writerows((("farm", "name", "grower"), row))
    with closing(open_folder(farm, now=NOW).conn) as conn:
        author = Author(scout, "truck")
        (visit,) = record(conn, [Visit(trap="A1", read_on=date(2026, 5, 18), count=4, note=note)], author, NOW)
        record(conn, [replace(visit, count=5, replaces=visit.id, reason=reason)], author, NOW)
        days = (date(2026, 5, 17) - timedelta(days=at) for at in range(len(words)))
        more = [Visit(trap="A1", read_on=day, count=1, note=word) for day, word in zip(days, words[5:], strict=False)]
        record(conn, more, author, NOW)
        record(conn, [StageSeen(block="N", seen_on=date(2026, 5, 18), code="65")], author, NOW)
        notified = Notified(
            block="N",
            species="CM",
            round_on=date(2026, 5, 18),
            status="over",
            notified_on=date(2026, 5, 18),
            by=note,
            how=how,
        )
        record(conn, [notified], author, NOW)
        write_package(conn, farm, base / "out", NOW)
    for path in (base / "out" / "data").glob("*.csv"):
        content = path.read_bytes().decode()
        assert not any(unicodedata.category(char) == "Cc" for char in content.replace("\r\n", ""))
        for row in csv.reader(content.splitlines()):
            assert not any(re.match(r"\s*[=+@]|-(?![0-9.]+$)", cell) for cell in row)
    import_package(base / "again", base / "out", NOW)
    days = [date(2026, 5, 18)]
    assert summaries(base / "again", days)[1:] == summaries(farm, days)[1:]


# --- what is refused -----------------------------------------------------------------------------------------------


def make_small(base: Path) -> None:
    farm = write_folder(base / "farm")
    with closing(open_folder(farm, now=NOW).conn) as conn:
        record(conn, [Visit(trap="A1", read_on=date(2026, 5, 18), count=4)], ADA, NOW)
        write_package(conn, farm, base / "out", NOW)


@pytest.fixture
def small_package(tmp_path: Path) -> Path:
    """A package of one count, its folder beside it."""
    shutil.copytree(made_once("small-package", make_small), tmp_path, dirs_exist_ok=True)
    return tmp_path / "out"


@pytest.fixture
def package(tmp_path: Path, small_package: Path) -> Iterator[Path]:
    """A package that tests spoil; whatever they do, no folder may come of it."""
    yield small_package
    assert sorted(path.name for path in tmp_path.iterdir()) == ["farm", "out"]


def refused(package: Path) -> str:
    with pytest.raises((RefusedError, ProblemsError)) as caught:
        import_package(package.parent / "new", package, NOW)
    return caught.value.message


def descriptor(package: Path, **changes: object) -> None:
    path = package / "datapackage.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


def reseal(package: Path, name: str, content: bytes) -> None:
    """Change a table, and the descriptor with it, as someone would who means it."""
    (package / "data" / f"{name}.csv").write_bytes(content)
    said = json.loads((package / "datapackage.json").read_text())
    for resource in said["resources"]:
        if resource["name"] == name:
            resource |= {"bytes": len(content), "hash": f"sha256:{hashlib.sha256(content).hexdigest()}"}
    (package / "datapackage.json").write_text(json.dumps(said))


def test_a_changed_table_is_refused(package: Path) -> None:
    path = package / "data" / "visits.csv"
    path.write_bytes(path.read_bytes().replace(b",4,", b",9,"))
    assert refused(package).endswith("data/visits.csv was changed since it was exported")


def test_a_changed_entry_is_refused_even_where_the_descriptor_was_changed_with_it(package: Path) -> None:
    reseal(package, "visits", (package / "data" / "visits.csv").read_bytes().replace(b",4,", b",9,"))
    assert "is not what its digest was made of" in refused(package)


def test_a_missing_table_is_refused(package: Path) -> None:
    (package / "data" / "traps.csv").unlink()
    assert "is incomplete: data/traps.csv" in refused(package)


def test_a_folder_without_a_package_is_refused(package: Path) -> None:
    (package / "datapackage.json").unlink()
    assert refused(package).endswith("holds no datapackage.json")


@pytest.mark.parametrize(
    ("content", "words"),
    [("{", "is no JSON"), ("[" * 9999, "is no JSON"), ("[]", "is no JSON object"), ("{}", "none of roundtui")],
)
def test_a_descriptor_that_is_none_is_refused(package: Path, content: str, words: str) -> None:
    (package / "datapackage.json").write_text(content)
    assert words in refused(package)


def test_a_newer_package_is_refused(package: Path) -> None:
    descriptor(package, roundtui={"form": 2, "schema": 1})
    assert "was written by a newer roundtui" in refused(package)


def test_resources_that_are_none_are_refused(package: Path) -> None:
    descriptor(package, resources="all of them")
    assert "lists no resources" in refused(package)


def test_a_path_that_leads_elsewhere_is_refused(package: Path) -> None:
    said = json.loads((package / "datapackage.json").read_text())
    said["resources"][0]["path"] = "../../etc/passwd"
    descriptor(package, resources=said["resources"])
    assert "leads elsewhere" in refused(package)


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (b"trap,block", b"trap,blok", "line 1 of data/traps.csv: its columns are not"),
        (b"A1,N,", b"A1,N,CM,", "line 2 of data/traps.csv: 18 fields where the header has 17"),
        (b",no,", b",perhaps,", "cannot be imported"),
        (b"A1,N", b"A\\q,N", "line 2 of data/traps.csv: a backslash that escapes nothing"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused(package: Path, before: bytes, after: bytes, words: str) -> None:
    reseal(package, "traps", (package / "data" / "traps.csv").read_bytes().replace(before, after, 1))
    assert words in refused(package)


def test_set_up_that_cannot_be_is_refused_with_its_line(package: Path) -> None:
    reseal(package, "traps", (package / "data" / "traps.csv").read_bytes().replace(b"A3,N,", b"A3,NN,", 1))
    with pytest.raises(ProblemsError) as caught:
        import_package(package.parent / "new", package, NOW)
    assert [problem.where for problem in caught.value.problems] == ["traps.csv, line 4, block"]


def test_a_folder_that_holds_something_is_left_alone(package: Path) -> None:
    with pytest.raises(RefusedError, match="is there already"):
        import_package(package.parent / "farm", package, NOW)


def test_an_empty_folder_is_filled_and_a_strange_resource_named(tmp_path: Path, small_package: Path) -> None:
    package = small_package
    said = json.loads((package / "datapackage.json").read_text())
    descriptor(package, resources=[*said["resources"], {"name": "diary", "path": "diary.csv"}])
    (tmp_path / "new").mkdir()
    done, rows, _ = import_package(tmp_path / "new", package / "datapackage.json", NOW)
    assert (rows["visits"], done.strangers) == (1, ("diary",))


def test_a_place_that_cannot_be_written_is_told(store: sqlite3.Connection, folder: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreError, match="cannot be written"):
        write_package(store, folder, tmp_path / "file", NOW)


def test_an_export_over_an_old_one_leaves_nothing_of_it(make_folder: MakeFolder, tmp_path: Path) -> None:
    rule = '[[rule]]\nid="a"\nspecies="CM"\nkind="mean"\nlow=1\nhigh=2\nsource="x"\ndate=2026-01-01\n'
    farm = make_folder(thresholds=rule)
    with closing(open_folder(farm, now=NOW).conn) as conn:
        write_package(conn, farm, tmp_path / "out", NOW)
        assert (tmp_path / "out" / "data" / "thresholds.toml").read_text() == rule
    (farm / "thresholds.toml").unlink()
    with closing(open_folder(farm, now=NOW).conn) as conn:
        write_package(conn, farm, tmp_path / "out", NOW)
    assert not (tmp_path / "out" / "data" / "thresholds.toml").exists()
    assert not list((tmp_path / "out").rglob("*unfinished*"))


def test_the_package_is_no_scouting_folder(package: Path) -> None:
    """Whoever opens it by mistake is told, and makes no store of texts that are escaped."""
    with pytest.raises(StoreError, match="holds no scouting programme"):
        open_folder(package, now=NOW)


def test_the_digest_of_an_entry_can_be_worked_out_from_its_row(sample: Path) -> None:
    """As ``docs/open-files.md`` says it is made."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as conn:
        migrate(conn)
        tables = [member for member in members(conn) if member.journal is not None]
    checked = set()
    for member in tables:
        fields = dict(zip(member.columns, member.fields, strict=True))
        for row in table(sample / "out", member.name):
            assert member.journal is not None
            digest = row.pop("sha256")
            read = {column: fields[column].read(plain_text(cell)) for column, cell in row.items()}
            said = {key: one for key, one in read.items() if not fields[key].optional or one != fields[key].default}
            said |= {"kind": member.journal.kind}
            text = json.dumps(said, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
            assert hashlib.sha256(text.encode()).hexdigest() == digest
            checked.add(member.journal.kind)
    assert checked >= {"visit", "stage", "notified", "withdrawal"}


def test_a_package_of_an_older_program_lacks_what_came_later_and_is_taken(tmp_path: Path, small_package: Path) -> None:
    package = small_package
    said = json.loads((package / "datapackage.json").read_text())
    (package / "data" / "questions.csv").unlink()
    older = [resource for resource in said["resources"] if resource["name"] != "questions"]
    descriptor(package, resources=older, roundtui={"form": 1, "schema": 0})
    assert import_package(tmp_path / "new", package, NOW)[1]["visits"] == 1


def test_a_correction_without_the_entry_it_corrects_is_refused(tmp_path: Path, small_package: Path) -> None:
    package = small_package
    farm = tmp_path / "farm"
    with closing(open_store(farm, now=NOW)) as conn:
        (row,) = journal_rows(conn, date(2026, 5, 18), date(2026, 5, 18))
        assert isinstance(row.entry, Visit)
        record(conn, [replace(row.entry, count=5, replaces=row.id, reason="misread")], ADA, NOW)
        write_package(conn, farm, package, NOW)
    lines = (package / "data" / "visits.csv").read_bytes().splitlines(keepends=True)
    reseal(package, "visits", b"".join([lines[0], lines[2]]))
    assert "which is neither in it nor on record" in refused(package)


def test_an_entry_about_a_trap_that_is_not_in_the_package_is_refused(package: Path) -> None:
    for name in ("traps", "routes", "set_up_changes"):
        lines = (package / "data" / f"{name}.csv").read_bytes().splitlines(keepends=True)
        reseal(package, name, b"".join(line for line in lines if b"A1" not in line))
    assert "there is no trap A1 here" in refused(package)


def test_what_is_recorded_during_an_export_is_not_in_half_of_it(store: sqlite3.Connection, folder: Path) -> None:
    with one_view(store), closing(open_store(folder, now=NOW)) as other:
        before = store.execute("SELECT count(*) FROM visits").fetchone()
        record(other, [Visit(trap="A1", read_on=date(2026, 5, 18), count=4)], ADA, NOW)
        assert store.execute("SELECT count(*) FROM visits").fetchone() == before
    assert store.execute("SELECT count(*) FROM visits").fetchone() != before


def test_a_file_that_was_not_finished_leaves_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "calendar.ics"
    write_whole(path, "old")
    with pytest.raises(KeyboardInterrupt), whole_file(path) as file:  # noqa: PT012
        file.write(b"half of the new")
        raise KeyboardInterrupt
    assert [(found.name, found.read_text()) for found in tmp_path.iterdir()] == [("calendar.ics", "old")]
    with whole_file(path) as file:
        file.write(b"new")
        file.flush()
        assert path.read_text() == "old"
    assert path.read_text() == "new"


def test_no_unfinished_file_is_written_through_a_link(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else who may write to the folder lays links where names can be guessed."""
    outside = tmp_path / "outside.txt"
    outside.write_text("mine")
    monkeypatch.setattr(os, "urandom", lambda _: b"seen")
    (tmp_path / f".calendar.ics.unfinished-{os.getpid()}-{b'seen'.hex()}").symlink_to(outside)
    with pytest.raises(StoreError, match="cannot be written"):
        write_whole(tmp_path / "calendar.ics", "new")
    assert outside.read_text() == "mine"


def test_what_a_killed_run_left_is_taken_away_by_the_next(tmp_path: Path) -> None:
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    left = [tmp_path / f".calendar.ics.unfinished-{gone.pid}-{one}" for one in ("a", "a-journal")]
    running = tmp_path / f".calendar.ics.unfinished-{os.getpid()}-b"
    for path in (*left, running):
        path.touch()
    write_whole(tmp_path / "calendar.ics", "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == [running.name, "calendar.ics"]


def test_so_is_the_folder_that_a_killed_merge_or_bring_unpacked_into(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    left = tmp_path / f".roundtui.unfinished-{gone.pid}-a"
    left.mkdir()
    (left / "roundtui.db").write_text("names and telephones")
    with scratch() as place:
        assert [path for path in tmp_path.iterdir() if path != place] == []
        assert os.name == "nt" or place.stat().st_mode & 0o077 == 0
    assert list(tmp_path.iterdir()) == []


def test_a_package_carries_what_was_said_and_who_declined(
    store: sqlite3.Connection, folder: Path, tmp_path: Path
) -> None:
    """A farm that declined, a template, a released week: none is forgotten with the move to another laptop."""
    (folder / "letters.toml").write_text('[area]\ndeclined = ["HF"]\n')
    (folder / "templates").mkdir()
    (folder / "templates" / "letter.txt").write_text("Dear {{ farm }}")
    (folder / RELEASED).write_text('{"season": 2026}\n')
    (folder / "forecast.csv").write_text("station,date,tmin,tmax\n")
    put_setting(store, "letter/2026-05-20/x/HF", "{}")
    put_setting(store, "scout", "Ada")
    write_package(store, folder, tmp_path / "out", NOW)
    done, *_ = import_package(tmp_path / "new", tmp_path / "out", NOW)
    assert done.missing == ()
    for name in ("letters.toml", "templates/letter.txt", RELEASED, "forecast.csv"):
        assert (tmp_path / "new" / name).read_bytes() == (folder / name).read_bytes()
    with closing(open_store(tmp_path / "new", now=NOW)) as conn:
        assert setting(conn, "letter/2026-05-20/x/HF") == "{}"
        assert setting(conn, "scout") is None
        assert [name for (name,) in conn.execute("SELECT name FROM files WHERE name LIKE 'letters%'")]
    (folder / "templates" / "letter.txt").unlink()
    write_package(store, folder, tmp_path / "out", NOW)
    assert not (tmp_path / "out" / "data" / "templates" / "letter.txt").exists()


def test_a_package_of_an_older_program_is_said_to_lack_what_was_published(tmp_path: Path, small_package: Path) -> None:
    package = small_package
    said = json.loads((package / "datapackage.json").read_text())
    del said["roundtui"]["whole"]
    said["resources"] = [one for one in said["resources"] if one["name"] != "kept"]
    (package / "datapackage.json").write_text(json.dumps(said))
    assert sorted(import_package(tmp_path / "new", package, NOW)[0].missing) == ["kept.json", "letters.toml", RELEASED]
