import defusedxml.ElementTree as safe_xml
import pytest

from trug.drawings.season import season_ring

INITIALS = tuple("JFMAMJJASOND")


def parts(svg: str) -> list[dict[str, str]]:
    return [dict(e.attrib) for e in safe_xml.fromstring(svg).iter() if e.tag.endswith("}path")]


def solids(svg: str) -> list[dict[str, str]]:
    return [p for p in parts(svg) if p.get("fill") == "currentColor"]


def test_main_months_are_solid_and_the_others_thin():
    ring = season_ring(frozenset({9, 10}))

    assert len(solids(ring)) == 2
    assert len(parts(ring)) == 12


def test_january_is_at_the_top_and_april_to_the_right(places_of):
    january, april = (solids(season_ring(frozenset({m})))[0]["d"] for m in (1, 4))

    assert max(y for _, y in places_of(january)) < 30
    assert min(x for x, _ in places_of(april)) > 66


def test_a_season_over_new_year_is_one_piece(places_of):
    joined, alone = season_ring(frozenset({12, 1})), season_ring(frozenset({1, 6}))

    assert places_of(solids(joined)[0]["d"])[0] != places_of(solids(alone)[0]["d"])[0]


def test_a_month_in_both_counts_as_a_main_one():
    assert season_ring(frozenset({5}), frozenset({5})) == season_ring(frozenset({5}))


def test_the_pointer_turns_with_the_month():
    assert len({season_ring(frozenset({9}), today_month=m) for m in range(1, 13)}) == 12


def test_the_label_and_the_initials_are_those_of_the_page():
    root = safe_xml.fromstring(season_ring(frozenset({9}), label="Zeit: <Herbst>", initials=INITIALS))
    said = [e.text for e in root.iter() if e.tag.endswith("}title")]

    assert said == ["Zeit: <Herbst>"]
    assert [e.text for e in root.iter() if e.tag.endswith("}text")] == list(INITIALS)


def test_a_ring_without_a_label_is_hidden_from_a_screen_reader():
    assert safe_xml.fromstring(season_ring(frozenset())).get("aria-hidden") == "true"


@pytest.mark.parametrize("months", [{0}, {13}, {-1}])
def test_a_month_outside_the_year_is_refused(months):
    with pytest.raises(ValueError, match="a month must be 1 to 12"):
        season_ring(frozenset(months))


def test_initials_that_are_not_twelve_are_refused():
    with pytest.raises(ValueError, match="'initials' must be twelve or none, got 3"):
        season_ring(frozenset({1}), initials=("J", "F", "M"))
