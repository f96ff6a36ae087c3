"""Faults on purpose, and what they cost: ``python -m tests.long.faults PART [HOW_MANY [SEED]]``; the suite takes a few.

Parts: ``exchange`` (laptops that meet, restore older backups and lose the shared folder), ``kills`` (walk, sheet,
commands, exchange and restore killed at one of their steps on the disk), ``fuzz`` (spoiled inputs), ``forgeries``,
``disk`` (every command on a full or read-only disk and on a locked store).
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from datetime import timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from random import Random

from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.entries import Visit
from roundtui.domain.figures.rules import parse_office
from roundtui.domain.round.entry import begin, press
from roundtui.domain.season.models import parse_models
from roundtui.domain.season.weather_files import parse_weather
from roundtui.domain.units import TempUnit
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store import db
from roundtui.store.backup import copy_store, restore
from roundtui.store.checks.verify import check_against, entries_of, verify
from roundtui.store.connect import open_store
from roundtui.store.csv_file import Cells, decoded, read_csv
from roundtui.store.db import DB_NAME
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.exchange import exchange
from roundtui.store.exchange.importing import import_package
from roundtui.store.exchange.lines import ENTRIES, WrongLineError, read_line
from roundtui.store.exchange.merge import merge
from roundtui.store.exchange.package import write_package
from roundtui.store.failures import Store
from roundtui.store.folder import open_folder
from roundtui.store.paper.sheet_state import SheetEntry
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.read import programme
from roundtui.store.record.rows import VISITS, digest_of
from roundtui.store.round.enter import enter_tally
from roundtui.store.round.tally_file import read_tally
from roundtui.store.set_up.columns import BY_NAME
from tests.app import folder as app
from tests.cli.every_command import ready
from tests.conftest import NOW, write_folder
from tests.store.bad_bundles import opened
from tests.store.laptops import ON, rows_of, template

LAPTOPS = ("truck", "van", "desk")
TRAPS = ("A1", "A2", "A3", "A4")


class Meeting:
    """Some laptops, each with a folder and a state of its own, and the folder they share.

    Args:
        place: An empty folder.
        rng: What happens next.
    """

    def __init__(self, place: Path, rng: Random) -> None:
        self.place, self.rng, self.shared = place, rng, place / "shared"
        self.now = NOW
        self.entered: set[str] = set()
        self.shared.mkdir()
        for name in LAPTOPS:
            (place / name).mkdir()
            shutil.copy(template(), place / name / DB_NAME)

    def enter(self, name: str, trap: str | None = None) -> str:
        """A count at a trap; gives its id."""
        self.now += timedelta(seconds=1)
        visit = Visit(trap=trap or self.rng.choice(TRAPS), read_on=ON, count=self.rng.randrange(9), recount=True)
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        with closing(open_store(self.place / name, now=self.now)) as conn:
            conn.execute("PRAGMA synchronous = OFF")
            (done,) = record(conn, [visit], Author(f"scout of {name}", name), self.now)
        self.entered.add(str(done.id))
        return str(done.id)

    def exchange(self, name: str) -> None:
        """One pass on a laptop: nothing that lay in the shared folder is gone from it, and all of it is known here."""
        before = self.in_shared()
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        with closing(open_store(self.place / name, now=self.now)) as conn:
            report = exchange(conn, self.place / name, self.shared, device=name, now=self.now)
            known = set(rows_of(conn))
        assert not report.refused, report.refused
        assert before <= self.in_shared() <= known

    def in_shared(self) -> set[str]:
        """Ids that the sound bundles of the shared folder hold; what a killed laptop left unfinished is none."""
        found: set[str] = set()
        for bundle in self.shared.glob("[!.]*"):
            with suppress(RefusedError):
                found |= {held.id for held in entries_of(bundle)}
        return found

    def backup(self, name: str) -> None:
        """A backup of a laptop's store."""
        with closing(open_store(self.place / name, now=self.now)) as conn:
            conn.execute("VACUUM INTO ?", (str(self.place / f"{name}-{self.rng.random()}.db"),))

    def restore(self, name: str) -> None:
        """Any earlier backup put in place."""
        os.environ["XDG_STATE_HOME"] = str(self.place / f"state-{name}")
        self.now += timedelta(seconds=1)
        if backups := sorted(self.place.glob(f"{name}-*.db")):
            restore(self.place / name, self.rng.choice(backups), self.now)

    def put_back_by_hand(self, name: str) -> None:
        """An earlier backup copied over the store, as people do; what was there goes to a stick."""
        if backups := sorted(self.place.glob(f"{name}-*.db")):
            (self.place / name / DB_NAME).rename(self.place / name / f"roundtui-before-restore-{self.rng.random()}.db")
            shutil.copy(self.rng.choice(backups), self.place / name / DB_NAME)

    def lose_shared(self, name: str) -> None:
        """The shared folder is set up anew, empty."""
        shutil.rmtree(self.shared)
        self.shared.mkdir()

    def tear(self, name: str) -> None:
        """A bundle in the shared folder is cut short."""
        if bundles := sorted(self.shared.iterdir()):
            torn = self.rng.choice(bundles)
            torn.write_bytes(torn.read_bytes()[: self.rng.randrange(2000)])

    def known(self, name: str) -> set[str]:
        """Ids on record on a laptop."""
        with closing(open_store(self.place / name, now=self.now)) as conn:
            return set(rows_of(conn))

    def settle(self) -> None:
        """What restoring kept is merged back on each laptop, and all meet twice."""
        for name in LAPTOPS:
            with closing(open_store(self.place / name, now=self.now)) as conn:
                for kept in sorted((self.place / name).glob("roundtui-before-restore-*.db")):
                    merge(conn, [kept])
        for name in (*LAPTOPS, *LAPTOPS):
            self.exchange(name)


