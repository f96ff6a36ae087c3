"""What a key does while the count is being keyed: digits are the count, letters are flags, Enter wants it recorded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from roundtui.domain.choices import NOT_LOOKED_AT, place_of
from roundtui.domain.entries import KIND_OF, Form, marked
from roundtui.domain.keying import (
    Keying,
    Mode,
    Want,
    ask_for,
    close_stage,
    correction,
    say,
    says_the_same,
    stage_cursor,
)
from roundtui.domain.visits import MOST_MOTHS, YES

NUMLOCK_OFF = "NumLock is off: the number pad sends arrows, not digits"
"""Said on keys that a number pad sends with NumLock off."""
NUMLOCK_KEYS = frozenset({"home", "end", "insert", "delete", "pageup", "pagedown", "left", "right", "kp_begin"})
WIDEST = len(str(MOST_MOTHS))


def count(now: Keying, key: str) -> Keying:
    """What a key does to an entry whose count is being keyed.

    Args:
        now: The entry so far.
        key: One character in small letters, or the name of a key.
    """
    if now.asked.finished and key not in _WHEN_FINISHED:
        return say(now, "The round is done: Enter the summary, Up looks back, z the last entry, a and t its block")
    if key.isascii() and key.isdigit():
        return _digit(now, key)
    if key in NUMLOCK_KEYS:
        return _numlock_off(now)
    act = _ACTS.get(key)
    if act is not None:
        return act(now)
    return now if key in _IDLE else say(now, f"{key} does nothing here: ? shows the keys")


def _numlock_off(now: Keying) -> Keying:
    """Arrows that came before were digits too: a stage they moved goes back to where it was."""
    if now.stage_open:
        now = replace(now, stage=None)
        now = replace(now, cursor=stage_cursor(now))
    return say(now, NUMLOCK_OFF)


def _digit(now: Keying, digit: str) -> Keying:
    now = close_stage(now)
    if now.draft.no_reading is not None:
        return say(now, f"No reading ({now.draft.no_reading.value}) stands: Backspace calls it off, then count")
    if len(now.text) >= WIDEST:
        return say(now, f"{MOST_MOTHS} is the most a trap can hold")
    return replace(now, text=now.text + digit)


def _enter(now: Keying) -> Keying:
    if now.asked.finished:
        return ask_for(now, Want.SUMMARY)
    old, standing = now.asked.old, now.asked.standing
    if old is not None and says_the_same(now.visit, old):
        return say(now, "Nothing changed, the old entry stands: Escape goes on")
    if not now.text and now.visit.no_reading is None and old is None:
        return say(now, _blank(now))
    if standing is not None and old is None:
        return say(now, f"{now.draft.trap} is read already: z makes this a correction, Escape goes back")
    return ask_for(now, Want.RECORD)


def _blank(now: Keying) -> str:
    if now.looked:
        return "Only looked, nothing recorded. If that was a digit: NumLock is off"
    if now.typed:
        return "No count yet: 0, or x"
    return "Blank is not zero, nothing recorded: 0 is a count, x is no reading"


def _escape(now: Keying) -> Keying:
    if now.asked.old is not None or now.asked.standing is not None:
        return ask_for(now, Want.BACK, dropped(now))
    if now.typed and not now.leaving:
        what = f"{now.text} is" if now.text else "This is"
        return replace(now, leaving=True, said=f"{what} not recorded yet: Enter records, Escape again goes back")
    return ask_for(now, Want.BACK)


def _backspace(now: Keying) -> Keying:
    if now.text:
        return replace(now, text=now.text[:-1])
    if now.draft.no_reading is not None:
        return replace(now, draft=replace(now.draft, no_reading=None), said="No reading called off")
    return now


def dropped(now: Keying) -> str:
    """A word on what is lost when the entry is left as it is; empty where nothing is."""
    if now.typed:
        what = now.text or (now.draft.no_reading.value if now.draft.no_reading else "what was keyed")
    elif now.stage is not None and now.stage_open:
        what = f"stage {now.stage}"
    else:
        return ""
    return f"{now.draft.trap}: {what} dropped, not recorded"


def _neighbour(want: Want) -> Callable[[Keying], Keying]:
    return lambda now: ask_for(now, want, dropped(now))


def _minus(now: Keying) -> Keying:
    if now.typed:
        return say(now, f"{now.text or 'Something'} is typed: - stays here, Up would drop it")
    return ask_for(now, Want.BEFORE)


def _back_to_last(now: Keying) -> Keying:
    standing = now.asked.standing
    if standing is None or now.asked.old is not None:
        return ask_for(now, Want.LAST, dropped(now))
    return replace(correction(now.asked, standing), text=now.text, said=f"Setting {standing.trap} right")


def _toggle(name: str) -> Callable[[Keying], Keying]:
    def turn(now: Keying) -> Keying:
        turned: dict[str, Any] = {name: not getattr(now.draft, name)}
        return replace(now, draft=replace(now.draft, **turned))

    return turn


def _recount(now: Keying) -> Keying:
    again = not now.draft.recount
    said = "Second count of a catch that somebody else counted: never a catch of its own" if again else ""
    return say(replace(now, draft=replace(now.draft, recount=again)), said)


def take_grid(now: Keying, count: int, note: str) -> Keying:
    """A count estimated from a grid stands in the field; Enter records it.

    Args:
        now: The entry so far.
        count: The estimate. [moths]
        note: How it came about; it goes behind a note that stands already.
    """
    notes = "; ".join(words for words in (now.draft.note, note) if words)
    estimated = replace(now, text=str(count), draft=replace(now.draft, estimated=True, note=notes))
    return say(close_stage(estimated), f"{count} estimated from the grid: Enter records")


def _grid(now: Keying) -> Keying:
    if now.draft.no_reading is not None:
        return say(now, f"No reading ({now.draft.no_reading.value}) stands: Backspace calls it off, then count")
    return ask_for(now, Want.GRID)


def _lure(now: Keying) -> Keying:
    if now.draft.lure is not None:
        return replace(now, draft=replace(now.draft, lure=None))
    if now.asked.own_lots > 1:
        return replace(now, mode=Mode.LURE, cursor=0)
    return replace(now, draft=replace(now.draft, lure=now.asked.lures[0].value if now.asked.lures else YES))


def _any_lure(now: Keying) -> Keying:
    return replace(now, mode=Mode.LURE, cursor=place_of(now.asked.lures, now.draft.lure))


def _found(now: Keying) -> Keying:
    if now.draft.lure_found is not None:
        return replace(now, draft=replace(now.draft, lure_found=None))
    return replace(now, mode=Mode.FOUND, cursor=0)


def _body(now: Keying) -> Keying:
    if now.draft.body is not None:
        return replace(now, draft=replace(now.draft, body=None))
    return replace(now, mode=Mode.BODY, line="")


def _no_reading(now: Keying) -> Keying:
    if now.text:
        return say(now, f"{now.text} is typed, and a count has no reason: Backspace takes it away, then x")
    return replace(close_stage(now), mode=Mode.REASON)


def _open_number(name: str) -> Callable[[Keying], Keying]:
    def opened(now: Keying) -> Keying:
        number = getattr(now.draft, name)
        line = "" if number is None else str(number)
        return replace(close_stage(now), mode=Mode.NUMBER, number=name, line=line)

    return opened


def _note(now: Keying) -> Keying:
    opened = replace(close_stage(now), mode=Mode.NOTE)
    if not now.draft.note:
        return opened
    # The space is taken off again where nothing is typed behind it.
    said = "The note so far, to be changed: Left, Right, Home and Backspace move in it"
    return say(replace(opened, line=f"{now.draft.note} "), said)


def open_stages(now: Keying) -> Keying:
    """The whole list of stages, opened at the one that stands."""
    if not now.asked.stages:
        return say(now, "No block here, so no stage")
    chosen = now.stage or now.asked.stage_before
    return replace(now, mode=Mode.STAGES, line="", cursor=place_of((NOT_LOOKED_AT, *now.asked.stages), chosen))


_IDLE = frozenset({" ", "tab", "shift+tab", "ignore"})
_ACTS: Mapping[str, Callable[[Keying], Keying]] = {
    "enter": _enter,
    "escape": _escape,
    "backspace": _backspace,
    **{one.fact.mark: _toggle(one.attribute) for one in marked(KIND_OF["visit"], Form.FLAG)},
    **{one.fact.mark: _open_number(one.attribute) for one in marked(KIND_OF["visit"], Form.WHOLE)},
    "+": _toggle("liner"),
    "r": _lure,
    "*": _lure,
    "f3": _any_lure,
    "b": _body,
    ".": _toggle("cleared"),
    ",": _toggle("cleared"),
    "x": _no_reading,
    "/": _no_reading,
    "a": lambda now: ask_for(now, Want.LOOKS),
    "j": _grid,
    "t": lambda now: ask_for(now, Want.TREATMENT),
    "u": _recount,
    "v": lambda now: ask_for(now, Want.SPECIMEN),
    "n": _note,
    "w": _found,
    "f": open_stages,
    "up": _neighbour(Want.BEFORE),
    "-": _minus,
    "down": _neighbour(Want.AFTER),
    "g": lambda now: replace(now, mode=Mode.GO_TO, line=""),
    "z": _back_to_last,
    "s": lambda now: ask_for(now, Want.SUMMARY),
    "?": lambda now: ask_for(now, Want.HELP),
    "f1": lambda now: ask_for(now, Want.HELP),
}
_WHEN_FINISHED = frozenset({"a", "t", "enter", "escape", "backspace", "up", "-", "g", "z", "s", "?", "f1", "tab", " "})
