"""Titles that a listing may have and a report must show as they are."""

from __future__ import annotations

NASTY_TITLES = [
    "x" * 2000,
    "word " * 399,
    "\u202egnp.exe \u05d0\u05d1\u05d2 \u0627\u0644\u0639",
    "容量" * 300,
    "e\u0301\u0300\u0301" * 200,
    "\U0001f50b\u200d\U0001f525 pack",
    "=HYPERLINK(\"http://x\")",
    "+1", "-1", "@sum", "|a|b|", "<script>alert(1)</script>", "# title", "[a](http://x)", "`code`", "*b* _i_",
    "a\u2028b\u2029c", "\u200b\u2066hidden\u2069", "~~x~~ \\ $y$ &lt;b&gt;",
]  # fmt: skip
