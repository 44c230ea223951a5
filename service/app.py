"""The service put together: the library read once, the resources, the documentation."""

from __future__ import annotations

from flask import Flask
from flask_smorest import Blueprint

from service.api import analyses, catalogue, designs, health, limits, plans
from service.api.docs import add_docs
from service.api.drawer import Drawer, put_drawer
from service.api.problems import ProblemApi
from service.api.shelf import Shelf, put_shelf
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services
from service.settings import Settings

RESOURCES: tuple[Blueprint, ...] = (
    designs.blueprint,
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
    """The WSGI application. Reads the library; raises LibraryDamagedError when the package is damaged."""
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
    shelf = _shelf()
    put_shelf(app.extensions, shelf)
    put_drawer(app.extensions, Drawer.of(shelf.known, library().tariffs, settings.database_url))
    api = ProblemApi(app)
    for blueprint in RESOURCES:
        api.register_blueprint(blueprint)
    add_docs(app, api)
    return app


def _shelf() -> Shelf:
    packaged = library()
    known = Known(
        catalogue=packaged.catalogue,
        limits=load_limits(),
        plans=load_plans(),
        services=load_services(),
    )
    return Shelf(
        known=known,
        families={family.name: family.heading for family in packaged.families.values()},
        sources=packaged.sources,
    )
