"""No letter holds a word of another farm, whatever happened between farms: a swap, a move, two counts, a correction."""

from __future__ import annotations

import random
import re
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.report.letters.compose import compose
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates, letter_html, letter_text
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.set_up.columns import BY_NAME
from roundtui.store.set_up.register import carry_out, moved, row_of
from tests.conftest import write_folder

NOW = datetime(2031, 7, 1, 16, tzinfo=UTC)
ON = date(2031, 6, 30)
HUNG = date(2031, 4, 28)
FARMS = {"QAV": "Velden", "QBO": "Orrin", "QCU": "Ulmet"}
"""Code and name of each farm; its grower, phone, blocks and traps are made of them."""
SPECIES = ("CM", "OFM", "OBLR")


def words_of(farm: str) -> set[str]:
    """What tells a farm: its code and name, grower, phone, and the labels of its blocks and traps."""
    at = list(FARMS).index(farm)
    blocks = {f"{farm}N", f"{farm}S"}
    traps = {f"{block}{species}{number}" for block in blocks for species in SPECIES for number in (1, 2)}
    return {farm, FARMS[farm], f"{FARMS[farm]}grower", f"555-01{at}7", *blocks, *traps}


def programme(folder: Path) -> Path:
    blocks = [(f"{farm}{side}", farm) for farm in FARMS for side in "NS"]
    traps = [(f"{b}{s}{n}", b, s) for b, _ in blocks for s in SPECIES for n in (1, 2)]
    return write_folder(
        folder,
        farms="farm,name,grower,phone\n"
        + "".join(f"{farm},{name},{name}grower,555-01{at}7\n" for at, (farm, name) in enumerate(FARMS.items())),
        blocks="block,farm,name,crop\n" + "".join(f"{b},{f},{b} field,apple\n" for b, f in blocks),
        lures="lot,species,life_days\n" + "".join(f"{s}X,{s},400\n" for s in SPECIES),
        traps="trap,block,species,style,hung_on,row,tree,lat,lon\n"
        + "".join(f"{t},{b},{s},delta,{HUNG},{place(b, at)}\n" for at, (t, b, s) in enumerate(traps)),
        routes="route,position,trap\n" + "".join(f"all,{at},{t}\n" for at, (t, _, _) in enumerate(traps)),
    )


def place(block: str, at: int) -> str:
    """Row and tree, or latitude and longitude in every second block; side by side over all farms."""
    return f"{at},{at % 7},," if block.endswith("N") else f",,-48.{8700 + at},-123.{3900 + at}"


def season(folder: Path, seed: int) -> dict[str, set[str]]:
    """Nine weeks of counts, with lures swapped, moths recounted, bodies lent and counts corrected between farms.

    A trap in three weeks moves to a block of another farm: from then on its label is a word of both.
    """
    chance = random.Random(seed)
    moved_to: dict[str, set[str]] = {farm: set() for farm in FARMS}
    with closing(open_folder(programme(folder), now=NOW).conn) as conn:
        traps = [row[0] for row in conn.execute("SELECT trap FROM traps ORDER BY trap")]
        ada, bo = Author("Ada", "truck"), Author("Bo", "car")
        for week in range(1, 10):
            day = HUNG + timedelta(days=7 * week)
            visits = [Visit(trap=trap, read_on=day, count=chance.choice((0, 0, 1, 3, 9, 40))) for trap in traps]
            one, other = chance.sample(range(len(traps)), 2)
            swapped = {one: traps[other][4:-1], other: traps[one][4:-1]}
            visits = [
                replace(visit, lure=f"{swapped[at]}X") if at in swapped and week < 9 else visit
                for at, visit in enumerate(visits)
            ]
            lent = chance.randrange(len(traps))
            visits[lent] = replace(visits[lent], body="LENT1")
            recorded = record(conn, visits, ada, NOW)
            twice, wrong = chance.sample(range(len(traps)), 2)
            record(conn, [Visit(trap=traps[twice], read_on=day, count=chance.randint(0, 50))], bo, NOW)
            fixed = replace(recorded[wrong], count=chance.randint(0, 50), replaces=recorded[wrong].id, reason="a slip")
            record(conn, [replace(fixed, id="")], ada, NOW)
            if week % 3 == 1:
                here = row_of(conn, BY_NAME["traps.csv"], chance.choice(traps))
                farm = chance.choice([one for one in FARMS if not str(here["block"]).startswith(one)])
                change = moved(here, {"block": f"{farm}{chance.choice('NS')}"}, day + timedelta(days=1), "to the wind")
                carry_out(conn, change, ada, NOW)
                moved_to[farm].add(str(here["trap"]))
    return moved_to


def pages(folder: Path) -> dict[str, str]:
    """Page and text of every farm's letter of the last day."""
    with closing(open_folder(folder, now=NOW).conn) as conn:
        material = read_material(conn, folder, ON, read_office(folder))
        letters = {farm: compose(material, farm) for farm in FARMS}
    return {farm: letter_html(one, Templates()) + letter_text(one, Templates()) for farm, one in letters.items()}


def foreign(farm: str, page: str) -> set[str]:
    """Words of other farms in a letter."""
    found = set(re.findall(r"[\w-]+", page))
    return {word for other in FARMS if other != farm for word in words_of(other) if word in found}


@pytest.mark.parametrize("seed", range(6))
def test_no_letter_says_a_word_of_another_farm(tmp_path: Path, seed: int) -> None:
    moved_to = season(tmp_path / "farm", seed)
    found = pages(tmp_path / "farm")
    said = {farm: foreign(farm, page) - moved_to[farm] for farm, page in found.items()}
    assert said == {farm: set() for farm in FARMS}
    assert all(farm in found[farm] for farm in FARMS)
    # Maps of its own blocks stand in each, without a coordinate of anybody.
    assert all(found[farm].count("catch of each trap a week") >= 2 and " m east, " in found[farm] for farm in FARMS)
    assert not any(re.search(r"48\.8|123\.\d{4}", page) for page in found.values())


def test_lures_swapped_between_two_farms_are_told_to_each_of_its_own_trap(tmp_path: Path) -> None:
    folder = programme(tmp_path / "farm")
    day = ON - timedelta(days=7)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        swap = [Visit(trap="QAVNCM1", read_on=day, count=2, lure="OFMX")]
        swap += [Visit(trap="QBONOFM1", read_on=day, count=1, lure="CMX")]
        record(conn, swap, Author("Ada", "truck"), NOW)
        material = read_material(conn, folder, ON, read_office(folder))
        assert {(row.kind.value, row.partner) for row in material.summary.integrity} == {
            ("swapped-lures", "QBONOFM1"),
            ("swapped-lures", "QAVNCM1"),
        }
        said = " ".join(map(str, compose(material, "QAV").troubles))
        assert "QAVNCM1 (codling moth)" in said
        assert "holds the lure of a trap for oriental fruit moth that is not on this farm" in said
        assert foreign("QAV", said) == set()
