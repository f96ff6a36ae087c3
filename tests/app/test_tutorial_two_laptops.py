"""The tutorial of two laptops, command by command and key by key."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.store.folder import open_folder
from roundtui.store.record.read import programme
from roundtui.store.round.conflicts import open_conflicts
from tests.app.test_tutorial import shell, sitting
from tests.docs.pages import tutorial
from tests.store.laptops import rows_of

PAGE = tutorial(2)
LAPTOPS = ("desk", "truck")


def parts() -> Iterator[str | list[tuple[list[str], str]]]:
    """Lines of commands and tables of keys, in the order of the page."""
    for block, table in re.findall(r"```sh\n(.*?)```|((?:^\|[^\n]*\n)+)", PAGE, re.DOTALL | re.MULTILINE):
        yield from block.splitlines()
        if table:
            rows = re.findall(r"^\| (`.*?) \| `(.+?)` \|", table, re.MULTILINE)
            yield [(re.findall(r"`([^`]+)`", keys), words) for keys, words in rows]


@pytest.fixture
def laptops(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two laptops that know their names."""
    monkeypatch.chdir(tmp_path)
    for name in LAPTOPS:
        state = tmp_path / "state" / name / "roundtui"
        state.mkdir(parents=True)
        (state / "device").write_text(f"{name}\n")
    return tmp_path / "state"


def run(line: str) -> list[str]:
    """Run a line; what is left over is the line that opens the app."""
    written = re.fullmatch(r"printf '(.*)' > (\S+)", line)
    if written:
        Path(written[2]).write_text(written[1].replace("\\n", "\n"))
        return []
    words = shlex.split(line)
    if words[0] == "mkdir":
        for name in words[1:]:
            Path(name).mkdir()
        return []
    if words[:2] == ["roundtui", "summary"]:
        assert CliRunner().invoke(main, words[1:]).exit_code == 0
        return []
    return words[1:] if words[1] in LAPTOPS else shell(line)


async def test_a_paper_sheet_a_round_and_a_settled_conflict_become_one_record(
    laptops: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opening: list[str] = []
    pressed = 0
    for part in parts():
        if isinstance(part, str):
            here = next((name for name in LAPTOPS if f" {name} " in f"{part} "), LAPTOPS[0])
            monkeypatch.setenv("XDG_STATE_HOME", str(laptops / here))
            opening = run(part)
        else:
            await sitting(opening, part)
            pressed += len(part)
    assert pressed == 14
    stores = [open_folder(Path(name), now=datetime.now(UTC)).conn for name in LAPTOPS]
    assert rows_of(stores[0]) == rows_of(stores[1])
    assert {row[0]: row[-1] for row in rows_of(stores[0]).values()}.keys() - {"set_up_changes"} == {
        "visits",
        "withdrawals",
    }
    assert [open_conflicts(conn, programme(conn)) for conn in stores] == [(), ()]
    for conn in stores:
        conn.close()
    asked = ("--on", "2025-06-24", "--json")
    said = [CliRunner().invoke(main, ["summary", name, *asked]).stdout for name in LAPTOPS]
    assert said[0] == said[1]
    assert '"conflicts": []' in said[0]
    assert '"K2"' not in said[0].split('"integrity"')[1].split('"upkeep"')[0]
