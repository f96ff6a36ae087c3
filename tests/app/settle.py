"""Waiting until an app has nothing left to do, by asking its loop instead of watching the processor.

Textual's pilot takes an app to be at rest when the process used little processor time in a while: 60 to 95 ms a key,
and wrong on a machine under load, where a process gets little time because others do. Here a key is typed when what
the one before it set off has been dealt with, and the screen is drawn when all of them are typed, once. What a
stylesheet says, which colours a theme has, what handles a message and how many parameters a function takes is worked
out once for all apps. Nothing is logged.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import suppress
from time import monotonic
from types import CodeType
from typing import Any

import textual._callback
import textual._wait
import textual.app
import textual.css.stylesheet
import textual.message_pump
import textual.pilot
import textual.screen
from rich.console import RenderableType
from textual._compositor import Compositor
from textual._context import active_app
from textual.app import ScreenStackError
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.css.tokenizer import Token
from textual.design import ColorSystem
from textual.events import Key
from textual.message import Message
from textual.message_pump import MessagePump
from textual.pilot import Pilot

SOON = 0.12
"""A timer due within this is waited for: a screen's next drawing, a list that comes to rest. [s]"""
PATIENCE = 60.0
"""No longer than this in any case: on a busy machine a single step takes seconds. [s]"""
TURNS, OF_A_TIMER = 5000, 50
"""Turns of a millisecond that a thread may work on, and how many of them a timer's turn counts for, which may never
stop. Turns pass as slowly as the machine is busy."""
DRAWINGS = 250
"""Drawings a second, so that nobody waits long for the next one."""


DRAW, PARSE = Compositor.render_update, Stylesheet._parse_rules
COUNT, SHADE, TOKENS = textual._callback._count_parameters, ColorSystem.generate, textual.css.stylesheet.tokenize_values
RULES: dict[tuple[object, ...], list[RuleSet]] = {}
"""What was parsed, by text and place and the colours of the theme."""
COUNTED: dict[tuple[CodeType, bool], int] = {}
"""Parameters of functions, by their code and whether they are bound."""
SHADES: dict[str, dict[str, str]] = {}
"""Colours by what they are made from."""
FIND = MessagePump._get_dispatch_methods
HANDLERS: dict[tuple[type, str, type[Message]], list[tuple[type, Any]] | None] = {}
"""What handles a message, by the class that gets it; None where that depends on who sent it."""
TOKENS_OF: dict[frozenset[tuple[str, str]], dict[str, list[Token]]] = {}
"""Colours as a stylesheet reads them."""


async def settle(min_sleep: float = 0.0, max_sleep: float = PATIENCE, soon: float = SOON) -> None:
    """Wait until no message is under way, no thread at work and no timer due soon."""
    loop = asyncio.get_running_loop()
    until, left = monotonic() + max_sleep, TURNS
    while monotonic() < until and left > 0:
        await asyncio.sleep(0)
        if loop._ready:  # type: ignore[attr-defined]
            continue
        if any(worker._thread_worker and worker.is_running for worker in active_app.get().workers):
            await asyncio.sleep(0.001)
            left -= 1
            continue
        due = [handle.when() for handle in loop._scheduled if not handle.cancelled()]  # type: ignore[attr-defined]
        wait = min(due, default=float("inf")) - loop.time()
        if wait > soon:
            break
        await asyncio.sleep(max(wait, 0))
        left -= OF_A_TIMER
    if soon > 0:
        app = active_app.get()
        with suppress(ScreenStackError):
            DRAW(app.screen._compositor, screen_stack=app._background_screens)


def parse_rules(sheet: Stylesheet, css: str, *place: Any, **more: Any) -> list[RuleSet]:
    """The rules of a text, parsed once for all apps of one theme."""
    variables, colours = getattr(sheet, "keyed", (None, None))
    if variables is not sheet._variables:
        colours = frozenset(sheet._variables.items())
        sheet.keyed = (sheet._variables, colours)  # type: ignore[attr-defined]
    key = (css, place, frozenset(more.items()), colours)
    if key not in RULES:
        RULES[key] = PARSE(sheet, css, *place, **more)
    return RULES[key]


