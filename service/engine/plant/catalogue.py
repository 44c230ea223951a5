"""The catalogue: every part and cable that a design may use, found by id."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.errors import UnknownIdError
from service.engine.plant.cables import Cable
from service.engine.plant.parts import Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Parts and cables by id. Made once, read everywhere, never changed."""

    parts: tuple[Part, ...]
    cables: tuple[Cable, ...]
    _parts: dict[str, Part] = field(init=False, repr=False, compare=False)
    _cables: dict[str, Cable] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_parts", {part.id: part for part in self.parts})
        object.__setattr__(self, "_cables", {cable.id: cable for cable in self.cables})

    def part(self, part_id: str) -> Part:
        """The part of that id; raises UnknownIdError."""
        if part_id not in self._parts:
            raise UnknownIdError(kind="part", name=part_id)
        return self._parts[part_id]

    def cable(self, cable_id: str) -> Cable:
        """The cable of that id; raises UnknownIdError."""
        if cable_id not in self._cables:
            raise UnknownIdError(kind="cable", name=cable_id)
        return self._cables[cable_id]

    def has_part(self, part_id: str) -> bool:
        """True when the catalogue holds the part."""
        return part_id in self._parts

    def has_cable(self, cable_id: str) -> bool:
        """True when the catalogue holds the cable."""
        return cable_id in self._cables

    def overlaid(self, parts: tuple[Part, ...], cables: tuple[Cable, ...]) -> Catalogue:
        """A catalogue with the given rows laid over this one by id."""
        merged_parts = self._parts | {part.id: part for part in parts}
        merged_cables = self._cables | {cable.id: cable for cable in cables}
        return Catalogue(parts=tuple(merged_parts.values()), cables=tuple(merged_cables.values()))
