"""What an expert answers to a packet: the reply file, the seal that ties it to its packet, its place in the records.

The seal is an HMAC-SHA256 (RFC 2104) over the canonical reply with a secret that lies in the packet alone. It shows
that a reply was written with the form of this very packet and was not changed afterwards; who wrote it, it cannot show.
A reply is an opinion: it is kept as a stated name, and nothing is released by it.
"""

from __future__ import annotations

import datetime
import hashlib
import hmac
import json
import unicodedata
from dataclasses import asdict, dataclass, fields
from typing import Any

from sqlalchemy import select

from trug.errors import InputError, UnknownWordError
from trug.reading import decode, nearest, parse, shown
from trug.records.gatherings import refresh, state_name
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import ExpertPacket, ExpertReply, StatedName

__all__ = [
    "CERTAINTIES",
    "FORMAT",
    "RESTS_ON",
    "SEALS",
    "Reply",
    "canonical_reply",
    "check_seal",
    "checked",
    "delete_reply",
    "read_reply",
    "reply_form",
    "seal_of",
    "store_reply",
]

FORMAT = "trug.reply/1"
#: How certain an expert is.
CERTAINTIES = ("certain", "likely", "possible")
#: What an answer rests on: the packet alone, or the specimen itself.
RESTS_ON = ("packet", "specimen")
#: How a seal stands: whole; there, but not that of this reply and packet; none.
SEALS = ("sealed", "broken", "unsealed")
#: A reply is a page of text; anything larger is another file [bytes].
MOST_BYTES = 200_000
#: Longest texts of a reply [characters].
LONGEST = {"remarks": 20_000, "written_on": 32, "seal": 128}
_LONGEST_LINE = 200
#: What may surround a text without being part of it; the form in the packet takes away the same.
_BLANKS = " \t\n"


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer. ``packet`` is the id of the packet, ``fruitbodies`` is ``all`` or letters such as ``a, b``."""

    packet: str
    expert: str
    name: str
    fruitbodies: str = "all"
    certainty: str = ""
    rests_on: str = "packet"
    remarks: str = ""
    written_on: str = ""
    seal: str = ""
    format: str = FORMAT


_KEYS = tuple(f.name for f in fields(Reply))
_SEALED = tuple(sorted(k for k in _KEYS if k != "seal"))


def canonical_reply(reply: Reply) -> bytes:
    """Return what is sealed: JSON of every field but the seal, keys sorted, no spaces, texts in Unicode form NFC."""
    told = asdict(reply)
    return json.dumps({k: told[k] for k in _SEALED}, ensure_ascii=False, separators=(",", ":")).encode()


def seal_of(reply: Reply, secret: str) -> str:
    """Return the seal of a reply: 64 hexadecimal digits. ``secret`` is the packet's, in hexadecimal digits too."""
    return hmac.new(bytes.fromhex(secret), canonical_reply(reply), hashlib.sha256).hexdigest()


def check_seal(reply: Reply, secret: str) -> str:
    """Return how the seal of a reply stands, one of ``SEALS``."""
    if not reply.seal:
        return "unsealed"
    whole = hmac.compare_digest(seal_of(reply, secret).encode(), reply.seal.lower().encode())
    return "sealed" if whole else "broken"


def read_reply(data: bytes, file: str = "") -> Reply:
    """Return the reply in a TOML or JSON file.

    Raises
    ------
    InputError
        Too large, no text, neither TOML nor JSON, another format, an unknown key, or what ``checked`` refuses.
    """
    if len(data) > MOST_BYTES:
        raise InputError("too large for a reply (200 kB at most); choose reply.toml or reply.json", file=file)
    table = parse(decode(data, file), file)
    for key in table:
        if key not in _KEYS:
            raise UnknownWordError(f"a reply has no key {shown(key)}{nearest(key, _KEYS)}", file=file)
    if table.get("format") != FORMAT:
        raise InputError(
            f"this is no reply: its format must be {FORMAT!r}, got {shown(table.get('format'))}", file=file
        )
    if not table.get("packet"):
        raise InputError("the reply does not say which packet it answers; type it in instead", file=file)
    return checked(**{key: _text(key, value, file) for key, value in table.items()}, file=file)


