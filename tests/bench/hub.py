"""A hub beside a bare COPY of the same bytes and a bare insert of the same rows, in one run.

python tests/bench/hub.py [ENTRIES] [CLIENTS]
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
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.app.app import MEET_AFTER
from roundtui.domain.entries import Visit
from roundtui.store.db import transaction
from roundtui.store.folder import open_folder
from roundtui.store.hub.exchange import exchange_with_hub
from roundtui.store.hub.regular import keep_regular
from roundtui.store.hub.sql import schema_sql
from roundtui.store.record.device import new_id
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.rows import VISITS, canonical, digest_of, link_of, text_of
from tests.bench.merge import HUNG, TRAPS, folder
from tests.bench.terminal import Terminal
from tests.hub import Hub, Server

NOW = datetime(2026, 1, 1, tzinfo=UTC)
SECONDS = 20
KEYS = 120


def visits(entries: int) -> list[Visit]:
    """Readings of many traps over many weeks."""
    return [
        Visit(
            trap=f"T{at % TRAPS}",
            read_on=HUNG + timedelta(days=1 + at // TRAPS),
            count=at % 13,
            liner=at % 4 == 0,
            lure="CM26" if at % 6 == 0 else None,
            note="windy" if at % 9 == 0 else "",
        )
        for at in range(entries)
    ]


def state(root: Path, name: str) -> dict[str, str]:
    """The environment of one laptop."""
    return {**os.environ, "XDG_STATE_HOME": str(root / f"state-{name}")}


def bare_copy(hub: Hub, rows: list[tuple[str, bytes, str]]) -> float:
    """What anyone would do first: the same texts into a table without anything."""
    with hub.server.connect(hub.name) as conn:
        conn.execute("CREATE TABLE bare (id uuid, digest bytea, said text)")
        began = time.perf_counter()
        with conn.cursor().copy("COPY bare FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)
        return time.perf_counter() - began


def bare_insert(where: Path, rows: list[tuple[object, ...]], names: dict[int, str]) -> float:
    """The same rows into the tables of a laptop, with their digests, in one transaction."""
    with closing(open_folder(folder(where), now=NOW).conn) as conn:
        began = time.perf_counter()
        with transaction(conn):
            conn.execute("INSERT INTO lanes (lane, name) VALUES (9, 'bare')")
            for row in rows:
                assert digest_of(VISITS, row[:-6], "", link_of(row, names)) == row[-1]
            conn.executemany(VISITS.insert, [(*row[:-5], 9, *row[-4:]) for row in rows])
        return time.perf_counter() - began


def main(entries: int, clients: int) -> None:
    """Push, pull, ask for nothing new, and many at once."""
    root = Path(tempfile.mkdtemp(prefix="hub-bench-"))
    server = Server.make(53123, fast=False)
    try:
        server.ask("postgres", "CREATE DATABASE bench")
        server.ask("bench", schema_sql())
        hub = Hub(server, "bench", root)
        service = hub.enrol("truck", carries=True)
        os.environ |= state(root, "truck")
        with closing(open_folder(folder(root / "truck"), now=NOW).conn) as conn:
            exchange_with_hub(conn, service)
            began = time.perf_counter()
            record(conn, visits(entries), Author("Bench", "bench"), NOW)
            took = time.perf_counter() - began
            print(f"record  {took:7.2f} s   {took / entries * 1e3:.3f} ms a visit")
            names = lane_names(conn)
            rows = conn.execute(f"SELECT {VISITS.whole} FROM visits").fetchall()
            texts = [(row[0], row[-1], text_of(VISITS, row[:-6], "", link_of(row, names)).decode()) for row in rows]
            size = sum(len(text) for _, _, text in texts) / 1e6
            bare = bare_copy(hub, texts)
            del texts
            began = time.perf_counter()
            exchange_with_hub(conn, service)
            took = time.perf_counter() - began
            print(f"push    {took:7.2f} s   bare COPY of {size:.0f} MB {bare:.2f} s   ratio {took / bare:.2f}")
            began = time.perf_counter()
            for _ in range(20):
                exchange_with_hub(conn, service)
            print(f"nothing new, with connect {(time.perf_counter() - began) / 20 * 1e3:.1f} ms")
        hub.ask("VACUUM ANALYZE")
        inserted = bare_insert(root / "bare", rows, names)
        del rows
        van = hub.enrol("van")
        said = one(root, "van", van)
        print(
            f"pull    {said['took']:7.2f} s   bare insert {inserted:.2f} s   ratio {said['took'] / inserted:.2f}"
            f"   peak memory {said['peak']:.0f} MB"
        )
        keys(hub, root, entries)
        many(hub, root, clients)
    finally:
        server.gone()
        shutil.rmtree(root, ignore_errors=True)


def one(root: Path, name: str, service: str) -> dict[str, float]:
    """A first pull in a process of its own."""
    where = folder(root / name)
    os.environ |= state(root, name)
    open_folder(where, now=NOW).conn.close()  # What reads set-up files brings a library that no exchange needs.
    command = [sys.executable, "-c", PULL, str(where), service]
    run = subprocess.run(command, capture_output=True, check=True, env=state(root, name))
    found: dict[str, float] = json.loads(run.stdout)
    return found


PULL = """
import json, sys, time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from roundtui.store.folder import open_folder
from roundtui.store.hub.exchange import exchange_with_hub
with closing(open_folder(Path(sys.argv[1]), now=datetime(2026, 1, 1, tzinfo=UTC)).conn) as conn:
    began = time.perf_counter()
    exchange_with_hub(conn, sys.argv[2], patience=300)
    took = time.perf_counter() - began
