"""Tables with something wrong in them, brought in by the thousand: no traceback, nothing half done.

Run it as ``python -m tests.long.mutated_tables [NUMBER] [SEED]``. Each is one of the thirty tables of
``tests/store/bring/tables.py`` with a few bytes, lines or cells changed, cut off, doubled or moved. After each the
folder still opens, and the same table once more adds nothing.
"""

from __future__ import annotations

import random
import shutil
import sys
import zipfile
from collections import Counter
from contextlib import closing
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner

from roundtui.cli import main as commands
from roundtui.store.begin import Beginning, begin
from roundtui.store.folder import open_folder
from tests.store.bring import tables

NOW = datetime(2026, 6, 1, 16, 30, tzinfo=UTC)
_BITS = (
    '"',
    ";",
    ",",
    "\t",
    "\r",
    "\x00",
    "\ufeff",
    "\u202e",
    "=1+1",
    "99999999",
    "-",
    "1e9",
    "31.02.2026",
    "[/]",
    "é",
    "x" * 70,
)


def programme(folder: Path) -> Path:
    """A programme with the invented traps, loaded."""
    begin(folder, Beginning(farms=[("MB", "Mühlbach")]), NOW)
    (folder / "blocks.csv").write_text("block,farm,name,crop\nN,MB,North,apple\nS,MB,South,apple\n")
    (folder / "stations.csv").write_text("station,name\nVALE,Vale (invented)\n")
    rows = "".join(f"{trap},{block},CM,2026-04-20\n" for trap, block in tables.BLOCK.items())
    (folder / "traps.csv").write_text("trap,block,species,hung_on\n" + rows)
    open_folder(folder, now=NOW).conn.close()
    return folder


def thirty(folder: Path) -> list[tuple[str, Path]]:
    """The tables, each with what it holds."""
    weather = [("weather", path) for path in tables.weather(folder)]
    return [*(("counts", path) for path in tables.counts(folder)), *tables.set_up(folder), *weather]


def mutated(content: bytes, chance: random.Random) -> bytes:
    """A file with something wrong in it."""
    if content.startswith(b"PK") and chance.random() < 0.7:
        return _sheet(content, chance)
    for _ in range(chance.randint(1, 4)):
        content = _bytes(content, chance)
    return content


def _bytes(content: bytes, chance: random.Random) -> bytes:  # noqa: PLR0911
    at, to = sorted(chance.randrange(len(content) + 1) for _ in range(2))
    lines = content.split(b"\n")
    match chance.randrange(8):
        case 0:
            return content[:at]
        case 1:
            return content[:at] + bytes([chance.randrange(256)]) + content[at + 1 :]
        case 2:
            return content[:at] + content[to:]
        case 3:
            return content[:to] + content[at:to] + content[to:]
        case 4:
            chance.shuffle(lines)
            return b"\n".join(lines)
        case 5:
            encoding = "utf-16-le" if content.startswith(b"\xff\xfe") else "utf-8"
            return content[:at] + chance.choice(_BITS).encode(encoding) + content[at:]
        case 6:
            return content.replace(
                chance.choice((b",", b";", b"\t", b".", b"/")), chance.choice((b",", b";", b"|", b"-"))
            )
        case _:
            return b"\n".join([*lines, *chance.choices(lines, k=2)])


def _sheet(content: bytes, chance: random.Random) -> bytes:
    """A spreadsheet whose parts were changed, and packed again."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        names = old.namelist()
        wrong = chance.choice(names)
        for name in names:
            part = old.read(name)
            if name == wrong and chance.random() < 0.2:
                continue
            new.writestr(name, _bytes(part, chance) if name == wrong else part)
    return out.getvalue()


def trial(ready: Path, kind: str, path: Path) -> str:
    """Bring a table into a copy of the programme, twice; what came of it, in a word.

    Raises:
        AssertionError: Something was half done, or was no word to a person.
    """
    with TemporaryDirectory() as where:
        folder = Path(where) / "programme"
        shutil.copytree(ready, folder)
        words = ["bring", str(folder), str(path), "--as", kind, "--scout", "Ada", "--yes"]
        done = [CliRunner().invoke(commands, words) for _ in range(2)]
        for one in done:
            assert one.exit_code in (0, 1), one.output
            assert one.exception is None or isinstance(one.exception, SystemExit), one.exception
            assert "fault of its own" not in one.output, one.output
            assert "Traceback" not in one.output, one.output
        last = done[1].stderr.rsplit(f"{path.name}: ", 1)[-1]
        assert " added" not in last.split("\n")[0], done[1].stderr
        with closing(open_folder(folder, now=NOW).conn) as conn:
            assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert conn.execute("PRAGMA foreign_key_check").fetchone() is None
            orphans = "SELECT count(*) FROM visits WHERE trap NOT IN (SELECT trap FROM traps)"
            assert conn.execute(orphans).fetchone() == (0,)
        if done[0].exit_code == 0:
            return "taken"
        return "in part" if " added" in done[0].stderr else "refused"


def run(number: int, seed: int) -> Counter[str]:
    """So many tables, each with something wrong.

    Args:
        number: How many.
        seed: Makes the same ones again.
    """
    chance = random.Random(seed)
    came: Counter[str] = Counter()
    with TemporaryDirectory() as where:
        (Path(where) / "tables").mkdir()
        (Path(where) / "wrong").mkdir()
        ready = programme(Path(where) / "ready")
        made = thirty(Path(where) / "tables")
        for at in range(number):
            kind, path = made[at % len(made)]
            wrong = Path(where) / "wrong" / path.name
            wrong.write_bytes(mutated(path.read_bytes(), chance))
            try:
                came[trial(ready, kind, wrong)] += 1
            except AssertionError as error:
                kept = Path(f"wrong-{seed}-{at}-{path.name}")
                kept.write_bytes(wrong.read_bytes())
                raise AssertionError(f"table {at} of seed {seed}, kept as {kept}") from error
    return came


if __name__ == "__main__":
    print(dict(run(int(sys.argv[1]) if len(sys.argv) > 1 else 2000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)))
