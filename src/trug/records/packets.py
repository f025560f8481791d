"""A find made ready for an expert: one zip that gives away no place, no person and, unless told otherwise, no name.

``outward_find`` and ``withhold`` are pure. What leaves is named here line by line; nothing leaves by default, so a
field that is added to a find later stays at home until somebody decides otherwise.
"""

from __future__ import annotations

import hashlib
import io
import re
import secrets
import zipfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.determine.find import FORMAT, Find, Fruitbody, Look, Observer, Photo, Place
from trug.errors import InputError
from trug.place import Released, altitude_band, release_position, without_coordinates
from trug.records.database import Database
from trug.records.documents import find_document, fruitbodies_of
from trug.records.history import Unit
from trug.records.identifiers import new_id
from trug.records.photos.outward import without_place
from trug.records.reasoning import Reasoner
from trug.records.replies import reply_form
from trug.records.signing import signatures_of
from trug.records.tables import ExpertPacket, FindRow, Person, PhotoRow, PlaceRow, SporePrint, StatedName
from trug.treatments.model import Book

__all__ = [
    "Content",
    "PacketName",
    "PacketPhoto",
    "PacketPrint",
    "find_json",
    "gathered",
    "letters_of",
    "make_packet",
    "names_in",
    "outward_find",
    "packet_zip",
    "withhold",
    "zipped",
]

#: Stands where the name of a place stood.
WITHHELD = "[place withheld]"
#: Photos of the place itself would show where it is.
_PLACE_ROLE = "place"
_MOST_QUESTION = 2000
#: A zip knows no time zone; every file in it bears the first day that it can tell, so that equal packets are equal.
_ZIP_DAY = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class PacketPhoto:
    """A photo as it leaves: its file in the packet, whose it is, what it shows, its caption."""

    file: str
    fruitbody: str
    role: str
    caption: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class PacketPrint:
    """A spore print of a fruitbody: on which paper, how thick it fell, its colour."""

    fruitbody: str
    paper: str
    deposit: str
    colour: str


@dataclass(frozen=True, slots=True)
class PacketName:
    """A name given so far: ``kind`` is ``proposed``, ``stated`` or ``signed``."""

    kind: str
    fruitbodies: str
    name: str
    by: str = ""


@dataclass(frozen=True, slots=True)
class Content:
    """Everything that a packet holds, as it leaves; ``names`` is empty where they are hidden."""

    packet: str
    made_on: str
    recipient: str
    question: str
    names_hidden: bool
    find: Find
    released: Released | None
    altitude_m: tuple[int, int] | None
    photos: tuple[PacketPhoto, ...]
    prints: tuple[PacketPrint, ...]
    names: tuple[PacketName, ...]


#: Makes the page of a packet, given its content and its secret.
Render = Callable[[Content, str], str]


