"""The history of a find in words: who changed what, when, from what to what."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.loaded import Loaded
from trug.records.history import Change, history_of
from trug.records.tables import (
    Class,
    ExpertPacket,
    ExpertReply,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PhotoRow,
    PlaceRow,
    SignatureRow,
    SporePrint,
    StatedName,
)
from trug.web.endings import why_ended
from trug.web.language import gettext as _
from trug.web.telling import DEPOSIT_WORDS, PAPER_WORDS, ROLE_WORDS, day_and_time, stage_words, told
from trug.web.words import N_, SURE_WORDS

__all__ = ["Edit", "edits_of"]

PARTS: tuple[type[Any], ...] = (
    FruitbodyRow,
    LookRow,
    PhotoRow,
    SporePrint,
    StatedName,
    SignatureRow,
    ExpertPacket,
    ExpertReply,
)
#: What a field is called; the others are shown as the record calls them.
FIELD_WORDS = {
    "place_id": N_("place"),
    "finder_id": N_("finder"),
    "class_id": N_("class"),
    "altitude_m": N_("altitude [m]"),
    "fungarium": N_("fungarium number"),
    "voucher_at": N_("where the voucher lies"),
    "evidence": N_("answer"),
    "sure": N_("how sure"),
    "fruitbody_id": N_("fruitbody"),
    "kept_at": N_("where it is kept"),
    "read_at": N_("time it was read"),
    "voided_at": N_("time it ended"),
    "voided_why": N_("why it ended"),
}
#: Where a thing lies is not told here: the page may be shown to others.
HIDDEN = frozenset({"lat", "lon", "uncertainty_m", "seal", "document", "extra"})


@dataclass(frozen=True, slots=True)
class Edit:
    """One step: ``before`` and ``after`` are empty where something was made, deleted or brought back."""

    when: str
    who: str
    what: str
    before: str
    after: str


def edits_of(session: Session, here: Loaded, find_id: str) -> list[Edit]:
    """Return the history of a find and all its parts, the latest step first."""
    rows: dict[str, Any] = {}
    for kind in PARTS:
        rows |= {row.id: row for row in session.scalars(select(kind).where(kind.find_id == find_id))}
    rows[find_id] = session.get(FindRow, find_id)
    teller = _Teller(session, here, rows)
    return [teller.edit(change) for change in reversed(history_of(session, rows))]


class _Teller:
    """Says each change of one find in words."""

    def __init__(self, session: Session, here: Loaded, rows: Mapping[str, Any]) -> None:
        self.rows = rows
        self.here = here
        self.names: dict[str, str] = {}
        for kind in (Person, PlaceRow, Class):
            self.names |= dict(session.execute(select(kind.id, kind.name)).all())
        self.names |= {k: row.label for k, row in rows.items() if isinstance(row, FruitbodyRow)}

    def edit(self, change: Change) -> Edit:
        who = self.names.get(change.person_id or "", _("the program"))
        thing = self.thing(change.entity_id)
        before = after = ""
        if change.field == "":
            what = _("recorded %(thing)s") % {"thing": thing}
        elif change.field == "deleted_at":
            what = (_("deleted %(thing)s") if change.after else _("brought back %(thing)s")) % {"thing": thing}
        else:
            field = _(FIELD_WORDS.get(change.field, change.field.replace("_", " ")))
            what = _("changed %(field)s of %(thing)s") % {"field": field, "thing": thing}
            if change.field not in HIDDEN:
                before = self.value(change.entity_id, change.field, change.before)
                after = self.value(change.entity_id, change.field, change.after)
        return Edit(day_and_time(change.at), who, what, before, after)

    def thing(self, row_id: str) -> str:
        """Return what people call a part of the find."""
        row = self.rows[row_id]
        for kind, say in _THINGS.items():
            if isinstance(row, kind):
                return say(self, row)
        return _("the find")

    def value(self, row_id: str, field: str, value: Any) -> str:
        if value in (None, "", []):
            return _("nothing")
        row = self.rows[row_id]
        if field == "evidence":
            return told(value, self.here.vocabulary.characters.get(row.character))
        if field == "voided_why":
            return why_ended(str(value), self.here.vocabulary)
        if field == "stage":
            return stage_words(value)
        if field.endswith("_at") and field not in ("voucher_at", "kept_at"):
            return day_and_time(value)
        if isinstance(value, list):
            return ", ".join(self.names.get(str(v), str(v).replace("-", " ")) for v in value)
        words = {"role": ROLE_WORDS, "sure": SURE_WORDS, "paper": PAPER_WORDS, "deposit": DEPOSIT_WORDS}.get(field, {})
        return _(words[value]) if value in words else self.names.get(str(value), str(value))

    def of_body(self, body_id: str | None) -> str:
        label = self.names.get(body_id or "")
        return _(" of fruitbody %(label)s") % {"label": label} if label else ""

    def look(self, row: LookRow) -> str:
        character = self.here.vocabulary.characters.get(row.character)
        label = _(character.label) if character else row.character
        said = told(row.evidence, character)
        return _("the look at %(label)s%(body)s: %(said)s") % {
            "label": label,
            "body": self.of_body(row.fruitbody_id),
            "said": said,
        }


_THINGS: dict[type[Any], Callable[[_Teller, Any], str]] = {
    FruitbodyRow: lambda t, row: _("fruitbody %(label)s") % {"label": row.label},
    LookRow: lambda t, row: t.look(row),
    PhotoRow: lambda t, row: (
        _("a photo (%(role)s)") % {"role": _(ROLE_WORDS.get(row.role, row.role))} + t.of_body(row.fruitbody_id)
    ),
    SporePrint: lambda t, row: _("a spore print") + t.of_body(row.fruitbody_id),
    StatedName: lambda t, row: _("the stated name %(name)s") % {"name": row.name},
    SignatureRow: lambda t, row: (
        _("the signature of %(who)s under %(name)s")
        % {
            "who": t.names.get(row.person_id, "?"),
            "name": row.name,
        }
    ),
    ExpertPacket: lambda t, row: _("a packet for an expert"),
    ExpertReply: lambda t, row: _("the reply of %(who)s") % {"who": row.expert},
}