def checked(*, file: str = "", **told: str) -> Reply:
    """Return a reply whose fields were checked and cleaned.

    Raises
    ------
    InputError
        Expert or name is missing, a word is none of those that there are, or a text is too long.
    """
    clean = {key: _clean(value) for key, value in told.items()}
    for key, sentence in (
        ("expert", "the reply does not say who answers; fill in expert"),
        ("name", "the reply gives no name; where none can be given, write 'not named'"),
    ):
        if not clean.get(key):
            raise InputError(sentence, file=file)
    for key, value in clean.items():
        most = LONGEST.get(key, _LONGEST_LINE)
        if len(value) > most:
            raise InputError(f"{key} may have {most} characters; shorten it", file=file)
    for key, words in (("certainty", ("", *CERTAINTIES)), ("rests_on", RESTS_ON)):
        if key in clean and clean[key] not in words:
            raise UnknownWordError(
                f"{key} is one of {', '.join(w for w in words if w)}, got {shown(clean[key])}", file=file
            )
    return Reply(**clean)


def reply_form(packet_id: str, question: str) -> str:
    """Return the blank ``reply.toml`` of a packet, explained line by line."""
    asked = "".join(f"#   {line}\n" for line in _clean(question).splitlines())
    return f"""\
# Your answer to this packet. Fill in between the quotation marks, save the file and send it back.
# What follows a # is explanation. The form at the end of packet.html writes the same file, with a seal.
#
# The question was:
{asked}
format = "{FORMAT}"
packet = "{packet_id}"

# Which fruitbodies you answer for: "all", or their letters such as "a, b".
fruitbodies = "all"

# Your name.
expert = ""

# The scientific name you give it, with cf. or aff. if you like. Where none can be given: "not named".
name = ""

# How certain you are: "certain", "likely" or "possible"; leave it empty if you would rather not say.
certainty = ""

# What your answer rests on: "packet" (these pages alone) or "specimen" (you had it in your hand).
rests_on = "packet"

# The day on which you answer, such as "2026-10-04".
written_on = ""

# What you rest it on, what speaks against it, which look you would make next. Several lines are fine.
remarks = \"\"\"
\"\"\"

# Leave this empty. Only the form in packet.html can write it; without it the reply counts as unsealed.
seal = ""
"""


def store_reply(unit: Unit, reasoner: Reasoner, packet_id: str, reply: Reply) -> ExpertReply:
    """Keep a reply to a packet, and the name in it as a stated name of the find.

    Raises
    ------
    InputError
        The packet is unknown, the reply answers another one, or it was kept before.
    """
    packet = unit.get(ExpertPacket, packet_id)
    if reply.packet != packet.id:
        raise InputError(
            f"this reply answers another packet ({shown(reply.packet)}); open the find that packet was made of"
        )
    query = select(ExpertReply).where(ExpertReply.packet_id == packet.id, ExpertReply.deleted_at.is_(None))
    if any(_told(row) == asdict(reply) for row in unit.session.scalars(query)):
        raise InputError("this reply is here already")
    remarks = f"reply to a packet of {packet.created_at[:10]}"
    stated = state_name(unit, reasoner, packet.find_id, reply.name, stated_by=reply.expert, remarks=remarks)
    seal = check_seal(reply, packet.seal)
    row = ExpertReply(
        packet_id=packet.id,
        find_id=packet.find_id,
        expert=reply.expert,
        name=reply.name,
        taxon=stated.taxon,
        certainty=reply.certainty,
        remarks=reply.remarks,
        written_on=reply.written_on,
        sealed=seal == "sealed",
        document={"reply": asdict(reply), "seal_state": seal, "stated_name": stated.id},
    )
    return unit.make(row)


def delete_reply(unit: Unit, reasoner: Reasoner, reply_id: str) -> ExpertReply:
    """Put a reply into the bin, and the stated name that came from it."""
    row = unit.get(ExpertReply, reply_id)
    unit.delete(row)
    stated = unit.session.get(StatedName, str(row.document.get("stated_name", "")))
    if stated is not None:
        unit.delete(stated)
    refresh(unit, reasoner, row.find_id)
    return row


def _told(row: ExpertReply) -> Any:
    return row.document.get("reply")


def _text(key: str, value: Any, file: str) -> str:
    if isinstance(value, (datetime.date, datetime.datetime)):
        return value.isoformat()
    if not isinstance(value, str):
        raise InputError(f"{key} must be a text in quotation marks, got {shown(value)}", file=file)
    return value


def _clean(text: str) -> str:
    """Return a text as it is sealed: form NFC, lines ended by one sign, no blanks around it."""
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")).strip(_BLANKS)
