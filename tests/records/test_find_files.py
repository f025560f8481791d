"""Find documents as people and programs write them, and everything that can be wrong with one."""

from __future__ import annotations

import datetime
import json
import math
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trug.characters import Vocabulary, load_vocabulary
from trug.determine.find import Evidence, Find, Look, Measurement
from trug.determine.trees import rank_trees
from trug.errors import ImplausibleError, InputError, UnknownWordError, UnreadableError
from trug.records import ReadFind, read_find, read_find_text
from trug.records.find_files import parse_answer

TODAY = datetime.date(2026, 11, 25)
DEMO = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")
PLAIN = """\
date = 2026-10-04
region = "europe-north"

[[fruitbodies]]
id = "a"
stage = "prime"
condition = ["frosted"]

[fruitbodies.seen]
cap_colour = "tan"
"""


def read(text: str) -> ReadFind:
    return read_find_text(text, load_vocabulary(), TODAY, file="walk.toml")


def read_json(document: Any) -> ReadFind:
    return read(json.dumps(document))


def seen(**said: Any) -> dict[str, Look]:
    """Return the looks that short forms on one fruitbody mean, by character."""
    document = {"date": "2026-10-04", "region": "europe-north", "fruitbodies": [{"id": "a", "seen": said}]}
    return {look.character: look for look in read_json(document).find.looks}


