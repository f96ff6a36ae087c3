"""What the Letters screen asks and tells: farms with what their letter will say, the area update, and writing them.

Both are made as the commands make them, beside the app. Opens a file in the system's own viewer, without a word on this
terminal.
"""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from shutil import which

from roundtui.domain.figures.verdicts import AttentionKind, Status
from roundtui.domain.programme.rounds import OPEN_DAYS
from roundtui.domain.records import Frozen
from roundtui.domain.text import cells, padded, sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.bars import bar
from roundtui.report.figures.summary import MARKS, attention_mark
from roundtui.report.letters.compose import compose
from roundtui.report.letters.files import letter_path, write_letters
from roundtui.report.letters.letter import digest
from roundtui.report.letters.mail import is_address
from roundtui.report.letters.material import Material, read_material, short_day
from roundtui.report.letters.template import Templates, letter_text
from roundtui.report.letters.update import AreaUpdate, compose_update, read_area, update_page, write_update
from roundtui.report.text import as_name
from roundtui.store.connect import go_on
from roundtui.store.reports import Written, letters_written
from roundtui.store.session import Session


class AreaText(Frozen):
    """The update as it would be written now."""

    update: AreaUpdate
    """What the public would read."""
    before: tuple[str, ...]
    """What the coordinator should look at before it goes out; no part of it."""


class FarmLetter(Frozen):
    """One farm on the list."""

    farm: str
    """Code of the farm."""
    name: str
    """Its name."""
    says: str
    """What its letter will say, in marks and numbers."""
    written: Written | None
    """Its letter written last, about this day or one of the six before."""
    outdated: bool
    """Whether the record says something else since."""
    earlier: bool
    """Whether that letter is about an earlier day, and the one of this day is still to be written."""
    addressed: bool
    """Whether there is an address for its mail."""

    @property
    def state(self) -> str:
        """When it was written, and whether it still holds."""
        if self.written is None:
            return "not written"
        at = self.written.at.astimezone()
        when = f"of {short_day(self.written.round_on)}" if self.earlier else f"{at.day} {at:%b}"
        return f"{when}, OUT OF DATE" if self.outdated else f"written {when}"


class Letters(Frozen):
    """The letters of a day, as they would be written now."""

    material: Material
    """What they are made from."""
    farms: tuple[FarmLetter, ...]
    """Farms that get one."""


class LetterDesk:
    """Reads and writes the letters of a session's day, and the area update. Reading and writing are meant for threads.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.to: Path = session.folder / "letters"
        """Folder of what is for one grower alone."""
        self.updates: Path = session.folder / "updates"
        """Folder of what is for everybody."""

    def read(self) -> Letters:
        """Every letter of the day, over a connection of its own."""
        session = self.session
        with session.connection() as conn:
            material = read_material(conn, session.folder, session.on, session.office)
            written = letters_written(conn, session.on, session.on - timedelta(days=OPEN_DAYS))
            last = {farm: found[-1] for farm, found in written.items()}
            # A letter of an earlier day is held against what the record says of that day now.
            days = {one.round_on for one in last.values()} - {session.on}
            mine = {day: [farm for farm, one in last.items() if one.round_on == day] for day in days}
            then = {day: read_material(conn, session.folder, day, session.office, farms=mine[day]) for day in days}
        then[session.on] = material
        return Letters(material, tuple(_farm_letter(then, session.on, farm, last.get(farm)) for farm in material.farms))

    def older(self, letters: Letters) -> tuple[str, ...]:
        """Letters of this season on earlier days than the list holds that the record no longer bears out.

        Args:
            letters: The letters of the day.

        Returns:
            Farm and day of each, the newest first.
        """
        session, found = self.session, []
        first = letters.material.season_first
        with session.connection() as conn:
            written = letters_written(conn, session.on - timedelta(days=OPEN_DAYS + 1), first)
            newest = {(one.round_on, farm): one for farm, of in written.items() for one in of}
            for on in sorted({on for on, _ in newest}, reverse=True):
                mine = {farm: one for (day, farm), one in newest.items() if day == on}
                then = read_material(conn, session.folder, on, session.office, farms=tuple(mine))
                found += [
                    f"{as_name(farm)} of {short_day(on)}"
                    for farm, one in sorted(mine.items())
                    if digest(compose(then, farm)) != one.digest
                ]
        return tuple(found)

    def write(self, letters: Letters, notes: Mapping[str, str]) -> int:
        """Write letters, one after the other until told to stop.

        Args:
            letters: The letters.
            notes: Farms to write to, each with its covering note.

        Returns:
            How many were written.
        """
        session, templates = self.session, Templates(self.session.folder)
        by, now = session.scout, session.clock
        with session.connection() as conn:
            written = write_letters(conn, letters.material, templates, self.to, notes=notes, by=by, now=now)
            for done, _ in enumerate(written, 1):
                go_on(progress_line(done, len(notes), 60))
        return len(notes)

    def preview(self, letters: Letters, farm: str, width: int, note: str = "") -> str:
        """A letter with its covering note as text, in lines of so many columns."""
        return letter_text(compose(letters.material, farm, note=note), Templates(self.session.folder, width))

    def page(self, letters: Letters, farm: str | None) -> Path | None:
        """Where a farm's page is, or would be; without a farm that of the update written last."""
        if farm is None:
            return max(self.updates.glob("area-update-*.html"), default=None)
        path = letter_path(self.to, letters.material, farm)
        return path.with_name(f"{path.name}.html")

    def note(self, farm: str = "") -> str:
        """The covering note, for all or for one farm."""
        return self.session.kept(self._note_key(farm))

    def whole_note(self, farm: str) -> str:
        """What stands above a farm's letter: the note for all, and its own below."""
        return "\n\n".join(part for part in (self.note(), self.note(farm)) if part.strip())

    def keep_note(self, words: str, farm: str = "") -> None:
        """Keep a covering note, so that it is there tomorrow."""
        self.session.keep(self._note_key(farm), words)

    def _note_key(self, farm: str) -> str:
        return f"letter-note/{self.session.on.isoformat()}/{farm}"

    def area(self, seen: AreaText | None = None) -> AreaText | tuple[Path, ...]:
        """The area update as it would be written now; written, where it is still what was looked at.

        Args:
            seen: What was shown and is to be published. It stays, so nothing else than this may go out; its figures are
                kept first. None: nothing is kept or written.

        Returns:
            The update; or the files.

        Raises:
            RoundtuiError: The store, a template or a file of the office cannot be used, or no week is over.
        """
        session = self.session
        with session.connection() as conn:
            area = read_area(conn, session.folder, session.on, session.office)
            before = [sanitize(words, 200) for words in area.questions]
            if area.missing:
                farms = ", ".join(sanitize(farm, 40) for farm in area.missing)
                before.insert(0, f"not read: {farms}; once published, the week stays without them")
            now = AreaText(compose_update(area), tuple(before))
            return (
                write_update(conn, area, seen.update, Templates(session.folder), self.updates) if now == seen else now
            )

    def preview_area(self, area: AreaText, width: int) -> str:
        """The update as text, in lines of so many columns; above it what to look at before it goes out."""
        before = "".join(f"! Before it goes out: {words}\n" for words in area.before)
        return before + "\n" * bool(before) + update_page(area.update, Templates(self.session.folder, width), "txt")


