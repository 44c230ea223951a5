"""The service put together: the library read once, the resources, the documentation."""

from __future__ import annotations

from pathlib import Path

from flask import Flask
from flask_smorest import Blueprint

from service.api import analyses, catalogue, designs, drawings, health, limits, plans, reports, tables
from service.api.docs import add_docs
from service.api.drawer import Drawer, put_drawer
from service.api.problems import ProblemApi
from service.api.shelf import Shelf, put_shelf
from service.forms.known import Known
from service.library.contents import Library, library, overlaid
from service.library.profiles import load_limits, load_plans, load_services
from service.settings import SettingError, Settings

RESOURCES: tuple[Blueprint, ...] = (
    designs.blueprint,
    tables.blueprint,
    reports.blueprint,
    drawings.blueprint,
    analyses.blueprint,
    catalogue.blueprint,
    limits.blueprint,
    plans.blueprint,
    health.blueprint,
)
_DESCRIPTION = (
    "Designs the coaxial television distribution of apartment buildings. Post a building and read "
    "its design, or a network as it stands and read what arrives at every outlet, and whether it passes."
)


def create_app(settings: Settings | None = None) -> Flask:
    """The WSGI application.

    Reads the library; raises LibraryDamagedError when the package is damaged, SettingError when the user's
    own library files are wrong.
    """
    settings = settings or Settings()
    app = Flask("evendrop", static_folder=None)
    app.config.update(
        API_TITLE="Evendrop",
        API_VERSION="v1",
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/",
        OPENAPI_JSON_PATH="openapi.json",
        API_SPEC_OPTIONS={"info": {"description": _DESCRIPTION}},
        MAX_CONTENT_LENGTH=settings.max_body_bytes,
    )
    stock = _stock(settings.library_folder)
    shelf = _shelf(stock)
    put_shelf(app.extensions, shelf)
    put_drawer(app.extensions, Drawer.of(shelf.known, stock.tariffs, settings.database_url))
    api = ProblemApi(app)
    for blueprint in RESOURCES:
        api.register_blueprint(blueprint)
    add_docs(app, api)
    return app


def _stock(folder: str) -> Library:
    if not folder:
        return library()
    stock, complaints = overlaid(library(), Path(folder))
    if complaints:
        right = "a folder of sound library files: " + "; ".join(str(row) for row in complaints[:20])
        raise SettingError(name="EVENDROP_LIBRARY", value=folder, right=right)
    return stock


def _shelf(stock: Library) -> Shelf:
    known = Known(
        catalogue=stock.catalogue,
        limits=load_limits(),
        plans=load_plans(),
        services=load_services(),
    )
    return Shelf(
        known=known,
        sources=stock.sources,
        symbols={name: family.symbol for name, family in stock.families.items()},
    )
