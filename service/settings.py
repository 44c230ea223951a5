"""Settings of the service, read once from the environment by whoever puts it together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

#: One document of 20,000 outlets has about 12 MB.
MOST_BODY_BYTES = 32 * 1024 * 1024
#: A file in the working folder.
DATABASE_URL = "sqlite:///evendrop.db"


class SettingError(ValueError):
    """A setting of the environment that can't be used: `name`, `value` and what would be right."""

    def __init__(self, *, name: str, value: str, right: str) -> None:
        self.name = name
        self.value = value
        self.right = right
        super().__init__(f"{name}={value!r}: it takes {right}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """`max_body_bytes` is the largest request body that is read; a larger one is answered 413.

    `database_url` is where designs are kept, in SQLAlchemy's form. `library_folder` holds a user's library
    files, laid over ours; empty for none.
    """

    max_body_bytes: int = MOST_BODY_BYTES
    database_url: str = DATABASE_URL
    library_folder: str = ""


def settings_from(environment: Mapping[str, str]) -> Settings:
    """Settings of an environment. Raises SettingError.

    `EVENDROP_MAX_BODY_BYTES`: whole number from 1,000 to 1,000,000,000. `EVENDROP_DATABASE`: where designs
    are kept, for example `sqlite:////var/lib/evendrop/evendrop.db` or `postgresql+psycopg://…`.
    `EVENDROP_LIBRARY`: a folder of library files laid over ours.
    """
    text = environment.get("EVENDROP_MAX_BODY_BYTES", str(MOST_BODY_BYTES))
    if not text.isascii() or not text.isdigit() or not 1_000 <= int(text) <= 1_000_000_000:
        right = "a whole number from 1000 to 1000000000"
        raise SettingError(name="EVENDROP_MAX_BODY_BYTES", value=text, right=right)
    url = environment.get("EVENDROP_DATABASE", DATABASE_URL)
    if "://" not in url:
        raise SettingError(
            name="EVENDROP_DATABASE", value=url, right="an address such as sqlite:////path/file.db"
        )
    folder = environment.get("EVENDROP_LIBRARY", "")
    return Settings(max_body_bytes=int(text), database_url=url, library_folder=folder)
