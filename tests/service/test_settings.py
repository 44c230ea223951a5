"""Settings from the environment: read strictly, refused by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.app import create_app
from service.settings import MOST_BODY_BYTES, SettingError, settings_from


def test_an_empty_environment_has_the_documented_limit() -> None:
    assert settings_from({}).max_body_bytes == MOST_BODY_BYTES


def test_the_limit_of_a_body_can_be_set() -> None:
    assert settings_from({"EVENDROP_MAX_BODY_BYTES": "5000"}).max_body_bytes == 5000


@pytest.mark.parametrize("text", ["", "-1", "12", "1e6", "5 MB", "٣٣٣٣", "99999999999"])
def test_a_limit_that_cannot_be_is_refused_by_name(text: str) -> None:
    with pytest.raises(SettingError, match="EVENDROP_MAX_BODY_BYTES"):
        settings_from({"EVENDROP_MAX_BODY_BYTES": text})


def test_the_database_is_a_file_in_the_working_folder_unless_it_is_named() -> None:
    assert settings_from({}).database_url == "sqlite:///evendrop.db"
    assert settings_from({"EVENDROP_DATABASE": "sqlite:////x/y.db"}).database_url == "sqlite:////x/y.db"


def test_a_database_that_is_no_address_is_refused() -> None:
    with pytest.raises(SettingError) as caught:
        settings_from({"EVENDROP_DATABASE": "/x/y.db"})
    assert caught.value.name == "EVENDROP_DATABASE"


def test_a_library_folder_that_is_wrong_stops_the_service_with_its_reason(tmp_path: Path) -> None:
    with pytest.raises(SettingError, match="EVENDROP_LIBRARY"):
        create_app(settings_from({"EVENDROP_LIBRARY": str(tmp_path / "nowhere")}))
