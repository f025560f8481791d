"""A spore print gives one look: made when it is read, corrected with it, gone when nothing fell after all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from kept_finds import gather, person

from trug.records.database import Database
from trug.records.documents import looks_of
from trug.records.gatherings import make_print, read_print
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import LookRow


def standing(unit: Unit, find_id: str) -> list[LookRow]:
    looks = [k for k in looks_of(unit.session, find_id) if k.character == "spore_print"]
    corrected = {k.supersedes for k in looks}
    return [k for k in looks if k.id not in corrected]


def test_a_print_that_is_read_gives_one_look_and_a_correction_by_another_person_corrects_that_look(
    opened: Callable[[Path], Database], empty_folder: Path, reasoner: Reasoner
) -> None:
    database = opened(empty_folder)
    with database.writing() as unit:
        ada, bea = person(unit, "Ada Moss"), person(unit, "Bea Fern")
        find, body = gather(unit, reasoner, ada)
    with database.writing(ada.id) as unit:
        laid = make_print(unit, reasoner, body.id, colour=None)
        assert standing(unit, find.id) == []
        read_print(unit, reasoner, laid.id, colour="white", deposit="thick")
        (first,) = standing(unit, find.id)
        assert (first.evidence["states"], first.sure, first.sources) == (["white"], "sure", [laid.id])
    with database.writing(bea.id) as unit:
        read_print(unit, reasoner, laid.id, colour="cream", deposit="thin")
        (second,) = standing(unit, find.id)
        assert (second.evidence["states"], second.sure, second.supersedes) == (["cream"], "unsure", first.id)
        assert second.observer_id == bea.id


def test_a_print_on_which_nothing_fell_after_all_takes_its_look_back(
    opened: Callable[[Path], Database], empty_folder: Path, reasoner: Reasoner
) -> None:
    database = opened(empty_folder)
    with database.writing() as unit:
        ada = person(unit, "Ada Moss")
        find, body = gather(unit, reasoner, ada)
    with database.writing(ada.id) as unit:
        fallen = make_print(unit, reasoner, body.id, colour="white", deposit="thick")
        read_print(unit, reasoner, fallen.id, notes="on glass")
        assert len(standing(unit, find.id)) == 1
        read_print(unit, reasoner, fallen.id, colour=None, deposit="none")
        assert standing(unit, find.id) == []
