"""Which groups of farms an entry concerns: those of its farms; an entry about no farm concerns all of them."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from roundtui.store.record.rows import HEAD, JOURNALS, Row, Table

ALL: frozenset[str] = frozenset()
"""Stands for every group of the office."""


_REPLACES = HEAD.index("replaces")


@cache
def _place(name: str) -> int | None:
    """Column of the trap or block that entries of a table are about; None where they are about something else."""
    table = next(one for one in JOURNALS if one.name == name)
    return table.columns.index(table.place) if table.place in ("trap", "block") else None


def _said(table: Table, row: Row) -> dict[str, Any]:
    """What a whole row says, its unknown fields too."""
    extra = json.loads(row[-6]) if row[-6] else {}
    return {**extra, "kind": table.kind, **dict(zip(table.columns, row, strict=False))}


class Groups:
    """What the set-up says of groups, as a store has it now.

    Args:
        conn: The store.
        office: Name of the office: the group of farms that are in none.
    """

    def __init__(self, conn: sqlite3.Connection, office: str) -> None:
        self._conn = conn
        self._office = office
        self._farms: dict[str, str] = {
            farm: group or office for farm, group in conn.execute('SELECT farm, "group" FROM farms')
        }
        self._blocks: dict[str, str] = dict(conn.execute("SELECT block, farm FROM blocks"))
        self._traps: dict[str, set[str]] = defaultdict(set)
        for trap, block in conn.execute("SELECT trap, block FROM traps"):
            self._traps[trap].add(block)
        self._of_trap = {trap: frozenset().union(*map(self._of_block, blocks)) for trap, blocks in self._traps.items()}

    def places(self) -> dict[str, str]:
        """Groups of each farm and block, and of traps that hung in several."""
        found = {f"farm {farm}": group for farm, group in self._farms.items()}
        found |= {f"block {block}": "\t".join(self._of_block(block)) for block in self._blocks}
        return found | {f"trap {trap}": "\t".join(sorted(of)) for trap, of in self._of_trap.items() if len(of) > 1}

    def differ(self, before: Mapping[str, str]) -> bool:
        """Whether entries of before would have other groups now.

        Args:
            before: What ``places`` gave then; what is new since then has no entries of before.
        """
        now = self.places()
        return any(now.get(place, group) != group for place, group in before.items()) or any(
            place.startswith("trap ") and place not in before for place in now
        )

    def of(self, said: Mapping[str, Any]) -> frozenset[str]:
        """Groups of an entry; none: all of the office.

        Args:
            said: What it says, by name, of whatever kind.
        """
        found = self._rows(said) if said.get("kind") == "set-up" else self._about(said, ("trap", "block", "farm"))
        found += [
            self.of_entry(earlier) for earlier in (said.get("replaces"), said.get("entry")) if isinstance(earlier, str)
        ]
        return frozenset().union(*found) if all(found) else ALL

    def of_entry(self, entry_id: str) -> frozenset[str]:
        """Groups of an entry that is on record here; all of them where there is no such entry.

        Args:
            entry_id: Its id.
        """
        table, row = self._entry(entry_id)
        return self.of({"kind": table.kind, **row}) if table else ALL

    def of_row(self, table: Table, row: Row) -> frozenset[str]:
        """Groups of an entry by its whole row, at once where it is about one trap or block and corrects nothing.

        Args:
            table: Its table.
            row: The row.
        """
        at = _place(table.name)
        if row[_REPLACES] is None and not row[-6] and at is not None:
            return self._of_trap.get(row[at], ALL) if table.place == "trap" else self._of_block(row[at])
        return self.of(_said(table, row))

    def earlier(self, table: Table, row: Row) -> list[str]:
        """Ids of the entries that one corrects or withdraws, the whole way back.

        Args:
            table: Its table.
            row: Its whole row.
        """
        if row[_REPLACES] is None and "entry" not in table.columns:
            return []
        said = _said(table, row)
        found: list[str] = []
        waiting = [said.get("replaces"), said.get("entry")]
        while waiting:
            one = waiting.pop()
            if isinstance(one, str) and one not in found:
                found.append(one)
                waiting.append(self._entry(one)[1].get("replaces"))
        return found

    def _entry(self, entry_id: str) -> tuple[Table | None, dict[str, Any]]:
        for table in JOURNALS:
            row = self._conn.execute(
                f"SELECT {table.listed} FROM {table.name} WHERE id = ?",  # noqa: S608
                (entry_id,),
            ).fetchone()
            if row is not None:
                return table, {name: value for name, value in zip(table.columns, row, strict=True) if value}
        return None, {}

    def _about(self, said: Mapping[str, Any], places: Sequence[str]) -> list[frozenset[str]]:
        """Groups of each place that is named."""
        of = {"trap": lambda trap: self._of_trap.get(trap, ALL), "block": self._of_block, "farm": self._of_farm}
        return [of[place](said[place]) for place in places if isinstance(said.get(place), str)]

    def _of_block(self, block: str) -> frozenset[str]:
        return self._of_farm(self._blocks.get(block, ""))

    def _of_farm(self, farm: str) -> frozenset[str]:
        return frozenset({self._farms[farm]}) if farm in self._farms else ALL

    def _rows(self, said: Mapping[str, Any]) -> list[frozenset[str]]:
        """Groups of a set-up row as it was and as it becomes: of its farm, else its block, else its trap."""
        found = []
        for text in (said.get("was"), said.get("becomes")):
            try:
                row = json.loads(text) if text else None
            except ValueError:
                row = None
            if isinstance(row, dict) and said.get("file") == "farms.csv":
                found.append(frozenset({str(row.get("group") or self._office)}))
            elif isinstance(row, dict):
                place = next((one for one in ("farm", "block", "trap") if one in row), "")
                found += self._about(row, (place,)) if place else [ALL]
        return found
