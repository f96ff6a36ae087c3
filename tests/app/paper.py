"""Paper sheets of forty rows for the tests: what stands on them, how a hand keys them, and how it slips."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

from roundtui.domain.entries import Visit
from roundtui.domain.round.tally import format_tally, parse_tally
from tests.app.folder import DAY, open_session, past, write_folder

ROWS = 40
LABELS = [f"T{n}" for n in range(1, ROWS + 1)]
FLAGS = ("l", "r", "c", "lr", "o12", "e")


def paper_folder(folder: Path) -> Path:
    """One route of forty traps, read the week before."""
    traps = [
        {"trap": label, "block": "ABC"[at // 14], "species": "CM", "style": "delta", "hung_on": "2031-04-22"}
        for at, label in enumerate(LABELS)
    ]
    routes = [{"route": "hill", "position": at, "trap": label} for at, label in enumerate(LABELS, 1)]
    write_folder(folder, traps=traps, routes=routes)
    session = open_session(folder)
    week_before = DAY - timedelta(days=7)
    past(session, *(Visit(trap=label, read_on=week_before, count=at % 5) for at, label in enumerate(LABELS)))
    session.conn.close()
    return folder


def paper(dice: random.Random) -> list[str]:
    """What stands on a sheet, row by row, as it is typed."""
    rows = []
    for _ in range(ROWS):
        if dice.random() < 0.1:
            rows.append("x" + dice.choice("smd"))
        else:
            count = dice.choice([0, 0, 1, 2, 3, 7, 12, 25])
            rows.append(f"{count}{dice.choice(FLAGS) if dice.random() < 0.3 else ''}")
    return rows


def slip(text: str, dice: random.Random) -> str:
    """One slip of the finger in a row; empty: the row is passed over."""
    if text.startswith("x"):
        return dice.choice(["0", "", {"xs": "xd", "xd": "xm", "xm": "xs"}[text]])
    draft = parse_tally(text)[0]
    assert draft is not None
    digits = str(draft.count)
    rest = text[len(digits) :]
    more = f"{digits}{dice.randrange(1, 9)}" if digits != "0" else "8"
    slips = ["", "xs", f"{int(digits) + 1}{rest}", f"{more}{rest}", f"{digits}k{rest}", f"{digits[::-1]}{rest}"]
    return dice.choice([one for one in slips if one != text])


def said(text: str) -> str:
    """A row in the one way in which it is written."""
    draft, problems = parse_tally(text)
    assert draft is not None, problems
    return format_tally(draft).replace("r:CM1", "r")
