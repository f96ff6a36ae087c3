"""Set-up rows of another laptop in the app: side by side, settled by one key, and no figure changes before."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.set_up_rows.screen import SetUpRowsScreen
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.merge import merge
from roundtui.store.record.lanes import device_name
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.versions import open_rows
from tests.app.folder import TRAPS, open_session, screen_text, write_folder

Start = Callable[..., RoundtuiApp]


def other_laptop(tmp_path: Path, folder: Path) -> None:
    """On the van somebody moved A1 and A2 to block B, and gave a farm a hostile name; its bundle is merged here."""
    van = write_folder(tmp_path / "van")
    session = open_session(van)
    traps = [
        {"trap": label, "block": "B" if label in ("A1", "A2") else block, "species": "CM", "style": "delta"}
        | {"hung_on": "2031-04-22", "lot": "CM1"}
        for block, labels in TRAPS.items()
        for label in labels
    ]
    farms = [
        {"farm": "F1", "name": "[/bold] =1+1 \u202eX", "grower": "Isolde Pipkin", "phone": "555-0111"},
        {"farm": "F2", "name": "Gorsebank", "grower": "Tam Oakapple", "phone": "555-0112"},
    ]
    load_folder(session.conn, write_folder(van, traps=traps, farms=farms), session.clock())
    pack(session.conn, tmp_path / "van.bundle", "van", session.clock())
    session.conn.close()
    here = open_session(folder)
    # Here somebody wrote a note at the two traps, and another telephone number, so both sides changed the rows.
    for line in traps:
        line["block"] = next(block for block, labels in TRAPS.items() if line["trap"] in labels)
        line["note"] = "by the ditch" if line["trap"] in ("A1", "A2") else ""
    farms[0] |= {"name": "Fernhollow", "phone": "555-0199"}
    load_folder(here.conn, write_folder(folder, traps=traps, farms=farms), here.clock())
    merge(here.conn, [tmp_path / "van.bundle"])
    here.conn.close()


async def test_rows_are_shown_side_by_side_and_settled_one_by_one_or_a_file_at_once(
    tmp_path: Path, folder: Path, start: Start
) -> None:
    other_laptop(tmp_path, folder)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "! Set-up rows that differ (3)" in screen_text(app)
        assert {row.block for row in app.session.programme.hangings["A1"]} == {"A"}
        await pilot.press("m", "o")
        assert "3 set-up rows differ: Tab" in screen_text(app)
        await pilot.press("tab")
        assert isinstance(app.screen, SetUpRowsScreen)
        shown = screen_text(app)
        assert f"> farms.csv F1  {device_name()}: changed in both places" in shown
        assert "[1] as here" in shown
        assert "[2] takes over" in shown
        assert "[/bold] =1+1" in shown
        assert "\u202e" not in shown
        await pilot.press("1", "y")
        assert "Settled by Ida: farms.csv F1 stays as it is here" in screen_text(app)
        assert "> traps.csv A1 2031-04-22" in screen_text(app)
        assert any(line.split() == ["block", "A", "B"] for line in screen_text(app).splitlines())
        await pilot.press("9", "right", "2", "y")
        assert "2 rows of traps.csv taken over" in " ".join(screen_text(app).split())
        assert "No set-up row differs" in screen_text(app)
        assert {row.block for label in ("A1", "A2") for row in app.session.programme.hangings[label]} == {"B"}
        assert app.session.programme.farms["F1"].name == "Fernhollow"
        await pilot.press("escape")
        assert "set-up rows differ" not in screen_text(app)
        await pilot.press("escape")
    assert open_rows(app.session.conn) == ()


async def test_nobody_settles_without_a_name_and_other_keys_do_nothing(
    tmp_path: Path, folder: Path, start: Start
) -> None:
    other_laptop(tmp_path, folder)
    app = start(folder)
    async with app.run_test(size=(120, 36)) as pilot:
        app.session.scout = ""
        await pilot.press("m", "o", "tab", "0", "3", "x", "down", "up", "enter")
        assert len(open_rows(app.session.conn)) == 3
        await pilot.press("2", "y")
        await pilot.pause()
        assert "your name is not known" in screen_text(app)
    assert len(open_rows(app.session.conn)) == 3
