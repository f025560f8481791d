"""Whether a fruitbody may go to kitchen or stillroom under a signed name. The one place that decides it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trug.determine.ledger import Ledger
from trug.determine.standing import Standing, fit_of
from trug.treatments.model import Treatment

__all__ = ["Reason", "Release", "release"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a release is refused: a code, the taxon it is about, the looks it is about."""

    code: str
    text: str
    taxon: str = ""
    looks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Release:
    """The verdict for one fruitbody. ``kitchen`` lists conditions that go with a release."""

    fruitbody: str
    name: str
    allowed: bool
    reasons: tuple[Reason, ...]
    kitchen: tuple[str, ...]


def release(standing: Standing, ledger: Ledger, signed: Treatment | None, *, student: bool, covered: bool) -> Release:
    """Return whether a fruitbody may be used under the name that a person signed, and every reason against it.

    Parameters
    ----------
    signed : Treatment or None
        The name that a person signs with the specimen in hand; None where nobody has.
    student : bool
        Whether the determination is a student's.
    covered : bool
        Whether the find comes from a region that the book covers.
    """
    table, observations = standing.table, standing.observations
    reasons: list[Reason] = []

    def refuse(code: str, text: str, taxon: str = "", looks: tuple[str, ...] = ()) -> None:
        reasons.append(Reason(code, text, taxon, looks))

    own = -1
    if signed is None:
        refuse("unsigned", "no person has signed a name with the specimen in hand")
    else:
        own = table.taxon_index.get(signed.code, -1)
        _refuse_name(standing, signed, own, student, refuse)
    for entry in ledger.left_open:
        if entry.taxon == own and entry.harm.level == "conditional":
            continue
        refuse("open", f"{table.names[entry.taxon]} is not ruled out", table.taxa[entry.taxon])
    if student:
        for line in ledger.groups:
            if line.open:
                refuse("group", f"{line.group.label} is not ruled out", line.group.code, line.outside)
    # What holds for the whole find is no look at this fruitbody.
    if not any(o.counts and not table.characters[o.character].of_find for o in observations.used):
        refuse("unexamined", "this fruitbody was not examined singly")
    if not standing.unlisted < table.model.unlisted_limit:
        refuse("unlisted", "it may be a species that is not in this book")
    if observations.conflicts:
        looks = tuple(sorted({x for pair in observations.conflicts for x in pair}))
        refuse("conflict", "looks contradict each other", looks=looks)
    if observations.spoiled:
        refuse("spoiled", f"the fruitbody is {', '.join(observations.spoiled)}")
    if not covered:
        refuse("region", "the find does not come from a region that this book covers, or none was given")
    kitchen: tuple[str, ...] = ()
    if signed is not None and not reasons:
        uses = signed.use.conditions if signed.use else ()
        harm = (signed.harm.condition,) if signed.harm and signed.harm.condition else ()
        kitchen = tuple(dict.fromkeys((*harm, *uses)))
    return Release(observations.fruitbody, signed.code if signed else "", not reasons, tuple(reasons), kitchen)


def _refuse_name(standing: Standing, signed: Treatment, own: int, student: bool, refuse: Callable[..., None]) -> None:
    """Add the reasons that lie in the signed name itself."""
    if own < 0 or signed.rank == "group":
        refuse("not-a-name", f"{signed.name} is not a name that can be signed", signed.code)
        return
    if signed.use is None:
        refuse("not-used", f"{signed.name} is not coded as eaten or used", signed.code)
    if signed.harm is not None and signed.harm.level != "conditional":
        refuse("harmful", f"{signed.name} is harmful ({signed.harm.level})", signed.code)
    genus = signed.code.split("-")[0]
    warned = any(genus in g.genera for g in standing.table.warned)
    if student and (warned or (signed.harm is not None and signed.harm.beginners)):
        refuse("beginners", "the trade warns beginners off this group", signed.code)
    if own != standing.leading:
        refuse("not-leading", f"the looks fit {standing.table.names[standing.leading]} better", signed.code)
    fit = fit_of(standing.table, standing.observations, standing.rows, own)
    if fit.poor or not np.isfinite(fit.surprise):
        refuse("poor-fit", f"the looks fit {signed.name} poorly", signed.code, fit.misfits)
    if fit.excluded:
        refuse(
            "contradicted",
            f"the account of {signed.name} excludes what was seen: look again",
            signed.code,
            fit.excluded,
        )
    known = standing.observations.stage_known
    if signed.use is not None and known is not None and signed.use.stages and known not in signed.use.stages:
        refuse("stage", f"{signed.name} is not picked at stage {known}", signed.code)
