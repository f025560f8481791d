"""Names that people sign, specimen in hand: with the determination they rest on, a second signer, and their end.

A signature names the determination, the person, the time and the fruitbodies that met the release rule. An edit to
the looks of one of these voids it, a doubt withdraws it, and either flags what was made of them.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.determine.record import Determination, canonical, digest_of
from trug.errors import InputError
from trug.records.documents import fruitbodies_of
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import (
    Batch,
    BatchPart,
    Confirmation,
    DeterminationRow,
    FindRow,
    Person,
    SignatureRow,
    StatedName,
)

__all__ = [
    "Cover",
    "answers_for",
    "confirm_taxon",
    "cover_of",
    "determination_stored",
    "may_sign_alone",
    "refresh_signed",
    "sign",
    "signatures_of",
    "standing_of",
    "store_determination",
    "void_signatures",
    "withdraw",
    "withdraw_confirmation",
]


@dataclass(frozen=True, slots=True)
class Cover:
    """The signatures that stand for a fruitbody under one name, and whether they suffice.

    ``answers`` is that of the first practised signer: its determination is the one that the others sign too.
    ``released`` where the name is sufficiently signed and the fruitbody met the release rule under it.
    """

    taxon: str
    name: str
    signatures: tuple[SignatureRow, ...]
    answers: SignatureRow
    complete: bool
    released: bool


def may_sign_alone(session: Session, person_id: str, taxon: str) -> bool:
    """Whether another person has confirmed that this one knows the taxon in hand: no second signer is needed then."""
    query = select(Confirmation.id).where(
        Confirmation.person_id == person_id,
        Confirmation.taxon == taxon,
        Confirmation.confirmed_by_id != person_id,
        Confirmation.deleted_at.is_(None),
    )
    return session.scalars(query.limit(1)).first() is not None


def confirm_taxon(
    unit: Unit, reasoner: Reasoner, person_id: str, taxon: str, confirmed_by_id: str, note: str = ""
) -> Confirmation:
    """Write down that one person has confirmed another to know a taxon, specimen in hand.

    Finds that the person has signed under that name no longer wait for a second signer.

    Raises
    ------
    InputError
        Both are the same person, or the one who confirms is not practised.
    """
    unit.get(Person, person_id)
    if person_id == confirmed_by_id:
        raise InputError("nobody can confirm themselves; choose the person who saw them name it, specimen in hand")
    if unit.get(Person, confirmed_by_id).practice != "practised":
        raise InputError("only a practised person can confirm another one")
    row = unit.make(Confirmation(person_id=person_id, taxon=taxon, confirmed_by_id=confirmed_by_id, note=note))
    refresh_signed(unit, reasoner, person_id, taxon)
    return row


def withdraw_confirmation(unit: Unit, reasoner: Reasoner, confirmation_id: str) -> Confirmation:
    """Take a confirmation back; finds that rest on it alone wait for a second signer again."""
    row = unit.get(Confirmation, confirmation_id)
    unit.delete(row)
    refresh_signed(unit, reasoner, row.person_id, row.taxon)
    return row


def refresh_signed(unit: Unit, reasoner: Reasoner, person_id: str, taxon: str) -> None:
    """Work out anew the standing of the finds that a person has signed under a name."""
    from trug.records.gatherings import refresh

    query = select(SignatureRow.find_id).where(
        SignatureRow.person_id == person_id, SignatureRow.taxon == taxon, SignatureRow.voided_at.is_(None)
    )
    for find_id in set(unit.session.scalars(query)):
        refresh(unit, reasoner, find_id)


def store_determination(
    unit: Unit, record: Determination, person_id: str | None, *, taxon: str = "", name: str = ""
) -> DeterminationRow:
    """Store a determination as it was made; the newest before it is superseded, none is overwritten."""
    digest = digest_of(record)
    found = unit.session.get(DeterminationRow, digest)
    if found is not None:
        return found
    query = select(DeterminationRow.id, DeterminationRow.supersedes).where(DeterminationRow.find_id == record.find)
    stored = dict(unit.session.execute(query.order_by(DeterminationRow.made_at)).all())
    superseded = set(stored.values())
    before = next((i for i in reversed(stored) if i not in superseded), None)
    row = DeterminationRow(
        id=digest,
        find_id=record.find,
        made_at=unit.now,
        person_id=person_id,
        taxon=taxon,
        name=name or " + ".join(dict.fromkeys(b.proposed for b in record.fruitbodies)),
        find_sha256=record.find_sha256,
        book_sha256=record.book_sha256,
        book_date=record.book_date,
        program=record.program,
        format=record.format,
        record=zlib.compress(canonical(record), 6),
        supersedes=before,
    )
    unit.session.add(row)
    unit.session.flush()
    return row


def determination_stored(row: DeterminationRow) -> Determination:
    """Return the record that a row holds, just as it was made."""
    import msgspec

    return msgspec.json.decode(zlib.decompress(row.record), type=Determination)


def sign(
    unit: Unit,
    reasoner: Reasoner,
    find_id: str,
    *,
    taxon: str,
    fruitbodies: Sequence[str],
    person_id: str,
    in_hand: bool,
    note: str = "",
) -> SignatureRow:
    """Sign a name for fruitbodies, and store the determination that it rests on.

    A second person who signs the same name for a fruitbody becomes its second signer: having held the specimen, they
    stand behind the determination of the first practised signer.

    Raises
    ------
    InputError
        The specimen is not in hand, no fruitbody or an unknown name is given, one of them has no look, or this
        person has signed it already.
    """
    session = unit.session
    unit.get(FindRow, find_id)
    unit.get(Person, person_id)
    treatment = reasoner.here.book.treatments.get(taxon)
    if not in_hand:
        raise InputError("a name is signed with the specimen in hand; tick that you hold it, or sign later")
    if treatment is None:
        raise InputError("choose a name that the book holds; other names can be stated, not signed")
    labels = {b.id: b.label for b in fruitbodies_of(session, find_id)}
    chosen = [b for b in dict.fromkeys(fruitbodies) if b in labels]
    if not chosen:
        raise InputError("choose the fruitbodies that you sign for; each is signed by itself")
    answers = answers_for(session, find_id, taxon, chosen, person_id)
    find, record = reasoner.of(session, find_id, signed=taxon, determiner=answers)
    results = {r.fruitbody: r for r in record.fruitbodies}
    singly = {k.fruitbody for k in find.looks}
    if bare := [labels[b] for b in chosen if b not in singly]:
        raise InputError(f"fruitbody {', '.join(bare)} was not looked at singly; make a look at it first")
    standing = [s for s in signatures_of(session, find_id) if s.taxon == taxon and set(s.fruitbodies) & set(chosen)]
    if any(s.person_id == person_id and set(chosen) <= set(s.fruitbodies) for s in standing):
        raise InputError("you have signed this already; another person can be the second signer")
    stored = store_determination(unit, record, answers, taxon=taxon, name=treatment.name)
    row = SignatureRow(
        find_id=find_id,
        determination_id=stored.id,
        person_id=person_id,
        role="second signer" if any(s.person_id != person_id for s in standing) else "signer",
        taxon=taxon,
        name=treatment.name,
        in_hand=True,
        fruitbodies=chosen,
        released=[b for b in chosen if results[b].release.allowed],
        signed_at=unit.now,
        note=note,
    )
    unit.make(row)
    for other in signatures_of(session, find_id):
        if other.taxon != taxon and set(other.fruitbodies) & set(chosen):
            _flag_batches(unit, other, f"{treatment.name} was signed for the same fruitbody")
    from trug.records.gatherings import refresh

    refresh(unit, reasoner, find.id)
    return row


def signatures_of(session: Session, find_id: str, *, voided: bool = False) -> list[SignatureRow]:
    """Return the signatures of a find that stand, oldest first; with ``voided`` the others too."""
    query = select(SignatureRow).where(SignatureRow.find_id == find_id, SignatureRow.deleted_at.is_(None))
    if not voided:
        query = query.where(SignatureRow.voided_at.is_(None))
    return list(session.scalars(query.order_by(SignatureRow.signed_at, SignatureRow.id)))


def cover_of(session: Session, find_id: str, body_id: str) -> Cover | None:
    """Return what stands signed for a fruitbody; None where nothing does, or where two names are signed."""
    mine = [s for s in signatures_of(session, find_id) if body_id in s.fruitbodies]
    if len({s.taxon for s in mine}) != 1:
        return None
    people = {s.person_id for s in mine}
    practised = {p for p in people if _practised(session, p)}
    answers = next((s for s in mine if s.person_id in practised), mine[0])
    alone = any(may_sign_alone(session, p, mine[0].taxon) for p in people)
    # Without a confirmed signer it takes two practised people.
    complete = alone or len(practised) > 1
    return Cover(mine[0].taxon, mine[0].name, tuple(mine), answers, complete, complete and body_id in answers.released)


def answers_for(session: Session, find_id: str, taxon: str, fruitbodies: Sequence[str], person_id: str) -> str:
    """Return whose determination a person would sign: that of the first practised signer of all these, or their own."""
    for signature in signatures_of(session, find_id):
        covers = signature.taxon == taxon and set(fruitbodies) <= set(signature.fruitbodies)
        if covers and _practised(session, signature.person_id):
            return signature.person_id
    return person_id


def _practised(session: Session, person_id: str) -> bool:
    person = session.get(Person, person_id)
    return person is not None and person.practice == "practised"


def void_signatures(unit: Unit, find_id: str, body_id: str | None, why: str) -> list[SignatureRow]:
    """Void the signatures for a fruitbody, or for all of a find where ``body_id`` is None; flag their batches."""
    ended = [s for s in signatures_of(unit.session, find_id) if body_id is None or body_id in s.fruitbodies]
    for signature in ended:
        unit.edit(signature, voided_at=unit.now, voided_why=why)
        _flag_batches(unit, signature, why)
    return ended


def withdraw(unit: Unit, reasoner: Reasoner, signature_id: str, why: str) -> SignatureRow:
    """Withdraw a signature because of a later doubt; batches made under it are flagged."""
    row = unit.get(SignatureRow, signature_id)
    if row.voided_at is not None:
        raise InputError("this signature was withdrawn or voided before")
    reason = f"withdrawn: {why.strip() or 'no reason given'}"
    unit.edit(row, voided_at=unit.now, voided_why=reason)
    _flag_batches(unit, row, reason)
    from trug.records.gatherings import refresh

    refresh(unit, reasoner, row.find_id)
    return row


def _flag_batches(unit: Unit, signature: SignatureRow, why: str) -> None:
    # A batch rests on every signature of its fruitbodies, the second signer's too; a part names only the first.
    query = select(Batch).join(BatchPart, BatchPart.batch_id == Batch.id)
    query = query.where(BatchPart.fruitbody_id.in_(signature.fruitbodies), Batch.taxon == signature.taxon)
    for batch in unit.session.scalars(query).unique():
        unit.edit(batch, flagged_at=unit.now, flagged_why=f"the name {signature.name} no longer stands: {why}")


def standing_of(session: Session, find: FindRow, proposals: Sequence[str]) -> tuple[str, str]:
    """Return the name under which a find is listed, and how that name stands; see ``FindRow``."""
    signatures = signatures_of(session, find.id, voided=True)
    live = [s for s in signatures if s.voided_at is None]
    if live:
        names = list(dict.fromkeys(s.name for s in live))
        covers = [cover_of(session, find.id, b) for s in live for b in s.fruitbodies]
        whole = len(names) == 1 and all(c is not None and c.complete for c in covers)
        return " + ".join(names), "signed" if whole else "doubted" if len(names) > 1 else "waits"
    if signatures:
        return " + ".join(proposals) or signatures[-1].name, "doubted"
    query = select(StatedName).where(StatedName.find_id == find.id, StatedName.deleted_at.is_(None))
    stated = session.scalars(query.order_by(StatedName.created_at.desc(), StatedName.id.desc()).limit(1)).first()
    if proposals:
        return " + ".join(proposals), "proposed"
    if stated is not None:
        return stated.name, "stated"
    return "", "unnamed"
