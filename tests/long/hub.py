"""Kills while laptops meet at a hub: ``python -m tests.long.hub KILLS [SEED]``, or ``stories STORIES``.

A third of the kills hit a client (SIGKILL), a third a connection of the server, a third the whole server, which loses
what was not on the disk. In the end all that was ever recorded is on the hub and on every laptop, once.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from roundtui.domain.entries import Visit
from roundtui.errors import RoundtuiError
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.hub.check import schema_sql
from roundtui.store.hub.exchange import exchange_with_hub
from roundtui.store.record.journal import Author, record
from tests.hub import Hub, Server
from tests.store.hub_story import Story
from tests.store.laptops import ON, rows_of, template

NAMES = ("truck", "van", "desk")


def client(folder: Path, name: str) -> None:
    """One laptop: records and exchanges until it is killed; what it recorded it writes down elsewhere."""
    with closing(open_store(folder, now=datetime.now(UTC))) as conn, (folder / "recorded").open("a") as kept:
        while True:
            for _ in range(random.randrange(1, 6)):
                visit = Visit(trap="A1", read_on=ON, count=random.randrange(99), recount=True)
                kept.write(record(conn, [visit], Author(name, name), datetime.now(UTC))[0].id + "\n")
                kept.flush()
            with suppress(RoundtuiError):
                exchange_with_hub(conn, f"{name}-service", patience=5)


def kills(how_many: int, seed: int) -> None:
    """Kill, start again, and count."""
    rng, root, server = random.Random(seed), Path(tempfile.mkdtemp(prefix="hub-kills-")), Server.make(53125, fast=False)
    try:
        server.ask("postgres", "CREATE DATABASE kills")
        server.ask("kills", schema_sql())
        hub = Hub(server, "kills", root / "home")
        for name in NAMES:
            hub.enrol(name)
            (root / name).mkdir()
            shutil.copy(template(), root / name / DB_NAME)
        running: dict[str, subprocess.Popen[bytes]] = {}

        def start(name: str) -> None:
            command = [sys.executable, "-m", "tests.long.hub", "--client", str(root / name), name]
            running[name] = subprocess.Popen(command, env={**os.environ, "XDG_STATE_HOME": str(root / f"state-{name}")})

        for name in NAMES:
            start(name)
        for at in range(how_many):
            time.sleep(rng.uniform(0.1, 0.5))
            kind = at % 3
            if kind == 0:
                name = rng.choice(NAMES)
                running[name].kill()
                running[name].wait()
                start(name)
                time.sleep(0.5)
            elif kind == 1:
                with suppress(Exception):
                    hub.ask(
                        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = 'roundtui'"
                    )
            else:
                server.stop("immediate")
                server.start()
        for process in running.values():
            process.kill()
            process.wait()
        said = {entry for name in NAMES for entry in (root / name / "recorded").read_text().split()}
        ends = []
        for _ in range(3):
            ends = []
            for name in NAMES:
                os.environ["XDG_STATE_HOME"] = str(root / f"state-{name}")
                with closing(open_store(root / name, now=datetime.now(UTC))) as conn:
                    exchange_with_hub(conn, f"{name}-service")
                    ends.append(rows_of(conn))
        there = [entry for (entry,) in hub.ask("SELECT id::text FROM hub.entries WHERE kind = 'visit'")]
        lost = len(said - set(there)) + sum(len(said - end.keys()) for end in ends)
        assert ends[0] == ends[1] == ends[2]
        assert len(there) == len(set(there))
        print(f"{how_many} kills: {len(said)} recorded, {len(there)} on the hub, {lost} lost, none doubled")
        assert not lost
    finally:
        server.gone()
        shutil.rmtree(root, ignore_errors=True)


def stories(how_many: int) -> None:
    """The stories of the suite, more of them and longer."""
    server = Server.make(53126)
    try:
        server.ask("postgres", "CREATE DATABASE hub_template")
        server.ask("hub_template", schema_sql())
        for seed in range(how_many):
            root = Path(tempfile.mkdtemp(prefix="hub-story-"))
            story = Story(server.hub(root), root, random.Random(10_000 + seed))
            for _ in range(120):
                story.step()
            ends = story.end()
            story.close()
            assert ends[0] == ends[1] == ends[2], seed
            assert story.said.keys() <= ends[0].keys(), seed
            print(seed, len(ends[0]), story.counts)
            shutil.rmtree(root)
    finally:
        server.gone()


if __name__ == "__main__":
    if sys.argv[1] == "--client":
        client(Path(sys.argv[2]), sys.argv[3])
    elif sys.argv[1] == "stories":
        stories(int(sys.argv[2]))
    else:
        kills(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1)
