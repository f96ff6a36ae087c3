"""Reading values out of a table that a person wrote: each comes out typed, or as a problem that names its key."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from roundtui.domain.programme.species import SPECIES, species_code
from roundtui.domain.text import sanitize
from roundtui.errors import Problem

T = TypeVar("T")
_MOST = 1_000_000
_PLACES = 9


class TableReader:
    """Takes values from one table by key and collects what is wrong with it.

    Args:
        table: What the file says, as a TOML reader gives it.
        where: File and table, as it stands in every problem.
    """

    def __init__(self, table: Mapping[str, object], where: str) -> None:
        self._table = table
        self._where = where
        self._asked: list[str] = []
        self.problems: list[Problem] = []
        """What was found wrong so far."""

    def problem(self, key: str, message: str, hint: str) -> None:
        """Note something wrong with a key."""
        self.problems.append(Problem(self._where, f"{key}: {message}" if key else message, hint))

    def has(self, key: str) -> bool:
        """Whether the key is written at all."""
        self._asked.append(key)
        return key in self._table

    def value(self, key: str) -> object:
        """What is written under a key, as it is; None where nothing is."""
        return self._table[key] if self.has(key) else None

    def tables(self, key: str, head: str = "") -> list[Mapping[str, object]]:
        """The tables under a key, each headed with it; none where it is missing or no such list.

        Args:
            key: The key.
            head: What stands before it in a heading: ``model.``.
        """
        written = self.value(key)
        if written is None:
            return []
        if isinstance(written, list) and all(isinstance(part, dict) for part in written):
            return written
        self.problem(key, "is no list of tables", f"head each one with [[{head}{key}]]")
        return []

    def each(
        self, key: str, read: Callable[[TableReader], T], *, head: str = "", ids: set[str] | None = None
    ) -> list[T]:
        """What is read of each table under a key; what is wrong in them is noted here as well.

        Args:
            key: The key.
            read: Reads one of them.
            head: As for ``tables``.
            ids: Ids that are taken, to which theirs are added; None: they have none, or need not differ.
        """
        found = []
        for number, table in enumerate(self.tables(key, head), start=1):
            inner = TableReader(table, place_in(self._where, table, key, number))
            found.append(read(inner))
            name = table.get("id")
            if ids is not None and isinstance(name, str):
                if name in ids:
                    inner.problem("id", f"{shown(name)} is taken", "give each its own id")
                ids.add(name)
            inner.refuse_unknown()
            self.problems += inner.problems
        return found

    @contextmanager
    def inner(self, key: str) -> Iterator[TableReader]:
        """The one table under a key, empty where it is missing; what is wrong in it is noted here as well."""
        written = self.value(key)
        if written is not None and not isinstance(written, Mapping):
            self.problem(key, "is no table", f"write it as [{key}], its keys on the lines below")
        reader = TableReader(written if isinstance(written, Mapping) else {}, f"{self._where}, {key}")
        yield reader
        reader.refuse_unknown()
        self.problems += reader.problems

    def text(self, key: str, *, needed: str = "") -> str | None:
        """A text that is not blank.

        Args:
            key: Key of the text.
            needed: What to write there, for a key that must be there; empty: it may be left out.
        """
        if not self._present(key, needed):
            return None
        value = self._table[key]
        if not isinstance(value, str) or not value.strip():
            self.problem(key, f"{shown(value)} is no text", needed or f'write it in quotes, {key} = "…"')
            return None
        return " ".join(value.split())

    def choice(self, key: str, choices: Sequence[str], *, needed: bool = False) -> str | None:
        """One of a few words."""
        listed = ", ".join(choices)
        value = self.text(key, needed=f"one of {listed}" if needed else "")
        if value is None or value in choices:
            return value
        self.problem(key, f"{shown(value)} is none of the words known here", f"one of {listed}")
        return None

    def number(self, key: str, *, needed: str = "") -> Fraction | None:
        """An exact number that is not negative; ``needed`` as for ``text``."""
        if not self._present(key, needed):
            return None
        value = exact(self._table[key])
        if value is None:
            self.problem(key, f"{shown(self._table[key])} is no number from 0 to {_MOST}", "write it as 5 or 2.5")
        return value

    def numbers(self, key: str) -> tuple[Fraction, Fraction] | None:
        """Two numbers, the second not below the first."""
        if not self.has(key):
            return None
        value = self._table[key]
        pair = [exact(part) for part in value] if isinstance(value, list) else []
        if len(pair) == 2 and pair[0] is not None and pair[1] is not None and pair[0] <= pair[1]:
            return pair[0], pair[1]
        self.problem(key, f"{shown(value)} is no pair of numbers", f"write from and to, {key} = [1, 10]")
        return None

    def whole(self, key: str, low: int, high: int, *, needed: str = "") -> int | None:
        """A whole number from ``low`` to ``high``; ``needed`` as for ``text``."""
        if not self._present(key, needed):
            return None
        value = self._table[key]
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        self.problem(key, f"{shown(value)} is no whole number from {low} to {high}", f"write it as {key} = {low}")
        return None

    def wholes(self, key: str, low: int, high: int) -> tuple[int, ...]:
        """Whole numbers from ``low`` to ``high``, in order, each once; empty where the key is left out."""
        if not self.has(key):
            return ()
        value = self._table[key]
        if isinstance(value, list) and value:
            found = [part for part in value if isinstance(part, int) and not isinstance(part, bool)]
            if len(found) == len(value) and all(low <= part <= high for part in found):
                return tuple(sorted(set(found)))
        self.problem(key, f"{shown(value)} is no list of numbers from {low} to {high}", f"as {key} = [5, 6, 7]")
        return ()

    def yes_no(self, key: str) -> bool | None:
        """True or false."""
        if not self.has(key):
            return None
        value = self._table[key]
        if isinstance(value, bool):
            return value
        self.problem(key, f"{shown(value)} is neither true nor false", f"write {key} = true, without quotes")
        return None

    def day(self, key: str, *, needed: str = "") -> date | None:
        """A day, as a TOML date or as a text in ISO 8601."""
        if not self._present(key, needed):
            return None
        value = self._table[key]
        try:
            if isinstance(value, str):
                return date.fromisoformat(value.strip())
            if type(value) is date:
                return value
        except ValueError:
            pass
        self.problem(key, f"{shown(value)} is no date", f"write it as {key} = 2025-03-01")
        return None

    def species(self, *, needed: bool = True) -> str:
        """Abbreviation of a species; empty where it is left out or nobody knows it here."""
        listed = ", ".join(SPECIES)
        text = self.text("species", needed=f"one of {listed}" if needed else "")
        if text is None or text in SPECIES:
            return text or ""
        meant = species_code(text)
        self.problem("species", f"{shown(text)} is unknown", f"write {meant}" if meant else f"one of {listed}")
        return ""

    def id(self) -> str:
        """Short name of a row."""
        return self.text("id", needed="give it a short name of its own") or ""

    def source(self) -> str:
        """Who published a row, or that it is the office's own."""
        return self.text("source", needed="say who published it, or that it is the office's own practice") or ""

    def dated(self) -> date | None:
        """Day of that source."""
        return self.day("date", needed="day of the source, or on which the office took it up, as date = 2025-03-01")

    def month_day(self, key: str, hint: str, *, needed: str = "", but: str = "") -> str:
        """A day of every year as MM-DD, so no 29 February; empty where there is none.

        Args:
            key: Its key.
            hint: What to write where it is no such day.
            needed: As for ``text``.
            but: A word that may stand in its place.
        """
        text = self.text(key, needed=needed)
        if text in (None, but):
            return text or ""
        try:
            return f"{date.fromisoformat(f'2001-{text}'):%m-%d}"
        except ValueError:
            self.problem(key, f"{shown(text)} is no day of every year", hint)
            return ""

    def refuse_unknown(self) -> None:
        """Note every key that nobody asked for."""
        for key in self._table:
            if key not in self._asked:
                known = ", ".join(dict.fromkeys(self._asked))
                self.problem("", f"nothing is known of {shown(key)}", f"known here: {known}")

    def _present(self, key: str, needed: str) -> bool:
        if self.has(key):
            return True
        if needed:
            self.problem(key, "is missing", needed)
        return False


