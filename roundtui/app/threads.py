"""Work in a thread beside the keys: how it is told of, and how it is stopped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from textual.worker import get_current_worker

from roundtui.store.session import heeding

Said = Sequence[tuple[str, bool]]
"""Sentences on what a change changes, and whether each is to be marked."""
OPENING_SECONDS = 0.3
"""A key that comes sooner after something is shown was meant for what stood there before. [s]"""


def heeded(work: Callable[[], Any], told: Callable[[str], object] = lambda _: None) -> Callable[[], Any]:
    """Work for a thread that says how far it has come, and stops soon after its worker was given up.

    Args:
        work: The work.
        told: Told how far it has come, in the thread.
    """

    def heed(words: str) -> bool:
        if words:
            told(words)
        return get_current_worker().is_cancelled

    def run() -> Any:
        with heeding(heed):
            return work()

    return run
