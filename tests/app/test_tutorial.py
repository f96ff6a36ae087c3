"""The tutorial, key by key: what it says is typed, what it says is seen, and it takes under two minutes of keys."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterable
from contextlib import closing
from datetime import UTC, date, datetime
from functools import partial
from itertools import count
from pathlib import Path

import pytest
from click.testing import CliRunner
from textual.pilot import Pilot

from roundtui.app.app import RoundtuiApp
from roundtui.cli import main
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.season.season import SeasonRecord
from roundtui.store.session import Session
from tests.app.folder import screen_text
from tests.conftest import ready_demo
from tests.docs.pages import tutorial

PAGE = tutorial(1)
NAMES = {"PgDn": "pagedown", **{name: name.lower() for name in ("Enter", "Tab", "Escape", "Backspace", "Left", "Down")}}
"""Keys of the page as they are pressed; anything else in the column is typed as it stands."""
SECONDS_A_KEY = 2.0
"""Slow fingers, with a look at the screen after each key."""


def shell(line: str) -> list[str]:
    """Run a line of the tutorial; what is left over is the line that opens the app."""
    loop = re.fullmatch(r"for file in (\S+); do (.+); done", line)
    if loop:
        for file in sorted(Path().glob(loop[1])):
            assert shell(loop[2].replace('"$file"', shlex.quote(str(file)))) == []
        return []
    command, *words = shlex.split(line)
    if command == "mkdir":
        Path(words[0]).mkdir()
    elif command == "cp":
        for file in words[:-1]:
            shutil.copy(file, words[-1])
    elif "--on" in words and command == "roundtui":
        return words
    elif words[0] == "demo":
        # Its own test makes it; here a copy will do.
        ready_demo(Path(words[-1]))
    else:
        assert command == "roundtui"
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, done.output
    return []


async def sitting(opening: list[str], steps: Iterable[tuple[Iterable[str], str]], *, new: bool = False) -> None:
    """Open the app on a laptop named as its folder, press the keys of a table, and look.

    Args:
        opening: Words of the line that opens it.
        steps: Keys and the words to see then.
        new: The words may not show before.
    """
    folder, on, scout = Path(opening[0]), date.fromisoformat(opening[2]), opening[4]
    with closing(open_folder(folder, now=datetime.now(UTC)).conn) as conn:
        ticks, office = count(1), partial(read_office, folder)
        app = RoundtuiApp(
            Session(
                *(folder, conn),
                on=on,
                device=folder.name,
                scout=scout,
                office=office,
                ticks=lambda: float(next(ticks)),
            )
        )
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await at_rest(pilot)
            for keys, words in steps:
                assert not (new and words in screen_text(app)), f"{words!r} shows before {keys}:\n{screen_text(app)}"
                for key in keys:
                    await pilot.press(*([NAMES[key]] if key in NAMES else key))
                    await at_rest(pilot)
                assert words in screen_text(app), f"after {keys}:\n{screen_text(app)}"


async def at_rest(pilot: Pilot[object]) -> None:
    """Wait for what threads read or write too, however long that takes; a worker without a thread waits for keys."""
    while any(worker._thread_worker and not worker.is_finished for worker in pilot.app.workers):
        await pilot.pause()


async def test_from_one_weather_file_to_a_confirmed_biofix_and_a_dated_outlook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    opening: list[str] = []
    for block in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL):
        for line in block.splitlines():
            opening = shell(line) or opening
    folder, on, scout = Path(opening[0]), date.fromisoformat(opening[2]), opening[4]
    steps = [
        (re.findall(r"`(\w+)`", keys), words) for keys, words in re.findall(r"^\| (.*?) ?\| `(.+?)` \|", PAGE, re.M)
    ]
    assert len(steps) == 11
    assert sum(len(keys) for keys, _ in steps) * SECONDS_A_KEY < 60
    await sitting(opening, steps)
    conn = open_folder(folder, now=datetime.now(UTC)).conn
    record = SeasonRecord(conn, folder, on, read_office(folder))
    (row,) = [row for row in record.biofixes("BARN", "CM") if row.biofix.generation == 1]
    assert (row.biofix.confirmed, row.settled[0].scout) == (date(2025, 5, 12), scout)
    dated = [one.event.expected_on for one in record.outlook_rows() if one.block == "BARN" and one.confirmed]
    assert date(2025, 7, 2) in dated
    assert record.days_of("VALE")[-1].tmax == 91
    conn.close()
    assert {file.suffix for file in (folder / "pictures").iterdir()} == {".svg", ".png"}
