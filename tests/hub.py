"""A real PostgreSQL for the tests: one server for a whole run, as a plain user, and a hub of its own for each test."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import socket
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count
from pathlib import Path
from typing import Any

import psycopg

from roundtui.store.hub.check import person_sql, schema_sql

_FAST = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=150", "autovacuum=off")
_NUMBERS = count()


def binaries() -> Path:
    """Where the newest server of this machine is."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    one = found[-1] if found else Path(shutil.which("initdb") or "")
    if not one.name:
        raise RuntimeError("PostgreSQL is not installed; the Debian package is postgresql")
    return one.parent


def plain_user(command: Sequence[str]) -> list[str]:
    """A command as a plain user runs it: PostgreSQL refuses to run as root."""
    return (
        ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", *command]
        if not os.getuid()
        else [*command]
    )


@dataclass
class Server:
    """A server in a folder of its own, reached by a unix socket, or by TLS as localhost."""

    folder: Path
    port: int

    @classmethod
    def make(cls, port: int, *, fast: bool = True) -> Server:
        """Make one and start it."""
        folder = Path(tempfile.mkdtemp(prefix="roundtui-pg-"))
        if not os.getuid():
            shutil.chown(folder, "postgres", "postgres")
        server = cls(folder, port)
        server.run("initdb", "-D", server.data, "-U", "owner", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
        subprocess.run(
            plain_user(
                [
                    *("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"),
                    *("-keyout", str(folder / "data/server.key"), "-out", str(folder / "data/server.crt")),
                    *("-days", "30", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"),
                ]
            ),
            check=True,
            capture_output=True,
        )
        (folder / "data/pg_hba.conf").write_text("local all all trust\nhostssl all all 127.0.0.1/32 trust\n")
        settings = [f"port={port}", f"unix_socket_directories='{folder}'", "listen_addresses='127.0.0.1'", "ssl=on"]
        with (folder / "data/postgresql.conf").open("a") as file:
            file.write("\n".join([*settings, *(_FAST if fast else ()), "log_min_messages=fatal", ""]))
        server.start()
        return server

    @property
    def data(self) -> str:
        return str(self.folder / "data")

    def run(self, *command: str) -> None:
        """Run one of its commands."""
        subprocess.run(
            plain_user([str(binaries() / command[0]), *command[1:]]),
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd="/",
        )

    def start(self) -> None:
        self.run("pg_ctl", "-D", self.data, "-w", "-l", str(self.folder / "log"), "start")

    def stop(self, how: str = "fast") -> None:
        self.run("pg_ctl", "-D", self.data, "-w", "-m", how, "stop")

    def processor_time(self) -> float:
        """Processor time that it took so far, in all its processes, those that ended too. [s]"""
        first = (self.folder / "data/postmaster.pid").read_text().split()[0]
        time.sleep(0.5)  # Those that just ended count from when the first one has heard of it, which is read first.
        ticks, paths = 0, [Path(f"/proc/{first}/stat"), *Path("/proc").glob("[0-9]*/stat")]
        for at, path in enumerate(paths):
            with suppress(OSError):
                fields = path.read_text().rpartition(")")[2].split()
                if at == 0 or fields[1] == first:
                    ticks += sum(map(int, fields[11 : 13 if at else 15]))
        return ticks / os.sysconf("SC_CLK_TCK")

    def gone(self) -> None:
        """Stop it for good."""
        self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def connect(self, database: str, user: str = "owner") -> psycopg.Connection[Any]:
        return psycopg.connect(host=str(self.folder), port=self.port, dbname=database, user=user, autocommit=True)

    def ask(self, database: str, statement: str) -> Any:
        """What the owner of everything is answered."""
        with self.connect(database) as conn:
            cursor = conn.execute(statement)
            return cursor.fetchall() if cursor.description else None

    def hub(self, home: Path) -> Hub:
        """A hub of its own, made of the one that the program prints."""
        name = f"hub_{os.getpid()}_{next(_NUMBERS)}"
        self.ask("postgres", f"CREATE DATABASE {name} TEMPLATE hub_template")
        return Hub(self, name, home)


@dataclass
class Hub:
    """A hub on the server."""

    server: Server
    name: str
    home: Path
    services: list[str] = field(default_factory=list)

    def ask(self, statement: str) -> Any:
        """What its owner is answered."""
        return self.server.ask(self.name, statement)

    @contextmanager
    def as_(self, user: str) -> Iterator[psycopg.Connection[Any]]:
        """A connection as one of its people."""
        with self.server.connect(self.name, user) as conn:
            yield conn

    def enrol(self, user: str, *groups: str, host: str = "", port: int = 0, **more: Any) -> str:
        """Let somebody in, and give the name of the service that leads here."""
        self.ask("SELECT pg_advisory_lock(1);" + person_sql(user, groups, **more))
        service = f"{user}-service"
        self.services.append(
            f"[{service}]\nhost={host or self.server.folder}\nport={port or self.server.port}\n"
            f"dbname={self.name}\nuser={user}\n"
        )
        self.home.mkdir(exist_ok=True)
        path = self.home / "services.conf"
        path.write_text("".join(self.services))
        os.environ["PGSERVICEFILE"] = str(path)
        return service

    @cached_property
    def root(self) -> Path:
        """The certificate that its server can be known by."""
        path = self.home / "root.crt"
        path.write_bytes((self.server.folder / "data/server.crt").read_bytes())
        return path


@contextmanager
def shared_server(shared: Path) -> Iterator[Server]:
    """The server of a run: whichever process needs it first starts it, and the last one that lets go of it stops it.

    Args:
        shared: A folder that all processes of the run share.
    """
    note = shared / "postgresql.json"

    @contextmanager
    def locked() -> Iterator[dict[str, Any]]:
        with (shared / "postgresql.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            kept: dict[str, Any] = json.loads(note.read_text()) if note.exists() else {"users": 0}
            yield kept
            note.write_text(json.dumps(kept))

    with locked() as kept:
        if not kept["users"]:
            server = Server.make(54000 + os.getpid() % 9000)
            server.ask("postgres", "CREATE DATABASE hub_template")
            server.ask("hub_template", schema_sql())
            kept["folder"], kept["port"] = str(server.folder), server.port
        kept["users"] += 1
        server = Server(Path(kept["folder"]), kept["port"])
    try:
        yield server
    finally:
        with locked() as kept:
            kept["users"] -= 1
            if not kept["users"]:
                server.gone()


class Proxy:
    """A bad network in front of a server: it delays, halves what passes, and goes dead after so many bytes.

    Args:
        port: Port of the server.
    """

    def __init__(self, port: int) -> None:
        self._to = port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        self.delay = 0.0
        self.passed = 0
        self.dead_after: int | None = None
        self._lines: list[socket.socket] = []

    def __enter__(self) -> Proxy:
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        for line in (self._listening, *self._lines):
            line.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                here, _ = self._listening.accept()
                there = socket.create_connection(("127.0.0.1", self._to))
                self._lines += [here, there]
                for of, to in ((here, there), (there, here)):
                    threading.Thread(target=self._carry, args=(of, to), daemon=True).start()

    def _carry(self, of: socket.socket, to: socket.socket) -> None:
        with suppress(OSError):
            while some := of.recv(4096):
                for part in (some[: len(some) // 2], some[len(some) // 2 :]):
                    self.passed += len(part)
                    if self.dead_after is None or self.passed <= self.dead_after:
                        time.sleep(self.delay)
                        to.sendall(part)
            if self.dead_after is None:
                to.shutdown(socket.SHUT_WR)
