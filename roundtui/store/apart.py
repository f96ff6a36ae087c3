"""Work in a process of its own: it holds up nobody who types, and gives its memory back when it is done."""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from typing import IO, Any

from roundtui.errors import RoundtuiError, StoreError


def apart(place: str, *words: str) -> Iterator[Any]:
    """What a function gives, one thing after the other, worked out in a process of its own.

    Args:
        place: Module and name of the function, as ``roundtui.store.hub.regular:meet``.
        words: What it is asked.

    Raises:
        RoundtuiError: The function raised it.
        ChildProcessError: The process broke off.
    """
    command = [sys.executable, "-m", __name__, place, *words]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=pipe, stderr=pipe) as process:  # noqa: S603
        try:
            while (found := _next(process.stdout)) is not None:
                if isinstance(found, RoundtuiError):
                    raise found
                yield found
        except BaseException:
            process.kill()
            raise
        said = process.stderr.read() if process.stderr else b""
    if process.returncode:
        raise ChildProcessError(said.decode("utf-8", "replace"))


def _next(pipe: IO[bytes] | None) -> Any:
    try:
        return pickle.load(pipe) if pipe else None  # noqa: S301
    except (EOFError, pickle.UnpicklingError):
        return None


def _answer(place: str, *words: str) -> Iterator[object]:
    module, _, name = place.partition(":")
    try:
        yield from getattr(import_module(module), name)(*words)
    except RoundtuiError as error:
        yield StoreError(error.message, error.hint)


if __name__ == "__main__":
    for answer in _answer(*sys.argv[1:]):
        sys.stdout.buffer.write(pickle.dumps(answer))
        sys.stdout.buffer.flush()