def with_looks(*looks: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a document with looks in their long form on the fruitbodies a and b."""
    return {
        "date": "2026-10-04",
        "region": "europe-north",
        "fruitbodies": [{"id": "a"}, {"id": "b"}],
        "looks": [{"fruitbody": "a", "evidence": "white", "character": "spore_print", **look} for look in looks],
        **more,
    }


def refusal(document: Any, kind: type[InputError] = InputError) -> InputError:
    with pytest.raises(kind) as caught:
        read(document) if isinstance(document, str) else read_json(document)
    return caught.value


# Wrong words


@pytest.mark.parametrize(
    ("right", "wrong", "line", "word", "near"),
    [
        ("cap_colour", "cap_color", 10, "cap_color", "cap_colour"),
        ('"tan"', '"tann"', 10, "tann", "tan"),
        ('"tan"', '["white", "tann"]', 10, "tann", "tan"),
        ('"tan"', '{ states = ["tann"] }', 10, "tann", "tan"),
        ('"tan"', "{ distribution = { tann = 1 } }", 10, "tann", "tan"),
        ('"tan"', '{ states = ["tan"], metod = "eye" }', 10, "metod", "method"),
        ("europe-north", "europe-norht", 2, "europe-norht", "europe-north"),
        ("prime", "prim", 6, "prim", "prime"),
        ("frosted", "frostd", 7, "frostd", "frosted"),
    ],
)
def test_an_unknown_word_gives_file_line_word_and_the_nearest(
    right: str, wrong: str, line: int, word: str, near: str
) -> None:
    assert right in PLAIN
    error = refusal(PLAIN.replace(right, wrong))
    assert (error.file, error.line) == ("walk.toml", line)
    assert str(error).startswith(f"walk.toml:{line}: ")
    assert f"'{word}'" in error.message
    assert f"did you mean '{near}'" in error.message


def test_the_line_of_a_wrong_word_is_that_of_its_own_fruitbody() -> None:
    """The demonstration has inline tables and three fruitbodies with the same characters."""
    lines = DEMO.splitlines()
    at = [n for n, text in enumerate(lines) if text.startswith("cap_width")]
    assert len(at) == 3
    for n in at:
        changed = "\n".join([*lines[:n], "cap_width = '40 m'", *lines[n + 1 :]])
        assert refusal(changed, ImplausibleError).line == n + 1


def test_an_unknown_word_in_json_gives_its_line() -> None:
    document = with_looks({"id": "x"}, {"id": "y", "character": "cap_colour", "evidence": ["tann"]})
    text = json.dumps(document, indent=1)
    error = refusal(text, UnknownWordError)
    assert error.line is not None
    assert "tann" in text.splitlines()[error.line - 1]


def test_place_and_date_are_told_at_the_top_and_are_no_looks() -> None:
    for code, told in (("season", "the date"), ("region", "region ="), ("altitude", "altitude_m")):
        assert told in refusal(PLAIN.replace("cap_colour", code)).message


# Sizes


@pytest.mark.parametrize(
    "size",
    ["40 m", "0 mm", "'9'*400", 1e300, 10**30, -3, 0, {"value": -3}, {"measurement": {"value": 1e9}}]
    + [{"sample": {"n": 3, "mean": 40000, "sd": 1}}, "1" * 400 + " mm"],
)
def test_a_size_that_no_cap_has_is_refused(size: Any) -> None:
    with pytest.raises(InputError, match=r"plausible|no size|is a number"):
        seen(cap_width=size)


def test_a_cap_of_forty_metres_is_not_plausible() -> None:
    error = refusal(PLAIN.replace('cap_colour = "tan"', 'cap_width = "40 m"'), ImplausibleError)
    assert error.line == 10
    assert "40000 mm" in error.message
    assert "check the unit" in error.message


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, 10**400, True, None, [40]])
@pytest.mark.parametrize("form", ["{}", "value", "measurement", "deviation", "mean", "sd", "p5"])
def test_what_is_no_finite_number_is_no_size(number: Any, form: str) -> None:
    size: Any = {
        "{}": number,
        "value": {"value": number},
        "measurement": {"measurement": {"value": number}},
        "deviation": {"value": 40, "deviation": number},
        "mean": {"sample": {"n": 3, "mean": number, "sd": 1}},
        "sd": {"sample": {"n": 3, "mean": 40, "sd": number}},
        "p5": {"sample": {"n": 3, "mean": 40, "sd": 1, "p5": [] if number is None else number}},
    }[form]
    with pytest.raises(InputError):
        seen(cap_width=size)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
def test_not_a_number_is_refused_in_toml(number: str) -> None:
    assert refusal(PLAIN.replace('"tan"', f"1\ncap_width = {number}").replace("cap_colour = 1\n", "")).line == 10


@pytest.mark.parametrize(
    "size",
    [
        {"value": 40, "deviation": -1},
        {"value": 40, "deviation": 1e-300},
        {"sample": {"n": 0, "mean": 40, "sd": 1}},
        {"sample": {"n": 2.5, "mean": 40, "sd": 1}},
        {"sample": {"n": 10**30, "mean": 40, "sd": 1}},
        {"sample": {"n": 20, "mean": 40, "sd": 1, "p5": 50, "p95": 30}},
    ],
)
def test_a_deviation_or_sample_that_cannot_be_is_refused(size: Any) -> None:
    with pytest.raises(InputError):
        seen(cap_width=size)


@pytest.mark.parametrize(
    ("character", "size", "value"),
    [
        ("cap_width", 48, 48.0),
        ("cap_width", "48", 48.0),
        ("cap_width", "48 mm", 48.0),
        ("cap_width", "4,8 cm", 48.0),
        ("cap_width", " 4.8cm ", 48.0),
        ("cap_width", "0.1 m", 100.0),
        ("spore_length", "8.4 µm", 8.4),
        ("spore_length", "8.4 μm", 8.4),
        ("spore_length", "8.4 um", 8.4),
        ("spore_q", 1.6, 1.6),
    ],
)
def test_sizes_are_read_with_their_unit(character: str, size: Any, value: float) -> None:
    assert seen(**{character: size})[character].evidence == Evidence(measurement=Measurement(pytest.approx(value)))


@pytest.mark.parametrize(
    ("character", "size"),
    [("cap_width", "48 um"), ("spore_length", "8 mm"), ("spore_q", "1.6 mm"), ("cap_width", "wide")],
)
def test_a_size_in_a_strange_unit_is_refused(character: str, size: str) -> None:
    with pytest.raises(InputError, match=character):
        seen(**{character: size})


# Empty, unreadable, impossible


@pytest.mark.parametrize("text", ["", "   \n\t\n"])
def test_an_empty_file_is_told(text: str) -> None:
    assert "the file is empty" in refusal(text, ImplausibleError).message


@pytest.mark.parametrize(
    "document",
    [
        {"date": "2026-10-04"},
        {"date": "2026-10-04", "fruitbodies": []},
        {"date": "2026-10-04", "fruitbodies": [{"id": "a"}]},
        {"date": "2026-10-04", "fruitbodies": [{"id": "a", "seen": {}}], "looks": []},
    ],
)
def test_an_empty_find_is_told(document: dict[str, Any]) -> None:
    assert "the find is empty" in refusal(document, ImplausibleError).message


def test_a_file_of_comments_lacks_its_date() -> None:
    assert "date of the find is missing" in refusal("# nothing yet\n").message


@pytest.mark.parametrize("data", [bytes(range(256)), b"\x80\x81", b"date = 2026-10-04\x00"])
def test_a_file_that_is_no_text_is_refused(tmp_path: Path, vocabulary: Vocabulary, data: bytes) -> None:
    file = tmp_path / "photo.jpg"
    file.write_bytes(data)
    with pytest.raises(UnreadableError, match="not a text file"):
        read_find(file, vocabulary, TODAY)


def test_a_folder_and_a_missing_file_are_refused(tmp_path: Path, vocabulary: Vocabulary) -> None:
    for path in (tmp_path, tmp_path / "none.toml"):
        with pytest.raises(UnreadableError) as caught:
            read_find(path, vocabulary, TODAY)
        assert caught.value.file == str(path)


def test_a_syntax_error_is_told_with_its_line() -> None:
    assert refusal(PLAIN.replace('"prime"', '"prime'), UnreadableError).line == 6
    assert refusal('{"date": "2026-10-04",\n"looks": [}', UnreadableError).line == 2


def test_json_nested_a_hundred_thousand_deep_is_refused() -> None:
    deep = "[" * 100_000 + "]" * 100_000
    assert (
        "nested too deeply" in refusal(f'{{"date": "2026-10-04", "extra": {{"x": {deep}}}}}', UnreadableError).message
    )


@pytest.mark.parametrize(
    ("date", "kind", "message"),
    [
        ("2026-11-26", ImplausibleError, "lies in the future (today is 2026-11-25)"),
        ("9999-12-31", ImplausibleError, "lies in the future"),
        ("1066-10-14", ImplausibleError, "too long ago"),
        ("2026-02-30", InputError, "is no date"),
        ("4 October", InputError, "is no date"),
        (20.5, InputError, "is no date"),
        ([], InputError, "is no date"),
    ],
)
def test_a_date_that_cannot_be_is_refused(date: Any, kind: type[InputError], message: str) -> None:
    document = {"fruitbodies": [{"id": "a", "seen": {"ring": "absent"}}], "date": date}
    assert message in refusal(document, kind).message


def test_the_day_itself_and_a_time_of_day_are_dates() -> None:
    assert read(PLAIN.replace("2026-10-04", "2026-11-25")).find.date == "2026-11-25"
    assert read(PLAIN.replace("2026-10-04", "2026-10-04T17:30:00")).find.day() == datetime.date(2026, 10, 4)


def test_a_format_of_another_version_is_refused() -> None:
    assert "trug.find/1" in refusal('format = "trug.find/2"\n' + PLAIN).message


@pytest.mark.parametrize(
    "place",
    [{"lat": 91, "lon": 0}, {"lat": 0, "lon": -181}, {"lat": math.nan, "lon": 0}, {"lat": 10**400, "lon": 0}]
    + [{"lat": 1, "lon": 1, "uncertainty_m": -5}, {"lat": 1, "lon": 1, "altitude_m": math.inf}, {"lat": 1}, "park"],
)
def test_a_place_off_the_globe_is_refused(place: Any) -> None:
    assert "place" in refusal(with_looks({}, place=place)).message


@pytest.mark.parametrize(
    "stage", [{"prime": -1}, {"prime": 0}, {"prime": math.nan}, {"prime": math.inf}, {"ripe": 1}, 5]
)
def test_a_stage_that_cannot_be_is_refused(stage: Any) -> None:
    document = with_looks({})
    document["fruitbodies"][1]["stage"] = stage
    assert "stage" in refusal(document).message


# Looks


@pytest.mark.parametrize(
    "evidence",
    [
        {"states": ["white"], "not_seen": "dark"},
        {"states": ["white"], "distribution": {"white": 1}},
        {"states": None},
        {"measurement": {"value": 3}},
        {"colour": {"lab": [50, 0, 0]}},
        {"states": []},
        {"distribution": {}},
        {"distribution": {"white": -1}},
        {"distribution": {"white": 0}},
        {"distribution": {"white": math.inf}},
        {"distribution": {"white": math.nan}},
        {"distribution": {"white": "1"}},
        {"distribution": [1]},
        {"states": [["white"]]},
        3,
        True,
        {},
    ],
)
def test_evidence_is_exactly_one_form_that_suits_its_character(evidence: Any) -> None:
    refusal(with_looks({"evidence": evidence}))


@pytest.mark.parametrize("lab", [[math.nan, 0, 0], [1e308, 0, 0], [50, 0], ["50", 0, 0], None])
def test_a_colour_out_of_its_space_is_refused(lab: Any) -> None:
    refusal(with_looks({"character": "cap_colour", "evidence": {"colour": {"lab": lab}}}))


def test_a_look_without_evidence_is_refused() -> None:
    document = with_looks({})
    del document["looks"][0]["evidence"]
    assert "needs evidence" in refusal(document).message


def test_a_look_at_an_unknown_fruitbody_is_refused() -> None:
    text = json.dumps(with_looks({"fruitbody": "bb"}), indent=1)
    error = refusal(text)
    assert "unknown fruitbody 'bb'; did you mean 'b'?" in error.message
    assert '"bb"' in text.splitlines()[(error.line or 0) - 1]


@pytest.mark.parametrize("character", ["spore_print", "base_dug"])
def test_a_look_or_procedure_of_a_fruitbody_is_never_pooled(character: str) -> None:
    """The whole base of one fruitbody says nothing of the base of another."""
    state = load_vocabulary().characters[character].codes[0]
    document = with_looks({"character": character, "evidence": state, "fruitbody": None})
    assert "belongs to one fruitbody" in refusal(document).message


def test_two_things_with_one_id_are_refused() -> None:
    assert "two looks have the id 'x'" in refusal(with_looks({"id": "x"}, {"id": "x"})).message
    twice = with_looks({}, fruitbodies=[{"id": "a"}, {"id": "a"}])
    assert "two fruitbodies have the id 'a'" in refusal(twice).message
    people = with_looks({}, observers=[{"id": "ann"}, {"id": "ann"}])
    assert "two observers have the id 'ann'" in refusal(people).message


def test_a_correction_must_lead_to_another_look_of_the_same_feature() -> None:
    assert "unknown look 'y'" in refusal(with_looks({"id": "x", "supersedes": "y"})).message
    assert "itself" in refusal(with_looks({"id": "x", "supersedes": "x"})).message
    circle = with_looks({"id": "x", "supersedes": "y"}, {"id": "y", "supersedes": "x"})
    assert "itself" in refusal(circle).message
    other = with_looks({"id": "x"}, {"id": "y", "character": "ring", "evidence": "absent", "supersedes": "x"})
    assert "another feature or fruitbody" in refusal(other).message
    elsewhere = with_looks({"id": "x"}, {"id": "y", "fruitbody": "b", "supersedes": "x"})
    assert "another feature or fruitbody" in refusal(elsewhere).message
    assert read_json(with_looks({"id": "x"}, {"id": "y", "supersedes": "x"})).find.looks[1].supersedes == "x"


def test_an_observer_who_is_not_described_is_refused_where_others_are() -> None:
    """A profile that is missed by a slip of the pen would leave a student's looks at full weight."""
    people = [{"id": "ann", "practice": "student"}]
    error = refusal(with_looks({"observer": "anne"}, observers=people), UnknownWordError)
    assert "unknown observer 'anne'; did you mean 'ann'?" in error.message
    assert "unknown observer" in refusal(with_looks({}, observers=people, determiner="bob")).message
    assert read_json(with_looks({"observer": "ann"})).find.looks[0].observer == "ann"


@pytest.mark.parametrize(
    "change",
    [
        {"looks": [1]},
        {"looks": None},
        {"looks": {"a": 1}},
        {"fruitbodies": "a"},
        {"fruitbodies": [None]},
        {"observers": [1]},
        {"observers": [{"id": "x", "practice": "master"}]},
        {"photos": {}},
        {"photos": [{"role": "cap"}]},
        {"extra": []},
        {"seen": ["tan"]},
        {"id": 5},
        {"notes": 1},
        {"region": []},
        {"fruitbodies": [{"id": "a", "seen": 3}]},
        {"fruitbodies": [{"id": "a", "condition": "frosted"}]},
    ],
)
def test_a_value_of_the_wrong_kind_is_refused(change: dict[str, Any]) -> None:
    refusal({**with_looks({}), **change})


def test_a_wrong_kind_names_the_place_as_it_was_written() -> None:
    error = refusal(PLAIN.replace('"tan"', '{ states = ["tan"], sure = "very" }'))
    assert error.line == 10
    assert error.message.startswith("fruitbodies.0.seen.cap_colour.sure: ")


# What is kept


def test_unknown_keys_are_kept_and_warned_of() -> None:
    text = (
        'wether = "wet"\n'
        + PLAIN.replace('stage = "prime"', 'stage = "prime"\ncolour_chip = 7')
        + "\n[place]\nlat = 1\nlon = 2\nplot = 9\n"
    )
    found = read(text)
    assert found.find.extra == {"wether": "wet", "fruitbodies.0.colour_chip": 7, "place.plot": 9}
    assert [w.split(": ")[0] for w in found.warnings] == ["walk.toml:1", "walk.toml:8", "walk.toml:17"]
    assert all("is kept but not used" in w for w in found.warnings)


def test_unknown_keys_of_looks_and_their_evidence_are_kept() -> None:
    found = read_json(with_looks({"weight": 1, "evidence": {"states": ["white"], "chip": 2}}, extra={"old": 3}))
    assert found.find.extra == {"old": 3, "looks.0.weight": 1, "looks.0.evidence.chip": 2}


def test_a_misspelt_key_is_told_with_the_right_one() -> None:
    (warning,) = read("determinr = 'ann'\n" + PLAIN).warnings
    assert "did you mean 'determiner'" in warning


def test_a_find_without_region_is_warned_of() -> None:
    (warning,) = read(PLAIN.replace('region = "europe-north"\n', "")).warnings
    assert "nothing can be released" in warning


# Short forms


def test_short_forms_expand_to_full_looks() -> None:
    looks = seen(
        cap_colour="tan",
        stipe_colour=["tan", "brown"],
        cap_width="48 mm",
        ring="absent?",
        smell="?",
        taste="not seen: nobody tastes here",
        volva={"states": ["absent"], "sure": "fairly", "observer": "ann", "sources": ["photo-1"]},
        spore_length={"value": 8.4, "deviation": 0.3, "method": "microscope"},
        spore_print={"evidence": "white", "method": "print"},
    )
    assert looks["cap_colour"] == Look("a.cap_colour", "cap_colour", Evidence(states=("tan",)), "a")
    assert looks["stipe_colour"].evidence == Evidence(states=("tan", "brown"))
    assert looks["cap_width"].evidence == Evidence(measurement=Measurement(48.0))
    assert (looks["ring"].evidence, looks["ring"].sure) == (Evidence(states=("absent",)), "unsure")
    assert looks["smell"].evidence == Evidence(not_seen="do not know")
    assert looks["taste"].evidence == Evidence(not_seen="nobody tastes here")
    assert (looks["volva"].sure, looks["volva"].observer, looks["volva"].sources) == ("fairly", "ann", ("photo-1",))
    assert looks["spore_length"].evidence == Evidence(measurement=Measurement(8.4, 0.3))
    assert (looks["spore_print"].evidence, looks["spore_print"].method) == (Evidence(states=("white",)), "print")


def test_not_seen_without_a_reason_says_so() -> None:
    assert seen(ring="not seen")["ring"].evidence == Evidence(not_seen="no reason given")


def test_a_question_mark_means_unsure_in_long_looks_too() -> None:
    look = read_json(with_looks({"evidence": "white?"})).find.looks[0]
    assert (look.evidence, look.sure) == (Evidence(states=("white",)), "unsure")


def test_ids_are_given_where_none_are_written() -> None:
    document = with_looks({}, fruitbodies=[{}, {"seen": {"ring": "absent"}}])
    find = read_json(document).find
    assert [b.id for b in find.fruitbodies] == ["a", "b"]
    assert [look.id for look in find.looks] == ["look-1", "b.ring"]
    assert find.id == read_json(document).find.id
    assert find.id != read_json({**document, "notes": "another"}).find.id


def test_what_is_seen_of_the_whole_find_belongs_to_no_fruitbody() -> None:
    (look, _) = read('seen.substrate = "stump"\n' + PLAIN).find.looks
    assert (look.id, look.fruitbody) == ("find.substrate", None)


def test_a_date_and_time_of_a_look_becomes_text() -> None:
    text = PLAIN.replace('"tan"', '{ states = ["tan"], time = 2026-10-04T10:00:00 }')
    assert read(text).find.looks[0].time == "2026-10-04T10:00:00"


def test_a_renamed_character_is_read_under_its_new_code(vocabulary: Vocabulary) -> None:
    renamed = Vocabulary(
        vocabulary.characters,
        vocabulary.conditions,
        vocabulary.rho,
        vocabulary.palette,
        vocabulary.trees,
        {"hue": "cap_colour"},
    )
    found = read_find_text(PLAIN.replace("cap_colour", "hue"), renamed, TODAY).find
    assert found.looks[0].character == "cap_colour"


def test_an_answer_means_the_same_as_in_a_file(vocabulary: Vocabulary) -> None:
    assert parse_answer("45 mm", vocabulary.characters["cap_width"]) == Evidence(measurement=Measurement(45.0))
    assert parse_answer("white", vocabulary.characters["spore_print"]) == Evidence(states=("white",))
    with pytest.raises(InputError):
        parse_answer("mauve", vocabulary.characters["spore_print"])


# Trees


def test_bark_and_buds_become_soft_evidence_on_the_tree(vocabulary: Vocabulary) -> None:
    text = 'seen.tree_buds = "opposite"\nseen.tree_bud_look = "black"\n' + PLAIN
    find = read(text).find
    (tree,) = [look for look in find.looks if look.character == "tree"]
    told = dict(rank_trees(vocabulary, {"tree_buds": "opposite", "tree_bud_look": "black"}))
    assert tree.evidence.distribution == pytest.approx(told, abs=1e-6)
    assert sum(tree.evidence.distribution.values()) == pytest.approx(1, abs=1e-4)
    assert tree.fruitbody is None
    assert not any(look.character.startswith("tree_") for look in find.looks)


def test_a_tree_that_was_named_stands_against_its_bark() -> None:
    text = 'seen.tree = "oak"\nseen.tree_buds = "opposite"\n' + PLAIN
    trees = [look for look in read(text).find.looks if look.character == "tree"]
    assert [look.evidence for look in trees] == [Evidence(states=("oak",))]


def test_a_tree_that_nobody_knew_leaves_the_word_to_its_bark() -> None:
    text = 'seen.tree = "not seen: bare"\nseen.tree_buds = "opposite"\n' + PLAIN
    trees = [look for look in read(text).find.looks if look.character == "tree"]
    assert [look.evidence.not_seen is None for look in trees] == [False, True]
    assert len({look.id for look in trees}) == 2


def test_bark_told_by_two_words_is_not_used_and_that_is_said() -> None:
    found = read('seen.tree_bark = ["smooth", "scaly"]\n' + PLAIN)
    assert not any(look.character == "tree" for look in found.find.looks)
    (warning,) = found.warnings
    assert warning.startswith("walk.toml:1: tree_bark is not used")


# Full form


@pytest.mark.parametrize("text", [DEMO, PLAIN])
def test_the_full_form_in_json_reads_as_the_same_find(text: str) -> None:
    find = read(text).find
    again = read(json.dumps(msgspec.to_builtins(find)))
    assert again.find == find
    assert read(msgspec.json.encode(find).decode()).find == find


def test_the_same_document_in_toml_and_json_is_one_find() -> None:
    document = {
        "id": "walk",
        "date": "2026-10-04",
        "region": "europe-north",
        "fruitbodies": [{"id": "a", "stage": "prime", "condition": ["frosted"], "seen": {"cap_colour": "tan"}}],
    }
    assert read_json(document).find == read('id = "walk"\n' + PLAIN).find


def test_the_demonstration_reads_without_a_warning() -> None:
    found = read(DEMO)
    assert found.warnings == ()
    assert isinstance(found.find, Find)
    assert {look.fruitbody for look in found.find.looks} == {None, "a", "b", "c"}


# Anything at all

VOCABULARY = load_vocabulary()
KEYS = sorted(
    {
        *Find.__struct_fields__,
        *Look.__struct_fields__,
        *Evidence.__struct_fields__,
        "value",
        "deviation",
        "n",
        "mean",
        "sd",
    }
    | {"lab", "lat", "lon", "stage", "condition", "cap_width", "cap_colour", "tree_bark", "tools"}
)
WORDS = [
    "2026-10-04",
    "trug.find/1",
    "a",
    "b",
    "white",
    "white?",
    "?",
    "40 m",
    "not seen: dark",
    "prime",
    "[/b]",
    "\ud800",
]
leaves = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.just(10**400)
    | st.floats()
    | st.text(max_size=4)
    | st.sampled_from(WORDS)
)
anything = st.recursive(
    leaves,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=3), inner, max_size=4)
    ),
    max_leaves=10,
)
codes = st.sampled_from(sorted(VOCABULARY.characters))
bodies = st.fixed_dictionaries(
    {},
    optional={
        "id": leaves,
        "stage": anything,
        "condition": anything,
        "seen": st.dictionaries(codes, anything, max_size=3),
    },
)
long_looks = st.fixed_dictionaries(
    {"character": codes, "evidence": anything},
    optional={"fruitbody": st.sampled_from(["a", "b", None]), "supersedes": leaves, "sure": leaves, "id": leaves},
)
documents = st.fixed_dictionaries(
    {"date": st.just("2026-10-04") | leaves, "fruitbodies": st.lists(bodies, min_size=1, max_size=2) | anything},
    optional=dict.fromkeys(("place", "photos", "observers", "extra", "region", "notes", "zz", "format", "id"), anything)
    | {"looks": st.lists(long_looks, max_size=2) | anything, "seen": st.dictionaries(codes, anything, max_size=2)},
)


def raises_input_error_or_reads(text: str) -> None:
    refused = ""
    try:
        looks = read_find_text(text, VOCABULARY, TODAY, file="x").find.looks
    except InputError as error:
        looks, refused = (), str(error)
    assert looks or refused.startswith("x:")


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents)
def test_no_json_raises_anything_but_an_input_error(document: Any) -> None:
    raises_input_error_or_reads(json.dumps(document))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_no_text_raises_anything_but_an_input_error(text: str) -> None:
    raises_input_error_or_reads(text)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(DEMO) - 1), st.sampled_from(["", '"', "[", "]", "{", "=", "\n", "\\", "#", "0", "'''", "é"]))
def test_no_slip_in_a_good_document_raises_anything_but_an_input_error(at: int, slip: str) -> None:
    raises_input_error_or_reads(DEMO[:at] + slip + DEMO[at + 1 :])
