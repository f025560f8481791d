"""A packet of the demonstration to an expert, and the reply to it."""

from __future__ import annotations

import datetime
from dataclasses import replace

from trug.demo.cast import moment
from trug.demo.gathering import Gathered, Season
from trug.demo.scenario import INVENTED
from trug.records.packets import Render, make_packet
from trug.records.replies import Reply, seal_of, store_reply
from trug.records.tables import ExpertReply

__all__ = ["ask_expert"]

_QUESTION = (
    "From bark chips in an orchard. The print is black and the gills were green when fresh. "
    "Which genus would you look in, and what should we look at next?"
)
_REMARKS = (
    "Slimy, black print, gills that run down: that is where I would begin, and no further. "
    "I know nothing quite like it, and would not guess at a species. "
    "Keep the dried piece; look at the spores in water and in ammonia, and lay a second print. "
)


def ask_expert(season: Season, found: Gathered, render: Render) -> ExpertReply:
    """Make a packet of a find, and keep the sealed reply of the expert, five days later."""
    unit, expert = season.unit, season.cast.people["expert"]
    unit.person_id = season.cast.people["teacher"].id
    unit.now = moment(_later(season, found, 2), 20)
    packet = make_packet(
        unit,
        season.database,
        season.reasoner,
        found.row.id,
        render,
        question=f"{_QUESTION} {INVENTED}",
        recipient=expert.name,
    )
    answered = _later(season, found, 7)
    unit.now = moment(answered, 21)
    reply = Reply(
        packet.id,
        expert.name,
        "Gomphidius sp.",
        certainty="possible",
        remarks=_REMARKS + INVENTED,
        written_on=answered.isoformat(),
    )
    return store_reply(unit, season.reasoner, packet.id, replace(reply, seal=seal_of(reply, packet.seal)))


def _later(season: Season, found: Gathered, days: int) -> datetime.date:
    """Return the day some days after a find, yesterday at the latest."""
    one = datetime.timedelta(days=1)
    return min(found.day + days * one, season.today - one)