def _farm_letter(materials: Mapping[date, Material], on: date, farm: str, last: Written | None) -> FarmLetter:
    letter = compose(materials[on], farm)
    earlier = last is not None and last.round_on != on
    said = digest(compose(materials[last.round_on], farm) if last is not None and earlier else letter)
    return FarmLetter(
        farm=farm,
        name=letter.name,
        says=_says(materials[on], farm),
        written=last,
        outdated=last is not None and last.digest != said,
        earlier=earlier,
        addressed=is_address(letter.email),
    )


def _says(material: Material, farm: str) -> str:
    """How often each kind of attention stands on its list, how many counts to check, and blocks nobody read."""
    mine = Counter(one.kind for one in material.summary.attention if one.farm == farm)
    unread = sum(1 for row in material.rows.get(farm, ()) if row.status is Status.NOT_READ)
    blocks = {row.block for row in material.rows.get(farm, ())}
    odd = sum(one.block in blocks for one in material.summary.unlikely)
    found = [
        f"{attention_mark(kind)} {mine[kind]} {kind.value.replace('-', ' ')}" for kind in AttentionKind if mine[kind]
    ]
    found += [f"! {odd} unlikely"] if odd else []
    found += [f"{MARKS[Status.NOT_READ]} {unread} not read"] if unread else []
    return "  ".join(found) or f"{MARKS[Status.BELOW]} nothing needs attention"


def letter_rows(farms: Sequence[FarmLetter], published: Path | None, width: int) -> list[str]:
    """A line for each farm, with its name, what its letter says and its state, below the names of the columns.

    Args:
        farms: The farms.
        published: Page of the area update written last, which the last line is about; None: none was.
        width: Columns; what has no room is cut, the state last.
    """
    week = date.fromisoformat(published.stem[-10:]) if published else None
    rows = [
        ("Farm", "Needs attention", "Letter"),
        *((one.name, one.says + ("" if one.addressed else "  no mail"), one.state) for one in farms),
        ("Public update", "for everybody", f"week to {week.day} {week:%b}" if week else "not published"),
    ]
    names, said, states = (max(cells(row[at]) for row in rows) for at in range(3))
    state = min(30, states)
    # Words that fit take the room that short names leave, and some of what long ones have.
    name = max(16, min(28, names, width - state - 2 - said))
    room = max(8, width - name - state - 2)
    return [sanitize(f"{padded(who, name)} {padded(words, room)} {when}", width) for who, words, when in rows]


def progress_line(done: int, of: int, width: int) -> str:
    """A progress bar in one line.

    Args:
        done: How many are done.
        of: Of how many.
        width: Columns.
    """
    words = f"Writing {done} of {of} "
    whole = Fraction(max(1, of))
    return words + bar(Fraction(done), (whole, whole), max(4, min(40, width - len(words) - 3)))


def open_in_viewer(path: Path) -> None:
    """Ask the system to show a file; this does not wait for it.

    Args:
        path: The file.

    Raises:
        RoundtuiError: The system has no viewer.
    """
    hint = f"open it by hand: {path}"
    if sys.platform == "win32":
        import os

        os.startfile(path)  # noqa: S606 - a file that was just written here
        return
    command = which("open" if sys.platform == "darwin" else "xdg-open")
    if command is None:
        raise RoundtuiError("this system has no viewer for pages", hint)
    try:
        # A viewer that talks would write over the screen.
        subprocess.Popen(  # noqa: S603 - the system's own opener, with a file that was just written here
            [command, str(path.resolve())],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        raise RoundtuiError(f"the viewer cannot be started: {error.strerror}", hint) from error
