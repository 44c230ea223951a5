"""Writes the closed list of complaint codes into DEVELOPERS.md; a test says when it differs from the code.

Run `python tests/architecture/codes_table.py` after a code was added.
"""

from __future__ import annotations

from pathlib import Path

from service.forms.codes import FAULT_CODES

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- codes: begin -->\n", "<!-- codes: end -->\n"


def table() -> str:
    """The rows of the table, codes in order."""
    rows = [f"| `{code}` | {text} |" for code, text in FAULT_CODES.items()]
    return "\n".join(["| Code | Meaning |", "|---|---|", *rows, ""])


def with_table(guide: str) -> str:
    """The guide with the table as it should be."""
    before, begin, rest = guide.partition(BEGIN)
    _, end, after = rest.partition(END)
    return before + begin + table() + end + after


if __name__ == "__main__":
    GUIDE.write_text(with_table(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