def place_in(where: str, table: Mapping[str, object], kind: str, number: int) -> str:
    """Where one table of a list stands: the file, its kind and number, and its name where it has one.

    Args:
        where: The file, or the table that it is in.
        table: The table.
        kind: What it is one of.
        number: Its place in the list, from 1.
    """
    name = table.get("code" if kind == "sample" else "id")
    return f"{where}, {kind} {number}" + (f" ({sanitize(name, 40)})" if isinstance(name, str) else "")


def exact(value: object) -> Fraction | None:
    """A number as written, exactly; None for anything else, and for what no catch or load could ever be."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    # The exponent is looked at first: a fraction of 1e-999999999 would take the memory of the whole machine.
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int) or exponent < -_PLACES or not 0 <= number <= _MOST:
        return None
    return Fraction(number)


def column_name(text: str) -> str:
    """The name of a column as it is compared: ``Hung On`` and ``hung-on`` are ``hung_on``.

    Args:
        text: The cell of a header.
    """
    return "_".join(text.casefold().replace("-", " ").replace("_", " ").split())


def toml_text(value: object) -> str:
    """A value as a TOML file has it.

    Args:
        value: A text, number, day, yes or no, or a list of them.
    """
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_text, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value.encode("utf-8", "replace").decode().replace("\x7f", ""), ensure_ascii=False)
    return str(value)


def shown(value: object) -> str:
    """A value as a problem shows it: short, and harmless whatever it holds."""
    text = f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)
    return sanitize(text, 60)
