"""What a change of the record would show, before anyone accepts it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import TypeVar

from roundtui.store.connect import transaction

T = TypeVar("T")


class _NotYetError(Exception):
    """Takes a trial back."""


def preview(conn: sqlite3.Connection, change: Callable[[], object], look: Callable[[], T]) -> tuple[T, T]:
    """What a look at the record shows before and after a change that is then taken back whole.

    The change is made for real and undone, so what is shown is what accepting it will show. Nobody else can write
    meanwhile, so the look should be quick.

    Args:
        conn: The store.
        change: Writes through ``conn``: a ``record`` or a ``withdraw``, or several.
        look: Reads through ``conn``, as a summary does.

    Returns:
        Both looks, for ``domain.consequences`` to compare.

    Raises:
        RefusedError: The change would be refused.
        StoreError: The store cannot be written.
    """
    seen: list[T] = []
    try:
        with transaction(conn):
            seen.append(look())
            change()
            seen.append(look())
            raise _NotYetError
    except _NotYetError:
        pass
    return seen[0], seen[1]
