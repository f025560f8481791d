"""Tiles for the map from the network, where a person has chosen a server; else nothing is asked of it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.place.outline import View, tiles_of
from trug.web.language import gettext as _
from trug.web.site import put_setting, setting

__all__ = ["Picture", "Tiling", "choose_tiling", "tiling_of"]

#: An address with the three parts of a tile, over TLS, at a plain host name.
_ADDRESS = re.compile(r"https://([a-z0-9.-]+\.[a-z]{2,}(?::\d{1,5})?)/[^\s\"'<>;,]*", re.IGNORECASE)
_SETTING = "map_tiles"
_LONGEST = 400


@dataclass(frozen=True, slots=True)
class Picture:
    """A tile as it is drawn: its address, and where it lies on the sheet [px]."""

    href: str
    x: float
    y: float
    size_px: float


@dataclass(frozen=True, slots=True)
class Tiling:
    """A server of tiles: the form of its addresses, whom the map credits, and its host."""

    address: str
    credit: str
    host: str

    def pictures(self, view: View) -> list[Picture]:
        """Return the tiles of a view."""
        out = []
        for t in tiles_of(view):
            href = self.address
            for part, value in (("{z}", t.zoom), ("{x}", t.column), ("{y}", t.row)):
                href = href.replace(part, str(value))
            out.append(Picture(href, t.x, t.y, t.size_px))
        return out


def tiling_of(session: Session) -> Tiling | None:
    """Return the server of tiles that was chosen, None where the map is drawn on this computer."""
    told = setting(session, _SETTING)
    if not isinstance(told, dict) or not (found := _ADDRESS.fullmatch(str(told.get("address", "")))):
        return None
    return Tiling(str(told["address"]), str(told.get("credit", "")), found[1])


def choose_tiling(session: Session, address: str, credit: str) -> None:
    """Choose a server of tiles, or none with an empty address.

    Raises
    ------
    InputError
        The address is not of the form ``https://host/{z}/{x}/{y}.png``, or nobody is credited.
    """
    if not address:
        put_setting(session, _SETTING, None)
        return
    whole = all(part in address for part in ("{z}", "{x}", "{y}"))
    if not whole or len(address) > _LONGEST or not _ADDRESS.fullmatch(address):
        raise InputError(_("write an address such as https://tiles.example.org/{z}/{x}/{y}.png"))
    if not credit:
        raise InputError(_("say whom the map credits, as the server of the tiles asks for"))
    put_setting(session, _SETTING, {"address": address, "credit": credit[:_LONGEST]})
