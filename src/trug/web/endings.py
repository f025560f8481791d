"""Why a signature ended or a batch is flagged, in the language of the page; the records keep an English sentence."""

from __future__ import annotations

from trug.characters import Vocabulary
from trug.web.language import gettext as _
from trug.web.words import N_

__all__ = ["EDITS", "why_ended"]

#: What the records say when an edit ends a signature.
EDITS = frozenset(
    {
        N_("date, region or place of the find was corrected"),
        N_("region or altitude of the place was corrected"),
        N_("stage or condition of the fruitbody was corrected"),
        N_("a look was deleted"),
        N_("it was deleted"),
        N_("a part of it was brought back"),
    }
)
_LOOKED_ANEW = " was looked at anew"
_OTHER_NAME = " was signed for the same fruitbody"
_WITHDRAWN = "withdrawn: "
_FALLEN = ("the name ", " no longer stands: ")


def why_ended(reason: str, vocabulary: Vocabulary) -> str:
    """Return a reason in the language of the page; a person's own words stay as they were written."""
    if reason in EDITS:
        return _(reason)
    if reason.startswith(_WITHDRAWN):
        return _("withdrawn: %(why)s") % {"why": reason.removeprefix(_WITHDRAWN)}
    if reason.endswith(_OTHER_NAME):
        return _("%(name)s was signed for the same fruitbody") % {"name": reason.removesuffix(_OTHER_NAME)}
    label = reason.removesuffix(_LOOKED_ANEW)
    if any(c.label == label for c in vocabulary.characters.values()):
        return _("%(look)s was looked at anew") % {"look": _(label)}
    before, stands, why = reason.partition(_FALLEN[1])
    if stands and before.startswith(_FALLEN[0]):
        told = {"name": before.removeprefix(_FALLEN[0]), "why": why_ended(why, vocabulary)}
        return _("the name %(name)s no longer stands: %(why)s") % told
    return reason
