"""Keys as terminals send them, turned into the keys an entry knows."""

from __future__ import annotations

_NAMED = {
    "plus": "+",
    "add": "+",
    "asterisk": "*",
    "multiply": "*",
    "slash": "/",
    "divide": "/",
    "minus": "-",
    "subtract": "-",
    "full_stop": ".",
    "decimal": ".",
    "comma": ",",
    "separator": ",",
    "question_mark": "?",
    "space": " ",
    "ctrl+j": "enter",
    "newline": "enter",
    "equal": "=",
}
ACTING = frozenset(
    {
        "enter",
        "escape",
        "backspace",
        "up",
        "down",
        "left",
        "right",
        "home",
        "end",
        "insert",
        "delete",
        "pageup",
        "pagedown",
        "kp_begin",
        "tab",
        "shift+tab",
        "f3",
    }
)
"""Named keys that an entry answers; every other named key is the app's."""


def presses(key: str, character: str | None) -> tuple[str, ...]:
    """What an entry is to make of a key.

    Args:
        key: Name of the key, as Textual gives it.
        character: Character that came with it; pads send some keys without one.

    Returns:
        The presses it stands for: alt and a letter is Escape, then the letter. Empty for a key that is not an entry's.
    """
    if key.startswith("alt+"):
        last = key.removeprefix("alt+").removeprefix("shift+")
        return ("escape", *presses(last, last if len(last) == 1 else None))
    if key in _NAMED:
        return (_NAMED[key],)
    if len(key) == 1:
        return (key,)
    if key in ACTING:
        return (key,)
    if character is not None and len(character) == 1 and character.isprintable():
        return (character,)
    return ()
