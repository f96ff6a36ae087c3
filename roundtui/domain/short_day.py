"""Days as people type them in a hurry: the 24th, last Tuesday, two days ago."""

from __future__ import annotations

import re
from datetime import date, timedelta

HINT = "as 2031-06-03, 06-03, 3 (the last 3rd), tue (the last Tuesday) or -2 (two days ago)"
"""How a day can be written."""
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MOST_BACK = 366
_LONGEST_MONTH = 31


def parse_short_day(text: str, today: date) -> date | None:
    """The day a short text stands for, never one that is still to come unless it is written out.

    Args:
        text: An ISO day, month-day, a day of the month, the first letters of a weekday, or so many days ago; blank:
            today.
        today: The day from which it is meant.

    Returns:
        None where it is no day.
    """
    said = text.strip().casefold()
    if not said or not said.isascii():
        return None if said else today
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", said):
        return _day(*map(int, said.split("-")))
    if found := re.fullmatch(r"(\d{1,2})-(\d{1,2})", said):
        month, day = int(found[1]), int(found[2])
        return next((one for back in range(9) if (one := _day(today.year - back, month, day)) and one <= today), None)
    if re.fullmatch(r"\d{1,2}", said):
        back = (today - timedelta(days=days) for days in range(2 * _LONGEST_MONTH + 1))
        return next((one for one in back if one.day == int(said)), None)
    if re.fullmatch(r"-\d{1,3}", said):
        return today - timedelta(days=int(said[1:])) if int(said[1:]) <= _MOST_BACK else None
    return _weekday(said, today)


def _weekday(said: str, today: date) -> date | None:
    meant = [at for at, name in enumerate(_WEEKDAYS) if len(said) > 1 and name.startswith(said)]
    return today - timedelta(days=(today.weekday() - meant[0]) % 7) if len(meant) == 1 else None


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