(most,) = (line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps({"took": took, "peak": int(most) / 1024}))
"""
"""A first pull, with nothing loaded that a laptop does not need for it."""


def keys(hub: Hub, root: Path, entries: int) -> None:
    """Key to screen in the count field of two apps in turn, one of which takes in everything from the hub meanwhile."""
    service, running = hub.enrol("keys"), []
    for name, place in (("alone", ""), ("keys", f"hub:{service}")):
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
    with closing(sqlite3.connect(root / "keys" / "roundtui.db")) as conn:
        came = conn.execute("SELECT count(*) FROM visits").fetchone()[0]
    for app in running:
        app.close()
    (p50, with_p50), (p95, with_p95) = (
        [sorted(taken)[len(taken) * share // 20] * 1e3 for taken in times] for share in (10, 19)
    )
    print(
        f"key to screen p50 {p50:.1f} ms, during an exchange {with_p50:.1f}; p95 {p95:.1f} ms, during it {with_p95:.1f}"
        f"   ({KEYS} keys; the exchange {'went on to the last' if came < entries else 'had ended'})"
    )


def many(hub: Hub, root: Path, clients: int) -> None:
    """Many laptops at once, each with an entry of its own to send and those of the others to take in."""
    with closing(sqlite3.connect(root / "van" / "roundtui.db")) as conn:
        kept = conn.execute("SELECT value FROM settings WHERE key = 'hub'").fetchone()[0]
    processes = 4
    running = []
    for at in range(processes):
        names = [f"c{one}" for one in range(at, clients, processes)]
        for name in names:
            hub.enrol(name)
        (root / f"kept-{at}").write_text(kept)
        command = [sys.executable, __file__, "--many", str(hub.server.folder), str(hub.server.port)]
        command += [str(root / f"kept-{at}"), *names]
        running.append(subprocess.Popen(command, stdout=subprocess.PIPE))
    done, waits = 0, []
    for process in running:
        out, _ = process.communicate()
        said = json.loads(out)
        done, waits = done + len(said), [*waits, *said]
    waits.sort()
    half, most = (waits[len(waits) * share // 20] * 1e3 for share in (10, 19))
    print(
        f"{clients} clients: {done / SECONDS:.0f} exchanges a second, each with a connection of its own;"
        f" half of them within {half:.0f} ms, 95 of 100 within {most:.0f}"
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
                    "COPY (SELECT schema, digest, said FROM hub.pull(%s::text[], %s::bigint[], %s::bigint[]))"
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
        folder_of, port, kept_in, *names_of = sys.argv[2:]
        some(Hub(Server(Path(folder_of), int(port)), "bench", Path()), Path(kept_in), names_of)
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000, int(sys.argv[2]) if len(sys.argv) > 2 else 50)