def count_parameters(function: Callable[..., object]) -> int:
    """How many parameters a function takes, looked up once for all functions of one text."""
    code = getattr(function, "__code__", None)
    if code is None or hasattr(function, "__wrapped__"):
        return COUNT(function)
    key = (code, hasattr(function, "__self__"))
    if key not in COUNTED:
        COUNTED[key] = COUNT(function)
    return COUNTED[key]


def handlers(pump: MessagePump, name: str, message: Message) -> Iterator[tuple[type, Any]]:
    """What handles a message, looked up once for all widgets of a class."""
    key = (type(pump), name, type(message))
    if key not in HANDLERS:
        HANDLERS[key] = handlers_of(*key)
    known = HANDLERS[key]
    if known is None:
        yield from FIND(pump, name, message)
        return
    for cls, method in known:
        if message._no_default_action:
            break
        yield cls, method.__get__(pump, cls)


def handlers_of(pump: type, name: str, message: type) -> list[tuple[type, Any]] | None:
    """Handlers by their names alone; None where one is chosen otherwise."""
    found = []
    for cls in pump.__mro__:
        if any(one in cls.__dict__.get("_decorated_handlers", ()) for one in message.__mro__):
            return None
        method = cls.__dict__.get(f"_{name}") or cls.__dict__.get(name)
        if method is not None and not getattr(method, "_textual_on", None):
            found.append((cls, method))
    return found


class Silence:
    """Takes whatever is logged, and keeps nothing."""

    def __getattr__(self, name: str) -> Silence:
        return self

    def __call__(self, *what: object, **more: object) -> Silence:
        return self


def generate(colours: ColorSystem) -> dict[str, str]:
    """The shades of a theme's colours, mixed once for all apps."""
    key = repr(vars(colours))
    if key not in SHADES:
        SHADES[key] = SHADE(colours)
    return dict(SHADES[key])


def tokenize_values(values: dict[str, str]) -> dict[str, list[Token]]:
    """Variables as a stylesheet reads them, read once for all apps of one theme."""
    key = frozenset(values.items())
    if key not in TOKENS_OF:
        TOKENS_OF[key] = TOKENS(values)
    return {name: list(tokens) for name, tokens in TOKENS_OF[key].items()}


def drawn(compositor: Compositor, full: bool = False, **more: Any) -> RenderableType | None:
    """The whole screen where it is asked for, as a picture does; nothing in between."""
    return DRAW(compositor, full=True, **more) if full else None


async def between_keys(min_sleep: float = 0.0, max_sleep: float = PATIENCE) -> None:
    """Wait for what a key set off, but for no timer unless the screen says that it is still reading."""
    await settle(max_sleep=max_sleep, soon=-1)
    reading = getattr(active_app.get().screen, "have_read", None)
    if reading is not None and not reading.is_set():
        await settle(max_sleep=max_sleep, soon=1 / DRAWINGS)


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
    Compositor.render_update = drawn  # type: ignore[method-assign]
    Stylesheet._parse_rules = parse_rules  # type: ignore[method-assign]
    textual._callback._count_parameters = count_parameters
    MessagePump._get_dispatch_methods = handlers  # type: ignore[assignment,method-assign]
    textual.message_pump.log = Silence()  # type: ignore[assignment]
    ColorSystem.generate = generate  # type: ignore[method-assign]
    textual.css.stylesheet.tokenize_values = tokenize_values


def burst(app: textual.app.App[object], *keys: str) -> None:
    """Type keys all at once, as a terminal hands on what was typed while a laptop was busy."""
    for key in keys:
        app.post_message(Key(key, key if len(key) == 1 else None))
