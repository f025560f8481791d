"""Every reason for which a fruitbody is held back from kitchen and stillroom."""

from __future__ import annotations

import pytest
from builders import ALL_Y, FEATURES, World, feature, find_of, look, never_y, says, treatment

from trug.determine.find import Find, Fruitbody
from trug.determine.ledger import keep_ledger
from trug.determine.release import Release, release
from trug.treatments.model import Group, Harm, Use


def verdict(
    world: World,
    find: Find,
    signed: str | None = "bonus-primus",
    *,
    student: bool = False,
    covered: bool = True,
    unlisted: float | None = None,
) -> Release:
    """Return the verdict on the first fruitbody under a signed name."""
    standing = world.stand(find, unlisted)
    name = world.book.treatments[signed] if signed else None
    return release(standing, keep_ledger(standing), name, student=student, covered=covered)


def codes(result: Release) -> list[str]:
    """Return the codes of all reasons."""
    return [r.code for r in result.reasons]


@pytest.fixture(scope="module")
def world() -> World:
    return World(good={"use": Use("food", ("young", "prime"), ("cook it through",), "study")})


def test_a_signed_name_with_everything_ruled_out_is_released(world: World) -> None:
    """With every condition met the verdict allows it and lists what the kitchen must do."""
    result = verdict(world, find_of(ALL_Y))
    assert (result.allowed, result.reasons) == (True, ())
    assert (result.name, result.fruitbody, result.kitchen) == ("bonus-primus", "f1", ("cook it through",))


def test_nothing_is_released_unsigned(world: World) -> None:
    """Without a person's name on it there is no release."""
    result = verdict(world, find_of(ALL_Y), None)
    assert codes(result) == ["unsigned"]
    assert (result.allowed, result.name, result.kitchen) == (False, "", ())


def test_an_open_harmful_taxon_holds_it_back(world: World) -> None:
    """Each open entry is a reason that names its taxon."""
    result = verdict(world, find_of(dict.fromkeys("bcde", "y")))
    assert result.allowed
    result = verdict(world, find_of(dict.fromkeys("cde", "y")))
    assert [(r.code, r.taxon) for r in result.reasons] == [("open", "malus-primus")]


def test_a_stranger_holds_it_back(world: World) -> None:
    """A likely stranger is a reason of its own, beside the entries that it keeps open."""
    assert codes(verdict(world, find_of(ALL_Y), unlisted=0.5)) == ["open", "unlisted"]


def test_a_fruitbody_not_examined_singly_is_held_back(world: World) -> None:
    """No look, no release, whatever its neighbours showed."""
    result = verdict(world, find_of([]))
    assert "unexamined" in codes(result)
    assert "unexamined" not in codes(verdict(world, find_of({"a": "y"})))


def test_conflicting_looks_hold_it_back(world: World) -> None:
    """An unresolved conflict is a reason that names both looks."""
    looks = [*(look(c, "y") for c in FEATURES), look("e", "x", id="look-e2")]
    result = verdict(world, find_of(looks), unlisted=0.01)
    assert [(r.code, r.looks) for r in result.reasons] == [("conflict", ("look-e", "look-e2"))]


@pytest.mark.parametrize(("condition", "expected"), [("mouldy", ["spoiled"]), ("nibbled", [])])
def test_a_spoiled_fruitbody_is_held_back(world: World, condition: str, expected: list[str]) -> None:
    """A condition that spoils a good species holds it back; another does not."""
    body = Fruitbody("f1", "prime", (condition,))
    assert codes(verdict(world, find_of(ALL_Y, fruitbodies=(body,)))) == expected


def test_outside_the_regions_of_the_book_nothing_is_released(world: World) -> None:
    """The list of harmful species holds only where the book covers the region."""
    assert codes(verdict(world, find_of(ALL_Y), covered=False)) == ["region"]


def test_a_name_must_be_coded_as_used(world: World) -> None:
    """A name without a use cannot be released."""
    silent = World(good={"use": None})
    assert codes(verdict(silent, find_of(ALL_Y))) == ["not-used"]


@pytest.mark.parametrize("level", ["kills", "organ", "gut"])
def test_a_harmful_name_is_held_back(level: str) -> None:
    """A name that is itself harmful is never released, even where it is also coded as eaten."""
    world = World(good={"harm": Harm(level, "invented", None, "study")})
    result = verdict(world, find_of(ALL_Y))
    assert {"harmful", "open"} <= set(codes(result))
    assert not result.allowed


def test_a_conditional_harm_becomes_a_condition_of_the_kitchen() -> None:
    """Harm of level conditional does not hold its own name back; it is told to the kitchen, once."""
    harm = Harm("conditional", "invented", None, "study", condition="no alcohol for three days")
    use = Use("food", (), ("cook it through", "no alcohol for three days"), "study")
    result = verdict(World(good={"harm": harm, "use": use}), find_of(ALL_Y))
    assert result.allowed
    assert result.kitchen == ("no alcohol for three days", "cook it through")


