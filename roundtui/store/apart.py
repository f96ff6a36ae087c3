"""Work in a process of its own: it holds up nobody who types, and gives its memory back when it is done."""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from typing import Any, cast

from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError, StoreError


def apart(place: str, *words: str) -> Iterator[Any]:
    """What a function gives, one thing after the other, worked out in a process of its own.

    Args:
        place: Module and name of the function, as ``roundtui.store.hub.regular:one_pass``.
        words: What it is asked.

    Raises:
        RoundtuiError: The function raised it, or the process broke off.
    """
    command, to = [sys.executable, "-m", __name__, place, *words], subprocess.PIPE
    with cast("Any", subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=to, stderr=to)) as process:  # noqa: S603
        try:
            while not isinstance(found := pickle.load(process.stdout), RoundtuiError):  # noqa: S301
                yield found
            raise found
        except EOFError:
            if why := process.stderr.read().decode("utf-8", "replace").strip():
                raise StoreError(f"{place} broke off: {sanitize(why.splitlines()[-1], 200)}", "try it again") from None
        finally:
            process.kill()


def _answers(place: str, *words: str) -> Iterator[object]:
    module, _, name = place.partition(":")
    try:
        yield from getattr(import_module(module), name)(*words)
    except RoundtuiError as error:
        yield StoreError(error.message, error.hint)


if __name__ == "__main__":
    for answer in _answers(*sys.argv[1:]):
        sys.stdout.buffer.write(pickle.dumps(answer))
        sys.stdout.buffer.flush()
