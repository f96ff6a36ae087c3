"""Waiting until an app has nothing left to do, by asking its loop instead of watching the processor.

Textual's pilot takes an app to be at rest when the process used little processor time in a while: 60 to 95 ms a key, and
wrong on a machine under load, where a process gets little time because others do.
"""

from __future__ import annotations

import asyncio
from time import monotonic

import textual._wait
import textual.app
import textual.pilot
import textual.screen
from textual._context import active_app

SOON = 0.06
"""A timer due within this is waited for: a screen's next drawing, a list that comes to rest. [s]"""
PATIENCE = 5.0
"""No longer than this, where a thread works on or a timer never stops. [s]"""
DRAWINGS = 500
"""Drawings a second, so that nobody waits for the next one."""


async def settle(min_sleep: float = 0.0, max_sleep: float = PATIENCE) -> None:
    """Wait until no message is under way, no thread at work and no timer due soon."""
    loop = asyncio.get_running_loop()
    until = monotonic() + PATIENCE
    while monotonic() < until:
        await asyncio.sleep(0)
        if loop._ready:  # type: ignore[attr-defined]
            continue
        if any(worker._thread_worker and worker.is_running for worker in active_app.get().workers):
            await asyncio.sleep(0.001)
            continue
        due = [handle.when() for handle in loop._scheduled if not handle.cancelled()]  # type: ignore[attr-defined]
        wait = min(due, default=float("inf")) - loop.time()
        if wait > SOON:
            return
        await asyncio.sleep(max(wait, 0))


def install() -> None:
    """Let pilots wait this way."""
    for module in (textual._wait, textual.app, textual.pilot):
        module.wait_for_idle = settle  # type: ignore[attr-defined]
    textual.screen.UPDATE_PERIOD = 1 / DRAWINGS  # type: ignore[misc]
