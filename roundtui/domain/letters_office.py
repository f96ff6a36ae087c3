"""What an office says of its letters, in ``letters.toml``: who writes, and which farms the area update leaves out."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from roundtui.domain.plain import plain
from roundtui.domain.table import TableReader, shown
from roundtui.errors import Problem

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
"""Weekdays as the file names them, Monday first."""


@dataclass(frozen=True, slots=True)
class LettersOffice:
    """Who writes the letters, and what the area update may be made of."""

    name: str = ""
    """Name of the office or programme."""
    address: str = ""
    """Postal address, one line."""
    email: str = ""
    """Where answers go."""
    phone: str = ""
    """Where calls go."""
    area: str = ""
    """Name of the area, for the update."""
    declined: frozenset[str] = frozenset()
    """Codes of farms that are no part of the update."""
    week_ends: int | None = None
    """Weekday on which the area's weeks end, Monday being 0; None: that of the first update of the season."""


def parse_letters(
    table: Mapping[str, object], where: str = "letters.toml"
) -> tuple[LettersOffice | None, tuple[Problem, ...]]:
    """Read what an office says of its letters.

    Args:
        table: The file as TOML gives it.
        where: Name of the file, for problems.

    Returns:
        What it says, or None where anything is wrong; and every fault.
    """
    whole = TableReader(table, where)
    sender, area = _part(whole, "from", where), _part(whole, "area", where)
    whole.refuse_unknown()
    day = area.choice("week_ends", WEEKDAYS)
    office = LettersOffice(
        name=sender.text("name") or "",
        address=sender.text("address") or "",
        email=sender.text("email") or "",
        phone=sender.text("phone") or "",
        area=area.text("name") or "",
        declined=_codes(area),
        week_ends=WEEKDAYS.index(day) if day else None,
    )
    for part in (sender, area):
        part.refuse_unknown()
    problems = (*whole.problems, *sender.problems, *area.problems)
    return (None if problems else office), problems


def _part(whole: TableReader, key: str, where: str) -> TableReader:
    value = whole.value(key)
    if value is not None and not isinstance(value, Mapping):
        whole.problem(key, "is no table", f"write it as [{key}], its keys on the lines below")
    return TableReader(value if isinstance(value, Mapping) else {}, f"{where}, {key}")


def _codes(area: TableReader) -> frozenset[str]:
    value = area.value("declined")
    codes = [] if value is None else value
    if not isinstance(codes, list) or not all(isinstance(code, str) for code in codes):
        area.problem("declined", f"{shown(codes)} is no list of farm codes", 'write it as declined = ["MOSS"]')
        return frozenset()
    return frozenset(codes)


def unknown_farms(office: LettersOffice, known: Collection[str], where: str = "letters.toml") -> tuple[Problem, ...]:
    """Farms that declined and that nobody knows: a slip of the pen there would publish a farm against its will.

    Args:
        office: What the file says.
        known: Codes of the farms that are set up.
        where: Name of the file.
    """
    return tuple(
        Problem(f"{where}, area", f"declined names no farm: {plain(code, 40)}", "use the code of farms.csv")
        for code in sorted(office.declined - set(known))
    )
