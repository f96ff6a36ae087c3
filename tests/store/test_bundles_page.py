"""``docs/open-files.md`` says of bundles what the program does."""

from __future__ import annotations

import re
import sqlite3
import zipfile
from pathlib import Path

from roundtui.domain.entries import KINDS
from roundtui.store.exchange import lines as bundle_form
from roundtui.store.exchange.bundle import pack
from roundtui.store.record.journal import MOST_TEXT
from roundtui.store.round.conflicts import ConflictKind
from tests.conftest import NOW

PAGE = (Path(__file__).parents[2] / "docs" / "open-files.md").read_text(encoding="utf-8").split("\n## Bundles\n")[1]


def test_every_kind_of_entry_stands() -> None:
    for kind in KINDS:
        assert f"`{kind.kind}`" in PAGE
    assert f"`{bundle_form.ENTRIES}`" in PAGE


def test_every_key_of_the_manifest_stands(store: sqlite3.Connection, tmp_path: Path) -> None:
    pack(store, tmp_path / "one.bundle", "truck", NOW)
    with zipfile.ZipFile(tmp_path / "one.bundle") as file:
        said = file.read(bundle_form.MANIFEST).decode()
    keys = re.findall(r'"(\w+)":', said)
    assert len(keys) > 15
    for key in keys:
        assert re.search(rf"^\| .*\b{key}\b", PAGE, re.MULTILINE), key
    assert f"`{bundle_form.FORMAT}` and {bundle_form.FORMAT_VERSION}" in PAGE


def test_every_limit_and_every_kind_of_conflict_stands() -> None:
    mib = 1024 * 1024
    for row in (
        f"| the file | {bundle_form.MOST_PACKED // mib} MiB |",
        f"| the entries unpacked | {bundle_form.MOST_BYTES // mib // 1024} GiB",
        f"| the manifest | {bundle_form.MOST_MANIFEST // 1024} KiB |",
        f"| a line | {bundle_form.MOST_LINE // mib} MiB |",
        f"| a text in an entry | {MOST_TEXT:,} characters |",
        f"from {bundle_form.RATIO_FROM // mib} MiB of content | {bundle_form.MOST_RATIO} to 1",
        *(f"| `{kind.value}`:" for kind in ConflictKind),
    ):
        assert row in PAGE, row
