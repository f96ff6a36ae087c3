"""Set-up rows that differ between laptops: listed side by side, settled by a person, and until then nothing changes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import timedelta
from itertools import permutations
from pathlib import Path

import pytest

from roundtui.domain.visits import Visit
from roundtui.errors import RefusedError
from roundtui.store.journal import Author, record
from roundtui.store.parcels.exchange import exchange
from roundtui.store.parcels.form import SET_UP, ParcelError, Why
from roundtui.store.read import programme
from roundtui.store.set_up.conflicts import OpenRow, open_rows
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.load_report import LoadReport
from roundtui.store.set_up.settle import not_in_files, settle_row
from tests.conftest import BLOCKS, FARMS, NOW, TRAPS, write_folder
from tests.store.bad_parcels import closed, opened, with_manifest
from tests.store.laptops import ON, Laptops, summary_of

CY = Author("Cy", "desk")
A1 = "A1,N,CM,delta,2026-04-20"


@pytest.fixture
def three(tmp_path: Path) -> Iterator[Laptops]:
    with ExitStack() as stack:
        yield Laptops(tmp_path, [timedelta()] * 3, stack)


def load(there: Laptops, at: int, **files: str) -> LoadReport:
    """Someone changes set-up files on one laptop, and loads them."""
    return load_folder(there.stores[at], write_folder(there.root / f"laptop-{at}", **files), NOW)


def set_up(conn: sqlite3.Connection) -> object:
    return programme(conn)


def seen(conn: sqlite3.Connection) -> list[tuple[str, str, tuple[str, ...], list[tuple[tuple[str, ...], bool]]]]:
    """What is open: file, row, columns that differ; who has it otherwise, and whether it took the place of ours."""
    return [
        (row.file.name, row.label, row.columns, [(offer.devices, offer.later) for offer in row.offers])
        for row in open_rows(conn)
    ]


def only(conn: sqlite3.Connection) -> OpenRow:
    (row,) = open_rows(conn)
    return row


def test_the_same_set_up_on_both_is_nothing_to_settle(three: Laptops) -> None:
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert three.stores[1].execute("SELECT count(*) FROM rows_offered").fetchone() == (0,)


def test_a_row_changed_on_the_other_laptop_is_listed_and_changes_no_figure(three: Laptops) -> None:
    record(three.stores[1], [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2", "A3")], CY, NOW)
    before, summary = set_up(three.stores[1]), summary_of(three.stores[1])
    load(three, 0, traps=TRAPS.replace(A1, "A1,S,CM,delta,2026-04-20"))
    three.merge(1, three.pack(0))
    assert seen(three.stores[1]) == [("traps.csv", "A1 2026-04-20", ("block",), [(("laptop 0",), True)])]
    assert (set_up(three.stores[1]), summary_of(three.stores[1])) == (before, summary)
    three.merge(0, three.pack(1))
    assert open_rows(three.stores[0]) == ()  # The other is behind, and that is for the other to see.


def test_taking_the_other_row_writes_the_set_up_and_says_that_the_file_should_follow(three: Laptops) -> None:
    load(three, 1)
    load(three, 0, traps=TRAPS.replace(A1, "A1,S,CM,delta,2026-04-20"))
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    settle_row(three.stores[1], row, row.offers[0], CY, NOW)
    assert set_up(three.stores[1]) == set_up(three.stores[0])
    assert open_rows(three.stores[1]) == ()
    (told,) = not_in_files(three.stores[1])
    assert (told.file.name, told.line) == ("traps.csv", "A1,S,CM,delta,,,2026-04-20,,no,,,,,,,,")
    three.merge(1, three.pack(0))
    load(three, 1)  # The file still says otherwise; loaded again, it changes nothing back.
    assert open_rows(three.stores[1]) == ()
    assert set_up(three.stores[1]) == set_up(three.stores[0])
    load(three, 1, traps=TRAPS.replace(A1, "A1,S,CM,delta,2026-04-20"))
    assert not_in_files(three.stores[1]) == ()
    assert open_rows(three.stores[1]) == ()


def test_keeping_what_stands_here_is_asked_once_and_travels(three: Laptops) -> None:
    load(three, 0, farms=FARMS.replace("555-0101", "555-0199"))
    parcel = three.pack(0)
    three.merge(1, parcel)
    settle_row(three.stores[1], only(three.stores[1]), None, CY, NOW)
    three.merge(1, parcel, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert programme(three.stores[1]).farms["HF"].phone == "555-0101"
    kept = three.stores[1].execute("SELECT scout, device FROM rows_settled").fetchall()
    assert kept == [("Cy", "desk")]
    three.merge(0, three.pack(1))
    # There it is asked as well: two people said two things.
    assert [(name, devices) for name, _, _, devices in seen(three.stores[0])] == [
        ("farms.csv", [(("laptop 1",), False)])
    ]
    settle_row(three.stores[0], only(three.stores[0]), None, CY, NOW)
    three.merge(1, three.pack(0))
    three.merge(0, three.pack(1))
    assert open_rows(three.stores[0]) == ()
    assert open_rows(three.stores[1]) == ()
    load(three, 0, farms=FARMS.replace("555-0101", "555-0300"))
    three.merge(1, three.pack(0))
    assert only(three.stores[1]).offers[0].values["phone"] == "555-0300"  # Another word is another question.


def test_a_row_changed_on_both_is_a_conflict_on_both(three: Laptops) -> None:
    for at, phone in ((0, "555-0000"), (1, "555-1111")):
        load(three, at, farms=FARMS.replace("555-0101", phone))
    first, second = three.pack(0), three.pack(1)
    three.merge(1, first)
    three.merge(0, second)
    assert seen(three.stores[0]) == [("farms.csv", "HF", ("phone",), [(("laptop 1",), False)])]
    assert seen(three.stores[1]) == [("farms.csv", "HF", ("phone",), [(("laptop 0",), False)])]
    row = only(three.stores[0])
    settle_row(three.stores[0], row, row.offers[0], CY, NOW)
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert set_up(three.stores[0]) == set_up(three.stores[1])


def test_what_is_settled_two_ways_is_a_conflict_again(three: Laptops) -> None:
    for at, phone in ((0, "555-0000"), (1, "555-1111")):
        load(three, at, farms=FARMS.replace("555-0101", phone))
    parcels = [three.pack(0), three.pack(1)]
    for at in (0, 1):
        three.merge(at, parcels[1 - at])
        settle_row(three.stores[at], only(three.stores[at]), only(three.stores[at]).offers[0], CY, NOW)
    parcels = [three.pack(0), three.pack(1)]
    for at in (0, 1):
        three.merge(at, parcels[1 - at])
        assert [devices for *_, devices in seen(three.stores[at])] == [[((f"laptop {1 - at}",), False)]]
    settle_row(three.stores[0], only(three.stores[0]), None, CY, NOW)
    three.merge(0, parcels[1])
    assert open_rows(three.stores[0]) == ()


def test_parcels_in_any_order_and_any_number_of_times_ask_the_same(three: Laptops) -> None:
    """One laptop changed a row twice, another once; an old parcel of the first is merged as well."""
    load(three, 0, farms=FARMS.replace("555-0101", "555-0001"))
    parcels = [three.pack(0)]
    load(three, 0, farms=FARMS.replace("555-0101", "555-0002"), blocks=BLOCKS + "E,HF,East,pear\n")
    parcels.append(three.pack(0))
    load(three, 1, farms=FARMS.replace("555-0101", "555-0003"))
    parcels.append(three.pack(1))
    asked = []
    for at, order in enumerate(permutations(parcels)):
        three.stores.append(three.open(f"late-{at}"))
        if at % 2:
            three.merge(-1, *order, *order[:1])
        else:
            for parcel in (*order, *order):
                three.merge(-1, parcel)
        tables = [
            three.stores[-1].execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()
            for table in ("rows_offered", "rows_before", "rows_settled")
        ]
        asked.append((seen(three.stores[-1]), tables))
    assert asked == asked[:1] * 6
    phones = [offer.values["phone"] for offer in open_rows(three.stores[-1])[0].offers]
    assert sorted(phones) == ["555-0002", "555-0003"]  # What the first took back itself is not asked about.
    assert [(name, label) for name, label, *_ in asked[0][0]] == [("farms.csv", "HF"), ("blocks.csv", "E")]


def test_a_row_unknown_here_is_offered_with_what_it_needs_and_can_be_left_out(three: Laptops) -> None:
    load(three, 0, blocks=BLOCKS + "E,HF,East,pear\n", traps=TRAPS + "A9,E,CM,delta,2026-05-01\n")
    three.merge(1, three.pack(0))
    block, trap = open_rows(three.stores[1])
    assert (block.label, block.here, trap.label) == ("E", None, "A9 2026-05-01")
    with pytest.raises(RefusedError, match="needs the block E, which is not here"):
        settle_row(three.stores[1], trap, trap.offers[0], CY, NOW)
    settle_row(three.stores[1], block, block.offers[0], CY, NOW)
    settle_row(three.stores[1], trap, None, CY, NOW)
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    known = programme(three.stores[1])
    assert ("E" in known.blocks, "A9" in known.hangings) == (True, False)


def test_a_corrected_date_of_hanging_is_the_same_row_and_stays_so_until_the_file_follows(three: Laptops) -> None:
    load(three, 1)
    load(three, 0, traps=TRAPS.replace(A1, "A1,N,CM,delta,2026-04-18"))
    three.merge(0, three.pack(1))
    assert open_rows(three.stores[0]) == ()
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    assert (row.columns, row.offers[0].later) == (("hung_on",), True)
    settle_row(three.stores[1], row, row.offers[0], CY, NOW)
    assert [str(one.hung_on) for one in programme(three.stores[1]).hangings["A1"]] == ["2026-04-18"]
    load(three, 1, traps=TRAPS + "\n")
    assert [str(one.hung_on) for one in programme(three.stores[1]).hangings["A1"]] == ["2026-04-18"]
    report = load(three, 1, traps=TRAPS.replace(A1, "A1,N,CM,delta,2026-04-18"))
    assert report.remarks == []
    assert (open_rows(three.stores[1]), not_in_files(three.stores[1])) == ((), ())


def test_a_trap_is_not_given_another_species_by_settling(three: Laptops) -> None:
    conn = three.stores[0]
    conn.execute("UPDATE traps SET species = 'OFM' WHERE trap = 'A1'")
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    with pytest.raises(RefusedError, match="A1 is a trap for CM and cannot become one for OFM"):
        settle_row(three.stores[1], row, row.offers[0], CY, NOW)
    assert only(three.stores[1]) == row


def test_what_was_settled_meanwhile_is_not_settled_again(three: Laptops) -> None:
    load(three, 0, farms=FARMS.replace("555-0101", "555-0199"))
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    settle_row(three.stores[1], row, None, CY, NOW)
    with pytest.raises(RefusedError, match=r"farms.csv HF was changed or settled meanwhile"):
        settle_row(three.stores[1], row, row.offers[0], CY, NOW)
    assert programme(three.stores[1]).farms["HF"].phone == "555-0101"


def test_entries_about_a_trap_unknown_here_are_refused_and_the_rows_that_would_do_are_named(three: Laptops) -> None:
    load(three, 0, blocks=BLOCKS + "E,HF,East,pear\n", traps=TRAPS + "A9,E,CM,delta,2026-05-01\n")
    record(three.stores[0], [Visit(trap="A9", read_on=ON, count=4)], CY, NOW)
    with pytest.raises(ParcelError) as caught:
        three.merge(1, three.pack(0))
    assert caught.value.why is Why.PROGRAMME
    assert "add them to traps.csv and load it first; the parcel brings traps.csv: A9,E,CM,delta," in caught.value.hint
    assert "; blocks.csv: E,HF,East,pear," in caught.value.hint
    assert open_rows(three.stores[1]) == ()


def test_a_parcel_without_a_set_up_is_merged_as_before(three: Laptops) -> None:
    record(three.stores[0], [Visit(trap="A1", read_on=ON, count=4)], CY, NOW)
    old = three.pack(0)
    members = {name: content for name, content in opened(old.read_bytes()).items() if name != SET_UP}
    listed = json.loads(members["manifest.json"])["members"]
    del listed[SET_UP]
    old.write_bytes(with_manifest(members=listed, schema=7)(closed(members)))
    assert three.merge(1, old).new == 1
    assert open_rows(three.stores[1]) == ()


def test_the_shared_folder_hands_on_a_changed_row_without_a_new_entry(three: Laptops, tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()

    def meet(at: int) -> object:
        return exchange(three.stores[at], three.root / f"laptop-{at}", shared, device=f"laptop {at}", now=NOW).packed

    assert meet(0) is not None
    assert meet(0) is None
    load(three, 0, farms=FARMS.replace("555-0101", "[/] =1+1"))
    assert meet(0) is not None
    (parcel,) = shared.iterdir()
    three.merge(1, parcel)
    assert only(three.stores[1]).offers[0].values["phone"] == "[/] =1+1"
