"""A connection to the hub: safe, or none; and never waited for longer than a few seconds without a sign of life."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from typing import TYPE_CHECKING, Any

from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError, RoundtuiError, StoreError

if TYPE_CHECKING:
    from psycopg import Connection

PREFIX = "hub:"
"""How the command line names a hub: this, and the name of a service of libpq."""
PATIENCE = 20.0
"""How long an answer may take, where nothing comes. [s]"""
CONNECT_SECONDS = 5
"""How long connecting may take. [s]"""
_SERVICE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,60}")
_REFUSED = "RT001"
_HINTS = (
    ("service", "add it to ~/.pg_service.conf, or ask who runs the hub for its lines"),
    ("password", "see that the password file is there and that nobody else may read it: chmod 600 ~/.pgpass"),
    ("certificate", "the hub must prove who it is: put its root certificate in ~/.postgresql/root.crt"),
    ("does not support ssl", "a hub is reached by TLS alone, or by a unix socket on its own machine"),
    ("permission denied", "ask who runs the hub to enrol this laptop: roundtui hub laptop"),
)


def service_of(name: str) -> str | None:
    """The service that a place of exchange names; None where it is a folder.

    Args:
        name: What was written: a folder, or ``hub:SERVICE``.

    Raises:
        RefusedError: It is a hub's, and no name of a service.
    """
    if not name.startswith(PREFIX) and "://" not in name:
        return None
    service = name.removeprefix(PREFIX)
    if not _SERVICE.fullmatch(service):
        raise RefusedError(
            "a hub is named by its service alone: no address, no password",
            "write hub:SERVICE, with the rest in ~/.pg_service.conf and the password in ~/.pgpass",
        )
    return service


class Watch:
    """Cuts a connection on which nothing was heard for too long, so that whoever waits for it goes on.

    Args:
        patience: How long that is. [s]
    """

    def __init__(self, patience: float) -> None:
        self.patience = patience
        self.cut = False
        self._since: float | None = None
        self._done = threading.Event()

    def heard(self) -> None:
        """Something came, and more is waited for."""
        self._since = time.monotonic()

    @contextmanager
    def waiting(self) -> Iterator[None]:
        """While an answer is waited for."""
        self.heard()
        try:
            yield
        finally:
            self._since = None

    @contextmanager
    def over(self, conn: Connection[Any]) -> Iterator[None]:
        """Watch a connection.

        Args:
            conn: The connection.
        """
        thread = threading.Thread(target=self._watch, args=(conn,), daemon=True)
        thread.start()
        try:
            yield
        finally:
            self._done.set()
            thread.join()

    @contextmanager
    def cutting(self, conn: Connection[Any]) -> Iterator[None]:
        """While another thread waits for answers: where this one is stopped, that one is too, at once.

        Args:
            conn: The connection.
        """
        try:
            yield
        except BaseException:
            self._cut(conn)
            raise

    def _watch(self, conn: Connection[Any]) -> None:
        while not self._done.wait(self.patience / 10):
            since = self._since
            if since is not None and time.monotonic() - since >= self.patience:
                self.cut = True
                self._cut(conn)
                return

    def _cut(self, conn: Connection[Any]) -> None:
        import socket

        with suppress(Exception):
            line = socket.socket(fileno=conn.fileno())
            try:
                line.shutdown(socket.SHUT_RDWR)
            finally:
                line.detach()


@contextmanager
def connected(service: str, patience: float = PATIENCE) -> Iterator[tuple[Connection[Any], Watch]]:
    """Connect to the hub of a service; each statement stands alone.

    Args:
        service: Its name.
        patience: How long an answer may take, where nothing comes. [s]

    Raises:
        StoreError: psycopg is missing, or the hub cannot be reached, does not answer, or is not a hub.
        RefusedError: The hub refuses what was asked of it.
    """
    try:
        import psycopg
    except ImportError as error:
        raise StoreError(
            "a hub needs psycopg, which is not installed", "install it: python -m pip install 'roundtui[hub]'"
        ) from error
    import logging

    # It would print an error of a COPY that was given up on purpose.
    logging.getLogger("psycopg").setLevel(logging.CRITICAL)
    watch = Watch(patience)
    with _plainly(service, watch):
        conn = psycopg.connect(
            service=service,
            sslmode="verify-full",  # Whatever the service says; a unix socket has no use for it.
            gssencmode="disable",
            connect_timeout=CONNECT_SECONDS,
            tcp_user_timeout=int(patience * 1000),
            application_name="roundtui",
            autocommit=True,
        )
        with closing(conn), watch.over(conn):
            yield conn, watch


@contextmanager
def _plainly(service: str, watch: Watch) -> Iterator[None]:
    """Turn what the database or the network raises into a word that says what to do."""
    import psycopg

    name = f"{PREFIX}{service}"
    try:
        yield
    except psycopg.Error as error:
        said = sanitize(str(error).strip().partition("\n")[0], 240)
        if watch.cut:
            raise StoreError(f"{name} does not answer", "try again when the network is better") from error
        if error.sqlstate == _REFUSED:
            raise RefusedError(f"{name} refuses it: {said}", "ask who runs the hub; nothing was lost here") from error
        if isinstance(error, psycopg.errors.UniqueViolation):
            raise StoreError(
                f"{name} was written to by another window of this folder", "try again in a moment"
            ) from error
        raise _unreachable(name, error, said) from error
    except OSError as error:
        raise _unreachable(name, error, sanitize(str(error), 240)) from error


def _unreachable(name: str, error: Exception, said: str) -> RoundtuiError:
    low = str(error).lower()
    if "does not exist" in low and ("hub." in low or 'schema "hub"' in low):
        return StoreError(f"{name} is no hub of roundtui, or an older one", "run what roundtui hub sql prints there")
    hint = next((hint for word, hint in _HINTS if word in low), "entries stay here and go with the next exchange")
    return StoreError(f"{name} cannot be reached: {said}", hint)
