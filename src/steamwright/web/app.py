"""The application, made of its parts."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from starlette.middleware.gzip import GZipMiddleware

from steamwright.service.desk import Desk
from steamwright.web import job_routes, measure_routes, people_routes, plan_routes, weather_routes
from steamwright.web.guard import House, Rim
from steamwright.web.models import CollisionTold, Problem
from steamwright.web.pages import STATIC, page_router
from steamwright.web.problems import MEDIA_TYPE, answer_problems

_WRONG = {400: "The body cannot be read.", 401: "Log in first.", 403: "Not allowed.", 404: "Not known.", 413: "Too large.",
          422: "What was sent has mistakes.", 429: "Too many attempts."}

_LEVEL = 4
"""Of compression: an eighth larger than the tightest, in a fifth of the time, which everybody waits for."""


def make_app(desk: Desk, *, local: bool = True, static: Path = STATIC) -> FastAPI:
    """Make the application over a desk.

    Parameters
    ----------
    desk : Desk
        Where the work is done; it is closed when the application ends.
    local : bool
        Only this machine asks. Then nobody has to log in unless there are accounts.
    static : Path
        The built page.

    Returns
    -------
    app : FastAPI
        Ready to be served.

    References
    ----------
    own derivation
    """

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        yield
        desk.close()

    problems: dict[int | str, dict[str, Any]] = {
        status: {"description": text, "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}}
        for status, text in _WRONG.items()
    }
    app = FastAPI(title="Steamwright", version=version("steamwright"), docs_url=None, redoc_url=None, openapi_url="/api/openapi.json",
                  lifespan=life, responses=problems, generate_unique_id_function=_name)
    app.state.house = House(desk, not local or desk.door.people.any_office(), static)
    for module in (people_routes, job_routes, plan_routes, measure_routes, weather_routes):
        app.include_router(module.router)
    app.include_router(people_routes.doorstep)
    app.include_router(page_router(static))
    answer_problems(app)
    app.add_middleware(GZipMiddleware, minimum_size=2000, compresslevel=_LEVEL)
    app.add_middleware(Rim, local=local)
    app.openapi = lambda: _described(app)  # type: ignore[method-assign]
    return app


def _name(route: APIRoute) -> str:
    return route.name


def _described(app: FastAPI) -> dict[str, Any]:
    """The OpenAPI document, with the answers that are made by hand."""
    if app.openapi_schema is None:
        made = get_openapi(title=app.title, version="1", routes=app.routes, description="See docs/reference/api.md.")
        schemas = made["components"]["schemas"]
        for model in (Problem, CollisionTold):
            own = model.model_json_schema(mode="serialization", ref_template="#/components/schemas/{model}")
            schemas.update(own.pop("$defs", {}))
            schemas[model.__name__] = own
        for unused in ("HTTPValidationError", "ValidationError"):
            schemas.pop(unused, None)
        made["components"]["schemas"] = dict(sorted(schemas.items()))
        app.openapi_schema = made
    return app.openapi_schema
