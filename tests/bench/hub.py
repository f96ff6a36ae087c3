"""A hub beside a bare COPY of the same bytes and a bare insert of the same rows, in one run.

python tests/bench/hub.py [ENTRIES] [TURNS] [CLIENTS]

With 0 turns all is done once, and nothing is inserted without a hub: for a million.

Other work on the machine stretches the time on the wall, and most of all that of two programs that wait for each other.
So each is also told in processor time, of laptop and server together; of several turns the least.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.app.app import MEET_AFTER
from roundtui.domain.entries import Visit
from roundtui.store.db import transaction
from roundtui.store.folder import open_folder
from roundtui.store.hub.check import schema_sql
from roundtui.store.hub.exchange import exchange_with_hub
from roundtui.store.hub.regular import keep_regular
from roundtui.store.record.journal import Author, in_bulk, record_rows
from roundtui.store.record.lanes import HUB, lane_names, new_id
from roundtui.store.record.read import put_setting
from roundtui.store.record.rows import VISITS, canonical, digest_of, text_of
from tests.bench.merge import HUNG, TRAPS, folder
from tests.bench.terminal import Terminal
from tests.hub import Hub, Proxy, Server

NOW = datetime(2026, 1, 1, tzinfo=UTC)
SECONDS = 20
KEYS = 120
AT_ONCE = 20_000


@dataclass(frozen=True, order=True)
class Took:
    """What something took."""

    cpu: float
    """Processor time of the laptop and the server together. [s]"""
    wall: float
    """Time on the wall. [s]"""

    def __str__(self) -> str:
        return f"{self.wall:7.2f} s on the wall, {self.cpu:7.2f} s of the processor"

    def __add__(self, other: Took) -> Took:
        return Took(self.cpu + other.cpu, self.wall + other.wall)

    def beside(self, bare: Took) -> str:
        """Both as multiples."""
        return f"{self.wall / bare.wall:.2f} and {self.cpu / bare.cpu:.2f} times"


def timed(work: Callable[[], object], server: Server | None = None) -> Took:
    """What some work takes here, and at the server."""

    def used() -> float:
        return time.process_time() + (server.processor_time() if server else 0)

    cpu, wall = used(), time.perf_counter()
    work()
    wall = time.perf_counter() - wall
    return Took(used() - cpu, wall)


def visits(entries: int) -> Iterator[Visit]:
    """Readings of many traps over many weeks."""
    for at in range(entries):
        yield Visit(
            trap=f"T{at % TRAPS}",
            read_on=HUNG + timedelta(days=1 + at // TRAPS),
            count=at % 13,
            liner=at % 4 == 0,
            lure="CM26" if at % 6 == 0 else None,
            note="windy" if at % 9 == 0 else "",
        )


def state(root: Path, name: str) -> dict[str, str]:
    """The environment of one laptop."""
    return {**os.environ, "XDG_STATE_HOME": str(root / f"state-{name}")}


def pieces(rows: Iterable[Any]) -> Iterator[list[Any]]:
    """Some at a time, so that a million need no memory of their own."""
    rest = iter(rows)
    while some := list(islice(rest, AT_ONCE)):
        yield some


def bare_copy(hub: Hub, conn: sqlite3.Connection) -> tuple[Took, int]:
    """What anyone would do first: the same texts into a table without anything; and how many bytes they have."""
    names, took, size = lane_names(conn), Took(0, 0), 0
    with hub.server.connect(hub.name) as to:
        to.execute("CREATE TABLE bare (id uuid, digest bytea, said text)")
        to.execute("BEGIN")
        for rows in pieces(conn.execute(f"SELECT {VISITS.whole} FROM visits")):
            texts = [(row[0], row[-1], text_of(VISITS, row, names[row[-5]]).decode()) for row in rows]
            size += sum(len(text) for _, _, text in texts)

            def copies(texts: list[tuple[str, bytes, str]] = texts) -> None:
                with to.cursor().copy("COPY bare FROM STDIN") as copy:
                    for row in texts:
                        copy.write_row(row)

            took += timed(copies, hub.server)
        took += timed(lambda: to.execute("COMMIT"), hub.server)
        to.execute("DROP TABLE bare")
    return took, size


def bare_insert(where: Path, conn: sqlite3.Connection, *, bulk: bool) -> Took:
    """The same rows into the tables of a laptop, with their digests, in one transaction.

    Args:
        where: Folder of the laptop.
        conn: Where they are.
        bulk: Whether its indexes are made anew after them, as the program does with many.
    """
    names, took = lane_names(conn), Took(0, 0)
    (number,) = conn.execute("SELECT count(*) FROM visits").fetchone()
    with closing(open_folder(folder(where), now=NOW).conn) as to:
        work = transaction(to)
        took += timed(work.__enter__)
        to.execute("INSERT INTO lanes (lane, name) VALUES (9, 'bare')")
        indexes = in_bulk(to, VISITS, number if bulk else 0)
        indexes.__enter__()
        for rows in pieces(conn.execute(f"SELECT {VISITS.whole} FROM visits")):

            def insert(rows: list[tuple[Any, ...]] = rows) -> None:
                for row in rows:
                    assert digest_of(VISITS, row, names[row[-5]]) == row[-1]
                to.executemany(VISITS.insert, [(*row[:-5], 9, *row[-4:]) for row in rows])

            took += timed(insert)
        took += timed(lambda: (indexes.__exit__(None, None, None), work.__exit__(None, None, None)))
    shutil.rmtree(where)
    return took


def main(entries: int, turns: int, clients: int) -> None:
    """Push, pull, ask for nothing new, and many at once."""
    root = Path(tempfile.mkdtemp(prefix="hub-bench-"))
    server = Server.make(53123, fast=False)
    try:
        os.environ |= state(root, "truck")
        with closing(open_folder(folder(root / "truck"), now=NOW).conn) as conn:
            rows = map(VISITS.own_values, visits(entries))
            took = timed(lambda: record_rows(conn, VISITS, rows, Author("Bench", "bench"), NOW, number=entries))
            print(f"record       {took}   {took.cpu / entries * 1e3:.3f} ms a visit", flush=True)
            bare, push = [], []
            for turn in range(max(turns, 1)):
                server.ask("postgres", f"CREATE DATABASE bench_{turn}")
                server.ask(f"bench_{turn}", schema_sql())
                hub = Hub(server, f"bench_{turn}", root)
                service = hub.enrol("truck", carries=True)
                put_setting(conn, HUB, "")
                one, size = bare_copy(hub, conn)
                bare.append(one)
                push.append(timed(lambda service=service: exchange_with_hub(conn, service, patience=300), server))
                if turn + 1 < turns:
                    server.ask("postgres", f"DROP DATABASE bench_{turn}")
            print(f"bare COPY    {min(bare)}   {size / 1e6:.0f} MB")
            print(f"push         {min(push)}   {min(push).beside(min(bare))} the bare COPY", flush=True)
            began = time.perf_counter()
            for _ in range(20):
                exchange_with_hub(conn, service)
            print(f"nothing new  {(time.perf_counter() - began) / 20 * 1e3:.1f} ms with connecting")
            hub.ask("VACUUM ANALYZE")
            inserts, bulk, pull = [], [], []
            for turn in range(max(turns, 1)):
                if not turns:
                    took, peak = one_pull(server, root, "van0", hub.enrol("van0"))
                    print(f"pull         {took}   peak {peak:.0f} MB", flush=True)
                    break
                inserts.append(bare_insert(root / "bare", conn, bulk=False))
                bulk.append(bare_insert(root / "bare", conn, bulk=True))
                took, peak = one_pull(server, root, f"van{turn}", hub.enrol(f"van{turn}"))
                pull.append(took)
            if turns:
                print(f"bare insert  {min(inserts)}   with indexes made anew after it: {min(bulk)}")
                print(
                    f"pull         {min(pull)}   {min(pull).beside(min(inserts))} the bare insert   peak {peak:.0f} MB"
                )
                print(f"             {min(pull).cpu / entries * 1e3:.3f} ms an entry", flush=True)
        keys(hub, root, entries)
        with Proxy(server.port) as proxy:
            proxy.delay, proxy.dead_after = 0.01, 400_000
            keys(hub, root, entries, proxy)
        many(hub, root, clients)
    finally:
        server.gone()
        shutil.rmtree(root, ignore_errors=True)


def one_pull(server: Server, root: Path, name: str, service: str) -> tuple[Took, float]:
    """A first pull in a process of its own: what it took, and its peak memory. [MB]"""
    where = folder(root / name)
    os.environ |= state(root, name)
    open_folder(where, now=NOW).conn.close()  # What reads set-up files brings a library that no exchange needs.
    command = [sys.executable, "-c", PULL, str(where), service]
    before = server.processor_time()
    run = subprocess.run(command, capture_output=True, check=True, env=state(root, name))
    said = json.loads(run.stdout)
    return Took(said["cpu"] + server.processor_time() - before, said["wall"]), said["peak"]


PULL = """
import json, sys, time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from roundtui.store.folder import open_folder
from roundtui.store.hub.exchange import exchange_with_hub
with closing(open_folder(Path(sys.argv[1]), now=datetime(2026, 1, 1, tzinfo=UTC)).conn) as conn:
    wall, cpu = time.perf_counter(), time.process_time()
    exchange_with_hub(conn, sys.argv[2], patience=300)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
