"""Set-up rows on several laptops: taken over where one side changed them, settled by a person where both did."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing
from datetime import timedelta
from itertools import permutations
from pathlib import Path

import pytest

from roundtui.domain.entries import SetUpChanged, Visit
from roundtui.errors import RefusedError
from roundtui.store.exchange.exchange import exchange
from roundtui.store.exchange.lines import BundleError, Why
from roundtui.store.exchange.merge import merge
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.set_up.columns import BY_NAME
from roundtui.store.set_up.load import load_folder, write_in_place
from roundtui.store.set_up.load_checks import LoadReport
from roundtui.store.set_up.register import carry_out, edited, row_of
from roundtui.store.set_up.versions import OpenRow, becomes_of, not_in_files, open_rows, record_changes, settle_rows
from tests.conftest import BLOCKS, FARMS, NOW, TRAPS, write_folder
from tests.store.bad_bundles import signed, with_lines
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


def edit(there: Laptops, at: int, file: str, label: str, **typed: str) -> None:
    """Someone changes a row in the register of one laptop."""
    of = BY_NAME[file]
    carry_out(there.stores[at], edited(of, row_of(there.stores[at], of, label), typed, ON), CY, NOW)


def phone(conn: sqlite3.Connection) -> str:
    return programme(conn).farms["HF"].phone


def test_the_same_set_up_on_both_is_one_fact(three: Laptops) -> None:
    """Each of the two loaded its own files, and they say the same."""
    other = three.root / "elsewhere"
    with closing(open_folder(write_folder(other), now=NOW).conn) as conn:
        merge(conn, [three.pack(0)])
        assert open_rows(conn) == ()
        (rows,) = conn.execute("SELECT count(*) FROM set_up_versions").fetchone()
        (entries,) = conn.execute("SELECT count(*) FROM set_up_changes").fetchone()
        assert entries == 2 * rows


def test_a_row_that_only_the_other_changed_is_taken_over_and_the_file_should_follow(three: Laptops) -> None:
    load(three, 1)
    load(three, 0, traps=TRAPS.replace(A1, "A1,S,CM,delta,2026-04-20"))
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert set_up(three.stores[1]) == set_up(three.stores[0])
    (notified,) = not_in_files(three.stores[1])
    assert (notified.file.name, notified.line) == ("traps.csv", "A1,S,CM,delta,,,2026-04-20,,no,,,,,,,,")
    load(three, 1)  # The file still says otherwise; loaded again, it changes nothing back.
    assert set_up(three.stores[1]) == set_up(three.stores[0])
    load(three, 1, traps=TRAPS.replace(A1, "A1,S,CM,delta,2026-04-20"))
    assert not_in_files(three.stores[1]) == ()
    three.merge(0, three.pack(1))
    assert (open_rows(three.stores[0]), open_rows(three.stores[1])) == ((), ())


def test_a_laptop_that_is_behind_takes_nothing_back(three: Laptops) -> None:
    edit(three, 0, "farms.csv", "HF", phone="555-0199")
    three.merge(0, three.pack(1))
    assert (phone(three.stores[0]), open_rows(three.stores[0])) == ("555-0199", ())


def test_a_row_reverted_as_it_was_is_reverted_there_too(three: Laptops) -> None:
    for number in ("555-0199", "555-0101"):
        edit(three, 0, "farms.csv", "HF", phone=number)
        three.merge(1, three.pack(0))
        assert phone(three.stores[1]) == number
    assert open_rows(three.stores[1]) == ()


def test_a_row_changed_on_both_is_a_conflict_on_both_and_changes_no_figure(three: Laptops) -> None:
    record(three.stores[1], [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2", "A3")], CY, NOW)
    edit(three, 0, "traps.csv", "A1", block="S")
    edit(three, 1, "traps.csv", "A1", style="bucket")
    before, summary = set_up(three.stores[1]), summary_of(three.stores[1])
    first, second = three.pack(0), three.pack(1)
    three.merge(1, first)
    three.merge(0, second)
    assert seen(three.stores[1]) == [("traps.csv", "A1 2026-04-20", ("block", "style"), [(("desk",), False)])]
    assert (set_up(three.stores[1]), summary_of(three.stores[1])) == (before, summary)
    row = only(three.stores[0])
    settle_rows(three.stores[0], [(row, row.offers[0])], CY, NOW)
    three.merge(1, three.pack(0))
    assert (open_rows(three.stores[0]), open_rows(three.stores[1])) == ((), ())
    assert set_up(three.stores[0]) == set_up(three.stores[1])


def test_what_is_kept_as_here_is_asked_once_and_travels(three: Laptops) -> None:
    for at, number in ((0, "555-0000"), (1, "555-1111")):
        edit(three, at, "farms.csv", "HF", phone=number)
    three.merge(1, three.pack(0))
    settle_rows(three.stores[1], [(only(three.stores[1]), None)], CY, NOW)
    three.merge(1, three.pack(0))
    three.merge(0, three.pack(1))
    assert [(phone(conn), open_rows(conn)) for conn in three.stores[:2]] == [("555-1111", ())] * 2


def test_the_same_change_on_both_is_nothing_to_settle(three: Laptops) -> None:
    for at in (0, 1):
        edit(three, at, "farms.csv", "HF", phone="555-0000")
    edit(three, 0, "farms.csv", "HF", grower="Bo")
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert programme(three.stores[1]).farms["HF"].grower == "Bo"


def test_what_is_settled_two_ways_is_a_conflict_again(three: Laptops) -> None:
    for at, number in ((0, "555-0000"), (1, "555-1111")):
        edit(three, at, "farms.csv", "HF", phone=number)
    bundles = [three.pack(0), three.pack(1)]
    for at in (0, 1):
        three.merge(at, bundles[1 - at])
        settle_rows(three.stores[at], [(only(three.stores[at]), only(three.stores[at]).offers[0])], CY, NOW)
    bundles = [three.pack(0), three.pack(1)]
    three.merge(0, bundles[1])
    settle_rows(three.stores[0], [(only(three.stores[0]), None)], CY, NOW)
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert phone(three.stores[0]) == phone(three.stores[1])


def test_bundles_in_any_order_and_any_number_of_times_ask_the_same(three: Laptops) -> None:
    """One laptop changed a row twice, another once; an old bundle of the first is merged as well."""
    load(three, 0, farms=FARMS.replace("555-0101", "555-0001"))
    bundles = [three.pack(0)]
    load(three, 0, farms=FARMS.replace("555-0101", "555-0002"), blocks=BLOCKS + "E,HF,East,pear\n")
    bundles.append(three.pack(0))
    load(three, 1, farms=FARMS.replace("555-0101", "555-0003"))
    bundles.append(three.pack(1))
    asked = []
    for at, order in enumerate(permutations(bundles)):
        three.stores.append(three.open(f"late-{at}"))
        if at % 2:
            three.merge(-1, *order, *order[:1])
        else:
            for bundle in (*order, *order):
                three.merge(-1, bundle)
        (row,) = open_rows(three.stores[-1])
        phones = {phone(three.stores[-1]), *(offer.values["phone"] for offer in row.offers if offer.values)}
        asked.append((phones - {"555-0101"}, "E" in programme(three.stores[-1]).blocks))
    # What stands meanwhile goes by what came first; what is asked does not.
    assert asked == [({"555-0002", "555-0003"}, True)] * 6


def test_entries_about_a_trap_unknown_here_come_in_with_its_set_up(three: Laptops) -> None:
    load(three, 0, blocks=BLOCKS + "E,HF,East,pear\n", traps=TRAPS + "A9,E,CM,delta,2026-05-01\n")
    record(three.stores[0], [Visit(trap="A9", read_on=ON, count=4)], CY, NOW)
    three.merge(1, three.pack(0))
    assert open_rows(three.stores[1]) == ()
    assert set_up(three.stores[1]) == set_up(three.stores[0])
    assert summary_of(three.stores[1]) == summary_of(three.stores[0])


def test_a_corrected_date_of_hanging_is_the_same_row_and_stays_so_until_the_file_follows(three: Laptops) -> None:
    load(three, 1)
    load(three, 0, traps=TRAPS.replace(A1, "A1,N,CM,delta,2026-04-18"))
    three.merge(0, three.pack(1))
    three.merge(1, three.pack(0))
    assert [open_rows(conn) for conn in three.stores[:2]] == [(), ()]
    assert [str(one.hung_on) for one in programme(three.stores[1]).hangings["A1"]] == ["2026-04-18"]
    load(three, 1, traps=TRAPS + "\n")
    assert [str(one.hung_on) for one in programme(three.stores[1]).hangings["A1"]] == ["2026-04-18"]
    report = load(three, 1, traps=TRAPS.replace(A1, "A1,N,CM,delta,2026-04-18"))
    assert report.contested == []
    assert (open_rows(three.stores[1]), not_in_files(three.stores[1])) == ((), ())


def test_a_trap_is_not_given_another_species(three: Laptops) -> None:
    """Two laptops hung a trap under one label for two species: it stays what it is here, and entries stay about it."""
    load(three, 0, traps=TRAPS + "A9,N,CM,delta,2026-05-01\n")
    load(three, 1, traps=TRAPS + "A9,N,OFM,delta,2026-05-01\n")
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    with pytest.raises(RefusedError, match="A9 is a trap for OFM and cannot become one for CM"):
        settle_rows(three.stores[1], [(row, row.offers[0])], CY, NOW)
    assert only(three.stores[1]) == row


def test_what_was_settled_meanwhile_is_not_settled_again(three: Laptops) -> None:
    for at, number in ((0, "555-0000"), (1, "555-1111")):
        edit(three, at, "farms.csv", "HF", phone=number)
    three.merge(1, three.pack(0))
    row = only(three.stores[1])
    settle_rows(three.stores[1], [(row, None)], CY, NOW)
    with pytest.raises(RefusedError, match=r"farms.csv HF was changed or settled meanwhile"):
        settle_rows(three.stores[1], [(row, row.offers[0])], CY, NOW)
    assert phone(three.stores[1]) == "555-1111"


def test_a_row_that_no_file_could_say_is_refused(three: Laptops) -> None:
    edit(three, 0, "farms.csv", "HF", phone="555-0199")
    good = three.pack(0)

    def spoil(lines: list[bytes]) -> list[bytes]:
        said = [json.loads(line) for line in lines]
        return [
            signed(one | {"becomes": one["becomes"].replace("555-0199", " \\u0000")})
            if "becomes" in one
            else signed(one)
            for one in said
        ]

    good.write_bytes(with_lines(spoil)(good.read_bytes()))
    with pytest.raises(BundleError) as caught:
        three.merge(1, good)
    assert caught.value.why is Why.LIMITS
    assert phone(three.stores[1]) == "555-0101"


def test_columns_that_only_a_newer_program_knows_go_on_with_the_row(three: Laptops) -> None:
    known = json.loads(becomes_of(three.stores[0], row_version(three.stores[0], "farms.csv", '["HF"]')))
    newer = {**known, "irrigated": "drip", "phone": "555-0199"}
    change = SetUpChanged(
        file="farms.csv",
        row='["HF"]',
        change="edited",
        done_on=ON,
        becomes=json.dumps(newer),
        after=row_version(three.stores[0], "farms.csv", '["HF"]'),
    )
    record_changes(three.stores[0], [change], CY, NOW)
    three.merge(1, three.pack(0))
    assert phone(three.stores[1]) == "555-0199"
    edit(three, 1, "farms.csv", "HF", phone="555-0200")
    said = json.loads(becomes_of(three.stores[1], row_version(three.stores[1], "farms.csv", '["HF"]')))
    assert (said["irrigated"], said["phone"]) == ("drip", "555-0200")


def row_version(conn: sqlite3.Connection, file: str, row: str) -> str:
    sought = "SELECT version FROM set_up_rows WHERE file = ? AND row = ?"
    (version,) = conn.execute(sought, (file, row)).fetchone()
    return str(version)


def test_thresholds_of_the_office_are_the_same_on_every_laptop(three: Laptops) -> None:
    """A rule written on one laptop judges on the other, which has no such file; taken away, it judges nowhere."""
    folders = [three.root / f"laptop-{at}" for at in (0, 1)]
    rule = '[[rule]]\nid = "ours"\nspecies = "CM"\nkind = "mean"\nlow = 2\nhigh = 4\nsource = "us"\ndate = 2026-01-01\n'
    (write_folder(folders[0]) / "thresholds.toml").write_text(rule)
    load_folder(three.stores[0], folders[0], NOW)
    three.merge(1, three.pack(0))
    assert "ours" in {one.id for one in read_office(folders[1]).rules}
    assert read_office(folders[1]) == read_office(folders[0])
    write_folder(folders[1])
    write_in_place(three.stores[1], folders[1], NOW)
    assert (folders[1] / "thresholds.toml").read_text() == rule
    load_folder(three.stores[1], folders[1], NOW)
    (folders[0] / "thresholds.toml").unlink()
    load_folder(three.stores[0], folders[0], NOW)
    three.merge(1, three.pack(0))
    assert "ours" not in {one.id for one in read_office(folders[1]).rules}


def test_the_shared_folder_hands_on_a_changed_row(three: Laptops, tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()

    def meet(at: int) -> object:
        return exchange(three.stores[at], three.root / f"laptop-{at}", shared, device="laptop", now=NOW).packed

    assert meet(0) is not None
    assert meet(0) is None
    load(three, 0, farms=FARMS.replace("555-0101", "[/] =1+1"))
    assert meet(0) is not None
    meet(1)
    assert phone(three.stores[1]) == "[/] =1+1"
    assert len(list(shared.iterdir())) == 2  # Both are called laptop, and neither takes the place of the other.
