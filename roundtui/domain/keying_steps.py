"""Keys of the steps beside the count: stage, reason, numbers, note, label, lists. ``press`` is the way in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from roundtui.domain.choices import Choice
from roundtui.domain.entries import KIND_OF
from roundtui.domain.keying import TEXT_MODES, Keying, Mode, Want, ask_for, backward, base, say, take_stage
from roundtui.domain.keying_count import WIDEST, count, dropped, open_stages
from roundtui.domain.tally import REASONS
from roundtui.domain.visits import MOST_MOTHS, YES, NoReading

REASON_KEYS: Mapping[str, NoReading] = {
    **REASONS,
    **{str(number): reason for number, reason in enumerate(REASONS.values(), 1)},
}
"""Letter, or digit on the number pad, of each reason for no reading."""


def press(now: Keying, key: str) -> Keying:
    """What a key does.

    Args:
        now: The entry so far.
        key: One character, or the name of a key: enter, escape, backspace, up, down, home …

    Returns:
        The entry after the key; ``want`` says what the screen is to do, ``said`` what the person is to know.
    """
    clean = replace(now, want=Want.NOTHING, said="", looked=False, leaving=False)
    if key != "enter":
        clean = replace(clean, doubted="")
    if clean.mode not in TEXT_MODES and len(key) == 1:
        key = key.lower()
    if now.mode is Mode.COUNT and key in {"enter", "escape"}:
        clean = replace(clean, looked=now.looked, leaving=now.leaving)
    return _STEPS[clean.mode](clean, key)


def _stage(now: Keying, key: str) -> Keying:
    at = now.cursor
    match key:
        case "enter":
            return _stage_enter(now)
        case "escape":
            return replace(now, mode=Mode.COUNT, stage_open=False, stage=None, said="Stage: not looked at")
        case "up" | "-" | "down":
            unset = now.stage is None and now.asked.stage_before is None
            at = at if unset else max(0, min(len(now.asked.stages) - 1, at + (1 if key == "down" else -1)))
            chosen = now.asked.stages[at].value
            return replace(now, cursor=at, stage=chosen, said=backward(now, chosen))
        case "f":
            return open_stages(now)
    return count(now, key)


def _stage_enter(now: Keying) -> Keying:
    code = now.stage or now.asked.stage_before
    if code is None:
        return say(now, "No stage on record yet: Up, Down or f chooses one; a digit starts the count")
    return take_stage(now, code)


def _reason(now: Keying, key: str) -> Keying:
    if key in {"escape", "backspace"}:
        return replace(base(now), draft=replace(now.draft, no_reading=None), said="No reading called off")
    reason = REASON_KEYS.get(key)
    if reason is None:
        return say(now, "No reading wants s, c, m, d, g or o (1 to 6); Escape calls it off")
    chosen = replace(base(now), draft=replace(now.draft, no_reading=reason))
    if reason is NoReading.OTHER and not now.draft.note:
        return replace(chosen, mode=Mode.NOTE, said="Other: say why")
    return chosen


def _number_digit(now: Keying, key: str) -> Keying:
    if key.isascii() and key.isdigit():
        return replace(now, line=now.line + key) if len(now.line) < WIDEST else say(now, f"{MOST_MOTHS} is the most")
    if key == "backspace" and now.line:
        return replace(now, line=now.line[:-1])
    if key in {"escape", "backspace"}:
        return base(now)
    said: dict[str, Any] = {now.number: int(now.line) if now.line else None}
    done = replace(base(now), draft=replace(now.draft, **said))
    return done if key == KIND_OF["visit"].field(now.number).fact.mark else press(done, key)


def _text_line(now: Keying, key: str) -> Keying:
    if len(key) == 1:
        return replace(now, line=now.line + key)
    match key:
        case "backspace":
            return replace(now, line=now.line[:-1])
        case "enter":
            return _line_done(now)
        case "escape" if now.mode is Mode.NOTE:
            return _noted(now)
        case "escape":
            return base(now)
    return now


def _noted(now: Keying) -> Keying:
    note = now.line.strip().removeprefix(":").strip()
    return replace(base(now), draft=replace(now.draft, note=note))


def _line_done(now: Keying) -> Keying:
    line = now.line.strip()
    if now.mode is Mode.NOTE:
        return press(_noted(now), "enter")
    if now.mode is Mode.BODY:
        said = f"Body {line}" if line else "Clean body, never used"
        return replace(base(now), draft=replace(now.draft, body=line or YES), said=said)
    return replace(ask_for(base(now), Want.GO_TO, dropped(now)), line=line) if line else base(now)


def _list(now: Keying, key: str) -> Keying:
    choices = now.choices
    match key:
        case "escape" | "backspace":
            return base(now)
        case "up" | "-" | "down":
            step = 1 if key == "down" else -1
            return replace(now, cursor=max(0, min(len(choices) - 1, now.cursor + step)), line="")
        case "enter":
            return _take(now, choices[now.cursor]) if choices else base(now)
    if key.isascii() and key.isdigit():
        return _stage_code(now, key) if now.mode is Mode.STAGES else _numbered(now, int(key))
    return say(now, "Up and Down move, a number or Enter takes it, Escape calls it off")


def _numbered(now: Keying, number: int) -> Keying:
    if 1 <= number <= len(now.choices):
        return _take(now, now.choices[number - 1])
    return say(now, f"There is no number {number}")


def _stage_code(now: Keying, digit: str) -> Keying:
    line = (now.line + digit)[-2:]
    at = next((at for at, choice in enumerate(now.choices) if choice.value and choice.value.startswith(line)), None)
    if at is None:
        return replace(now, line="", said=f"There is no stage {line}")
    return replace(now, cursor=at, line="" if len(line) == 2 else line)


def _take(now: Keying, choice: Choice) -> Keying:
    match now.mode:
        case Mode.LURE:
            taken = replace(base(now), draft=replace(now.draft, lure=choice.value))
        case Mode.FOUND:
            taken = replace(base(now), draft=replace(now.draft, lure_found=choice.value))
        case _:
            if choice.value:
                return take_stage(now, choice.value)
            kept = None if now.stage_open else now.stage
            said = f"Stage {kept} stands on record: f chooses another" if kept else ""
            return replace(now, mode=Mode.COUNT, line="", cursor=0, stage_open=False, stage=kept, said=said)
    return say(taken, f"{choice.words}: {choice.effect}" if choice.effect else choice.words)


_STEPS: Mapping[Mode, Callable[[Keying, str], Keying]] = {
    Mode.STAGE: _stage,
    Mode.COUNT: count,
    Mode.REASON: _reason,
    Mode.NUMBER: _number_digit,
    Mode.NOTE: _text_line,
    Mode.BODY: _text_line,
    Mode.GO_TO: _text_line,
    Mode.LURE: _list,
    Mode.FOUND: _list,
    Mode.STAGES: _list,
}
