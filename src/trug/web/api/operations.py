"""What the API can do: one entry for each operation, from which routes, OpenAPI document and page are made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from fastapi import APIRouter

__all__ = ["REFUSALS", "Example", "Operation", "Operations", "Parameter"]

View = TypeVar("View", bound=Callable[..., Any])

#: Why a request is refused; every refusal has the shape ``{"error": "sentence"}``.
REFUSALS = {
    404: "There is no such thing, or it was deleted.",
    409: "It is there already.",
    413: "The document is larger than 8 MB.",
    415: "The body is not sent as application/json.",
    422: "Something in the request cannot be used; the sentence says what to mend. Nothing was changed.",
}
#: Refusals of everything that takes a body.
_OF_BODIES = (413, 415, 422)


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter in the path or behind the question mark."""

    name: str
    tells: str
    place: str = "query"
    required: bool = False
    many: bool = False
    schema: dict[str, Any] = field(default_factory=lambda: {"type": "string"})


@dataclass(frozen=True, slots=True)
class Example:
    """A request as it is sent, and a piece of what comes back."""

    address: str
    answer: str
    body: str = ""


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation. ``takes`` and ``gives`` are types; several stand for alternatives, none for no body."""

    method: str
    path: str
    name: str
    summary: str
    tells: str
    gives: tuple[Any, ...]
    example: Example
    takes: Any = None
    parameters: tuple[Parameter, ...] = ()
    status: int = 200
    refusals: tuple[int, ...] = ()

    @property
    def all_refusals(self) -> tuple[int, ...]:
        """Every status with which it may refuse, in order."""
        return tuple(sorted({*self.refusals, *(_OF_BODIES if self.takes is not None else ())}))


class Operations:
    """The operations of one module and their routes."""

    def __init__(self) -> None:
        self.router = APIRouter()
        self.all: list[Operation] = []

    def add(self, operation: Operation) -> Callable[[View], View]:
        """Return a decorator that makes a view the answer to an operation."""

        def adding(view: View) -> View:
            self.all.append(operation)
            self.router.add_api_route(
                operation.path, view, methods=[operation.method], name=operation.name, include_in_schema=False
            )
            return view

        return adding
