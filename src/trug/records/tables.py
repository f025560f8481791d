"""The tables of the database.

Every row of a ``Recorded`` table has an id made where the row was made, and is never erased at once: ``deleted_at``
hides it, and it can be brought back for thirty days. Each change also stands in ``events``, which is the history
and what two devices would merge; the tables are the present view of it. Times are ISO 8601 text in UTC.
"""

from __future__ import annotations

from typing import Any, ClassVar

from sqlalchemy import JSON, Boolean, Float, ForeignKey, Index, Integer, LargeBinary, String, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

__all__ = [
    "Base",
    "Batch",
    "BatchPart",
    "Class",
    "ClassMember",
    "Confirmation",
    "DeterminationRow",
    "Event",
    "ExpertPacket",
    "ExpertReply",
    "FindRow",
    "FindWords",
    "FruitbodyRow",
    "LookRow",
    "Person",
    "PhotoRow",
    "PlaceRow",
    "Recorded",
    "Setting",
    "SignatureRow",
    "SporePrint",
    "StatedName",
]

Id = String(64)


class Base(DeclarativeBase):
    """Base of all tables."""

    type_annotation_map = {
        str: Text(),
        float: Float(53),
        int: Integer(),
        bool: Boolean(),
        dict[str, Any]: JSON(),
        list[Any]: JSON(),
    }


class Recorded:
    """What has a history: who made it and when, and whether it lies in the bin."""

    #: Columns that follow from other rows, are worked out anew and have no history of their own.
    derived: ClassVar[frozenset[str]] = frozenset()

    id: Mapped[str] = mapped_column(Id, primary_key=True)
    created_at: Mapped[str] = mapped_column(String(32))
    deleted_at: Mapped[str | None] = mapped_column(String(32), index=True)


class Event(Base):
    """One change of one field of one thing; an empty ``field`` is the making of the whole thing.

    ``parents`` are the events that it replaces: two events of one field with the same parent are in conflict.
    """

    __tablename__ = "events"
    id: Mapped[str] = mapped_column(Id, primary_key=True)
    entity: Mapped[str] = mapped_column(String(24))
    entity_id: Mapped[str] = mapped_column(Id)
    field: Mapped[str] = mapped_column(String(40))
    value: Mapped[Any] = mapped_column(JSON)
    person_id: Mapped[str | None] = mapped_column(Id)
    device: Mapped[str] = mapped_column(Id)
    clock: Mapped[str] = mapped_column(String(96))
    at: Mapped[str] = mapped_column(String(32))
    parents: Mapped[list[Any]] = mapped_column(JSON)

    __table_args__ = (Index("events_of", "entity_id", "field", "clock"), Index("events_since", "clock"))


class Setting(Base):
    """A setting of this database: key and value."""

    __tablename__ = "settings"
    key: Mapped[str] = mapped_column(String(64), primary_key=True)
    value: Mapped[Any] = mapped_column(JSON)


class Person(Recorded, Base):
    """Someone who finds, looks, teaches, learns, signs or is asked."""

    __tablename__ = "people"
    name: Mapped[str]
    practice: Mapped[str] = mapped_column(String(16), default="practised")
    role: Mapped[str] = mapped_column(String(16), default="")
    colour_vision: Mapped[bool] = mapped_column(default=True)
    smell: Mapped[bool] = mapped_column(default=True)
    may_taste: Mapped[bool] = mapped_column(default=False)
    tools: Mapped[list[Any] | None] = mapped_column(JSON)
    contact: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")


class Confirmation(Recorded, Base):
    """A taxon that another person has confirmed a person to know, specimen in hand."""

    __tablename__ = "confirmations"
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), index=True)
    taxon: Mapped[str] = mapped_column(String(80))
    confirmed_by_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    note: Mapped[str] = mapped_column(Text, default="")


