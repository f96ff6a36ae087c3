"""Texts as nobody should write them, for whatever gives texts from people out."""

from __future__ import annotations

from hypothesis import strategies as st

WORST = (
    "=cmd|'/c calc'!A0",
    '=HYPERLINK("http://example.invalid","click")',
    "+1+1",
    "-2+3",
    "@SUM(1,2)",
    "\t=1+1",
    "\r=1+1",
    "  =1+1",
    "'=1+1",
    "''quoted",
    "＝1+1",
    "<script>alert(1)</script>",
    "]]>&lt;&amp;",
    "[bold red]no markup[/]",
    "BEGIN:VEVENT\r\nUID:x",
    "a;b,c:d\\n\\,",
    "back\\slash \\u0041 \\\\",
    "bell\a, escape\x1b[31m, delete\x7f, next line\x85",
    "right\u202eto left, isolate\u2066, mark\u200f, joiner\u200d",
    "lines\nin\r\na\u2028text",
    'quotes " and "" more',
    "{{ 7 * 7 }} {% raw %}",
    "naïve 文字 🦋 e\u0301",
    "x" * 10_000,
    "文" * 200,
)
"""One of each kind that has hurt somebody."""
texts = st.one_of(st.sampled_from(WORST), st.text(st.characters(exclude_categories=["Cs"]), max_size=200))
"""Any text that a store can hold, the worst among them often."""
