"""Faults on purpose, and what they cost: ``python -m tests.long.faults PART [HOW_MANY [SEED]]``; the suite takes a few.

Parts: ``exchange`` (laptops that meet, restore older backups and lose the shared folder).
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from contextlib import closing, suppress
from datetime import timedelta
from pathlib import Path
from random import Random

from roundtui.domain.entries import Visit
from roundtui.errors import RefusedError
from roundtui.store.against import entries_of
from roundtui.store.backup import restore
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.exchange.exchange import exchange
from roundtui.store.exchange.merge import merge
from roundtui.store.journal import Author, record
from tests.conftest import NOW
from tests.store.laptops import ON, rows_of, template

LAPTOPS = ("truck", "van", "desk")
TRAPS = ("A1", "A2", "A3", "A4")


class Meeting:
    """Some laptops, each with a folder and a state of its own, and the folder they share.

    Args:
        place: An empty folder.
        rng: What happens next.
    """

    def __init__(self, place: Path, rng: Random) -> None:
        self.place, self.rng, self.shared = place, rng, place / "shared"
        self.now = NOW
        self.entered: set[str] = set()
        self.shared.mkdir()
        for name in LAPTOPS:
            (place / name).mkdir()
            shutil.copy(template(), place / name / DB_NAME)

    def enter(self, name: str, trap: str | None = None) -> str:
        """A count at a trap; gives its id."""
        self.now += timedelta(seconds=1)
        visit = Visit(trap=trap or self.rng.choice(TRAPS), read_on=ON, count=self.rng.randrange(9), recount=True)
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        with closing(open_store(self.place / name, now=self.now)) as conn:
            conn.execute("PRAGMA synchronous = OFF")
            (done,) = record(conn, [visit], Author(f"scout of {name}", name), self.now)
        self.entered.add(str(done.id))
        return str(done.id)

    def exchange(self, name: str) -> None:
        """One pass on a laptop: nothing that lay in the shared folder is gone from it, and all of it is known here."""
        before = self.in_shared()
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        with closing(open_store(self.place / name, now=self.now)) as conn:
            report = exchange(conn, self.place / name, self.shared, device=name, now=self.now)
            known = set(rows_of(conn))
        assert not report.refused, report.refused
        assert before <= self.in_shared() <= known

    def in_shared(self) -> set[str]:
        """Ids that the sound bundles of the shared folder hold."""
        found: set[str] = set()
        for bundle in self.shared.iterdir():
            with suppress(RefusedError):
                found |= {held.id for held in entries_of(bundle)}
        return found

    def backup(self, name: str) -> None:
        """A backup of a laptop's store."""
        with closing(open_store(self.place / name, now=self.now)) as conn:
            conn.execute("VACUUM INTO ?", (str(self.place / f"{name}-{self.rng.random()}.db"),))

    def restore(self, name: str) -> None:
        """Any earlier backup put in place."""
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        self.now += timedelta(seconds=1)
        if backups := sorted(self.place.glob(f"{name}-*.db")):
            restore(self.place / name, self.rng.choice(backups), self.now)

    def put_back_by_hand(self, name: str) -> None:
        """An earlier backup copied over the store, as people do; what was there goes to a stick."""
        if backups := sorted(self.place.glob(f"{name}-*.db")):
            (self.place / name / DB_NAME).rename(self.place / name / f"roundtui-before-restore-{self.rng.random()}.db")
            shutil.copy(self.rng.choice(backups), self.place / name / DB_NAME)

    def lose_shared(self, name: str) -> None:
        """The shared folder is set up anew, empty."""
        shutil.rmtree(self.shared)
        self.shared.mkdir()

    def tear(self, name: str) -> None:
        """A bundle in the shared folder is cut short."""
        if bundles := sorted(self.shared.iterdir()):
            torn = self.rng.choice(bundles)
            torn.write_bytes(torn.read_bytes()[: self.rng.randrange(2000)])

    def known(self, name: str) -> set[str]:
        """Ids on record on a laptop."""
        with closing(open_store(self.place / name, now=self.now)) as conn:
            return set(rows_of(conn))

    def settle(self) -> None:
        """What restoring kept is merged back on each laptop, and all meet twice."""
        for name in LAPTOPS:
            with closing(open_store(self.place / name, now=self.now)) as conn:
                for kept in sorted((self.place / name).glob("roundtui-before-restore-*.db")):
                    merge(conn, [kept])
        for name in (*LAPTOPS, *LAPTOPS):
            self.exchange(name)


def meet_at_random(place: Path, rng: Random, steps: int = 20) -> tuple[int, dict[str, int]]:
    """A season of laptops that meet, restore and lose; gives how much was entered, and what each lacks in the end."""
    meeting = Meeting(place, rng)
    acts = [meeting.enter, meeting.exchange, meeting.backup, meeting.restore, meeting.put_back_by_hand]
    for _ in range(steps):
        act = rng.choices([*acts, meeting.lose_shared, meeting.tear], weights=(8, 8, 3, 2, 1, 1, 1))[0]
        act(rng.choice(LAPTOPS))
    meeting.settle()
    return len(meeting.entered), {name: len(meeting.entered - meeting.known(name)) for name in LAPTOPS}


def run_exchange(many: int, seed: int) -> None:
    """Meetings at random."""
    entered = lost = 0
    for number in range(many):
        with tempfile.TemporaryDirectory() as place:
            some, lacking = meet_at_random(Path(place), Random(seed + number))
        entered, lost = entered + some, lost + sum(lacking.values())
        if any(lacking.values()):
            print(f"seed {seed + number}: {lacking}")
    print(f"exchange: {many} meetings of three laptops, {entered} entries, {lost} missing on a laptop in the end")


if __name__ == "__main__":
    part, *numbers = sys.argv[1:]
    many, seed = (*map(int, numbers), 100, 1)[:2] if len(numbers) < 2 else map(int, numbers)
    {"exchange": run_exchange}[part](many, seed)