def letters_of(ids: Iterable[str]) -> dict[str, str]:
    """Return a letter for each person, in the order in which they come: A, B, ... Z, A2, B2 ..."""
    order = dict.fromkeys(ids)
    return {who: chr(ord("A") + n % 26) + (str(n // 26 + 1) if n >= 26 else "") for n, who in enumerate(order)}


def withhold(text: str, words: Mapping[str, str], grid_deg: float) -> str:
    """Return a text without coordinates, and with every one of some words replaced, whatever its case."""
    new = {word.lower(): words[word] for word in words if word.strip()}
    if new:
        longest_first = "|".join(re.escape(w) for w in sorted(new, key=len, reverse=True))
        text = re.sub(rf"(?<!\w)(?:{longest_first})(?!\w)", lambda m: new.get(m[0].lower(), WITHHELD), text, flags=re.I)
    return without_coordinates(text, grid_deg)


def names_in(text: str, book: Book) -> tuple[str, ...]:
    """Return the names of fungi and of their genera that a text holds."""
    low = text.lower()
    names = {n for t in book.treatments.values() for n in (t.name, *t.english, *t.synonyms, t.name.split()[0])}
    return tuple(sorted(n for n in names if re.search(rf"(?<!\w){re.escape(n.lower())}(?!\w)", low)))


def outward_find(
    find: Find, grid_deg: float, letters: Mapping[str, str], photos: Mapping[str, str]
) -> tuple[Find, Released | None]:
    """Return a find as others may have it, and its position as it was released.

    Fruitbodies bear their labels, people letters, looks and sources numbers; the altitude is the middle of its band.
    Notes, names of places, devices, times, reasons in free words and everything else that is not named here are left
    out, and of observers all but their practice.

    Parameters
    ----------
    grid_deg : float
        The grid on which the place leaves [degrees].
    letters : mapping of person to letter
    photos : mapping of SHA-256 to SHA-256
        The digest of each photo, and that of its bytes as they leave; others are left out.
    """
    released = release_position(find.place, grid_deg=grid_deg)
    place = None
    if released is not None:
        band = _band(find)
        middle = None if band is None else sum(band) / 2
        place = Place(released.lat, released.lon, released.uncertainty_m, released.datum, altitude_m=middle)
    labels = {str(k): str(v) for k, v in dict(find.extra.get("labels", {})).items()}
    bodies = {b.id: labels.get(b.id, chr(ord("a") + n)) for n, b in enumerate(find.fruitbodies)}
    numbers = {k.id: f"look-{n}" for n, k in enumerate(find.looks, 1)}
    told = dict.fromkeys(source for k in find.looks for source in k.sources)
    sources = {source: f"source-{n}" for n, source in enumerate(told, 1)}
    blind = set(find.extra.get("blind", ()))
    outward = Find(
        id=find.id,
        date=find.date,
        region=find.region,
        place=place,
        fruitbodies=tuple(Fruitbody(bodies[b.id], b.stage, b.condition) for b in find.fruitbodies),
        looks=tuple(_outward_look(k, bodies, numbers, sources, letters) for k in find.looks),
        photos=tuple(Photo(photos[p.sha256], p.role) for p in find.photos if p.sha256 in photos),
        observers=tuple(Observer(letters[o.id], o.practice) for o in find.observers if o.id in letters),
        determiner=letters.get(find.determiner or ""),
        extra={"blind": [numbers[k.id] for k in find.looks if k.id in blind]} if blind & set(numbers) else {},
    )
    return outward, released


def _outward_look(
    look: Look,
    bodies: Mapping[str, str],
    numbers: Mapping[str, str],
    sources: Mapping[str, str],
    letters: Mapping[str, str],
) -> Look:
    evidence = look.evidence
    if evidence.not_seen is not None:
        evidence = msgspec.structs.replace(evidence, not_seen="not seen")
    return Look(
        id=numbers[look.id],
        character=look.character,
        evidence=evidence,
        fruitbody=bodies.get(look.fruitbody or ""),
        sure=look.sure,
        method=look.method,
        observer=letters.get(look.observer or ""),
        sources=tuple(sources[s] for s in look.sources),
        supersedes=numbers.get(look.supersedes or ""),
    )


def _band(find: Find) -> tuple[int, int] | None:
    """Return the band of 100 m in which a find lies."""
    if find.place is None or find.place.altitude_m is None:
        return None
    try:
        band = altitude_band(find.place.altitude_m)
    except InputError:
        return None
    return int(band.low_m), int(band.high_m)


def gathered(
    session: Session, database: Database, reasoner: Reasoner, row: ExpertPacket
) -> tuple[Content, dict[str, bytes]]:
    """Return what a packet holds, and its photos by file name, from the find as it is now.

    Raises
    ------
    InputError
        The find is unknown, or a photo is missing or damaged.
    """
    find = find_document(session, row.find_id, reasoner.here.vocabulary)
    of = session.get(FindRow, row.find_id)
    assert of is not None
    place = session.get(PlaceRow, of.place_id) if of.place_id else None
    labels = {b.id: b.label for b in fruitbodies_of(session, row.find_id)}
    signatures = signatures_of(session, row.find_id)
    people = [k.observer for k in find.looks if k.observer] + [p for p in (find.determiner,) if p]
    letters = letters_of([*people, *(s.person_id for s in signatures)])
    words = _names_of_people(session, letters)
    words |= {text: WITHHELD for text in (place.name if place else "", of.locality) if text}
    grid_deg = place.grid_deg if place else 0.1
    photos, files, digests = _photos(session, database, row, labels, lambda t: withhold(t, words, grid_deg))
    outward, released = outward_find(find, grid_deg, letters, digests)
    content = Content(
        packet=row.id,
        made_on=row.created_at[:10],
        recipient=row.recipient,
        question=withhold(row.question, words, grid_deg),
        names_hidden=row.names_hidden,
        find=outward,
        released=released,
        altitude_m=_band(find),
        photos=photos,
        prints=_prints(session, row.find_id, labels),
        names=(),
    )
    if row.names_hidden:
        return content, files
    names = [PacketName("proposed", b.label, b.proposed) for b in fruitbodies_of(session, row.find_id) if b.proposed]
    query = select(StatedName).where(StatedName.find_id == row.find_id, StatedName.deleted_at.is_(None))
    stated = session.scalars(query.order_by(StatedName.created_at, StatedName.id))
    names += [PacketName("stated", "", f"{s.qualifier} {withhold(s.name, words, grid_deg)}".strip()) for s in stated]
    for s in signatures:
        mine = ", ".join(labels[b] for b in s.fruitbodies if b in labels)
        names.append(PacketName("signed", mine, s.name, letters[s.person_id]))
    return replace(content, names=tuple(names)), files


def _names_of_people(session: Session, letters: Mapping[str, str]) -> dict[str, str]:
    """Return what stands for the full and the first name of everybody: a letter, or "somebody"."""
    words: dict[str, str] = {}
    for person in session.scalars(select(Person).order_by(Person.id)):
        said = f"observer {letters[person.id]}" if person.id in letters else "somebody"
        words |= dict.fromkeys((*person.name.split()[:1], person.name), said)
    return words


def _photos(
    session: Session,
    database: Database,
    row: ExpertPacket,
    labels: Mapping[str, str],
    clean: Callable[[str], str],
) -> tuple[tuple[PacketPhoto, ...], dict[str, bytes], dict[str, str]]:
    query = select(PhotoRow).where(
        PhotoRow.find_id == row.find_id, PhotoRow.deleted_at.is_(None), PhotoRow.role != _PLACE_ROLE
    )
    told, files, digests = [], {}, {}
    for n, photo in enumerate(session.scalars(query.order_by(PhotoRow.created_at, PhotoRow.id)), 1):
        data = without_place(database.photos.open(photo.sha256))
        label = labels.get(photo.fruitbody_id or "", "")
        file = f"photos/{'-'.join(p for p in (f'{n:02d}', label, photo.role) if p)}.jpg"
        files[file] = data
        digests[photo.sha256] = hashlib.sha256(data).hexdigest()
        caption = "" if row.names_hidden else clean(photo.caption)
        told.append(PacketPhoto(file, label, photo.role, caption, photo.width, photo.height))
    return tuple(told), files, digests


def _prints(session: Session, find_id: str, labels: Mapping[str, str]) -> tuple[PacketPrint, ...]:
    query = select(SporePrint).where(SporePrint.find_id == find_id, SporePrint.deleted_at.is_(None))
    return tuple(
        PacketPrint(labels[p.fruitbody_id], p.paper, p.deposit, p.colour or "")
        for p in session.scalars(query.order_by(SporePrint.created_at, SporePrint.id))
        if p.fruitbody_id in labels
    )


def find_json(find: Find) -> str:
    """Return a find as the document ``trug.find/1``, which this program reads back."""
    table = {"format": FORMAT, **msgspec.to_builtins(find)}
    return msgspec.json.format(msgspec.json.encode(table), indent=1).decode() + "\n"


def packet_zip(session: Session, database: Database, reasoner: Reasoner, row: ExpertPacket, render: Render) -> bytes:
    """Return the zip of a packet. The same find, packet and program give the same bytes."""
    content, files = gathered(session, database, reasoner, row)
    texts = {
        "packet.html": render(content, row.seal),
        "find.json": find_json(content.find),
        "reply.toml": reply_form(row.id, content.question),
    }
    return zipped({**{name: text.encode() for name, text in texts.items()}, **files})


def make_packet(
    unit: Unit,
    database: Database,
    reasoner: Reasoner,
    find_id: str,
    render: Render,
    *,
    question: str,
    recipient: str = "",
    names_hidden: bool = True,
) -> ExpertPacket:
    """Make a packet: a secret of its own, and the digest of its zip.

    Raises
    ------
    InputError
        The question is missing, too long, or names a fungus although names are hidden; a photo is missing or damaged.
    """
    unit.get(FindRow, find_id)
    asked = "".join(c for c in question.replace("\r\n", "\n") if c.isprintable() or c == "\n").strip()
    if not asked:
        raise InputError("the question is missing; write what you want to know")
    if len(asked) > _MOST_QUESTION:
        raise InputError(f"the question may have {_MOST_QUESTION} characters; shorten it")
    if names_hidden and (told := names_in(asked, reasoner.here.book)):
        raise InputError(f"the question names {', '.join(told)}; ask without a name, or do not hide the names")
    row = ExpertPacket(
        id=new_id(),
        created_at=unit.now,
        find_id=find_id,
        recipient=recipient,
        names_hidden=names_hidden,
        question=asked,
        seal=secrets.token_hex(32),
    )
    row.sha256 = hashlib.sha256(packet_zip(unit.session, database, reasoner, row, render)).hexdigest()
    return unit.make(row)


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Return files as a zip whose bytes depend on their names and contents alone."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _ZIP_DAY)
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            entry.compress_type = zipfile.ZIP_STORED if name.endswith(".jpg") else zipfile.ZIP_DEFLATED
            archive.writestr(entry, files[name])
    return out.getvalue()