class PlaceRow(Recorded, Base):
    """A place: where it is [degrees, WGS 84], what grows there, whose leave it needs. Exact only in here."""

    __tablename__ = "places"
    name: Mapped[str]
    lat: Mapped[float | None]
    lon: Mapped[float | None]
    uncertainty_m: Mapped[float | None]
    altitude_m: Mapped[float | None]
    region: Mapped[str | None] = mapped_column(String(32))
    wood: Mapped[str] = mapped_column(Text, default="")
    permission: Mapped[str] = mapped_column(Text, default="")
    hazards: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    grid_deg: Mapped[float] = mapped_column(default=0.1)


class Class(Recorded, Base):
    """A class or a walk with people: when, where, who teaches."""

    __tablename__ = "classes"
    name: Mapped[str]
    held_on: Mapped[str] = mapped_column(String(10))
    place_id: Mapped[str | None] = mapped_column(ForeignKey("places.id"))
    teacher_id: Mapped[str | None] = mapped_column(ForeignKey("people.id"))
    notes: Mapped[str] = mapped_column(Text, default="")


class ClassMember(Recorded, Base):
    """Someone in a class: as teacher, assistant, student or guest."""

    __tablename__ = "class_members"
    class_id: Mapped[str] = mapped_column(ForeignKey("classes.id"), index=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), index=True)
    role: Mapped[str] = mapped_column(String(16), default="student")


class FindRow(Recorded, Base):
    """One gathering. ``name``, ``standing`` and ``open_severe`` are worked out anew after every change.

    ``standing`` is ``unnamed``, ``proposed`` (by the looks), ``stated`` (by a person), ``waits`` (for a second signer),
    ``signed`` or ``doubted`` (a signature was withdrawn or voided). ``locality`` is what another database wrote of the
    place; ``origin`` the identifier under which it came from there.
    """

    derived = frozenset({"name", "standing", "open_severe"})
    __tablename__ = "finds"
    date: Mapped[str] = mapped_column(String(32))
    number: Mapped[str] = mapped_column(String(40), default="")
    place_id: Mapped[str | None] = mapped_column(ForeignKey("places.id"), index=True)
    lat: Mapped[float | None]
    lon: Mapped[float | None]
    uncertainty_m: Mapped[float | None]
    altitude_m: Mapped[float | None]
    region: Mapped[str | None] = mapped_column(String(32))
    finder_id: Mapped[str | None] = mapped_column(ForeignKey("people.id"), index=True)
    class_id: Mapped[str | None] = mapped_column(ForeignKey("classes.id"), index=True)
    fungarium: Mapped[str] = mapped_column(String(80), default="")
    voucher_at: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    locality: Mapped[str] = mapped_column(Text, default="")
    origin: Mapped[str] = mapped_column(Text, default="")
    extra: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    name: Mapped[str] = mapped_column(Text, default="")
    standing: Mapped[str] = mapped_column(String(16), default="unnamed")
    open_severe: Mapped[int | None]

    __table_args__ = (
        Index("finds_by_day", "deleted_at", "date", "id"),
        Index("finds_by_standing", "standing", "id"),
        Index("finds_by_origin", "origin"),
    )


class FindWords(Base):
    """The words by which a find is searched, in lower case; none for a find in the bin.

    A search reads the index alone, latest day first, and stops when it has enough. (PostgreSQL limits the size of an
    index row, so there it reads the table.)
    """

    __tablename__ = "find_words"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id", ondelete="CASCADE"), primary_key=True)
    date: Mapped[str] = mapped_column(String(32))
    words: Mapped[str]

    __table_args__ = (Index("find_words_by_day", "date", "find_id", "words").ddl_if(dialect="sqlite"),)


