"""From nothing to the first count of an own programme, as its page says, command by command and key by key."""

from __future__ import annotations

import re
import shlex
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.app.app import RoundtuiApp
from roundtui.cli import main
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.session import Session
from tests.docs.pages import DOCS

PAGE = (DOCS / "tutorial-own.md").read_text(encoding="utf-8")
NAMES = {"Enter": "enter", "Escape": "escape"}


async def test_from_nothing_to_the_first_count(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    said = ""
    opening: list[str] = []
    for kind, name, text in re.findall(r"```(sh|csv) ?(\S*)\n(.*?)```", PAGE, re.DOTALL):
        if kind == "csv":
            Path(name).write_text(text, encoding="utf-8")
            continue
        command, *words = shlex.split(text)
        assert command == "roundtui"
        if words[0] == "valley":
            opening = words
            continue
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, done.output
        said += done.output
    for promised in ("blocks.csv: 2 rows added", "4 hangings added to traps.csv"):
        assert promised in said
    folder, on, scout = Path(opening[0]), date.fromisoformat(opening[2]), opening[4]
    keys = [
        NAMES.get(key, key)
        for row in re.findall(r"^\| (`.*?`) \|", PAGE.split("## 4.")[1], re.MULTILINE)
        for key in re.findall(r"`(.+?)`", row)
    ]
    now = datetime(2026, 4, 27, 12, 0, tzinfo=UTC)
    conn = open_folder(folder, now=now).conn
    ticks = iter(range(0, 100_000, 5))
    session = Session(
        folder,
        conn,
        on=on,
        device="desk",
        office=lambda: read_office(folder),
        scout=scout,
        clock=lambda: now,
        ticks=lambda: next(ticks),
    )
    app = RoundtuiApp(session)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for key in keys:
            await pilot.press(key)
            await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
    rows = conn.execute("SELECT trap, count FROM present_visits WHERE read_on = '2026-04-27' ORDER BY trap").fetchall()
    conn.close()
    assert rows == [("N1", 0), ("N2", 3)]
