"""The OpenAPI document, made of the operations and of the schemas of what they take and give."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
from fastapi import FastAPI

from trug import __version__
from trug.web.api.answers import JSON
from trug.web.api.operations import REFUSALS, Operation, Parameter
from trug.web.api.shapes import Mistake

__all__ = ["describe", "document"]

_REF = "#/components/schemas/{name}"
_TELLS = (
    "The records and the reasoning of one trug, on the computer of the person who keeps them. Nothing here is leave "
    "to eat: a determination says which harmful species the evidence has not ruled out yet. No answer tells a place "
    "more finely than its grid. What changes something is sent as application/json."
)


def describe(app: FastAPI, operations: Sequence[Operation]) -> None:
    """Let an app give this document as its OpenAPI document."""
    made: list[dict[str, Any]] = []

    def openapi() -> dict[str, Any]:
        if not made:
            made.append(document(operations))
        return made[0]

    app.openapi = openapi  # type: ignore[method-assign]  # the way that FastAPI documents for this


def document(operations: Sequence[Operation]) -> dict[str, Any]:
    """Return the OpenAPI 3.1 document of the operations."""
    kinds: list[Any] = [Mistake]
    for o in operations:
        kinds += [kind for kind in (*o.gives, o.takes) if kind is not None and kind not in kinds]
    schemas, components = msgspec.json.schema_components(kinds, ref_template=_REF)
    schema_of = list(zip(kinds, schemas, strict=True))
    paths: dict[str, dict[str, Any]] = {}
    for o in operations:
        paths.setdefault(o.path, {})[o.method.lower()] = _operation(o, schema_of)
    return {
        "openapi": "3.1.0",
        "info": {"title": "trug", "version": __version__, "description": _TELLS, "license": {"name": "Apache-2.0"}},
        "paths": paths,
        "components": {"schemas": components},
    }


def _operation(o: Operation, schema_of: Sequence[tuple[Any, Any]]) -> dict[str, Any]:
    def schema(kinds: Sequence[Any]) -> dict[str, Any]:
        found = [next(s for k, s in schema_of if k == kind) for kind in kinds]
        return dict(found[0]) if len(found) == 1 else {"anyOf": found}

    done: dict[str, Any] = {"description": "Done."}
    if o.gives:
        done["content"] = {JSON: {"schema": schema(o.gives)}}
    responses = {str(o.status): done}
    if o.method == "GET":
        responses["304"] = {"description": "The client has it already (If-None-Match)."}
    mistake = {JSON: {"schema": schema((Mistake,))}}
    for status in o.all_refusals:
        responses[str(status)] = {"description": REFUSALS[status], "content": mistake}
    out: dict[str, Any] = {
        "operationId": o.name,
        "summary": o.summary,
        "description": o.tells,
        "responses": responses,
    }
    if o.parameters:
        out["parameters"] = [_parameter(p) for p in o.parameters]
    if o.takes is not None:
        body: dict[str, Any] = {"schema": schema((o.takes,))}
        if o.example.body:
            body["example"] = msgspec.json.decode(o.example.body)
        out["requestBody"] = {"required": True, "content": {JSON: body}}
    return out


def _parameter(p: Parameter) -> dict[str, Any]:
    schema = {"type": "array", "items": p.schema, "minItems": 1} if p.many else p.schema
    return {"name": p.name, "in": p.place, "required": p.required, "description": p.tells, "schema": schema}
