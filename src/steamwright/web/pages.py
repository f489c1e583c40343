"""The built page: its files, and the page itself for every address that is no file."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, HTTPException
from fastapi.responses import FileResponse, PlainTextResponse, Response

STATIC = Path(__file__).parent / "static"
_NOT_BUILT = "The page is not built. The API answers under /api; docs/reference/api.md describes it.\n"


def page_router(static: Path = STATIC) -> APIRouter:
    """Serve a folder of built files.

    Parameters
    ----------
    static : Path
        With ``index.html`` and ``assets/`` of names that carry a hash.

    Returns
    -------
    router : APIRouter
        Comes last, since it answers every address.

    References
    ----------
    own derivation
    """
    router = APIRouter()
    root = static.resolve()

    @router.api_route("/{path:path}", methods=["GET", "HEAD"], include_in_schema=False)
    def page(path: str) -> Response:
        """A file of the page, or the page."""
        if path == "api" or path.startswith("api/"):
            raise HTTPException(404, "there is no such address")
        file = _inside(root, path)
        if file is not None:
            kept = "public, max-age=31536000, immutable" if path.startswith("assets/") else "no-cache"
            return FileResponse(file, headers={"Cache-Control": kept})
        if "." in path.rsplit("/", 1)[-1]:
            raise HTTPException(404, "there is no such file")
        return page_itself(root, missing_status=404 if path else 200)

    return router


def page_itself(static: Path, status: int = 200, missing_status: int = 404) -> Response:
    """Answer with the page, which reads from its address what to show.

    Parameters
    ----------
    static : Path
        The built page.
    status : int
        The HTTP status. [count]
    missing_status : int
        The HTTP status where the page is not built. [count]

    Returns
    -------
    page : Response
        Asked for anew every time.

    References
    ----------
    own derivation
    """
    index = static / "index.html"
    if not index.is_file():
        return PlainTextResponse(_NOT_BUILT, missing_status)
    return FileResponse(index, status, headers={"Cache-Control": "no-cache"})


def _inside(root: Path, path: str) -> Path | None:
    """A file below the folder, however the address is written."""
    if not path or "\0" in path:
        return None
    try:
        file = (root / path).resolve()
        return file if file.is_relative_to(root) and file.is_file() else None
    except OSError:
        return None
