"""The map of the places: drawn by the server, so that it needs neither network nor script."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.place.outline import View
from trug.records.places import all_places, find_counts, place_cell
from trug.records.tables import PlaceRow
from trug.web.language import gettext as _
from trug.web.map import Spot, sheet, view_for
from trug.web.outlines import CREDIT
from trug.web.rendering import environment, go, page, say
from trug.web.security import Posted, policy_with_images_of, posted
from trug.web.site import person_of, setting, site_of
from trug.web.tiling import choose_tiling, tiling_of

__all__ = ["is_owner", "router"]

router = APIRouter()

#: Size of the sheet where the browser tells none [px].
WIDTH_PX, HEIGHT_PX = 520, 460
#: The share of the sheet by which a step moves it.
STEP = 0.4
#: How near the map goes to a single place.
NEAR = 9.0


def is_owner(request: Request, session: Session) -> bool:
    """Whether the owner of the records is the one who looks; only they see exact positions."""
    me = person_of(request, session)
    return me is not None and me.id == setting(session, "owner")


@dataclass(frozen=True, slots=True)
class Step:
    """A link to another view of the map."""

    word: str
    sign: str
    key: str
    to: str


@router.get("/places/map", include_in_schema=False)
def map_of_places(
    request: Request,
    lat: float | None = None,
    lon: float | None = None,
    zoom: float | None = None,
    width: int = WIDTH_PX,
    height: int = HEIGHT_PX,
    place: str | None = None,
    part: str = "",
) -> Response:
    """Show the map; with ``part=sheet`` the sheet alone, which is what the script asks for."""
    site = site_of(request)
    with site.database.reading() as session:
        rows = [p for p in all_places(session) if p.lat is not None and p.lon is not None]
        spots = _spots(request, session, rows)
        first = view_for(_chosen(spots, place), setting(session, "region"), width, height)
        counts = find_counts(session)
        unplaced = len(all_places(session)) - len(rows)
        exact = is_owner(request, session)
        tiling = tiling_of(session)
    if place and lat is None and zoom is None:
        first = View(first.lat, first.lon, min(first.zoom, NEAR), width, height)
    view = View(first.lat if lat is None else lat, first.lon if lon is None else lon, zoom or first.zoom, width, height)
    values: dict[str, Any] = {"sheet": sheet(view, spots), "steps": _steps(view), "spots": spots, "chosen": place}
    values["tiles"] = [] if tiling is None else tiling.pictures(view)
    if part == "sheet":
        return HTMLResponse(environment().get_template("places_sheet.html").render(**values))
    told: dict[str, Any] = {"counts": counts, "unplaced": unplaced, "exact": exact, "credit": CREDIT, "tiling": tiling}
    answer = page(request, "places_map.html", **values, **told)
    if tiling is not None:
        answer.headers["Content-Security-Policy"] = policy_with_images_of(tiling.host)
    return answer


@router.get("/places/map/ground", include_in_schema=False)
def ground(request: Request) -> Response:
    """Show what the map is drawn from: the outlines of this computer, or tiles from the network."""
    with site_of(request).database.reading() as session:
        return page(request, "places_ground.html", tiling=tiling_of(session), credit=CREDIT, problem="", typed={})


@router.post("/places/map/ground", include_in_schema=False)
def choose_ground(request: Request, form: Posted = Depends(posted)) -> Response:
    """Choose tiles from the network, or go back to the outlines; only the owner may."""
    site = site_of(request)
    with site.database.writing() as unit:
        if not is_owner(request, unit.session):
            raise InputError(_("only the owner of the records chooses what the map is drawn from"))
        try:
            choose_tiling(unit.session, form.get("address"), form.get("credit"))
        except InputError as error:
            typed = {"address": form.get("address"), "credit": form.get("credit")}
            told: dict[str, Any] = {"tiling": tiling_of(unit.session), "credit": CREDIT, "typed": typed}
            return page(request, "places_ground.html", status=422, problem=error.message, **told)
    say(request, _("The map is drawn from tiles.") if form.get("address") else _("The map is drawn on this computer."))
    return go(request, "/places/map")


def _spots(request: Request, session: Session, rows: list[PlaceRow]) -> list[Spot]:
    """Return the places as marks: where they are for the owner of the records, the cell of the grid for others."""
    owner = is_owner(request, session)
    out = []
    for row in rows:
        cell = place_cell(row)
        if cell is None or row.lat is None or row.lon is None:
            continue
        if owner:
            out.append(Spot(row.id, row.name, row.lat, row.lon))
        else:
            out.append(Spot(row.id, row.name, cell.lat, cell.lon, (cell.west, cell.south, cell.east, cell.north)))
    return out


def _chosen(spots: list[Spot], place: str | None) -> list[Spot]:
    return [s for s in spots if s.id == place] or spots


def _steps(view: View) -> list[Step]:
    """Return the links that move and zoom the map."""
    across, down = view.width_px * STEP, view.height_px * STEP
    return [
        Step(_("Nearer"), "+", "+", _to(view.zoomed(1))),
        Step(_("Farther"), "−", "-", _to(view.zoomed(-1))),
        Step(_("West"), "←", "ArrowLeft", _to(view.moved(-across, 0))),
        Step(_("North"), "↑", "ArrowUp", _to(view.moved(0, -down))),
        Step(_("South"), "↓", "ArrowDown", _to(view.moved(0, down))),
        Step(_("East"), "→", "ArrowRight", _to(view.moved(across, 0))),
    ]


def _to(view: View) -> str:
    # No finer than a pixel of the present zoom, so that an address tells no more than its map shows.
    decimals = max(1, math.floor(math.log10(view.world_px / 360)))
    told = {"lat": f"{view.lat:.{decimals}f}", "lon": f"{view.lon:.{decimals}f}", "zoom": f"{view.zoom:g}"}
    return "/places/map?" + urlencode(told)
