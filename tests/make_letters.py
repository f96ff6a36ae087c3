"""Pictures of letters and of the area update, of the sample farm with both rounds walked.

python -m tests.make_letters        writes docs/pictures/letter-*.png and docs/pictures/area-update-*.png

It needs chromium and pdftoppm. Look at every picture before it is committed.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from roundtui.report.letters.area_record import read_area
from roundtui.report.letters.compose import compose
from roundtui.report.letters.forms import letter_html
from roundtui.report.letters.material import read_material
from roundtui.report.letters.template import Templates
from roundtui.report.letters.update import compose_update
from roundtui.report.letters.update_files import update_html
from roundtui.store.demo import prepare_demo
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from tests.report.letters.conftest import NOW, ON, walk_north

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
NOTE = "Both rounds were walked this week.\nCall before you come to the packing shed; the road is closed on Thursday."
FARMS = ("PELL", "FENN")
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
        found["area-update"] = update_html(compose_update(read_area(conn, folder, ON, office)), templates)
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
        browser.close()
    for old in PICTURES.glob(f"{name}-*.png"):
        old.unlink()
    command = ["pdftoppm", "-r", str(DOTS), "-gray", "-png", str(printed), str(PICTURES / name)]
    subprocess.run(command, check=True)
    return sorted(PICTURES.glob(f"{name}-*.png"))


def main() -> None:
    """Take all pictures."""
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