def meet_at_random(place: Path, rng: Random, steps: int = 20) -> tuple[int, dict[str, int]]:
    """A season of laptops that meet, restore and lose; gives how much was entered, and what each lacks in the end."""
    meeting = Meeting(place, rng)
    acts = [meeting.enter, meeting.exchange, meeting.backup, meeting.restore, meeting.put_back_by_hand]
    for _ in range(steps):
        act = rng.choices([*acts, meeting.lose_shared, meeting.tear], weights=(8, 8, 3, 2, 1, 1, 1))[0]
        act(rng.choice(LAPTOPS))
    meeting.settle()
    return len(meeting.entered), {name: len(meeting.entered - meeting.known(name)) for name in LAPTOPS}


def run_exchange(many: int, seed: int) -> str:
    """Meetings at random."""
    entered = lost = 0
    for number in range(many):
        with tempfile.TemporaryDirectory() as place:
            some, lacking = meet_at_random(Path(place), Random(seed + number))
        entered, lost = entered + some, lost + sum(lacking.values())
    return f"{many} meetings of three laptops, {entered} entries, {lost} missing on a laptop in the end"


# --- kills ------------------------------------------------------------------------------------------------------------

STEPS = [(os, "open"), (os, "replace"), (os, "rename"), (os, "link"), (os, "fsync"), (os, "unlink"), (Store, "execute")]
"""What a process may be killed at: each of its steps on the disk."""