def test_another_conditional_harm_still_open_holds_it_back() -> None:
    """Only the signed name's own conditional harm is excused."""
    other = treatment("malus-levis", [says(c, {"y": "always"}) for c in FEATURES], harm="conditional")
    result = verdict(World(more=[other]), find_of(ALL_Y))
    assert ("open", "malus-levis") in [(r.code, r.taxon) for r in result.reasons]


def test_a_whole_group_is_no_name() -> None:
    """A group cannot be signed for."""
    group = treatment("bonus-grex", [says(c, {"y": "always"}) for c in FEATURES], rank="group")
    result = verdict(World(more=[group]), find_of(ALL_Y), "bonus-grex")
    assert codes(result) == ["not-a-name"]


def test_a_name_of_another_book_is_no_name(world: World) -> None:
    """A treatment that the table does not hold cannot be signed for."""
    standing = world.stand(find_of(ALL_Y))
    stranger = treatment("alius-primus", [])
    assert codes(release(standing, keep_ledger(standing), stranger, student=False, covered=True)) == ["not-a-name"]


def test_the_signed_name_must_lead(world: World) -> None:
    """Where the looks fit another name better, the signed one is held back."""
    result = verdict(world, find_of(ALL_Y), "bonus-secundus")
    assert codes(result) == ["not-leading", "poor-fit"]


def test_a_poor_fit_is_held_back_even_when_it_leads() -> None:
    """Many misfits hold back the best name there is, and are named."""
    records = [says(c, {"y": "always"}) for c in (*FEATURES, *"fghijk")]
    odd = World(
        [never_y(c) for c in FEATURES],
        characters={c: feature(c) for c in "fghijk"},
        more=[treatment("bonus-tertius", records)],
    )
    seen = {**ALL_Y, **dict.fromkeys("fghi", "x")}
    result = verdict(odd, find_of(seen), "bonus-tertius")
    assert "poor-fit" in codes(result)
    reason = next(r for r in result.reasons if r.code == "poor-fit")
    assert reason.looks == tuple(f"look-{c}" for c in "fghi")
    assert "poor-fit" not in codes(verdict(odd, find_of(ALL_Y), "bonus-tertius"))


def test_an_account_that_excludes_what_was_seen_holds_it_back() -> None:
    """One look that the signed name's own account excludes is a reason that names it; an unsure one is not."""
    records = [*(says(c, {"y": "always"}) for c in "abcd"), never_y("e", source="from-memory")]
    world = World(more=[treatment("bonus-tertius", records)])
    result = verdict(world, find_of(ALL_Y), "bonus-tertius")
    assert [r.looks for r in result.reasons if r.code == "contradicted"] == [("look-e",)]
    doubtful = [look(c, "y", sure="unsure" if c == "e" else "sure") for c in FEATURES]
    assert "contradicted" not in codes(verdict(world, find_of(doubtful), "bonus-tertius"))
    assert "contradicted" not in codes(verdict(world, find_of(ALL_Y)))


@pytest.mark.parametrize(("stage", "expected"), [("prime", []), ("past", ["stage"])])
def test_a_stage_that_is_not_picked_is_held_back(world: World, stage: str, expected: list[str]) -> None:
    """What is told as past its picking stage is held back."""
    assert codes(verdict(world, find_of(ALL_Y, fruitbodies=(Fruitbody("f1", stage),)))) == expected


def test_a_student_is_held_back_where_the_trade_warns_beginners() -> None:
    """In a warned genus or species a student's determination is never released; a practised one's may be."""
    group = Group("good-ones", "any good one", "kills", ("bonus",), {"a": ("x",)})
    world = World(book={"groups": (group,)})
    assert codes(verdict(world, find_of(ALL_Y), student=True)) == ["beginners"]
    assert codes(verdict(world, find_of(ALL_Y))) == []
    harm = Harm("conditional", "invented", None, "study", condition="cook it through", beginners=True)
    species = World(good={"harm": harm})
    assert codes(verdict(species, find_of(ALL_Y), student=True)) == ["beginners"]


def test_an_open_group_holds_a_student_back() -> None:
    """A student must also have ruled out each warned group by a firm look."""
    group = Group("bad-ones", "any bad one", "kills", ("malus",), {"c": ("x",)})
    world = World(book={"groups": (group,)})
    held = verdict(world, find_of(ALL_Y), student=True)
    assert [(r.code, r.taxon) for r in held.reasons] == [("group", "bad-ones")]
    assert verdict(world, find_of(ALL_Y)).allowed


def test_all_reasons_are_given_at_once(world: World) -> None:
    """A refusal lists everything that stands against it, not just the first."""
    body = Fruitbody("f1", "past", ("mouldy",))
    result = verdict(world, find_of({"a": "y"}, fruitbodies=(body,)), covered=False)
    assert {"stage", "open", "spoiled", "region"} <= set(codes(result))
    assert result.kitchen == ()
    assert all(r.text for r in result.reasons)
