"""The page inside a packet for an expert: one file that opens anywhere, without a network."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import msgspec

from trug.characters import Vocabulary
from trug.determine.find import Find, Look
from trug.records.packets import Content
from trug.records.replies import CERTAINTIES, FORMAT, RESTS_ON
from trug.web.language import gettext as _
from trug.web.rendering import environment
from trug.web.telling import DEPOSIT_WORDS, METHOD_WORDS, PAPER_WORDS, PART_WORDS, ROLE_WORDS, stage_words, told
from trug.web.words import N_, SURE_WORDS

__all__ = ["CERTAINTY_WORDS", "RESTS_WORDS", "LookTold", "packet_html", "spore_notation"]

CERTAINTY_WORDS = {"certain": N_("certain"), "likely": N_("likely"), "possible": N_("possible")}
RESTS_WORDS = {"packet": N_("the packet alone"), "specimen": N_("the specimen in hand")}
#: Spore looks that stand together in the trade's notation.
_SPORE_SIZES = (("spore_length", "", ""), ("spore_width", " × ", ""), ("spore_q", "; ", "Q = "))


@dataclass(frozen=True, slots=True)
class LookTold:
    """A look as the packet tells it."""

    label: str
    character: str
    states: tuple[str, ...]
    words: str
    sure: str
    method: str
    observer: str
    blind: bool


def packet_html(content: Content, secret: str, vocabulary: Vocabulary) -> str:
    """Return the page of a packet: one file that opens anywhere, without a network."""
    find = content.find
    looks = {body: _looks(find, body, content, vocabulary) for body in (None, *(b.id for b in find.fruitbodies))}
    return (
        environment()
        .get_template("expert_packet.html")
        .render(
            content=content,
            secret=secret,
            format=FORMAT,
            looks=looks,
            spores={b.id: spore_notation(find.looks, b.id) for b in find.fruitbodies},
            stages={b.id: stage_words(b.stage) for b in find.fruitbodies},
            conditions={b.id: [_(vocabulary.conditions[c].label) for c in b.condition] for b in find.fruitbodies},
            print_colours={c.code: _(c.label) for c in vocabulary.characters["spore_print"].states},
            part_words=PART_WORDS,
            method_words=METHOD_WORDS,
            sure_words=SURE_WORDS,
            role_words=ROLE_WORDS,
            paper_words=PAPER_WORDS,
            deposit_words=DEPOSIT_WORDS,
            certainties={c: CERTAINTY_WORDS[c] for c in CERTAINTIES},
            rests={c: RESTS_WORDS[c] for c in RESTS_ON},
            practices={o.id: o.practice for o in find.observers},
            region=_region(find, vocabulary),
        )
    )


def _region(find: Find, vocabulary: Vocabulary) -> str:
    known = vocabulary.characters["region"]
    return _(known.state(find.region).label) if find.region in known.codes else ""


def _looks(find: Find, body: str | None, content: Content, vocabulary: Vocabulary) -> dict[str, list[LookTold]]:
    """Return the looks of a fruitbody, or of the find as a whole, by part, those that were corrected left out."""
    replaced = {k.supersedes for k in find.looks if k.supersedes}
    blind = set(content.find.extra.get("blind", ()))
    order = {code: n for n, code in enumerate(vocabulary.characters)}
    mine = [k for k in find.looks if k.fruitbody == body and k.id not in replaced and k.character in order]
    parts: dict[str, list[LookTold]] = {}
    for look in sorted(mine, key=lambda k: order[k.character]):
        character = vocabulary.characters[look.character]
        evidence: dict[str, Any] = msgspec.to_builtins(look.evidence)
        line = LookTold(
            _(character.label),
            look.character,
            look.evidence.states or (),
            _("could not be seen") if look.evidence.not_seen else told(evidence, character),
            look.sure,
            look.method,
            look.observer or "",
            look.id in blind,
        )
        parts.setdefault(character.part, []).append(line)
    return parts


def spore_notation(looks: tuple[Look, ...], body: str) -> str:
    """Return spore sizes as the trade writes them: length × width µm; Q; how many were measured.

    Of a sample the 5th and 95th percentile where they were told, else mean ± deviation. Empty without any.
    """
    replaced = {k.supersedes for k in looks if k.supersedes}
    mine = {k.character: k.evidence for k in looks if k.fruitbody == body and k.id not in replaced}
    text, most = "", 0
    for code, between, before in _SPORE_SIZES:
        evidence = mine.get(code)
        if evidence is None or (evidence.sample is None and evidence.measurement is None):
            continue
        figure = ""
        if (s := evidence.sample) is not None:
            ends = s.p5 is not None and s.p95 is not None
            figure = f"{s.p5:g}–{s.p95:g} (mean {s.mean:g})" if ends else f"{s.mean:g} ± {s.sd:g}"
            most = max(most, s.n)
        elif (size := evidence.measurement) is not None:
            figure = f"{size.value:g}" + (f" ± {size.deviation:g}" if size.deviation else "")
        unit = "" if code == "spore_q" else " µm"
        text += (between if text else "") + before + figure + unit
    return text + (f"; n = {most}" if most else "")