def killed(act: Callable[[Callable[[object], None]], None], step: int, *, after: bool) -> tuple[bool, list[str]]:
    """Let a child do something and die at one of its steps; whether it died, and what it had said was done."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        left = step

        def dying(real: Callable[..., object]) -> Callable[..., object]:
            def run(*args: object, **named: object) -> object:
                nonlocal left
                left -= 1
                if left == 0 and not after:
                    os._exit(9)
                done = real(*args, **named)
                if left == 0:
                    os._exit(9)
                return done

            return run

        try:
            for of, name in STEPS:
                setattr(of, name, dying(getattr(of, name)))
            act(lambda done: os.write(writing, f"{done}\n".encode()))
        except BaseException as error:
            os.write(writing, f"FAULT {error!r}\n".encode())
            os._exit(3)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as said:
        acknowledged = said.read().splitlines()
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) in (0, 9), acknowledged
    return os.waitstatus_to_exitcode(status) == 9, acknowledged


def walk(folder: Path) -> Callable[[Callable[[object], None]], None]:
    """What is left of a round on the walk, trap by trap."""

    def act(tell: Callable[[object], None]) -> None:
        session = app.open_session(folder)
        state = session.round_of("hill")
        for trap in state.left:
            asked = session.asked(trap, state, ask_stage=False)
            now = press(press(begin(asked), str(typed(trap))), "enter")
            session.record([now.visit])
            tell(trap)

    return act


def sheet(folder: Path) -> Callable[[Callable[[object], None]], None]:
    """The same on the tally sheet."""

    def act(tell: Callable[[object], None]) -> None:
        paper = SheetEntry(app.open_session(folder), "hill")
        for at, row in enumerate(paper.rows):
            if row.draft is None:
                paper.at = at
                for key in str(typed(row.trap)):
                    paper.press(key)
                paper.press("enter")
                tell(row.trap)

    return act


def command(folder: Path) -> Callable[[Callable[[object], None]], None]:
    """The same as a tally file."""
    file = folder.parent / "sheet.csv"
    rows = "".join(f"{trap},{app.DAY},{typed(trap)}\n" for trap in app.ORDER)
    file.write_text(f"trap,read_on,count\n{rows}", encoding="utf-8")

    def act(tell: Callable[[object], None]) -> None:
        conn = open_folder(folder, now=NOW).conn
        enter_tally(conn, file, Author("Ida", "truck"), NOW, app.DAY)
        for trap in app.ORDER:
            tell(trap)

    return act


def typed(trap: str) -> int:
    """The count at a trap, one digit."""
    return 1 + app.ORDER.index(trap) % 9


def kill_entering(of: Callable[[Path], Callable[..., None]], many: int, rng: Random) -> tuple[int, int, int]:
    """Kill a round again and again; kills, counts lost, counts there twice."""
    kills = lost = doubled = 0
    with tempfile.TemporaryDirectory() as place:
        fresh = app.write_folder(Path(place) / "fresh")
        app.open_session(fresh).conn.close()
        while kills < many:
            folder = Path(place) / f"farm-{kills}"
            shutil.copytree(fresh, folder)
            told: set[str] = set()
            for _ in range(8):
                died, said = killed(of(folder), rng.randrange(1, 160), after=rng.random() < 0.5)
                kills += died
                told |= set(said)
                with closing(sqlite3.connect(folder / DB_NAME)) as conn:
                    assert conn.execute("PRAGMA quick_check").fetchone() == ("ok",)
                    found = conn.execute("SELECT trap, count(*), max(count) FROM visits GROUP BY trap").fetchall()
                lost += len(told - {trap for trap, _, count in found if count == typed(trap)})
                doubled += sum(times > 1 for _, times, _ in found)
                if not died:
                    break
            shutil.rmtree(folder)
    return kills, lost, doubled


def _passing(act: Callable[[str], None], name: str, _: object) -> None:
    act(name)


def kill_restore(many: int, rng: Random) -> tuple[int, int, int]:
    """Kill ``restore`` at each of its steps: a store is in place, and all entries are in it or in the file kept."""
    kills = lost = 0
    with tempfile.TemporaryDirectory() as place:
        (base := Path(place) / "base").mkdir()
        meeting = Meeting(base, rng)
        meeting.enter("truck")
        meeting.backup("truck")
        meeting.enter("truck")
        while kills < many:
            meeting.place = Path(place) / f"after-{kills}-{rng.random()}"
            shutil.copytree(base, meeting.place)
            died, _ = killed(
                partial(_passing, meeting.restore, "truck"), rng.randrange(1, 70), after=rng.random() < 0.5
            )
            kills += died
            there = meeting.known("truck")
            for kept in (meeting.place / "truck").glob("roundtui-before-restore-*.db"):
                there |= {held.id for held in entries_of(kept)}
            lost += len(meeting.entered - there)
            shutil.rmtree(meeting.place)
    return kills, lost, 0


def kill_exchange(many: int, rng: Random) -> tuple[int, int, int]:
    """Kill ``exchange`` at each of its steps, then let all meet: every laptop has every entry, once."""
    kills = lost = 0
    with tempfile.TemporaryDirectory() as place:
        while kills < many:
            meeting = Meeting(Path(tempfile.mkdtemp(dir=place)), rng)
            for _ in range(4):
                name = rng.choice(LAPTOPS)
                meeting.enter(name)
                act = partial(_passing, meeting.exchange, name)
                died, _ = killed(act, rng.randrange(1, 260), after=rng.random() < 0.5)
                kills += died
            meeting.settle()
            lost += sum(len(meeting.entered - meeting.known(name)) for name in LAPTOPS)
    return kills, lost, 0


def run_kills(many: int, seed: int) -> str:
    """An equal share of the kills for each thing that people do."""
    rng, words = Random(seed), []
    for what, kill in (
        ("walk", partial(kill_entering, walk)),
        ("sheet", partial(kill_entering, sheet)),
        ("commands", partial(kill_entering, command)),
        ("exchange", kill_exchange),
        ("restore", kill_restore),
    ):
        kills, lost, twice = kill(many // 5, rng)
        words.append(f"{what}: {kills} kills, {lost} lost, {twice} doubled")
        print(words[-1], flush=True)
    return "\n".join(words)


# --- inputs that are spoiled ------------------------------------------------------------------------------------------

PIECES = [
    b"9999-12-31",
    b"0000-00-00",
    b"-1",
    b"1e400",
    b"nan",
    b"\x00",
    b"\xff\xfe",
    b'"',
    b",",
    b"\n",
    b"[[",
    b"]",
    b"=1+1",
]
"""What is put in: days and numbers beyond all limits, halves of characters, marks of every form."""


def spoiled(content: bytes, rng: Random) -> bytes:
    """A file with a few of its bytes changed, left out, doubled or put in."""
    text = bytearray(content)
    for _ in range(rng.randrange(1, 4)):
        at = rng.randrange(len(text) + 1)
        end = min(len(text), at + rng.randrange(1, 12))
        text[at:end] = rng.choice([b"", bytes([rng.randrange(256)]), text[at:end] * 2, rng.choice(PIECES)])
    return bytes(text)


def run_fuzz(many: int, seed: int) -> str:  # noqa: C901  (one function for each kind of input)
    """Spoiled inputs, each refused in words or taken; the shares go by how long one takes."""
    rng, faults = Random(seed), []
    sample = Path(__file__).parents[2] / "sample_farm"
    tomls = {"rules": (sample / "thresholds.toml", parse_office), "models": (sample / "models.toml", parse_models)}
    tally = "".join(f"A{n},{ON},{n},,l\n" for n in range(1, 5)).encode()
    weather = "".join(f"ORCH,2026-05-{n:02},{n},{n + 9}\n" for n in range(1, 25)).encode()
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name, ExitStack() as stack:
        place = Path(name)
        folder = write_folder(place / "farm")
        conn = stack.enter_context(closing(open_folder(folder, now=NOW).conn))
        record(conn, [Visit(trap="A1", read_on=ON, count=4)], Author("Ada", "truck"), NOW)
        known = programme(conn)
        pack(conn, place / "good.bundle", "truck", NOW)
        write_package(conn, folder, place / "package", NOW)
        tables = sorted((place / "package" / "data").iterdir())
        other = stack.enter_context(closing(open_folder(write_folder(place / "other"), now=NOW).conn))
        file = place / "spoiled"

        def of_tally() -> None:
            file.write_bytes(spoiled(b"trap,read_on,count,females,note\n" + tally, rng))
            read_tally(file, known, "Ada", ON)

        def of_toml() -> None:
            path, parse = rng.choice(list(tomls.values()))
            try:
                table = tomllib.loads(spoiled(path.read_bytes(), rng).decode(), parse_float=Decimal)
            except (ValueError, ArithmeticError):
                return
            parse(table)

        def of_weather() -> None:
            file.write_bytes(spoiled(b"station,date,tmin,tmax\n" + weather, rng))
            text, problem = decoded("weather.csv", file.read_bytes())
            if problem is None:
                parse_weather(text.splitlines(keepends=True), unit=TempUnit.C, where="weather.csv")

        def of_set_up() -> None:
            path = folder / rng.choice(["traps.csv", "blocks.csv", "farms.csv", "lures.csv", "routes.csv"])
            rows, _ = read_csv(path.name, spoiled(path.read_bytes(), rng), *_columns(path.name))
            for row in rows:
                BY_NAME[path.name].read(Cells(row, path.name))

        def of_bundle() -> None:
            whole = (place / "good.bundle").read_bytes()
            if rng.random() < 0.7:
                lines = opened(whole)[ENTRIES].splitlines(keepends=True)
                at = rng.randrange(len(lines))
                with suppress(WrongLineError):
                    read_line(spoiled(lines[at], rng))
                return
            file.with_suffix(".bundle").write_bytes(spoiled(whole, rng))
            merge(other, [file.with_suffix(".bundle")])

        def of_package() -> None:
            path = rng.choice(tables)
            good = path.read_bytes()
            path.write_bytes(spoiled(good, rng))
            try:
                import_package(place / "new", place / "package", NOW)
            finally:
                path.write_bytes(good)
                shutil.rmtree(place / "new", ignore_errors=True)

        shares = (
            (of_tally, 0.4),
            (of_toml, 0.2),
            (of_weather, 0.2),
            (of_set_up, 0.15),
            (of_bundle, 0.048),
            (of_package, 0.002),
        )
        for act, share in shares:
            for _ in range(max(1, int(many * share))):
                counts[act.__name__[3:]] += 1
                try:
                    act()
                except RoundtuiError:
                    continue
                except Exception as error:
                    faults.append(f"{act.__name__}: {error!r}")
    words = ", ".join(f"{what} {count}" for what, count in counts.items())
    return "\n".join(
        [f"{sum(counts.values())} spoiled inputs ({words}): {len(faults)} that were no refusal in words", *faults[:9]]
    )


def _columns(name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return BY_NAME[name].required, BY_NAME[name].optional


# --- forgeries --------------------------------------------------------------------------------------------------------


def run_forgeries(many: int, seed: int) -> str:
    """Each forgery on a store of its own: noticed by ``verify`` alone, against yesterday's backup, or not at all."""
    lines, count = [], Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        honest, copy = _honest(place)
        for title, forge in _forgeries():
            folder = place / "forged"
            shutil.copytree(honest, folder)
            with closing(sqlite3.connect(folder / DB_NAME, isolation_level=None)) as conn:
                triggers = conn.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
                for trigger, _ in triggers:
                    conn.execute(f"DROP TRIGGER {trigger}")
                forge(conn)
                for trigger, sql in triggers:
                    if not (title == "a trigger is dropped" and trigger == "visits_no_update"):
                        conn.execute(sql)
            with closing(open_store(folder, now=NOW)) as conn:
                alone = any(check.faults for check in verify(conn, "truck"))
                against = any(check.faults for check in check_against(conn, copy))
            shutil.rmtree(folder)
            how = "alone" if alone else "against an older copy" if against else "not noticeable"
            count[how] += 1
            lines.append(f"| {title} | {how} |")
    total = ", ".join(f"{how} {count[how]}" for how in ("alone", "against an older copy", "not noticeable"))
    return "\n".join([f"{len(lines)} forgeries: {total}", *lines])


