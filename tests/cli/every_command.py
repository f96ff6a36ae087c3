"""One call of every command on a small programme, as somebody would make it, and all that must be ready for it."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import Specimen, Visit
from roundtui.store.backup import copy_store
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.package import write_package
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.set_up.columns import BY_NAME
from roundtui.store.set_up.register import carry_out, moved, row_of
from tests.conftest import BLOCKS, write_folder

TODAY = date.today()  # noqa: DTZ011
WEEK = TODAY - timedelta(days=7)
HUNG = TODAY - timedelta(days=21)
TRAPS = f"trap,block,species,style,hung_on\nA1,N,CM,delta,{HUNG}\nA2,N,CM,delta,{HUNG}\nA3,N,CM,delta,{HUNG}\n"
ROUTES = "route,position,trap\nhome,1,A1\nhome,2,A2\nhome,3,A3\n"
SET_UP = {
    "blocks": BLOCKS.replace("crop\n", "crop,station\n").replace("apple\n", "apple,VALE\n"),
    "stations": "station,name\nVALE,The Vale\n",
    "traps": TRAPS,
    "routes": ROUTES,
    "weather": "station,date,tmin,tmax,unit\n"
    + "".join(f"VALE,{TODAY - timedelta(days=at)},{50 + at % 3},{70 + at % 5},F\n" for at in range(9, 30)),
}
BESIDE = {
    "sheet.csv": f"trap,read_on,count\nA1,{TODAY},4\n",
    "stock.csv": f"lot,stocked_on,event,number\nCM26,{WEEK},bought,20\n",
    "more.csv": f"trap,block,species,hung_on\nB1,N,CM,{HUNG}\n",
    "newer.csv": "station,date,tmin,tmax,unit\n"
    + "".join(f"VALE,{TODAY - timedelta(days=at)},{50 + at % 3},{70 + at % 5},F\n" for at in range(1, 9)),
}


@dataclass(frozen=True, slots=True)
class Ready:
    """A programme with a round on record, and what lies beside it."""

    place: Path
    entry: str
    """Id of a count."""
    change: str
    """Id of a change of the register."""

    def calls(self) -> dict[str, list[object]]:
        """Arguments of each command by its name; ``hub`` but for ``sql`` needs a server, and ``open`` a terminal."""
        at, farm = self.place, self.place / "farm"
        out, by = at / "out", ("--scout", "Ada", "--yes")
        return {
            "agreement": [farm],
            "biofix": [farm, "--confirm", "N", "--species", "CM", "--day", WEEK, "--reason", "seen", *by],
            "bodies": [farm],
            "bring": [farm, at / "more.csv", "--as", "traps", "--yes"],
            "compare": [at / "sheet.csv", at / "sheet.csv"],
            "conflicts": [farm],
            "correct": [farm, self.entry, "5", "--reason", "misread", *by],
            "degree-days": [farm, "--station", "VALE", "--species", "CM", "--from", HUNG, "--to", WEEK - ONE * 3],
            "demo": ["--to", at / "demo", "--no-open"],
            "enter": [farm, at / "sheet.csv", "--scout", "Ada"],
            "exchange": [farm, at / "shared"],
            "export": [farm, "--to", out],
            "finds": [farm, "--near", "CM", "N", "805"],
            "hang": [farm, "B2", "--on", TODAY, "--species", "CM", "--block", "N", *by],
            "history": [farm, self.entry],
            "hub": ["sql"],
            "identify": [farm, "V-1", "lesser appleworm", "--by", "Bo", *by],
            "import": [at / "imported", at / "package"],
            "labels": [farm, "--to", at / "labels.html"],
            "letters": [farm, "--to", out],
            "load": [farm],
            "merge": [farm, at / "van.bundle"],
            "move": [farm, "A3", "--on", TODAY, "--block", "S", *by],
            "new": [at / "new", "--farm", "HF=Hollow Farm"],
            "outlook": [farm],
            "pack": [farm, "--to", at / "some.bundle"],
            "packing": [farm],
            "plan": [farm],
            "quality": [farm],
            "record": ["stock", farm, at / "stock.csv", "--scout", "Ada"],
            "register": [farm],
            "replay": [farm, "--on", TODAY],
            "restore": [farm, at / "older.db"],
            "revert": [farm, self.change, *by],
            "rules": [farm],
            "samples": [farm],
            "season-end": [farm, "--to", out],
            "set-up": [farm, "--to", out],
            "sheet": [farm, "--route", "home", "--to", at / "sheet.html"],
            "stock": [farm],
            "summary": [farm],
            "take-down": [farm, "A2", "--on", TODAY, *by],
            "treatment": [farm, "N", "CM", TODAY, *by],
            "treatments": [farm],
            "update": [farm, "--to", out],
            "verify": [farm, "--against", at / "older.db"],
            "vials": [farm],
            "weather": [farm, at / "newer.csv", "--station", "VALE", "--yes"],
            "withdraw": [farm, self.entry, "--reason", "wrong trap", *by],
            "years": [farm, "--species", "CM"],
        }


ONE = timedelta(days=1)


def ready(place: Path) -> Ready:
    """Make a programme, a bundle of another laptop, a backup and a package.

    Args:
        place: A folder; ``farm`` in it is the programme's.
    """
    now = datetime.now(UTC) - ONE
    van = write_folder(place / "van", **SET_UP)
    with closing(open_folder(van, now=now).conn) as conn:
        record(conn, [Visit(trap="A2", read_on=WEEK, count=1)], Author("Bo", "van"), now)
        pack(conn, place / "van.bundle", "van", now)
    farm = write_folder(place / "farm", **SET_UP)
    for name, text in BESIDE.items():
        (place / name).write_text(text)
    (place / "shared").mkdir()
    with closing(open_folder(farm, now=now).conn) as conn:
        copy_store(conn, place / "older.db")
        ada = Author("Ada", "truck")
        (count,) = record(conn, [Visit(trap="A1", read_on=WEEK, count=3)], ada, now)
        record(conn, [Specimen(trap="A1", read_on=WEEK, what="unknown", number=1, vial="V-1", in_count=True)], ada, now)
        write_package(conn, farm, place / "package", now)
    with closing(open_folder(farm, now=now).conn) as conn:
        change = moved(row_of(conn, BY_NAME["traps.csv"], "A2"), {"row": "7"}, TODAY - ONE)
        changed, *_ = carry_out(conn, change, ada, now)
    return Ready(place, str(count.id), str(changed.id))
