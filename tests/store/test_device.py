"""The name of the laptop."""

from __future__ import annotations

import platform
from pathlib import Path

import pytest

from roundtui.store.record.lanes import device_name, state_folder


def test_a_laptop_keeps_its_first_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "node", lambda: "truck-1")
    assert device_name() == "truck-1"
    monkeypatch.setattr(platform, "node", lambda: "renamed")
    assert device_name() == "truck-1"


def test_a_laptop_without_a_name_or_a_place_for_it_has_one_all_the_same(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(platform, "node", lambda: "")
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
    assert device_name() == "laptop"


def test_a_name_that_would_not_show_is_made_plain(monkeypatch: pytest.MonkeyPatch) -> None:
    path = state_folder() / "device"
    path.parent.mkdir(parents=True)
    path.write_text("\x1b[2Jtruck\n" + "x" * 1000)
    assert device_name().isprintable()
    assert len(device_name()) == 40
