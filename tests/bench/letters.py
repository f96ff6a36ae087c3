"""Letters of many farms with charts: time of each part of a letter beside a bare render of its template, and memory.

python tests/bench/letters.py [FARMS]
"""

from __future__ import annotations

import multiprocessing
import random
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from markupsafe import Markup

from roundtui.domain.entries import StageSeen, Visit
from roundtui.report.charts import png
from roundtui.report.letters import template as forms
from roundtui.report.letters.compose import compose
from roundtui.report.letters.files import write_letters
from roundtui.report.letters.mail import svg
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates
from roundtui.store.connect import open_store
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.set_up.load import load_folder

FIRST = date(2031, 4, 28)
WEEKS = 12
NOW = datetime(2031, 12, 1, tzinfo=UTC)


def build(folder: Path, farms: int) -> None:
    """So many farms with two blocks of three traps, read weekly in two seasons."""
    folder.mkdir()
    blocks = [(f"B{at}{part}", f"F{at}") for at in range(farms) for part in "NS"]
    traps = [(f"{block}{at}", block) for block, _ in blocks for at in (1, 2, 3)]
    hung = ((FIRST - timedelta(days=7 + 364), FIRST - timedelta(days=250)), (FIRST - timedelta(days=7), ""))
    files = {
        "farms.csv": [
            "farm,name,grower,email",
            *(f"F{at},Farm {at},Grower {at},f{at}@x.example" for at in range(farms)),
        ],
        "blocks.csv": ["block,farm,name,crop", *(f"{block},{farm},Block {block},apple" for block, farm in blocks)],
        "lures.csv": ["lot,species,life_days", "LC,CM,200"],
        "traps.csv": [
            "trap,block,species,style,hung_on,down_on",
            *(f"{trap},{block},CM,delta,{up},{down}" for up, down in hung for trap, block in traps),
        ],
        "routes.csv": ["route,position,trap", *(f"R{at % 20},{at},{trap}" for at, (trap, _) in enumerate(traps))],
    }
    for name, lines in files.items():
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    conn = open_store(folder, now=NOW)
    load_folder(conn, folder, NOW)
    chance = random.Random(1)
    for year in (-364, 0):
        for week in range(WEEKS):
            on = FIRST + timedelta(days=7 * week + year)
            entries: list[Visit | StageSeen] = [
                Visit(trap=trap, read_on=on, count=chance.randint(0, 9)) for trap, _ in traps
            ]
            entries += [StageSeen(block=block, seen_on=on, code="71") for block, _ in blocks]
            record(conn, entries, Author("Bench", "bench"), NOW)
    conn.close()


def milliseconds(work: Callable[[], object], times: int = 25) -> float:
    """Median of so many runs. [ms]"""
    found = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        found.append(time.perf_counter() - began)
    return statistics.median(found) * 1e3


def megabytes() -> float:
    """Memory held now; where the system does not say, the most held so far. [MB]"""
    pages = Path("/proc/self/statm")
    if pages.exists():
        return int(pages.read_text().split()[1]) * resource.getpagesize() / 2**20
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main(farms: int) -> None:
    """Write all letters, then time the parts of one."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "farm"
        on = FIRST + timedelta(days=7 * (WEEKS - 1))
        # In a process of its own, so that its memory is not counted here.
        maker = multiprocessing.get_context("spawn").Process(target=build, args=(folder, farms))
        maker.start()
        maker.join()
        conn = open_store(folder, now=NOW)
        began = time.perf_counter()
        material = read_material(conn, folder, on, read_office(folder))
        print(
            f"reading what {farms} letters are made from   {time.perf_counter() - began:6.2f} s, {megabytes():.0f} MB"
        )
        templates = Templates(folder)
        held: dict[int, float] = {}

        began = time.perf_counter()
        notes = dict.fromkeys(material.farms, "A note")
        for done, _ in enumerate(
            write_letters(conn, material, templates, folder / "out", notes=notes, by="B", now=lambda: NOW), 1
        ):
            if done in (farms // 5, farms):
                held[done] = megabytes()
        each = (time.perf_counter() - began) / farms * 1e3
        letter = compose(material, material.farms[0], note="A note")
        picture = Markup("<svg></svg>")
        bare = milliseconds(lambda: templates.page("letter.html", forms._values(letter, lambda _: picture)))
        parts = {
            "bare render of the template": lambda: templates.page(
                "letter.html", forms._values(letter, lambda _: picture)
            ),
            "putting the letter together": lambda: compose(material, material.farms[0], note="A note"),
            "page, pictures drawn in it": lambda: forms.letter_html(letter, templates),
            "text": lambda: forms.letter_text(letter, templates),
            "pictures as PNG, for the mail": lambda: [png(svg(one)) for one in letter.pictures],
            "drawing them": lambda: [svg(one) for one in letter.pictures],
        }
        for name, work in parts.items():
            took = milliseconds(work)
            print(f"{name:32} {took:7.1f} ms   {took / bare:5.1f} times the bare render")
        print(f"{'whole letter: page, text, mail':32} {each:7.1f} ms   {each / bare:5.1f} times the bare render")
        print(f"memory held after {', after '.join(f'{done} letters {mb:.0f} MB' for done, mb in held.items())}")
        conn.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