(most,) = (line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps({"wall": wall, "cpu": cpu, "peak": int(most) / 1024}))
"""
"""A first pull, with nothing loaded that a laptop does not need for it."""


def keys(hub: Hub, root: Path, entries: int, proxy: Proxy | None = None) -> None:
    """Key to screen in the count field of two apps in turn, one of which takes in everything from the hub meanwhile.

    Args:
        hub: The hub.
        root: Folder for all of it.
        entries: How many entries there are.
        proxy: A bad network between the two.
    """
    by_tls = {"host": f"localhost\nhostaddr=127.0.0.1\nsslrootcert={hub.root}"} if proxy else {}
    mine = "cut" if proxy else "keys"
    service, running = hub.enrol(mine, port=proxy.port if proxy else 0, **by_tls), []
    for name, place in ((f"alone-{mine}", ""), (mine, f"hub:{service}")):
        where = folder(root / name)
        (where / "routes.csv").write_text(
            "route,position,trap\n" + "".join(f"home,{at},T{at}\n" for at in range(1, 40))
        )
        os.environ |= state(root, name)
        with closing(open_folder(where, now=NOW).conn) as conn:
            keep_regular(conn, place or "nowhere", 1 if place else 0)
        on = (HUNG + timedelta(days=7)).isoformat()
        app = Terminal(
            [sys.executable, "-m", "roundtui", str(where), "--on", on, "--scout", "Bench"], state(root, name)
        )
        app.wait_for("Desk")
        app.settle(0.3)
        app.key("\r", "Count")
        app.settle(0.3)
        running.append(app)
    time.sleep(MEET_AFTER)
    times: tuple[list[float], list[float]] = ([], [])
    for at in range(KEYS):
        digit = str(1 + at % 9)
        for app, taken in zip(running, times, strict=True):
            taken.append(app.key(digit, digit))
            app.settle(0.02)
            app.send("\x7f")
            app.settle(0.02)
    with closing(sqlite3.connect(root / mine / "roundtui.db")) as conn:
        came = conn.execute("SELECT count(*) FROM visits").fetchone()[0]
    for app in running:
        app.close()
    (p50, with_p50), (p95, with_p95) = (
        [sorted(taken)[len(taken) * share // 20] * 1e3 for taken in times] for share in (10, 19)
    )
    print(
        f"key to screen{' in a bad network' * bool(proxy)} p50 {p50:.1f} ms, during an exchange {with_p50:.1f};"
        f" p95 {p95:.1f} ms, during it {with_p95:.1f}"
        f"   ({KEYS} keys; the exchange {'went on to the last' if came < entries else 'had ended'})"
    )


def many(hub: Hub, root: Path, clients: int) -> None:
    """Many laptops at once, each with an entry of its own to send and those of the others to take in."""
    with closing(sqlite3.connect(root / "van0" / "roundtui.db")) as conn:
        kept = conn.execute("SELECT value FROM settings WHERE key = 'hub'").fetchone()[0]
    processes = 4
    running, before = [], os.times().children_user + os.times().children_system + hub.server.processor_time()
    for at in range(processes):
        names = [f"c{one}" for one in range(at, clients, processes)]
        for name in names:
            hub.enrol(name)
        (root / f"kept-{at}").write_text(kept)
        command = [sys.executable, __file__, "--many", str(hub.server.folder), str(hub.server.port)]
        command += [hub.name, str(root / f"kept-{at}"), *names]
        running.append(subprocess.Popen(command, stdout=subprocess.PIPE))
    done, waits = 0, []
    for process in running:
        out, _ = process.communicate()
        said = json.loads(out)
        done, waits = done + len(said), [*waits, *said]
    cpu = os.times().children_user + os.times().children_system + hub.server.processor_time() - before
    waits.sort()
    half, most = (waits[len(waits) * share // 20] * 1e3 for share in (10, 19))
    print(
        f"{clients} clients: {done / SECONDS:.0f} exchanges a second, each with a connection of its own;"
        f" half of them within {half:.0f} ms, 95 of 100 within {most:.0f};"
        f" {cpu / done * 1e3:.0f} ms of the processor each,"
        f" clients and server: two cores give {2 * done / cpu:.0f} a second"
    )


def some(hub: Hub, kept: Path, names: list[str]) -> None:
    """One process of ``many``: what each laptop asks of the hub, without its own work, which it does elsewhere."""
    seen = json.loads(kept.read_text())["seen"]
    waits: list[float] = []
    until = time.perf_counter() + SECONDS

    def goes(name: str) -> None:
        own, mine = f"{'c' * 12}.{secrets.token_hex(6)}", dict(seen)
        number, mark = 0, b""
        while time.perf_counter() < until:
            began = time.perf_counter()
            with hub.as_(name) as conn:
                lanes = [
                    list(one)
                    for one in zip(*((lane, no, bytes.fromhex(mark)) for lane, (no, mark) in mine.items()), strict=True)
                ]
                (_, news) = conn.execute("SELECT * FROM hub.hello(%s, %s, %s, %b)", (own, *lanes)).fetchone() or (
                    (),
                    (),
                )
                text = canonical(
                    {
                        "kind": "visit",
                        "id": new_id(datetime.now(UTC)),
                        "lane": f"{own}.1",
                        "no": number + 1,
                        "note": "x" * 99,
                    }
                )
                number += 1
                (mark, _) = conn.execute(
                    "SELECT * FROM hub.push(%s, %s, %b, 'bench', 1, %s, %b, %s, '{}'::uuid[], '')",
                    (own, number, mark, text.decode(), hashlib.sha256(text).digest(), "\n"),
                ).fetchone() or (b"", 0)
                wanted = [[one[0] for one in news], [one[3] for one in news], [one[1] for one in news]]
                with conn.cursor().copy(
                    "COPY (SELECT schema, digests, says FROM hub.pull(%s::text[], %s::bigint[], %s::bigint[]))"
                    " TO STDOUT",
                    wanted,
                ) as copy:
                    for _ in copy:
                        pass
                mine |= {lane: (no, mark) for lane, no, mark, _ in news} | {own: (number, mark.hex())}
            waits.append(time.perf_counter() - began)

    threads = [threading.Thread(target=goes, args=(name,)) for name in names]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    print(json.dumps(waits))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--many"]:
        folder_of, port, database, kept_in, *names_of = sys.argv[2:]
        some(Hub(Server(Path(folder_of), int(port)), database, Path()), Path(kept_in), names_of)
    else:
        main(*map(int, [*sys.argv[1:], *("200000", "3", "50")[len(sys.argv) - 1 :]]))
