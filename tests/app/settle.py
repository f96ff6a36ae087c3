"""Waiting until an app has nothing left to do, by asking its loop instead of watching the processor.

Textual's pilot takes an app to be at rest when the process used little processor time in a while: 60 to 95 ms a key,
and wrong on a machine under load, where a process gets little time because others do. Here a key is typed when what
the one before it set off has been dealt with, and the screen is drawn when all of them are typed.
"""

from __future__ import annotations

import asyncio
from time import monotonic

import textual._wait
import textual.app
import textual.pilot
import textual.screen
from textual._context import active_app
from textual.events import Key
from textual.pilot import Pilot

SOON = 0.06
"""A timer due within this is waited for: a screen's next drawing, a list that comes to rest. [s]"""
PATIENCE = 5.0
"""No longer than this, where a thread works on or a timer never stops. [s]"""
DRAWINGS = 250
"""Drawings a second, so that nobody waits long for the next one."""


async def settle(min_sleep: float = 0.0, max_sleep: float = PATIENCE, soon: float = SOON) -> None:
    """Wait until no message is under way, no thread at work and no timer due soon."""
    loop = asyncio.get_running_loop()
    until = monotonic() + max_sleep
    while monotonic() < until:
        await asyncio.sleep(0)
        if loop._ready:  # type: ignore[attr-defined]
            continue
        if any(worker._thread_worker and worker.is_running for worker in active_app.get().workers):
            await asyncio.sleep(0.001)
            continue
        due = [handle.when() for handle in loop._scheduled if not handle.cancelled()]  # type: ignore[attr-defined]
        wait = min(due, default=float("inf")) - loop.time()
        if wait > soon:
            return
        await asyncio.sleep(max(wait, 0))


async def between_keys(min_sleep: float = 0.0, max_sleep: float = PATIENCE) -> None:
    """Wait for what a key set off, but for no timer."""
    await settle(max_sleep=max_sleep, soon=-1)


async def press(pilot: Pilot[object], *keys: str) -> None:
    """Type keys, and wait until the app is at rest."""
    if keys:
        await pilot._app._press_keys(keys)
        await settle()


def install() -> None:
    """Let pilots type and wait this way."""
    textual.app.wait_for_idle = between_keys
    textual._wait.wait_for_idle = textual.pilot.wait_for_idle = settle  # type: ignore[assignment]
    textual.screen.UPDATE_PERIOD = 1 / DRAWINGS  # type: ignore[misc]
    Pilot.press = press  # type: ignore[assignment]


def burst(app: textual.app.App[object], *keys: str) -> None:
    """Type keys all at once, as a terminal hands on what was typed while a laptop was busy."""
    for key in keys:
        app.post_message(Key(key, key if len(key) == 1 else None))
