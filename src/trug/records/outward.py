"""Finds of the database as they leave: every position passes ``trug.place.release_position`` on the way."""

from __future__ import annotations

import decimal
import functools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import msgspec
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.errors import UnknownWordError
from trug.loaded import Loaded
from trug.place import Policy, Position
from trug.records.documents import corrections
from trug.records.exchange import Identification, Measurement, Media, Occurrence, release_occurrence
from trug.records.tables import (
    DeterminationRow,
    Event,
    ExpertReply,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PhotoRow,
    PlaceRow,
    SignatureRow,
    StatedName,
)
from trug.treatments.model import Treatment

__all__ = ["occurrences", "outward_ids"]

#: Finds that are read from the database at once.
CHUNK = 500
#: Terms that fields of an occurrence hold, by the names under which ``inward`` keeps them.
OWN_TERMS = frozenset(
    ("basisOfRecord", "recordedBy", "habitat", "substrate", "associatedTaxa", "stateProvince", "countryCode")
    + ("license", "rightsHolder", "datasetName", "informationWithheld", "dataGeneralizations")
)
#: The vocabulary of Darwin Core for ``identificationVerificationStatus`` leaves the words to the data set.
VERIFIED = {"signed": "signed with the specimen in hand", "waits": "signed by one person, a second one is awaited"}


def outward_ids(session: Session) -> list[str]:
    """Return the ids of all finds that were not deleted, oldest first."""
    query = select(FindRow.id).where(FindRow.deleted_at.is_(None)).order_by(FindRow.date, FindRow.id)
    return list(session.scalars(query))


def occurrences(
    session: Session, here: Loaded, ids: Sequence[str], policy: Policy = Policy.GENERALISED
) -> Iterator[Occurrence]:
    """Yield finds as Darwin Core occurrences that may be written, with looks, photos and every name they were given.

    Parameters
    ----------
    policy : Policy
        ``EXACT`` only by the explicit wish of the person whose places they are.

    Raises
    ------
    UnknownWordError
        There is no such find.
    """
    names = dict(session.execute(select(Person.id, Person.name)).all())
    places = {p.id: p for p in session.scalars(select(PlaceRow))}
    treatments = {t.name: t for t in here.book.treatments.values()}
    for first in range(0, len(ids), CHUNK):
        chunk = list(ids[first : first + CHUNK])
        finds = {f.id: f for f in session.scalars(select(FindRow).where(FindRow.id.in_(chunk)))}
        parts = _Parts(session, chunk)
        for find_id in chunk:
            if find_id not in finds:
                raise UnknownWordError("there is no such find; it may have been erased")
            find = finds[find_id]
            place = places.get(find.place_id or "")
            grid = place.grid_deg if place is not None else 0.1
            told = _occurrence(find, place, parts, names, treatments, here.vocabulary)
            yield release_occurrence(told, policy, grid)
        session.expunge_all()


class _Parts:
    """What hangs on some finds, read with one query for each table."""

    def __init__(self, session: Session, ids: list[str]) -> None:
        def of(kind: type[Any], *order: Any) -> dict[str, list[Any]]:
            query = select(kind).where(kind.find_id.in_(ids))
            if hasattr(kind, "deleted_at"):
                query = query.where(kind.deleted_at.is_(None))
            found = defaultdict(list)
            for row in session.scalars(query.order_by(*order)):
                found[row.find_id].append(row)
            return found

        self.bodies = of(FruitbodyRow, FruitbodyRow.label)
        self.looks = of(LookRow, LookRow.created_at, LookRow.id)
        standing = {b.id for bodies in self.bodies.values() for b in bodies} | {None}
        for find_id, looks in self.looks.items():
            # Looks at a deleted fruitbody stay here: without their label they would be taken for another one's.
            self.looks[find_id] = [k for k in looks if k.fruitbody_id in standing]
        corrected = select(LookRow.find_id).where(LookRow.find_id.in_(ids), LookRow.supersedes.is_not(None))
        self.corrects = corrections(session.scalars(select(LookRow).where(LookRow.find_id.in_(corrected))))
        self.photos = of(PhotoRow, PhotoRow.id)
        self.determinations = of(DeterminationRow, DeterminationRow.made_at)
        self.signatures = of(SignatureRow, SignatureRow.signed_at, SignatureRow.id)
        self.stated = of(StatedName, StatedName.created_at, StatedName.id)
        self.replies = of(ExpertReply, ExpertReply.created_at)
        changes = select(Event.entity_id, func.max(Event.at)).where(Event.entity_id.in_(ids))
        self.changed = dict(session.execute(changes.group_by(Event.entity_id)).all())


