"""All that the sample farm shows, written down so that two states of the code can be laid side by side.

``python -m tests.long.fidelity OUT`` writes into the folder OUT the summary of every day, the replay, biofixes,
outlook, letters and area update of every week, and the open files, by the commands that a user has; ``diff -r`` does
the rest. What differs from run to run without meaning anything is named or left out: an entry's id becomes the entry's
kind, trap, day, instant and scout; digests, laptops, lanes and the instant of writing go. The lures in stock stand in
files of their own.
"""

from __future__ import annotations

import csv
import json
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta
from email import message_from_bytes
from email.policy import default as mail_policy
from hashlib import sha1
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from roundtui.cli import main
from roundtui.store.demo import prepare_demo

UUID = re.compile(r"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\b")
DIGEST = re.compile(r"\b[0-9a-f]{64}\b")
WRITTEN = re.compile(r"^(DTSTAMP|LAST-MODIFIED|SEQUENCE):.*$", re.MULTILINE)
APART = re.compile(r"device|lane|laptop|sha256|digest|^hash$|^bytes$|^created$")
"""Names of fields that differ from run to run, or that say how a record is kept and not what it says."""
STOCK = re.compile(r"^(?:Lures in stock|Lures: .*)\n(?:.+\n)*\n?", re.MULTILINE)
"""The section of the tables that says how long the lures last."""


@dataclass
class Sample:
    """A copy of the sample farm, ready loaded, and what is written about it."""

    folder: Path
    out: Path
    on: date
    names: dict[str, str] = field(default_factory=dict)
    """What an entry is called in place of its id."""

    @property
    def first(self) -> date:
        """Day of the first round."""
        return min(date.fromisoformat(path.name[:10]) for path in (self.folder / "tallies").glob("2*.csv"))

    def weeks(self) -> Iterator[str]:
        """Every seventh day, first to last; the last is the day on which the sample runs."""
        days = (self.on - self.first).days
        return ((self.on - timedelta(days=days - days % 7 - at)).isoformat() for at in range(0, days + 1, 7))

    def walked(self, week: str) -> bool:
        """Whether a round was walked in the seven days that end on a day."""
        days = [date.fromisoformat(week) - timedelta(days=back) for back in range(7)]
        return any(next((self.folder / "tallies").glob(f"{day}*.csv"), None) for day in days)

    def ask(self, *words: str) -> str:
        """What a command prints, with its words where it could not do it."""
        notified = CliRunner().invoke(main, [words[0], str(self.folder), *words[1:]], env={"COLUMNS": "120"})
        if notified.exception is not None and not isinstance(notified.exception, SystemExit):
            raise notified.exception
        return (
            notified.stdout
            if notified.exit_code == 0
            else f"exit {notified.exit_code}\n{notified.stdout}{notified.stderr}"
        )

    def write(self, name: str, text: str) -> None:
        """Keep a text under a name, with nothing in it that another run would write otherwise."""
        path = self.out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        text = UUID.sub(lambda found: self.names.get(found[0], "<id>"), DIGEST.sub("<digest>", text))
        path.write_text(text.replace(str(self.folder), "FOLDER"), encoding="utf-8")

    def write_json(self, name: str, text: str) -> None:
        """The same of JSON, a value on a line, keys in order."""
        try:
            read = json.loads(text)
        except ValueError:
            self.write(name, text)
        else:
            self.write(name, json.dumps(kept(read), indent=1, sort_keys=True, ensure_ascii=False) + "\n")

    def name_entries(self) -> None:
        """Learn what every entry is called."""
        seen: Counter[str] = Counter()
        for week in self.weeks():
            for row in json.loads(self.ask("replay", "--on", week, "--json")):
                if row["id"] not in self.names:
                    about = (row.get(key) for key in ("kind", "trap", "block", "read_on", "recorded_at", "scout"))
                    name = " ".join(str(value) for value in about if value)
                    seen[name] += 1
                    self.names[row["id"]] = f"<{name} {seen[name]}>"


def kept(value: Any) -> Any:
    """JSON without what differs from run to run."""
    if isinstance(value, dict):
        return {key: kept(inside) for key, inside in value.items() if not APART.search(key)}
    return [kept(inside) for inside in value] if isinstance(value, list) else value


