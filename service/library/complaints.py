"""What is wrong in a library file: named by file, row and column, all at once."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Complaint:
    """One complaint about a file of library data.

    `file` is its path inside the folder that was read. `row` counts as a spreadsheet does, the header is 1;
    0 means the file as a whole. `column` is a header, or empty for a whole row. `wrong` says what is wrong,
    `right` what would be right.
    """

    file: str
    row: int
    column: str
    code: str
    value: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = self.file + (f", row {self.row}" if self.row else "")
        place += f", column {self.column}" if self.column else ""
        shown = f" ({self.value!r})" if self.value else ""
        return f"{place}: {self.wrong}{shown}; right would be {self.right}"


#: The closed list of codes, each with its meaning.
COMPLAINT_CODES: dict[str, str] = {
    "bad-file": "The file can't be read as text, as a table or as TOML.",
    "unknown-table": "No table of the library has the file's name.",
    "unknown-column": "The table has no such column, or has it already.",
    "missing-column": "The table needs a column that the file lacks.",
    "wrong-width": "The row has more or fewer cells than the header.",
    "missing-value": "The cell is empty.",
    "bad-number": "The cell holds no number.",
    "out-of-range": "The number can't be.",
    "bad-choice": "The cell must hold one of a few words.",
    "bad-id": "The id has characters that ids don't have.",
    "unknown-source": "The source key isn't in sources.toml.",
    "unknown-part": "There is no part of that id.",
    "unknown-cable": "There is no cable of that id, or no loss for its series.",
    "unknown-group": "The part has no such port group.",
    "unknown-family": "The family isn't in families.toml.",
    "unknown-tariff": "There is no tariff of that id.",
    "duplicate-row": "Two rows say the same thing.",
    "missing-row": "Another table lacks a row that this one needs.",
    "contradiction": "Two figures contradict each other.",
    "beats-physics": "A passive part gives out more than it takes.",
}
