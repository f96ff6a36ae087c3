"""The plug is pulled in the middle of a round: whatever prompt had shown, the entry before it is on the disk."""

from __future__ import annotations

import codecs
import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from random import Random

import pyte
import pytest

from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from tests.app.folder import ORDER
from tests.pty.terminal import Terminal

MOMENTS = 3
"""How often the process is killed here; ``tests.long.pulled_plug`` does it as often as it is told to."""


def typed(trap: str) -> int:
    """The count that is typed for a trap."""
    return 1 + ORDER.index(trap) * 7 % 90


def on_disk(folder: Path) -> dict[str, list[int]]:
    """Counts of the round's day per trap, read by another process's connection."""
    found: dict[str, list[int]] = {}
    with closing(sqlite3.connect(folder / DB_NAME)) as conn:
        assert conn.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        for trap, count in conn.execute("SELECT trap, count FROM visits WHERE read_on = '2031-06-03' ORDER BY id"):
            found.setdefault(trap, []).append(count)
    return found


def shown(terminal: Terminal) -> str | None:
    """Label of the trap whose prompt is on the screen."""
    match = re.search(r"Trap ([ABC]\d) ", terminal.text)
    return match[1] if match else None


def pull_the_plug(folder: Path, chance: Random) -> str | None:
    """Open the round where it stopped, type ahead, and kill the process at a random moment.

    Returns:
        The trap whose prompt was the last to show; None where it was none.
    """
    terminal = Terminal(folder)
    try:
        terminal.wait_for("> hill")
        terminal.child.send("\r")
        terminal.wait_for("Trap ")
        first = shown(terminal)
        assert first is not None
        for trap in ORDER[ORDER.index(first) :][: chance.randint(1, 6)]:
            if trap.endswith("1"):
                terminal.child.send("\r")
            terminal.child.send(f"{typed(trap)}\r")
            terminal.read(chance.choice((0.0, 0.01, 0.03)))
        if chance.random() < 0.5:
            # As soon as another prompt shows, however long that takes here.
            terminal.wait_until(lambda: shown(terminal) not in (None, first), "another prompt")
        else:
            terminal.read(chance.random() * 0.5)
        terminal.child.kill(9)
        terminal.read(0.05)
        return shown(terminal)
    finally:
        terminal.close()


def test_every_count_whose_next_prompt_had_shown_is_on_the_disk_once(folder: Path, tmp_path: Path) -> None:
    assert kill_again_and_again(folder, tmp_path / "fresh", Random(1), MOMENTS) > 0, "counts were typed before a kill"


def kill_again_and_again(folder: Path, fresh: Path, chance: Random, moments: int) -> int:
    """Pull the plug at random moments of one round after the other; the most counts that were on the disk at once."""
    shutil.copytree(folder, fresh)
    most = 0
    for _ in range(moments):
        last = pull_the_plug(folder, chance)
        kept = on_disk(folder)
        if last is not None:
            wanted = ORDER[: ORDER.index(last)]
            assert [trap for trap in wanted if trap not in kept] == [], f"{last} had shown"
        assert kept == {trap: [typed(trap)] for trap in kept}, "nothing twice, and nothing but what was typed"
        most = max(most, len(kept))
        if len(kept) > len(ORDER) - 3:
            shutil.rmtree(folder)
            shutil.copytree(fresh, folder)
    return most


@pytest.fixture
def traced(folder: Path, tmp_path: Path) -> Iterator[tuple[Terminal, Path]]:
    """The app at its first trap, its writes and syncs traced; and the file they go to."""
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed, so no system call can be watched")
    log = tmp_path / "calls"
    terminal = Terminal(
        folder, under=("strace", "-f", "-y", "-s", "99999", "-e", "fsync,fdatasync,write", "-o", str(log))
    )
    terminal.open_round()
    yield terminal, log
    terminal.close()


def test_one_sync_of_the_journal_stands_before_each_next_prompt(traced: tuple[Terminal, Path]) -> None:
    """A killed process alone proves nothing of a lost power supply: the kernel has to be told to write."""
    terminal, log = traced
    terminal.send("\r", "seen, unchanged")
    for trap, following in pairwise(ORDER[:6]):
        terminal.send(f"{typed(trap)}\r", f"Trap {following} ")
    terminal.leave()
    screen = pyte.Screen(80, 24)
    stream = pyte.ByteStream(screen)
    syncs = 0
    before: dict[str, int] = {}
    for line in log.read_text(encoding="utf-8", errors="replace").splitlines():
        if re.search(r"\bf(data)?sync\(\d+<[^>]*roundtui\.db-wal>", line):
            syncs += 1
        elif "write(" in line and "/dev/pts" in line and (sent := re.search(r'>, "((?:[^"\\]|\\.)*)"', line)):
            # Only cells that change are sent, so what a person sees is put together here.
            stream.feed(codecs.escape_decode(sent[1].encode())[0])
            text = "\n".join(screen.display)
            for trap in ORDER[:6]:
                if f"Trap {trap} " in text:
                    before.setdefault(trap, syncs)
    assert list(before) == ORDER[:6]
    steps = [before[following] - before[trap] for trap, following in pairwise(before)]
    assert min(steps) >= 1, "the entry is on the disk before the next prompt shows"
    # The stage of the block, the header of a journal that starts afresh, and what is kept behind the first screen,
    # which a busy machine gets to late.
    assert len(steps) < sum(steps) <= len(steps) + 3


def test_the_store_asks_the_disk_for_certainty(folder: Path) -> None:
    with closing(open_store(folder, now=datetime.now(UTC))) as conn:
        assert conn.execute("PRAGMA synchronous").fetchone() == (2,), "FULL"
        assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)