class FruitbodyRow(Recorded, Base):
    """One specimen of a find. ``stage`` is a word or a distribution; ``label`` is ``a``, ``b``, ``c``.

    ``proposed``, ``open_severe`` and ``open_all`` are worked out anew after every change.
    """

    derived = frozenset({"proposed", "open_severe", "open_all"})
    __tablename__ = "fruitbodies"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    label: Mapped[str] = mapped_column(String(16))
    stage: Mapped[Any] = mapped_column(JSON)
    condition: Mapped[list[Any]] = mapped_column(JSON, default=list)
    notes: Mapped[str] = mapped_column(Text, default="")
    proposed: Mapped[str] = mapped_column(Text, default="")
    open_severe: Mapped[int | None]
    open_all: Mapped[int | None]


class LookRow(Recorded, Base):
    """One look; ``evidence`` as in the find document. ``blind`` where the observer had not seen the first answer."""

    __tablename__ = "looks"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    fruitbody_id: Mapped[str | None] = mapped_column(ForeignKey("fruitbodies.id"), index=True)
    character: Mapped[str] = mapped_column(String(40))
    evidence: Mapped[dict[str, Any]] = mapped_column(JSON)
    sure: Mapped[str] = mapped_column(String(8), default="sure")
    method: Mapped[str] = mapped_column(String(16), default="eye")
    observer_id: Mapped[str | None] = mapped_column(ForeignKey("people.id"))
    device: Mapped[str | None] = mapped_column(Id)
    time: Mapped[str | None] = mapped_column(String(32))
    sources: Mapped[list[Any]] = mapped_column(JSON, default=list)
    supersedes: Mapped[str | None] = mapped_column(Id)
    blind: Mapped[bool] = mapped_column(default=False)


class PhotoRow(Recorded, Base):
    """A photo by the SHA-256 of its bytes, with what its camera wrote into it."""

    __tablename__ = "photos"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    fruitbody_id: Mapped[str | None] = mapped_column(ForeignKey("fruitbodies.id"))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    role: Mapped[str] = mapped_column(String(16), default="habit")
    caption: Mapped[str] = mapped_column(Text, default="")
    media_type: Mapped[str] = mapped_column(String(32))
    width: Mapped[int]
    height: Mapped[int]
    taken: Mapped[str | None] = mapped_column(String(32))
    lat: Mapped[float | None]
    lon: Mapped[float | None]


class SporePrint(Recorded, Base):
    """A spore print: what it was laid on, how long, how thick it fell, where it is kept."""

    __tablename__ = "spore_prints"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    fruitbody_id: Mapped[str] = mapped_column(ForeignKey("fruitbodies.id"), index=True)
    paper: Mapped[str] = mapped_column(String(16), default="both")
    started: Mapped[str | None] = mapped_column(String(32))
    read_at: Mapped[str | None] = mapped_column(String(32))
    deposit: Mapped[str] = mapped_column(String(16), default="thick")
    colour: Mapped[str | None] = mapped_column(String(40))
    kept_at: Mapped[str] = mapped_column(Text, default="")
    photo_id: Mapped[str | None] = mapped_column(ForeignKey("photos.id"))
    notes: Mapped[str] = mapped_column(Text, default="")


class StatedName(Recorded, Base):
    """A name that a person or another database gives a find, without the reasoning of this program.

    ``taxon`` is the code of the treatment where the book holds it.
    """

    __tablename__ = "stated_names"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    name: Mapped[str]
    taxon: Mapped[str] = mapped_column(String(80), default="")
    qualifier: Mapped[str] = mapped_column(String(32), default="")
    stated_by: Mapped[str] = mapped_column(Text, default="")
    stated_on: Mapped[str] = mapped_column(String(64), default="")
    remarks: Mapped[str] = mapped_column(Text, default="")


