"""The sample made ready: all of it recorded, none of it twice, and a round to walk on its running day."""

from __future__ import annotations

import csv
from contextlib import closing

from roundtui.domain.programme.rounds import current_round
from roundtui.store.connect import open_store
from roundtui.store.demo import Demo
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author
from roundtui.store.record.read import programme
from roundtui.store.round.enter import enter_tally
from roundtui.store.set_up.load import load_folder
from tests.sample.conftest import NOW
from tests.sample.make_sample import FOLDER
from tests.sample.programme import RUNNING_DAY, SCOUTS


def test_every_row_is_recorded_with_its_stage(demo: Demo) -> None:
    visits = stages = 0
    for path in (FOLDER / "tallies").glob("2*.csv"):
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
            visits += 1
            stages += bool(row.get("stage"))
    assert visits > 2700
    with closing(open_store(demo.folder, now=NOW)) as conn:
        assert conn.execute("SELECT count(*) FROM present_visits").fetchone()[0] == visits
        assert conn.execute("SELECT count(*) FROM present_stages").fetchone()[0] == stages


def test_loading_and_entering_again_adds_nothing(demo: Demo) -> None:
    with closing(open_store(demo.folder, now=NOW)) as conn:
        again = load_folder(conn, demo.folder, NOW)
        assert again.remarks == []
        assert {(file.added, file.changed) for file in again.files.values()} == {(0, 0)}
        tally = demo.folder / "tallies" / "2025-07-14-south.csv"
        report = enter_tally(conn, tally, Author(SCOUTS["south"], "another laptop"), NOW, RUNNING_DAY)
        assert report.added == 0


def test_the_north_round_of_eighteen_is_due_and_its_scout_is_named(demo: Demo) -> None:
    assert (demo.on, demo.scout) == (RUNNING_DAY, SCOUTS["north"])
    with closing(open_store(demo.folder, now=NOW)) as conn:
        farms = programme(conn)
        visits = history(conn, farms, demo.on, read_office(demo.folder)).visits
    north = current_round(farms.routes["north"], visits, demo.on)
    south = current_round(farms.routes["south"], visits, demo.on)
    assert (len(north.left), north.started_on) == (18, None)
    assert not south.left
