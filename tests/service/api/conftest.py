"""One application for all tests of the interface."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.app import create_app
from service.settings import Settings


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    kept = tmp_path_factory.mktemp("kept") / "designs.db"
    return create_app(Settings(database_url=f"sqlite:///{kept}"))


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()
