"""What the desk says of a programme that has no round yet: what is set up, and the one thing that comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.programme.beginning import next_step, steps
from roundtui.domain.text import plain
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.session import Session

_MARKS = {True: "done", False: "    "}


def beginning(session: Session) -> Content:
    """The steps to the first round.

    Args:
        session: The folder that is open.
    """
    try:
        rules = sum(rule.office for rule in session.office.rules)
    except RoundtuiError:
        rules = 0
    found = steps(session.programme, rules)
    due = next_step(found)
    rows: list[str | tuple[str, str]] = [("No round is due yet: what is set up, and what comes next\n\n", "bold")]
    for step in found:
        mark = ">" if step is due else " "
        have = str(step.have) if step.done else "may wait" if not step.needed else "none"
        rows.append((f" {mark} {step.name:<9} {have}\n", "bold reverse" if step is due else ""))
    if due is not None:
        words = [f"\nNext: {due.name}.", f"  Each is {due.words}.", f"  Write them into {due.file} with a spreadsheet,"]
        if due.table:
            folder = plain(str(session.folder), 40)
            words[-1] += " or bring a table of yours:"
            words.append(f"  roundtui bring {folder} FILE --as {due.name}")
            words.append("  Or one by one: g opens the register, a adds a row.")
        else:
            words[-1] += " and open the folder again."
        rows += [f"{line}\n" for line in words]
    return Content.assemble(*rows)