def _occurrence(
    find: FindRow,
    place: PlaceRow | None,
    parts: _Parts,
    names: dict[str, str],
    treatments: dict[str, Treatment],
    vocabulary: Vocabulary,
) -> Occurrence:
    bodies = parts.bodies[find.id]
    name, qualifier = _bare(find.name)
    treatment = treatments.get(name)
    signed = [s for s in parts.signatures[find.id] if s.voided_at is None]
    stages = dict.fromkeys(b.stage for b in bodies if isinstance(b.stage, str))
    kept = _Kept(find.extra or {})
    altitude_m = find.altitude_m if find.altitude_m is not None else place.altitude_m if place else None
    return Occurrence(
        occurrence_id=find.origin or find.id,
        basis_of_record=kept.pop("basisOfRecord") or ("PreservedSpecimen" if find.fungarium else "HumanObservation"),
        occurrence_status="present",
        event_date=find.date,
        recorded_by=names.get(find.finder_id or "") or kept.pop("recordedBy"),
        record_number=find.number,
        catalog_number=find.fungarium,
        scientific_name=name,
        scientific_name_authorship=treatment.authority if treatment else "",
        taxon_rank=(treatment.rank if treatment and treatment.rank != "aggregate" else "") if treatment else "",
        kingdom="Fungi" if treatment or name else "",
        family=treatment.family if treatment else "",
        genus=name.split(" ")[0] if name else "",
        vernacular_name=treatment.english[0] if treatment and treatment.english else "",
        identification_qualifier=qualifier,
        verbatim_identification=find.name,
        identified_by=" | ".join(dict.fromkeys(names.get(s.person_id, "") for s in signed)),
        date_identified=signed[0].signed_at[:10] if signed else "",
        identification_verification_status=VERIFIED.get(find.standing, find.standing),
        life_stage=" | ".join(stages),
        individual_count=str(len(bodies)) if bodies else "",
        habitat=(place.wood if place else "") or kept.pop("habitat"),
        substrate=" | ".join(_states(parts.looks[find.id], "substrate")) or kept.pop("substrate"),
        associated_taxa=" | ".join(f"on: {s}" for s in _states(parts.looks[find.id], "tree"))
        or kept.pop("associatedTaxa"),
        occurrence_remarks=find.notes,
        preparations="dried voucher" if find.fungarium else "",
        disposition=find.voucher_at,
        locality=find.locality or (place.name if place else ""),
        minimum_elevation_m=_number(altitude_m),
        modified=parts.changed.get(find.id, find.created_at),
        position=_position(find, place),
        state_province=kept.pop("stateProvince"),
        country_code=kept.pop("countryCode"),
        license=kept.pop("license"),
        rights_holder=kept.pop("rightsHolder"),
        dataset_name=kept.pop("datasetName"),
        information_withheld=kept.pop("informationWithheld"),
        data_generalizations=kept.pop("dataGeneralizations"),
        extra=kept.others(),
        media=(*(_media(p) for p in parts.photos[find.id]), *kept.media),
        measurements=tuple(_measurements(parts.looks[find.id], parts.corrects, bodies, names, vocabulary)),
        identifications=tuple(_identifications(find.id, parts, names)),
    )


class _Kept:
    """What a find from elsewhere brought that has no column here: terms of the standard, others, and photos."""

    def __init__(self, extra: dict[str, Any]) -> None:
        terms = extra.get("terms")
        self._terms = {str(k): str(v) for k, v in terms.items()} if isinstance(terms, dict) else {}
        try:
            self.media = msgspec.convert(extra.get("media", []), tuple[Media, ...])
        except msgspec.ValidationError:
            self.media = ()

    def pop(self, term: str) -> str:
        """Return what a term of the standard said, empty where nothing."""
        return self._terms.pop(term, "")

    def others(self) -> dict[str, str]:
        """Return the terms that the standard's fields do not hold."""
        return {term: text for term, text in self._terms.items() if term not in OWN_TERMS}


@functools.lru_cache(maxsize=4096)
def _bare(name: str) -> tuple[str, str]:
    """Return a listed name without its qualifier, and the qualifier."""
    first = name.split(" + ")[0]
    for qualifier in ("cf.", "aff."):
        if f" {qualifier} " in first:
            return first.replace(f" {qualifier} ", " "), qualifier
    if first.endswith(" (aggregate)"):
        return first.removesuffix(" (aggregate)"), "agg."
    return (first.removesuffix(" sp."), "sp.") if first.endswith(" sp.") else (first, "")


def _position(find: FindRow, place: PlaceRow | None) -> Position | None:
    source: FindRow | PlaceRow | None = find if find.lat is not None and find.lon is not None else place
    if source is None or source.lat is None or source.lon is None:
        return None
    return Position(source.lat, source.lon, source.uncertainty_m)


def _states(looks: Iterable[LookRow], character: str) -> list[str]:
    found: dict[str, None] = {}
    for look in looks:
        if look.character == character:
            found |= dict.fromkeys(look.evidence.get("states") or ())
    return list(found)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _media(photo: PhotoRow) -> Media:
    return Media(
        type="StillImage",
        format=photo.media_type,
        identifier=f"{photo.sha256}",
        title=photo.role,
        description=photo.caption,
        created=(photo.taken or "")[:10],
    )


