"""The way to kitchen and stillroom: only what meets the release rule under a signed name may become a batch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.signing import cover_of
from trug.records.tables import Batch, BatchPart, FindRow, FruitbodyRow

__all__ = ["KINDS", "Admission", "admission", "take_to_kitchen"]

#: Where a batch goes: preserved as food, or prepared as medicine.
KINDS = ("larder", "stillroom")


@dataclass(frozen=True, slots=True)
class Admission:
    """Whether a fruitbody may become part of a batch; ``reasons`` in plain words, every one of them."""

    fruitbody: str
    label: str
    taxon: str
    allowed: bool
    reasons: tuple[str, ...]
    conditions: tuple[str, ...]
    signature: str


def admission(session: Session, reasoner: Reasoner, body: FruitbodyRow) -> Admission:
    """Return whether a fruitbody may become part of a batch now, by its signatures and by the present book."""
    cover = cover_of(session, body.find_id, body.id)
    if cover is None:
        reason = "no person has signed one name for it with the specimen in hand"
        return Admission(body.id, body.label, "", False, (reason,), (), "")
    reasons = []
    if not cover.complete:
        reasons.append(f"{cover.name} waits for a second signer")
    _, record = reasoner.of(session, body.find_id, signed=cover.taxon, determiner=cover.answers.person_id)
    verdict = next(r for r in record.fruitbodies if r.fruitbody == body.id).release
    # What lies in the fruitbody or the find comes before the long list of what is not ruled out.
    reasons += [text for _, text, _, _ in sorted(verdict.reasons, key=lambda reason: reason[0] == "open")]
    if not reasons and not cover.released:
        reasons.append("it did not meet the release rule when it was signed; sign it anew")
    told = tuple(dict.fromkeys(reasons))
    return Admission(
        body.id, body.label, cover.taxon, not told, told, () if told else verdict.kitchen, cover.answers.id
    )


def take_to_kitchen(
    unit: Unit, reasoner: Reasoner, fruitbodies: Sequence[str], *, kind: str = "larder", notes: str = ""
) -> Batch:
    """Make a batch of fruitbodies, all of one name.

    Raises
    ------
    InputError
        One of them may not be taken, with every reason; they bear different names; or none is given.
    """
    if kind not in KINDS:
        raise InputError(f"a batch goes to the {' or the '.join(KINDS)}")
    bodies = [unit.get(FruitbodyRow, b) for b in dict.fromkeys(fruitbodies)]
    if not bodies:
        raise InputError("choose the fruitbodies that go into the batch")
    admitted = [admission(unit.session, reasoner, b) for b in bodies]
    if refused := [a for a in admitted if not a.allowed]:
        told = "; ".join(f"fruitbody {a.label}: {', '.join(a.reasons[:6])}" for a in refused)
        raise InputError(f"not to the kitchen: {told}")
    if len({a.taxon for a in admitted}) > 1:
        raise InputError("a batch holds one name; make one for each")
    query = select(BatchPart.fruitbody_id).join(Batch, Batch.id == BatchPart.batch_id)
    taken = set(unit.session.scalars(query.where(BatchPart.deleted_at.is_(None), Batch.deleted_at.is_(None))))
    if again := [b.label for b in bodies if b.id in taken]:
        raise InputError(f"fruitbody {', '.join(again)} is in a batch already")
    find = unit.get(FindRow, bodies[0].find_id)
    treatment = reasoner.here.book.treatments[admitted[0].taxon]
    conditions = dict.fromkeys(c for a in admitted for c in a.conditions)
    batch = unit.make(
        Batch(
            name=f"{treatment.common}, {find.date}",
            kind=kind,
            made_on=unit.now[:10],
            taxon=treatment.code,
            conditions=list(conditions),
            notes=notes,
        )
    )
    for body, given in zip(bodies, admitted, strict=True):
        unit.make(BatchPart(batch_id=batch.id, fruitbody_id=body.id, signature_id=given.signature))
    return batch
