"""Every kind of page that the app has, with an address in the invented season to see it at."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fastapi.routing import APIRouter
from sqlalchemy import func, select

from trug.records.database import Database
from trug.records.tables import (
    Class,
    ExpertPacket,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PlaceRow,
    SignatureRow,
)
from trug.web.app import PAGES

__all__ = ["ALIKE", "KINDS", "examples", "filled"]

#: Addresses that answer with a file, a picture or data, not with a page.
_FILES = re.compile(r"^/photos/|^/api/|\.(json|zip|svg)$|\{ending\}$|^/license")
#: Pages that need somebody to have been asked first: checked where that is walked through.
_WALKED = {"/begin"}


def _routes(router: Any) -> Iterator[str]:
    """Yield the address patterns that a router answers GET at, those of routers within it too."""
    for route in router.routes:
        inner = getattr(route, "original_router", None)
        if isinstance(inner, APIRouter):
            yield from _routes(inner)
        elif "GET" in route.methods:
            yield route.path


#: Every page of the app by its address pattern; a new page is found here by itself.
KINDS = sorted(
    {
        path
        for name in PAGES
        for path in _routes(importlib.import_module(f"trug.web.{name}").router)
        if not _FILES.search(path) and path not in _WALKED
    }
)

#: The same kinds of page in another state: searched, narrowed, mistaken, empty.
ALIKE = (
    "/finds?q=willow",
    "/finds?q=no+such+words",
    "/finds/{unnamed_id}",
    "/finds/{conflict_id}",
    "/finds/{find_id}/sign?name=flammulina-velutipes",
    "/finds/{find_id}/label?exact=yes",
    "/finds/{find_id}/look/cap_width?body={body}",
    "/finds/{unnamed_id}/kitchen",
    "/book?q=galerina",
    "/book?q=amanitta+faloides",
    "/book/flammulina-velutipes",
    "/compare?with=galerina-marginata&with=flammulina-velutipes",
    "/compare?with=galerina-marginata",
    "/there-is-no-such-page",
)


def examples(folder: Path) -> dict[str, str]:
    """Return an id of everything that an address can name, from the records of a folder.

    ``find_id`` is a signed find with a packet to an expert where there is one; its other ids belong to it.
    """
    database = Database.open(folder)
    try:
        with database.reading() as session:
            signature = session.scalars(select(SignatureRow).where(SignatureRow.voided_at.is_(None)).limit(1)).one()
            find = session.get_one(FindRow, signature.find_id)
            blind = session.scalars(select(LookRow).where(LookRow.blind).limit(1)).one()
            looked = select(LookRow.observer_id).where(LookRow.find_id == find.id, LookRow.observer_id.is_not(None))
            unused = select(Person.id).where(Person.id.not_in(looked)).limit(1)
            packet = session.scalars(select(ExpertPacket).limit(1)).first()
            return {
                "find_id": find.id,
                "body": signature.fruitbodies[0],
                "signature_id": signature.id,
                "digest": signature.determination_id,
                "blind_find": blind.find_id,
                "blind_person": blind.observer_id or "",
                "unasked_person": session.scalars(unused).one(),
                "packet_id": packet.id if packet else "",
                "packet_find": packet.find_id if packet else "",
                "unnamed_id": _one(session, select(FindRow.id).where(FindRow.standing == "unnamed")),
                "conflict_id": _one(session, _most_observers()),
                "longest_id": _one(session, _most_fruitbodies()),
                **_plain(session),
                "person_id": find.finder_id or "",
                "place_id": _one(session, select(PlaceRow.id)),
                "class_id": _one(session, select(Class.id)),
                "character": "cap_shape",
                "code": "",
            }
    finally:
        database.close()


def _one(session: Any, query: Any) -> str:
    return str(session.scalars(query.limit(1)).one())


def _most_observers() -> Any:
    """Return the query for finds by how many people looked at them."""
    people = func.count(func.distinct(LookRow.observer_id))
    alive = select(LookRow.find_id).join(FruitbodyRow, FruitbodyRow.id == LookRow.fruitbody_id)
    return alive.where(LookRow.deleted_at.is_(None)).group_by(LookRow.find_id).order_by(people.desc())


def _most_fruitbodies() -> Any:
    """Return the query for finds by how many fruitbodies they have."""
    alive = select(FruitbodyRow.find_id).where(FruitbodyRow.deleted_at.is_(None))
    return alive.group_by(FruitbodyRow.find_id).order_by(func.count().desc())


def _plain(session: Any) -> dict[str, str]:
    """Return two finds that nobody signed: one to look at, and one to sign."""
    query = select(FindRow.id).where(FindRow.standing == "proposed").order_by(FindRow.number)
    plain, proposed = session.scalars(query.limit(2)).all()
    body = select(FruitbodyRow.id).where(FruitbodyRow.find_id == plain).order_by(FruitbodyRow.label)
    return {"plain_id": plain, "plain_body": _one(session, body), "proposed_id": proposed}


def filled(kind: str, ids: dict[str, str]) -> str:
    """Return the address of an example of a kind of page."""
    own = dict(ids)
    if "/blind/" in kind:
        end = kind.endswith("/beside")
        own |= (
            {"find_id": ids["blind_find"], "person_id": ids["blind_person"]}
            if end
            else {"person_id": ids["unasked_person"]}
        )
    if "{packet_id}" in kind:
        own["find_id"] = ids["packet_find"]
    own["code"] = "cap_shape" if kind.startswith("/characters") else "galerina-marginata"
    return kind.format(**own)
