"""One application for all tests of the interface."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.app import create_app


@pytest.fixture(scope="session")
def app() -> Flask:
    return create_app()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()