def _measurements(
    looks: Sequence[LookRow],
    corrects: dict[str, str],
    bodies: Sequence[FruitbodyRow],
    names: dict[str, str],
    vocabulary: Vocabulary,
) -> Iterator[Measurement]:
    """Yield looks; they name each other by number."""
    numbers = {k.id: n for n, k in enumerate(looks, 1)}
    for look in looks:
        corrected = numbers.get(corrects.get(look.id, ""))
        yield _measurement(look, numbers[look.id], corrected, bodies, names, vocabulary)


def _measurement(
    look: LookRow,
    number: int,
    corrected: int | None,
    bodies: Sequence[FruitbodyRow],
    names: dict[str, str],
    vocabulary: Vocabulary,
) -> Measurement:
    """Return a look; what people read stands in the value, the whole of it as JSON in the remarks."""
    body = next((b for b in bodies if b.id == look.fruitbody_id), None)
    told = {
        "fruitbody": body.label if body else None,
        "stage": body.stage if body else None,
        "condition": (body.condition or None) if body else None,
        "evidence": look.evidence,
        "sure": look.sure,
        "blind": look.blind or None,
        "number": number,
        "supersedes": corrected,
    }
    told = {k: _without_points(v) for k, v in told.items() if v is not None}
    measured = look.evidence.get("measurement")
    return Measurement(
        measurement_id=look.id,
        measurement_type=look.character,
        measurement_value=_value(look.evidence),
        measurement_unit=_unit(look, vocabulary),
        measurement_accuracy=f"{measured['deviation']:g}" if measured and measured.get("deviation") else "",
        measurement_determined_by=names.get(look.observer_id or "", ""),
        measurement_determined_date=look.time or "",
        measurement_method=look.method,
        measurement_remarks=msgspec.json.format(msgspec.json.encode(told), indent=0).decode(),
    )


def _without_points(value: Any) -> Any:
    """Return a value whose fractions are written as 425e-1: what reads as a coordinate would not leave.

    For the same reason a space follows each comma where this is written.
    """
    if isinstance(value, float):
        sign, digits, exponent = decimal.Decimal(repr(value)).as_tuple()
        number = f"{'-' if sign else ''}{''.join(map(str, digits))}e{exponent}"
        return msgspec.Raw(number.removesuffix("0e-1") if number.endswith("0e-1") and len(digits) > 1 else number)
    if isinstance(value, dict):
        return {k: _without_points(v) for k, v in value.items()}
    return [_without_points(v) for v in value] if isinstance(value, (list, tuple)) else value


def _unit(look: LookRow, vocabulary: Vocabulary) -> str:
    """Return the unit of a figure, so that nobody takes it for a coordinate; nothing for a word."""
    if look.evidence.get("colour"):
        return "CIELAB D65"
    character = vocabulary.characters.get(look.character)
    if character is None or not character.measured:
        return "share" if look.evidence.get("distribution") else ""
    return {"um": "µm"}.get(character.unit, character.unit)


def _value(evidence: dict[str, Any]) -> str:
    if states := evidence.get("states"):
        return " | ".join(states)
    if measured := evidence.get("measurement"):
        return f"{measured['value']:g}"
    if sample := evidence.get("sample"):
        return f"{sample['mean']:g}"
    if weights := evidence.get("distribution"):
        return " | ".join(sorted(weights, key=lambda s: -weights[s]))
    return "not seen" if evidence.get("not_seen") else ""


def _identifications(find_id: str, parts: _Parts, names: dict[str, str]) -> Iterator[Identification]:
    """Yield every name a find was ever given, superseded and withdrawn ones too."""
    newest = {d.supersedes for d in parts.determinations[find_id]}
    records = {d.id: d for d in parts.determinations[find_id]}
    for signature in parts.signatures[find_id]:
        record = records.get(signature.determination_id)
        yield Identification(
            identification_id=signature.id,
            scientific_name=signature.name,
            identified_by=names.get(signature.person_id, ""),
            date_identified=signature.signed_at[:10],
            identification_references=f"determination {record.id}, book {record.book_date}" if record else "",
            identification_remarks=" ".join(filter(None, [signature.note, signature.voided_why])),
            identification_verification_status="withdrawn" if signature.voided_at else f"signed ({signature.role})",
        )
    signed = {s.determination_id for s in parts.signatures[find_id]}
    for record in parts.determinations[find_id]:
        if record.id not in signed:
            yield Identification(
                identification_id=record.id,
                scientific_name=record.name,
                identified_by=names.get(record.person_id or "", ""),
                date_identified=record.made_at[:10],
                identification_verification_status="superseded" if record.id in newest else "not signed",
            )
    for stated in parts.stated[find_id]:
        yield Identification(
            identification_id=stated.id,
            scientific_name=stated.name,
            identification_qualifier=stated.qualifier,
            identified_by=stated.stated_by,
            date_identified=stated.stated_on,
            identification_remarks=stated.remarks,
            identification_verification_status="stated, not signed",
        )
    for reply in parts.replies[find_id]:
        yield Identification(
            identification_id=reply.id,
            scientific_name=reply.name,
            identified_by=reply.expert,
            date_identified=reply.written_on,
            identification_remarks=reply.remarks,
            identification_verification_status="opinion of an expert" + ("" if reply.sealed else ", without seal"),
        )