def write_summaries(sample: Sample) -> None:
    """Summary of every day, as JSON and as tables; of every fourth week also as it was known on its evening."""
    for number in range((sample.on - sample.first).days + 1):
        day = (sample.first + timedelta(days=number)).isoformat()
        sample.write_json(f"summary/{day}.json", sample.ask("summary", "--on", day, "--json"))
    for number, week in enumerate(sample.weeks()):
        tables = sample.ask("summary", "--on", week)
        sample.write(f"tables/{week}.txt", STOCK.sub("", tables))
        sample.write(f"stock/{week}.txt", "".join(found[0] for found in STOCK.finditer(tables)))
        if number % 4 == 0:
            known = sample.ask("summary", "--on", week, "--as-recorded-at", f"{week}T20:00:00Z", "--json")
            sample.write_json(f"as-recorded/{week}.json", known)


def write_letters(sample: Sample) -> None:
    """Letters and area update of every week with a round, one after the other, as they would have been written."""
    for week in sample.weeks():
        if not sample.walked(week):
            continue
        to = sample.folder.parent / f"letters-{week}"
        sample.write(f"letters/{week}/said.txt", sample.ask("letters", "--on", week, "--to", str(to)))
        for path in sorted(to.glob("*")):
            if path.suffix == ".eml":
                sample.write(f"letters/{week}/{path.name}", mail_text(path))
            else:
                sample.write(f"letters/{week}/{path.name}", path.read_text(encoding="utf-8"))
        sample.write(f"update/{week}.txt", sample.ask("update", "--on", week, "--preview"))


def mail_text(path: Path) -> str:
    """Headers of a mail, and its parts where they differ from the page and the text beside it."""
    mail = message_from_bytes(path.read_bytes(), policy=mail_policy)
    lines = [f"{name}: {value}" for name, value in mail.items() if name not in {"Date", "Content-Type", "Message-ID"}]
    for part in mail.walk():
        kind = part.get_content_type()
        observations = path.with_suffix({"text/html": ".html", "text/plain": ".txt"}.get(kind, ".none"))
        if part.is_multipart():
            lines.append(kind)
        elif kind.startswith("text/"):
            text = str(part.get_content())
            same = observations.exists() and observations.read_text(encoding="utf-8").split() == text.split()
            lines.append(f"{kind}: the file beside it" if same else f"{kind}:\n{text}")
        else:
            lines.append(f"{kind}: {sha1(part.get_content(), usedforsecurity=False).hexdigest()[:12]}")
    return "\n".join(lines) + "\n"


def write_rest(sample: Sample) -> None:
    """Replay, biofixes and outlook of every week, and the open files of the last day."""
    for week in sample.weeks():
        for command in ("replay", "biofix", "outlook"):
            sample.write_json(f"{command}/{week}.json", sample.ask(command, "--on", week, "--json"))
    to = sample.folder.parent / "export"
    forms = ("--format", "datapackage", "--format", "gpx", "--format", "ics")
    sample.write("export/said.txt", sample.ask("export", "--to", str(to), "--on", sample.on.isoformat(), *forms))
    for path in sorted(path for path in to.rglob("*") if path.is_file()):
        name = f"export/{path.relative_to(to)}"
        text = path.read_text(encoding="utf-8")
        if path.suffix == ".json":
            sample.write_json(name, text)
        elif path.suffix == ".csv":
            rows = list(csv.DictReader(text.splitlines()))
            sample.write(name, "".join(sorted(f"{row_text(sample, row)}\n" for row in rows)))
        else:
            sample.write(name, WRITTEN.sub(r"\1", text))


def row_text(sample: Sample, row: dict[str, str]) -> str:
    """A row with its names, in a form that can be put in order."""
    said = json.dumps({key: value for key, value in row.items() if not APART.search(str(key))}, ensure_ascii=False)
    return UUID.sub(lambda found: sample.names.get(found[0], "<id>"), said)


PARTS: tuple[Callable[[Sample], None], ...] = (write_letters, write_summaries, write_rest)


def write_part(number: int, out: Path) -> str:
    """Write one part from a copy of the sample of its own."""
    with tempfile.TemporaryDirectory() as place:
        demo = prepare_demo(Path(place) / "farm")
        sample = Sample(demo.folder, out, demo.on)
        sample.name_entries()
        PARTS[number](sample)
    return PARTS[number].__name__


def run(out: Path) -> None:
    """Write all parts, two at a time."""
    with ProcessPoolExecutor(2) as pool:
        for name in pool.map(write_part, range(len(PARTS)), [out] * len(PARTS)):
            print(name, flush=True)
    files = [path for path in out.rglob("*") if path.is_file()]
    print(f"{len(files)} files, {sum(path.stat().st_size for path in files) / 1e6:.1f} MB")


if __name__ == "__main__":
    run(Path(sys.argv[1]).resolve())