class DeterminationRow(Base):
    """A determination as it was made, never changed: ``id`` is the SHA-256 of its canonical JSON.

    ``record`` holds that JSON, compressed with zlib. A newer one names the older one in ``supersedes``.
    """

    __tablename__ = "determinations"
    id: Mapped[str] = mapped_column(Id, primary_key=True)
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    made_at: Mapped[str] = mapped_column(String(32))
    person_id: Mapped[str | None] = mapped_column(ForeignKey("people.id"))
    taxon: Mapped[str] = mapped_column(String(80), default="")
    name: Mapped[str] = mapped_column(Text, default="")
    find_sha256: Mapped[str] = mapped_column(String(64))
    book_sha256: Mapped[str] = mapped_column(String(64))
    book_date: Mapped[str] = mapped_column(String(32))
    program: Mapped[str] = mapped_column(String(32))
    format: Mapped[str] = mapped_column(String(32))
    record: Mapped[bytes] = mapped_column(LargeBinary)
    supersedes: Mapped[str | None] = mapped_column(Id)


class SignatureRow(Recorded, Base):
    """A name signed by a person, specimen in hand, for fruitbodies. ``released`` of them met the release rule then."""

    __tablename__ = "signatures"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    determination_id: Mapped[str] = mapped_column(ForeignKey("determinations.id"))
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), index=True)
    role: Mapped[str] = mapped_column(String(16), default="signer")
    taxon: Mapped[str] = mapped_column(String(80))
    name: Mapped[str]
    in_hand: Mapped[bool]
    fruitbodies: Mapped[list[Any]] = mapped_column(JSON)
    released: Mapped[list[Any]] = mapped_column(JSON)
    signed_at: Mapped[str] = mapped_column(String(32))
    note: Mapped[str] = mapped_column(Text, default="")
    voided_at: Mapped[str | None] = mapped_column(String(32))
    voided_why: Mapped[str] = mapped_column(Text, default="")


class ExpertPacket(Recorded, Base):
    """A find sent to an expert: ``seal`` is the secret that ties the reply to this very packet."""

    __tablename__ = "expert_packets"
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    recipient: Mapped[str] = mapped_column(Text, default="")
    names_hidden: Mapped[bool] = mapped_column(default=True)
    question: Mapped[str] = mapped_column(Text, default="")
    seal: Mapped[str] = mapped_column(String(64))
    sha256: Mapped[str] = mapped_column(String(64))


class ExpertReply(Recorded, Base):
    """What an expert answered; ``sealed`` where the reply carries the seal of its packet unbroken."""

    __tablename__ = "expert_replies"
    packet_id: Mapped[str] = mapped_column(ForeignKey("expert_packets.id"), index=True)
    find_id: Mapped[str] = mapped_column(ForeignKey("finds.id"), index=True)
    expert: Mapped[str]
    name: Mapped[str]
    taxon: Mapped[str] = mapped_column(String(80), default="")
    certainty: Mapped[str] = mapped_column(String(16), default="")
    remarks: Mapped[str] = mapped_column(Text, default="")
    written_on: Mapped[str] = mapped_column(String(32), default="")
    sealed: Mapped[bool]
    document: Mapped[dict[str, Any]] = mapped_column(JSON)


class Batch(Recorded, Base):
    """What was taken to the kitchen or the stillroom; a later doubt about a name flags it."""

    __tablename__ = "batches"
    name: Mapped[str]
    kind: Mapped[str] = mapped_column(String(16), default="larder")
    made_on: Mapped[str] = mapped_column(String(10))
    taxon: Mapped[str] = mapped_column(String(80))
    conditions: Mapped[list[Any]] = mapped_column(JSON, default=list)
    notes: Mapped[str] = mapped_column(Text, default="")
    flagged_at: Mapped[str | None] = mapped_column(String(32))
    flagged_why: Mapped[str] = mapped_column(Text, default="")


class BatchPart(Recorded, Base):
    """A fruitbody in a batch, and the signature under which it went there."""

    __tablename__ = "batch_parts"
    batch_id: Mapped[str] = mapped_column(ForeignKey("batches.id"), index=True)
    fruitbody_id: Mapped[str] = mapped_column(ForeignKey("fruitbodies.id"), index=True)
    signature_id: Mapped[str] = mapped_column(ForeignKey("signatures.id"), index=True)
