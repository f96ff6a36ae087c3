"""All that the sample farm shows, written down so that two states of the code can be laid side by side.

``python -m tests.long.fidelity OUT [--sample FOLDER] [--minutes M]`` writes into the folder OUT the summary of every
day, the replay, biofixes, outlook, letters and area update of every week, and the open files, by the commands that a
user has; ``diff -r`` does the rest. It stops after M minutes, and goes on where it stopped when it is called again.
FOLDER is a sample farm of another state of the code, for a comparison by the same entries.

What differs from run to run without meaning anything is named or left out: an entry's id becomes the entry's kind,
trap, day, instant and scout; digests, laptops, lanes and the instant of writing go. The lures in stock stand in files
of their own.
"""

from __future__ import annotations

import argparse
import csv
import json
import re
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta
from email import message_from_bytes
from email.policy import default as mail_policy
from functools import partial
from hashlib import sha1
from pathlib import Path
from typing import Any
from unittest.mock import patch

from click.testing import CliRunner

from roundtui.cli import main
from roundtui.store import demo

UUID = re.compile(r"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\b")
DIGEST = re.compile(r"\b[0-9a-f]{64}\b")
WRITTEN = re.compile(r"^(DTSTAMP|LAST-MODIFIED|SEQUENCE):.*$", re.MULTILINE)
APART = re.compile(r"device|lane|laptop|sha256|digest|^hash$|^bytes$|^created$")
"""Names of fields that differ from run to run, or that say how a record is kept and not what it says."""
STOCK = re.compile(r"^(?:Lures in stock|Lures: .*)\n(?:.+\n)*\n?", re.MULTILINE)
"""The section of the tables that says how long the lures last."""


Step = tuple[str, Callable[[], None]]
"""What is written in one go: its name, and the writing."""


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


def write_summaries(sample: Sample) -> Iterator[Step]:
    """Summary of every day, as JSON and as tables; of every fourth week also as it was known on its evening."""
    for number in range((sample.on - sample.first).days + 1):
        day = (sample.first + timedelta(days=number)).isoformat()
        yield day, partial(write_day, sample, day)
    for number, week in enumerate(sample.weeks()):
        yield f"week {week}", partial(write_week, sample, week, known=number % 4 == 0)


def write_day(sample: Sample, day: str) -> None:
    """Summary of a day, as JSON."""
    sample.write_json(f"summary/{day}.json", sample.ask("summary", "--on", day, "--json"))


def write_week(sample: Sample, week: str, *, known: bool) -> None:
    """Tables of a week's summary, and if asked what was known on its evening."""
    tables = sample.ask("summary", "--on", week)
    sample.write(f"tables/{week}.txt", STOCK.sub("", tables))
    sample.write(f"stock/{week}.txt", "".join(found[0] for found in STOCK.finditer(tables)))
    if known:
        then = sample.ask("summary", "--on", week, "--as-recorded-at", f"{week}T20:00:00Z", "--json")
        sample.write_json(f"as-recorded/{week}.json", then)


def write_letters(sample: Sample) -> Iterator[Step]:
    """Letters and area update of every week with a round, one after the other, as they would have been written."""
    for week in sample.weeks():
        if sample.walked(week):
            yield week, partial(write_letters_of, sample, week)


def write_letters_of(sample: Sample, week: str) -> None:
    """Letters and area update of a week."""
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


def write_rest(sample: Sample) -> Iterator[Step]:
    """Replay, biofixes and outlook of every week, and the open files of the last day."""
    for week in sample.weeks():
        yield week, partial(write_questions, sample, week)
    yield "export", partial(write_export, sample)


def write_questions(sample: Sample, week: str) -> None:
    """Replay, biofixes and outlook of a week."""
    for command in ("replay", "biofix", "outlook"):
        sample.write_json(f"{command}/{week}.json", sample.ask(command, "--on", week, "--json"))


def write_export(sample: Sample) -> None:
    """The open files of the last day."""
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


PARTS: tuple[Callable[[Sample], Iterator[Step]], ...] = (write_letters, write_summaries, write_rest)


def ready(number: int, out: Path, source: Path | None) -> Sample:
    """A part's own copy of the sample, made where it is not there yet."""
    at = out / f".farm-{number}"
    if not (at / "names.json").exists():
        with patch.object(demo, "sample_farm", return_value=source or demo.sample_farm()):
            made = demo.prepare_demo(at / "farm")
        sample = Sample(made.folder, out, made.on)
        sample.name_entries()
        (at / "names.json").write_text(json.dumps(sample.names))
    return Sample(at / "farm", out, demo.running_day(at / "farm"), json.loads((at / "names.json").read_text()))


def write_part(number: int, out: Path, source: Path | None, until: float) -> str:
    """Write what is missing of one part, up to an instant of the monotonic clock; says how far it is."""
    sample = ready(number, out, source)
    done = out / f".farm-{number}" / "done.txt"
    written = set(done.read_text().splitlines()) if done.exists() else set()
    name, missing = PARTS[number].__name__, 0
    for step, write in PARTS[number](sample):
        if step in written:
            continue
        if time.monotonic() > until:
            missing += 1
            continue
        write()
        with done.open("a") as file:
            file.write(f"{step}\n")
    return f"{name}: {missing} steps to go" if missing else f"{name}: whole"


def run() -> None:
    """Write all parts, two at a time."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("out", type=Path)
    asked.add_argument("--sample", type=Path)
    asked.add_argument("--minutes", type=float, default=9)
    given = asked.parse_args()
    out, source = given.out.resolve(), given.sample and given.sample.resolve()
    until = time.monotonic() + given.minutes * 60
    with ProcessPoolExecutor(2) as pool:
        parts = [pool.submit(write_part, number, out, source, until) for number in range(len(PARTS))]
        print(*(part.result() for part in parts), sep="\n", flush=True)
    files = [path for path in out.rglob("*") if path.is_file() and ".farm-" not in str(path)]
    print(f"{len(files)} files, {sum(path.stat().st_size for path in files) / 1e6:.1f} MB")


if __name__ == "__main__":
    run()
