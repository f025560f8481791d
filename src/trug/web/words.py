"""Words that several pages share."""

from __future__ import annotations

__all__ = ["LEVEL_WORDS", "N_", "OPEN_WORDS", "STANDING_WORDS", "SURE_WORDS"]


def N_(message: str) -> str:  # the name that message extraction looks for
    """Mark a message for translation where it is only stored; ``gettext`` translates it where it is shown."""
    return message


#: What a harm level means.
LEVEL_WORDS = {
    "kills": N_("kills"),
    "organ": N_("lasting damage"),
    "gut": N_("makes ill"),
    "conditional": N_("harms under conditions"),
}
#: How the name of a find stands.
STANDING_WORDS = {
    "unnamed": N_("not named"),
    "proposed": N_("by the looks, not signed"),
    "stated": N_("stated, not signed"),
    "waits": N_("waits for a second signer"),
    "signed": N_("signed"),
    "doubted": N_("in doubt"),
}
#: Why a harmful taxon is still open.
OPEN_WORDS = {
    "contradictions": N_("too few looks speak against it"),
    "firm": N_("no firm look speaks against it"),
    "margin": N_("no other name fits clearly better"),
    "unlisted": N_("it may be a fungus that is not in the book"),
    "insist": N_("looks that the trade insists on are missing"),
    "unopened": N_("an egg or button must be cut lengthwise first"),
}
#: How sure an observer is.
SURE_WORDS = {"sure": N_("sure"), "fairly": N_("fairly sure"), "unsure": N_("unsure: will not rule anything out")}
