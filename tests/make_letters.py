"""Pictures of letters, area update, a sheet of labels and the Letters screen, of the sample with both rounds walked.

python -m tests.make_letters

It writes letter-*.png, area-update-*.png, phone-*.png, labels-1.png and letters-*.svg in docs/pictures.

It needs chromium and pdftoppm. Look at every picture before it is committed.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.domain.traps.labels import USUAL_SHEET
from roundtui.report.letters.compose import compose
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates, letter_html
from roundtui.report.letters.update import compose_update, read_area, update_page
from roundtui.report.traps.labels import write_labels
from roundtui.store.demo import prepare_demo
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.read import programme
from roundtui.store.session import Session
from tests.make_pictures import THEMES
from tests.make_pictures import _offline as offline
from tests.report.letters.conftest import NOW, ON, walk_north

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
NOTE = "Both rounds were walked this week.\nCall before you come to the packing shed; the road is closed on Thursday."
FARMS = ("PELL", "FENN")
ON_A_PHONE, PHONE_HEIGHT = ("letter-PELL", "area-update"), 1500
DOTS = 80
"""Dots an inch."""


def pages(scratch: Path) -> dict[str, str]:
    """Pages to print, by name."""
    folder = scratch / "farm"
    prepare_demo(folder)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        walk_north(conn)
        office, templates = read_office(folder), Templates(folder)
        material = read_material(conn, folder, ON, office)
        found = {f"letter-{farm}": letter_html(compose(material, farm, note=NOTE), templates) for farm in FARMS}
        found["area-update"] = update_page(compose_update(read_area(conn, folder, ON, office)), templates, "html")
        labels = scratch / "labels.html"
        write_labels(conn, ON, labels, USUAL_SHEET, programme(conn).routes["north"])
        found["labels"] = labels.read_text(encoding="utf-8")
    return found


def take(chromium: str, scratch: Path, name: str, page: str) -> list[Path]:
    """Print a page on A4, and take a grey picture of each sheet: that is how it comes out of an office's printer."""
    from playwright.sync_api import sync_playwright

    source, printed = scratch / f"{name}.html", scratch / f"{name}.pdf"
    source.write_text(page, encoding="utf-8")
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        sheet = browser.new_page()
        sheet.goto(source.as_uri())
        sheet.pdf(path=str(printed), format="A4")
        if name in ON_A_PHONE:
            phone = browser.new_page(viewport={"width": 390, "height": PHONE_HEIGHT})
            phone.goto(source.as_uri())
            phone.screenshot(path=str(PICTURES / f"phone-{name}.png"))
        browser.close()
    for old in PICTURES.glob(f"{name}-*.png"):
        old.unlink()
    command = ["pdftoppm", "-r", str(DOTS), "-gray", "-png", str(printed), str(PICTURES / name)]
    subprocess.run(command, check=True)
    return sorted(PICTURES.glob(f"{name}-*.png"))


async def screens() -> None:
    """The Letters screen as it opens, and after writing."""
    with tempfile.TemporaryDirectory() as scratch:
        # A path that says nothing of this machine.
        os.chdir(scratch)
        folder = Path("farm")
        prepare_demo(folder)
        conn = open_folder(folder, now=NOW).conn
        walk_north(conn)
        session = Session(
            folder,
            conn,
            on=ON,
            device="desk",
            scout="Ida Fallowell",
            office=lambda: read_office(folder),
            clock=lambda: NOW,
        )
        app = RoundtuiApp(session)
        app.theme = THEMES["dark"]
        async with app.run_test(size=(80, 24)) as pilot:
            states = {
                "letters": ["l"],
                "letters-written": ["w"],
            }
            for name, keys in states.items():
                await pilot.press(*keys)
                for _ in range(3):
                    if busy := [one for one in app.workers if one.name in ("read", "write")]:
                        await app.workers.wait_for_complete(busy)
                    await pilot.pause()
                path = PICTURES / f"{name}-80x24-dark.svg"
                path.write_text(offline(app.export_screenshot(title="roundtui")), encoding="utf-8")
        conn.close()
        os.chdir(PICTURES)


def main() -> None:
    """Take all pictures."""
    os.environ["TZ"] = "UTC"
    asyncio.run(screens())
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None or shutil.which("pdftoppm") is None:
        sys.exit("this needs chromium and pdftoppm (poppler-utils)")
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder)
        for name, page in pages(scratch).items():
            for picture in take(chromium, scratch, name, page):
                print(picture.name, picture.stat().st_size)


if __name__ == "__main__":
    main()
