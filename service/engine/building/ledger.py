"""The ledger of defaults: every one that was used, how often, and why, so that paper can print it."""

from __future__ import annotations

from service.engine.building.places import Assumption


class Ledger:
    """Collects defaults while a building is expanded; alike ones become one line."""

    def __init__(self) -> None:
        self._rows: dict[tuple[str, str, str], int] = {}

    def use(self, field: str, value: str, why: str) -> None:
        """Note that a default stood in for something the document doesn't say."""
        key = (field, value, why)
        self._rows[key] = self._rows.get(key, 0) + 1

    def lines(self) -> tuple[Assumption, ...]:
        """One assumption for each default, by field."""
        return tuple(
            Assumption(field=field, value=value, why=f"{why} ({count} times)" if count > 1 else why)
            for (field, value, why), count in sorted(self._rows.items())
        )
