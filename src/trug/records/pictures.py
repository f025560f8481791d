"""Photos of a find: their bytes in the store, what the camera wrote into them in the database."""

from __future__ import annotations

from trug.errors import InputError
from trug.records.database import Database
from trug.records.history import Unit
from trug.records.photos.images import inspect
from trug.records.tables import FindRow, FruitbodyRow, PhotoRow

__all__ = ["ROLES", "add_photo"]

#: What a photo shows.
ROLES = ("habit", "cap", "underside", "section", "base", "print", "spores", "place", "voucher")


def add_photo(
    database: Database,
    unit: Unit,
    find_id: str,
    data: bytes,
    *,
    fruitbody_id: str | None = None,
    role: str = "habit",
    caption: str = "",
) -> PhotoRow:
    """Keep a photo; its bytes are on the disk before the row that names them is written.

    Raises
    ------
    InputError
        The bytes are no photo, too large or damaged, or the find, fruitbody or role is unknown.
    """
    unit.get(FindRow, find_id)
    if fruitbody_id is not None and unit.get(FruitbodyRow, fruitbody_id).find_id != find_id:
        raise InputError("that fruitbody belongs to another find")
    if role not in ROLES:
        raise InputError(f"a photo shows one of {', '.join(ROLES)}")
    picture = inspect(data)
    sha256 = database.photos.add(data)
    return unit.make(
        PhotoRow(
            find_id=find_id,
            fruitbody_id=fruitbody_id,
            sha256=sha256,
            role=role,
            caption=caption,
            media_type=picture.media_type,
            width=picture.width,
            height=picture.height,
            taken=picture.taken.isoformat() if picture.taken else None,
            lat=picture.position.latitude if picture.position else None,
            lon=picture.position.longitude if picture.position else None,
        )
    )
