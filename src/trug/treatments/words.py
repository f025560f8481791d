"""A record of a treatment in plain words."""

from __future__ import annotations

from trug.treatments.model import Record
from trug.treatments.notation import format_size

__all__ = ["says"]


def says(record: Record | None) -> str:
    """Return what a treatment says of a character, stage by stage where age changes it.

    Rare states stand in brackets; what is explicitly excluded follows a dash; a character that is not
    recorded reads as a long dash.
    """
    if record is None:
        return "—"
    if record.size is not None:
        return format_size(record.size)
    pieces = []
    for stage, words in record.words.items():
        common = [_plain(s) for s, w in words.items() if w in ("always", "usually")]
        some = [_plain(s) for s, w in words.items() if w == "sometimes"]
        rare = [_plain(s) for s, w in words.items() if w == "rarely"]
        text = ", ".join(common)
        if some:
            text += (", also " if text else "") + ", ".join(some)
        if rare:
            text += f" ({', '.join(rare)})"
        pieces.append((stage, text))
    text = "; ".join(f"{stage}: {said}" if stage else said for stage, said in pieces)
    never = [_plain(s) for s in dict.fromkeys(s for w in record.words.values() for s in w) if record.excludes(s)]
    if record.complete:
        return f"{text} — nothing else"
    return f"{text} — never {', '.join(never)}" if never else text


def _plain(code: str) -> str:
    return code.replace("-", " ")
