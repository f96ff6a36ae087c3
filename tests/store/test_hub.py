"""Laptops that meet at a hub: the same record as with a shared folder, and rights that the database keeps."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.domain.visits import Visit
from roundtui.store.device import state_folder
from roundtui.store.hub.exchange import HubReport, exchange_with_hub
from roundtui.store.journal import Author, record
from roundtui.store.parcels.exchange import exchange
from tests.conftest import NOW
from tests.hub import Hub
from tests.store.laptops import ON, Laptops, rows_of

NAMES = ("truck", "van", "desk")
SET_UP = 13


class Meeting(Laptops):
    """Laptops with a state of their own each, that meet at a hub or in a folder."""

    def at(self, at: int) -> None:
        """Be one of them from now on."""
        self.patch.setenv("XDG_STATE_HOME", str(self.root / f"state-{at}"))

    def enter(self, at: int, trap: str, count: int = 4, **more: object) -> Visit:
        self.at(at)
        visit = Visit(trap=trap, read_on=ON, count=count, **more)  # type: ignore[arg-type]
        return record(self.stores[at], [visit], Author(f"scout {at}", NAMES[at]), NOW)[0]

    def hub(self, at: int) -> HubReport:
        self.at(at)
        return exchange_with_hub(self.stores[at], f"{NAMES[at]}-service", today=ON)

    def folder(self, at: int, shared: Path) -> None:
        self.at(at)
        exchange(self.stores[at], self.root / f"laptop-{at}", shared, device=NAMES[at], now=NOW)

    patch: pytest.MonkeyPatch


@pytest.fixture
def meeting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Meeting]:
    with ExitStack() as stack:
        made = Meeting(tmp_path, [timedelta()] * 3, stack)
        made.patch = monkeypatch
        yield made


def test_three_laptops_know_the_same_after_two_rounds(hub: Hub, meeting: Meeting) -> None:
    for name in NAMES:
        hub.enrol(name)
    for at in range(3):
        meeting.enter(at, f"A{at + 1}")
    for at in (0, 1, 2, 0, 1):
        meeting.hub(at)
    everything = [rows_of(conn) for conn in meeting.stores[:3]]
    assert everything[0] == everything[1] == everything[2]
    assert len([row for row in everything[0].values() if row[0] == "visits"]) == 3