def _honest(place: Path) -> tuple[Path, Path]:
    """A store with twelve entries of its own and four of another laptop; its backup lacks the last two."""
    folder, van = write_folder(place / "farm"), write_folder(place / "van")
    with closing(open_folder(van, now=NOW).conn) as conn:
        record(conn, [Visit(trap=trap, read_on=ON, count=3) for trap in TRAPS], Author("Bo", "van"), NOW)
        pack(conn, place / "van.bundle", "van", NOW)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        merge(conn, [place / "van.bundle"])
        for at in range(12):
            day = ON - timedelta(days=7 * (at // 4 + 1))
            record(conn, [Visit(trap=TRAPS[at % 4], read_on=day, count=at)], Author("Ada", "truck"), NOW)
            if at == 9:
                copy_store(conn, place / "backup.db")
        conn.execute("PRAGMA journal_mode = DELETE")
    return folder, place / "backup.db"


def _forgeries() -> Iterator[tuple[str, Callable[[sqlite3.Connection], None]]]:
    own = "SELECT id FROM visits WHERE scout = 'Ada' ORDER BY id"
    places = {
        "the first": 0,
        "one in the middle": 5,
        "one before the copy's end": 8,
        "one after the copy": 10,
        "the newest": 11,
    }
    for where, at in places.items():
        for title, act in (
            ("is deleted", _delete),
            ("is deleted, and the lane's end with it", _delete_and_end),
            ("says another count", _change),
            ("says another count, its digest made anew", _change_digest),
            ("says another count, and all behind it made anew", _change_all),
            ("says another count, all behind it and the end made anew", _change_all_and_end),
            ("is of another day, its digest made anew", _other_day),
            ("is another scout's, all behind it and the end made anew", _other_scout),
        ):
            yield f"an entry, {where}, {title}", partial(_on, own, at, act)
    for title, statement in (
        ("a trigger is dropped", "DROP TRIGGER IF EXISTS visits_no_update"),
        ("an index is dropped", "DROP INDEX set_up_rows_key"),
        ("a view shows no count above two", "_VIEW"),
        ("all entries of another laptop are deleted", "DELETE FROM visits WHERE scout = 'Bo'"),
        ("all entries of a day are deleted", f"DELETE FROM visits WHERE read_on = '{ON - timedelta(days=7)}'"),
        ("a trap is moved to another block", "UPDATE traps SET block = 'S' WHERE trap = 'A1'"),
        ("a block becomes one under mating disruption", "UPDATE blocks SET disrupted = 1"),
        ("a lot becomes one of another species", "UPDATE lots SET species = 'OFM'"),
        ("a setting is changed", "INSERT OR REPLACE INTO settings VALUES ('scout', 'Eve')"),
        ("a lane's end is set back", "UPDATE lanes SET last_no = last_no - 1"),
    ):
        yield title, partial(_run, statement)


def _on(question: str, at: int, act: Callable[[sqlite3.Connection, str], None], conn: sqlite3.Connection) -> None:
    act(conn, conn.execute(question).fetchall()[at][0])


def _run(statement: str, conn: sqlite3.Connection) -> None:
    if statement == "_VIEW":
        (sql,) = conn.execute("SELECT sql FROM sqlite_master WHERE name = 'present_visits'").fetchone()
        conn.execute("DROP VIEW present_visits")
        statement = f"{sql.rstrip(';')} AND coalesce(count, 0) < 3"
    conn.execute(statement)


def _delete(conn: sqlite3.Connection, entry: str) -> None:
    conn.execute("DELETE FROM visits WHERE id = ?", (entry,))


def _delete_and_end(conn: sqlite3.Connection, entry: str) -> None:
    (lane,) = conn.execute("SELECT lane FROM visits WHERE id = ?", (entry,)).fetchone()
    _delete(conn, entry)
    _end(conn, lane)


def _end(conn: sqlite3.Connection, lane: int) -> None:
    conn.execute(
        "UPDATE lanes SET (last_no, last_digest) = (SELECT no, digest FROM visits"
        " WHERE lane = ?1 ORDER BY no DESC LIMIT 1) WHERE lane = ?1",
        (lane,),
    )


def _change(conn: sqlite3.Connection, entry: str, column: str = "count", value: object = 99) -> None:
    conn.execute(f"UPDATE visits SET {column} = ? WHERE id = ?", (value, entry))


def _digest(conn: sqlite3.Connection, entry: str) -> None:
    row = conn.execute(f"SELECT {VISITS.whole} FROM visits WHERE id = ?", (entry,)).fetchone()
    digest = digest_of(VISITS, row, lane_names(conn)[row[-5]])
    conn.execute("UPDATE visits SET digest = ? WHERE id = ?", (digest, entry))


def _change_digest(conn: sqlite3.Connection, entry: str) -> None:
    _change(conn, entry)
    _digest(conn, entry)


def _rechain(conn: sqlite3.Connection, entry: str) -> int:
    lane, no = conn.execute("SELECT lane, no FROM visits WHERE id = ?", (entry,)).fetchone()
    _digest(conn, entry)
    for (later,) in conn.execute("SELECT id FROM visits WHERE lane = ? AND no > ? ORDER BY no", (lane, no)).fetchall():
        conn.execute(
            "UPDATE visits SET previous = (SELECT b.digest FROM visits AS b WHERE b.lane = visits.lane"
            " AND b.no = visits.no - 1) WHERE id = ?",
            (later,),
        )
        _digest(conn, later)
    return int(lane)


def _change_all(conn: sqlite3.Connection, entry: str) -> None:
    _change(conn, entry)
    _rechain(conn, entry)


def _change_all_and_end(conn: sqlite3.Connection, entry: str) -> None:
    _change(conn, entry)
    _end(conn, _rechain(conn, entry))


def _other_day(conn: sqlite3.Connection, entry: str) -> None:
    _change(conn, entry, "read_on", (ON - timedelta(days=2)).isoformat())
    _digest(conn, entry)


def _other_scout(conn: sqlite3.Connection, entry: str) -> None:
    _change(conn, entry, "scout", "Eve")
    _end(conn, _rechain(conn, entry))


# --- disks ------------------------------------------------------------------------------------------------------------


def run_disk(_: int, seed: int) -> str:
    """Every command on a real disk that is full, nearly full (three times), or read-only, and on a locked store.

    Only somebody who may mount disks can run it; Linux.
    """
    db.WAIT_SECONDS = 0.05
    rng, lines = Random(seed), []
    with tempfile.TemporaryDirectory() as state_of, tempfile.TemporaryDirectory() as name, _disk(Path(name)) as place:
        os.environ["XDG_STATE_HOME"] = state_of
        calls = ready(place).calls()
        with tempfile.TemporaryDirectory() as kept:
            shutil.copytree(place, kept, dirs_exist_ok=True)
            for state in ("full", *(f"{rng.randrange(1, 100) * 4} KiB left" for _ in range(3)), "read-only", "locked"):
                counts, faults = Counter[str](), []
                for command, args in calls.items():
                    with _disk(place):
                        shutil.copytree(kept, place, dirs_exist_ok=True)
                        with _spoiled(place, state):
                            ran = CliRunner().invoke(main, [command, *map(str, args)])
                            left = [path.name for path in place.rglob("*unfinished*")]
                    words = ran.stderr
                    named = next((fault for fault in NAMED if fault in words), "done" if ran.exit_code == 0 else "")
                    counts[named] += 1
                    if not named or left or any(word in words for word in ("damaged", "fault of its own", "Traceback")):
                        faults.append(f"{command}, {left}: {words[:300]}")
                said = ", ".join(f"{count} {words}" for words, count in counts.most_common())
                lines.append("\n  ".join([f"{state}: {said}; {len(faults)} otherwise", *faults]))
    return "\n".join(lines)


NAMED = ("the disk is full", "is read-only", "is in use by another window", "is open in another window")
"""What a command may say of a disk or a store that it cannot use."""


@contextmanager
def _disk(place: Path) -> Iterator[Path]:
    """A disk of 40 MB in the memory, which is gone afterwards."""
    run = partial(subprocess.run, check=True)
    run(["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(place)])
    try:
        yield place
    finally:
        run(["umount", str(place)])


@contextmanager
def _spoiled(place: Path, state: str) -> Iterator[None]:
    """A disk that is full or read-only, or a store that another program holds."""
    with ExitStack() as stack:
        if state == "read-only":
            subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        elif state == "locked":
            conn = stack.enter_context(closing(sqlite3.connect(place / "farm" / DB_NAME, isolation_level=None)))
            conn.execute("PRAGMA journal_mode = DELETE")
            conn.execute("BEGIN EXCLUSIVE")
        else:
            with (place / "filler").open("wb", buffering=0) as file:
                with suppress(OSError):
                    while file.write(b"x" * 4096):
                        pass
                file.truncate(file.tell() - 1024 * int("".join(filter(str.isdigit, state)) or 0))
        yield


PARTS = {
    "exchange": run_exchange,
    "kills": run_kills,
    "fuzz": run_fuzz,
    "forgeries": run_forgeries,
    "disk": run_disk,
}

if __name__ == "__main__":
    part, *numbers = sys.argv[1:]
    many, seed = [*map(int, numbers), *(100, 1)[len(numbers) :]]
    print(f"{part}: {PARTS[part](many, seed)}")
