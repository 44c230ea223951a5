"""A column and a sheet of the building workbook: what they hold, and where a value goes in the document."""

from __future__ import annotations

from dataclasses import dataclass

from batch.cells import Kind

Keys = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column. `keys` lead from the row's object in the document to the value.

    `others` are headers that may stand instead, each with its unit: `run_ft` for `run_m`. `lists` names a
    list of the library that the template offers. `defines` and `refers` name the kind of thing whose id
    stands here: the template offers the ones that are defined.
    """

    name: str
    kind: Kind = "text"
    keys: Keys = ()
    unit: str = ""
    others: tuple[tuple[str, str], ...] = ()
    choices: tuple[str, ...] = ()
    lists: str = ""
    required: bool = False
    defines: str = ""
    refers: str = ""
    note: str
    width: int = 12

    def key_of(self, header: str) -> Keys:
        """Where a value under that header goes: the key takes the unit of the header."""
        own = self.keys or (self.name,)
        if header == self.name:
            return own
        return (*own[:-1], own[-1].rsplit("_", 1)[0] + "_" + header.rsplit("_", 1)[1])

    def unit_of(self, header: str) -> str:
        """The unit under that header."""
        return self.unit if header == self.name else dict(self.others)[header]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet: its title, its columns, and what a row of it is."""

    title: str
    text: str
    columns: tuple[Column, ...]
    optional: bool = True

    @property
    def known(self) -> dict[str, str]:
        """Every header the sheet may have, with its unit."""
        known = {}
        for column in self.columns:
            known[column.name] = column.unit
            known.update(dict(column.others))
        return known

    @property
    def required(self) -> tuple[str, ...]:
        """Headers that must be there, alternatives joined by "|"."""
        return tuple(
            "|".join((column.name, *(name for name, _ in column.others)))
            for column in self.columns
            if column.required
        )

    def column(self, header: str) -> Column:
        """The column of a header; raises KeyError."""
        for column in self.columns:
            if header == column.name or header in dict(column.others):
                return column
        raise KeyError(header)


def ref(name: str, refers: str, note: str, *, keys: Keys = (), required: bool = False) -> Column:
    """A column that names something defined elsewhere."""
    return Column(name=name, kind="id", refers=refers, note=note, keys=keys, required=required)


def length(name: str, note: str, *, keys: Keys = (), required: bool = False) -> Column:
    """A column of lengths: metres, or feet under its other header."""
    feet = name.removesuffix("_m") + "_ft"
    return Column(
        name=name, kind="number", unit="m", others=((feet, "ft"),), required=required, note=note, keys=keys
    )
