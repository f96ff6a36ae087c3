"""Random stories of laptops at a hub: kills, backups reverted, grants, newer programs, clocks that disagree."""

from __future__ import annotations

import hashlib
import os
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

from roundtui.domain.entries import Visit
from roundtui.errors import RoundtuiError
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME, transaction
from roundtui.store.exchange import reading as staging
from roundtui.store.exchange.lines import row_of
from roundtui.store.hub import exchange as hub_exchange
from roundtui.store.hub.exchange import exchange_with_hub
from roundtui.store.record import lanes as ids
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.lanes import open_next_lane
from roundtui.store.record.rows import canonical
from tests.conftest import NOW
from tests.hub import Hub
from tests.store.laptops import ON, rows_of, template

NAMES = ("truck", "van", "desk")


class KilledError(BaseException):
    """The program is gone, at once."""


@dataclass
class Story:
    """Three laptops and a hub, and all that was ever recorded."""

    hub: Hub
    root: Path
    rng: random.Random
    said: dict[str, tuple[Any, ...]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.stores: list[sqlite3.Connection] = []
        self.backups: dict[int, Path] = {}
        self.kept = ""
        for at, name in enumerate(NAMES):
            self.hub.enrol(name, carries=at == 2)
            (self.root / name).mkdir()
            (self.root / name / DB_NAME).write_bytes(template().read_bytes())
            self.be(at)
            self.stores.append(self.open(at))
        self.skews = [timedelta(minutes=self.rng.choice((0, -600, 45, 1300))) for _ in NAMES]

    def be(self, at: int) -> None:
        os.environ["XDG_STATE_HOME"] = str(self.root / f"state-{NAMES[at]}")
        ids._last_ms = 0  # Each laptop runs a program of its own.

    def open(self, at: int) -> sqlite3.Connection:
        conn = open_store(self.root / NAMES[at], now=NOW)
        conn.execute("PRAGMA synchronous = OFF")
        return conn

    def close(self) -> None:
        for conn in self.stores:
            conn.close()

    def step(self) -> None:
        """Something happens."""
        at = self.rng.randrange(len(NAMES))
        happens: tuple[tuple[Callable[[int], None], int], ...] = (
            (self.enter, 6),
            (self.meet, 6),
            (self.killed, 3),
            (self.cut_off, 2),
            (self.back_up, 2),
            (self.revert, 1),
            (self.hub_kept, 1),
            (self.hub_put_back, 1),
            (self.granted, 1),
            (self.newer_said, 2),
        )
        (one,) = self.rng.choices([change for change, _ in happens], [often for _, often in happens])
        self.counts[one.__name__] = self.counts.get(one.__name__, 0) + 1
        self.be(at)
        one(at)

    def enter(self, at: int) -> None:
        """An entry, a correction or a withdrawal; the hub knows of it or not."""
        conn, author = self.stores[at], Author(NAMES[at], NAMES[at])
        there = [entry for (entry,) in conn.execute("SELECT id FROM present_visits ORDER BY id")]
        now = NOW + self.skews[at] + timedelta(seconds=len(self.said))
        how = self.rng.random()
        if there and how < 0.2:
            withdraw(conn, self.rng.choice(there), "slip", author, now)
        else:
            old = self.rng.choice(there) if there and how < 0.5 else None
            count = self.rng.randrange(99)
            trap = f"A{self.rng.randrange(1, 5)}"
            record(conn, [Visit(trap=trap, read_on=ON, count=count, recount=True, replaces=old)], author, now)
        self.said |= {entry: row for entry, row in rows_of(conn).items() if entry not in self.said}

    def meet(self, at: int) -> None:
        exchange_with_hub(self.stores[at], f"{NAMES[at]}-service")

    def killed(self, at: int) -> None:
        """The program is killed in the middle of an exchange: before or after the hub, or the store, took something."""
        left = self.rng.randrange(6)

        def dies(real: Callable[..., Any]) -> Callable[..., Any]:
            def run(*given: Any, **more: Any) -> Any:
                nonlocal left
                left -= 1
                if left < 0:
                    raise KilledError
                return real(*given, **more)

            return run

        places = [(hub_exchange._State, "keep"), (hub_exchange._Pass, "ask"), (staging, "add")]
        before = [getattr(of, name) for of, name in places]
        for (of, name), real in zip(places, before, strict=True):
            setattr(of, name, dies(real))
        try:
            self.meet(at)
        except KilledError:
            self.stores[at].close()
            self.stores[at] = self.open(at)
        finally:
            for (of, name), real in zip(places, before, strict=True):
                setattr(of, name, real)

    def cut_off(self, at: int) -> None:
        """The hub ends the connection at the worst moment: after a push, before anybody heard of it."""
        real = hub_exchange._Pass.hello
        self.hub.ask("SELECT 1")

        def hello(this: Any) -> Any:
            found = real(this)
            if self.rng.random() < 0.7:
                self.hub.ask(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                    f" WHERE datname = '{self.hub.name}' AND pid <> pg_backend_pid()"
                )
            return found

        hub_exchange._Pass.hello = hello  # type: ignore[method-assign]
        try:
            self.meet(at)
        except RoundtuiError:
            pass
        finally:
            hub_exchange._Pass.hello = real  # type: ignore[method-assign]

    def back_up(self, at: int) -> None:
        self.backups[at] = self.root / f"{NAMES[at]}-{len(self.said)}.backup"
        with closing(sqlite3.connect(self.backups[at])) as to:
            self.stores[at].backup(to)

    def revert(self, at: int) -> None:
        """An older store takes the place of one whose entries are all on the hub; by command or by hand."""
        if at in self.backups:
            self.meet(at)
            with closing(sqlite3.connect(self.backups[at])) as kept:
                kept.backup(self.stores[at])
            if self.rng.random() < 0.5:
                open_next_lane(self.stores[at], self.root / NAMES[at])
            # Before the hub is lost as well: what both lost is lost.
            self.meet(at)

    def hub_kept(self, at: int) -> None:
        """A backup of the hub."""
        self.kept = f"{self.hub.name}_{len(self.said)}_{self.rng.randrange(10**6)}"
        self.hub.server.ask("postgres", f"CREATE DATABASE {self.kept} TEMPLATE {self.hub.name}")

    def hub_put_back(self, at: int) -> None:
        """The hub is lost, and its backup put in place."""
        if self.kept:
            lost = f"{self.hub.name}_lost_{self.rng.randrange(10**6)}"
            self.hub.server.ask("postgres", f"ALTER DATABASE {self.hub.name} RENAME TO {lost}")
            self.hub.server.ask("postgres", f"ALTER DATABASE {self.kept} RENAME TO {self.hub.name}")
            self.kept = ""

    def granted(self, at: int) -> None:
        """A group taken away and granted again: everything is read anew."""
        self.hub.enrol(NAMES[at], "none", carries=at == 2)
        self.hub.enrol(NAMES[at], carries=at == 2)

    def newer_said(self, at: int) -> None:
        """What a newer program said, a field and a kind unknown here, comes by a stick to the one that hands it on."""
        del at
        self.be(2)
        common = {"form": 1, "scout": "Eve", "recorded_at": "2026-05-20T16:30:00.000000Z", "trap": "A1"}
        common |= {"id": ids.new_id(NOW), "lane": f"{'a' * 12}.{'b' * 12}.1", "no": len(self.said) + 1}
        own = {"kind": "visit", "read_on": ON.isoformat(), "count": 3, "recount": True, "moonlit": True}
        said = common | (own if self.rng.random() < 0.5 else {"kind": "dew", "mm": 3})
        conn = self.stores[2]
        with staging.tables(conn):
            staging.add(conn, [row_of(said, hashlib.sha256(canonical(said)).hexdigest(), newer=True)])
            with transaction(conn):
                staging.add_staged(conn)
        self.said |= {entry: row for entry, row in rows_of(conn).items() if entry not in self.said}

    def end(self) -> list[dict[str, tuple[Any, ...]]]:
        """Everybody meets until nobody has anything new; what each of them has then."""
        for _ in range(3):
            for at in range(len(NAMES)):
                self.be(at)
                self.meet(at)
        return [rows_of(conn) for conn in self.stores]
