"""Every operation of the API, and the page that tells of them."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from trug.web.api import book, finds
from trug.web.api.operations import REFUSALS, Operation
from trug.web.language import gettext as _
from trug.web.rendering import page

__all__ = ["OPERATIONS", "router"]

OPERATIONS: tuple[Operation, ...] = (*book.OPERATIONS.all, *finds.OPERATIONS.all)

router = APIRouter()
router.include_router(book.OPERATIONS.router)
router.include_router(finds.OPERATIONS.router)


@router.get("/api", include_in_schema=False)
def api_page(request: Request) -> Response:
    """Show what the API can do, with an example of each operation."""
    return page(
        request,
        "api.html",
        tr=_,
        operations=OPERATIONS,
        refusals=REFUSALS,
        shape=_shape,
        root=str(request.base_url).rstrip("/"),
        notes=book.NOTES,
    )


def _shape(kind: object) -> str:
    """Return the name of a type as a reader of the document finds it."""
    text = getattr(kind, "__name__", "") if isinstance(kind, type) and not getattr(kind, "__args__", ()) else repr(kind)
    return ", ".join(part.rsplit(".", 1)[-1] for part in text.replace("'", "").split(", "))
