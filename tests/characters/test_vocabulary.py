"""The vocabulary of fungi that comes with the program."""

from __future__ import annotations

import copy
import itertools
import re
from collections.abc import Callable
from typing import Any

import pytest

from trug.characters import Vocabulary, loader
from trug.characters.model import KINDS, ROLES, STAGES
from trug.errors import BookError

Broken = Callable[[str, Callable[[dict[str, Any]], None]], Vocabulary]


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> Broken:
    """Load the vocabulary with one of its files changed."""
    read = loader._read

    def load(name: str, change: Callable[[dict[str, Any]], None]) -> Vocabulary:
        def changed(asked: str) -> dict[str, Any]:
            table = copy.deepcopy(read(asked))
            if asked == name:
                change(table)
            return table

        monkeypatch.setattr(loader, "_read", changed)
        return loader.load_vocabulary.__wrapped__()

    return load


def test_there_are_at_least_eighty_characters(vocabulary: Vocabulary) -> None:
    assert len(vocabulary.characters) >= 80


def test_every_character_has_label_question_and_how(vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        assert c.label.strip(), code
        assert c.question.strip().endswith("?"), code
        assert len(c.how.strip()) > 10, code
        assert c.part, code


def test_codes_are_permanent_lowercase_words(vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        assert code == c.code
        assert re.fullmatch(r"[a-z][a-z0-9_]*", code)
        assert all(re.fullmatch(r"[a-z0-9][a-z0-9-]*", s) for s in c.codes), code


def test_labels_tell_characters_apart(vocabulary: Vocabulary) -> None:
    labels = [c.label for c in vocabulary.characters.values()]
    assert len(set(labels)) == len(labels)


def test_kinds_and_roles_are_known(vocabulary: Vocabulary) -> None:
    assert {c.kind for c in vocabulary.characters.values()} == set(KINDS)
    assert {c.role for c in vocabulary.characters.values()} == set(ROLES)


def test_no_two_states_of_a_character_share_code_or_definition(vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        assert len(c.states) >= 2, code
        assert len(set(c.codes)) == len(c.codes), code
        if not c.measured:
            definitions = [s.definition.strip().lower() for s in c.states]
            assert all(definitions), code
            assert len(set(definitions)) == len(definitions), code


def test_neighbours_of_an_ordered_character_are_mistaken_for_each_other(vocabulary: Vocabulary) -> None:
    ordered = [c for c in vocabulary.characters.values() if c.kind == "ordered"]
    assert ordered
    for c in ordered:
        pairs = {frozenset((a, b)) for a, b, _ in c.near}
        assert {frozenset(p) for p in itertools.pairwise(c.codes)} <= pairs, c.code


def test_a_measured_character_has_a_unit_and_a_span(vocabulary: Vocabulary) -> None:
    measured = [c for c in vocabulary.characters.values() if c.measured]
    assert {c.unit for c in measured} == {"mm", "um", "ratio"}
    for c in measured:
        assert c.span is not None, c.code
        assert 0 < c.span[0] < c.span[1], c.code
        assert len(c.states) == loader.BINS, c.code
    assert all(c.span is None and not c.unit for c in vocabulary.characters.values() if not c.measured)


def test_error_rates_weights_and_times_are_plausible(vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        assert 0 < c.error < 0.5, code
        assert all(0 < w <= 1 and a != b for a, b, w in c.near), code
        assert (c.minutes > 0) == (c.role != "prior"), code
        assert c.wait_minutes >= 0, code
    assert all(0 <= rho <= 1 for rho in vocabulary.rho.values())
    assert {c.group for c in vocabulary.characters.values()} == set(vocabulary.rho)


def test_every_reference_leads_to_a_state(vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        for need in (*c.needs, *([c.applies] if c.applies else [])):
            assert set(need.states) <= set(vocabulary.characters[need.character].codes), code
        assert {n.state for n in c.needs} | c.silent | {s for a, b, _ in c.near for s in (a, b)} <= set(c.codes), code


def test_a_missing_volva_needs_the_base_dug_out_whole(vocabulary: Vocabulary) -> None:
    (need,) = [n for n in vocabulary.characters["volva"].needs if n.state == "absent"]
    assert (need.character, need.states) == ("base_dug", ("whole",))


def test_what_falls_off_is_silent_when_missing(vocabulary: Vocabulary) -> None:
    """The design names ring, veil scraps and latex."""
    assert "absent" in vocabulary.characters["ring"].silent
    assert vocabulary.characters["cap_veil"].silent
    assert vocabulary.characters["latex"].silent


def test_place_and_date_are_prior_only(vocabulary: Vocabulary) -> None:
    assert {c.code for c in vocabulary.with_role("prior")} == {"region", "season", "altitude"}
    assert not {"region", "season", "altitude"} & {c.code for c in vocabulary.looks()}


def test_tasting_carries_a_caution_and_a_gate(vocabulary: Vocabulary) -> None:
    taste = vocabulary.characters["taste"]
    assert "spat out" in taste.question
    assert taste.caution.startswith("Never taste an unknown")
    assert taste.gate


def test_the_palette_is_shared_by_the_colour_characters(vocabulary: Vocabulary) -> None:
    colours = [c for c in vocabulary.characters.values() if c.kind == "colour"]
    assert {"cap_colour", "hymenophore_colour", "stipe_colour", "flesh_colour"} <= {c.code for c in colours}
    for c in colours:
        assert set(c.codes) == set(vocabulary.palette), c.code


def test_palette_values_lie_in_cielab(vocabulary: Vocabulary) -> None:
    assert len(set(vocabulary.palette.values())) == len(vocabulary.palette) >= 20
    for colour, (light, a, b) in vocabulary.palette.items():
        assert 0 <= light <= 100, colour
        assert -128 <= a <= 127, colour
        assert -128 <= b <= 127, colour


def test_buff_is_mistaken_for_cream_and_never_for_black(vocabulary: Vocabulary) -> None:
    mistaken = {frozenset((a, b)) for a, b, _ in vocabulary.characters["cap_colour"].near}
    assert frozenset(("buff", "cream")) in mistaken
    assert frozenset(("buff", "black")) not in mistaken


def test_conditions_void_known_looks(vocabulary: Vocabulary) -> None:
    named = {"frosted", "thawed", "waterlogged", "dried", "maggoty", "mouldy", "slug-eaten", "parasitised"}
    assert set(vocabulary.conditions) == named
    for condition in vocabulary.conditions.values():
        assert condition.definition
        assert condition.voids <= set(vocabulary.characters), condition.code
    assert "spore_print" in vocabulary.conditions["mouldy"].voids
    assert vocabulary.conditions["mouldy"].spoils


def test_trees_are_states_of_the_character_tree(vocabulary: Vocabulary) -> None:
    assert set(vocabulary.trees) <= set(vocabulary.characters["tree"].codes)
    for tree, row in vocabulary.trees.items():
        assert row, tree
        for code, states in row.items():
            assert set(states) <= set(vocabulary.characters[code].codes), (tree, code)


def test_aliases_lead_to_codes_that_exist_and_are_not_codes_themselves(vocabulary: Vocabulary) -> None:
    assert all(new in vocabulary.characters for new in vocabulary.aliases.values())
    assert not set(vocabulary.aliases) & set(vocabulary.characters)


def test_stages_run_from_egg_to_past() -> None:
    assert STAGES == ("egg", "button", "young", "prime", "past")


def test_a_state_is_found_by_its_code(vocabulary: Vocabulary) -> None:
    assert vocabulary.characters["spore_print"].state("white").label == "white"
    with pytest.raises(KeyError, match="mauve"):
        vocabulary.characters["spore_print"].state("mauve")


@pytest.mark.parametrize("field", ["label", "question", "how", "part"])
def test_a_missing_field_is_named(broken: Broken, field: str) -> None:
    with pytest.raises(BookError, match=rf"cap\.toml: cap_shape: the field '{field}' is missing"):
        broken("cap", lambda table: table["cap_shape"].pop(field))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"labels": "x"}, "unknown field 'labels'"),
        ({"kind": "sorted"}, "kind 'sorted'"),
        ({"role": "hint"}, "role 'hint'"),
        ({"silent": ["mauve"]}, "cap_shape has no state 'mauve'"),
        ({"near": [["flat", "mauve", 0.2]]}, "cap_shape has no state 'mauve'"),
        ({"applies": {"character": "fruitbody_frm", "states": ["ball"]}}, "cap_shape refers to fruitbody_frm"),
        ({"needs": [{"state": "flat", "character": "ring", "states": ["mauve"]}]}, "cap_shape refers to ring"),
    ],
)
def test_a_wrong_entry_is_refused(broken: Broken, change: dict[str, Any], message: str) -> None:
    with pytest.raises(BookError, match=re.escape(message)):
        broken("cap", lambda table: table["cap_shape"].update(change))


def test_a_character_in_two_files_is_refused(broken: Broken) -> None:
    def again(table: dict[str, Any]) -> None:
        table["cap_shape"] = {"label": "x", "question": "x?", "how": "x", "part": "x", "states": {"a": "b"}}

    with pytest.raises(BookError, match="'cap_shape' is defined twice"):
        broken("stipe", again)


def test_tempering_of_a_group_that_no_character_has_is_refused(broken: Broken) -> None:
    with pytest.raises(BookError, match="no character has the group 'odour'"):
        broken("groups", lambda table: table["rho"].update(odour=0.5))


def test_a_condition_that_voids_an_unknown_look_is_refused(broken: Broken) -> None:
    with pytest.raises(BookError, match="condition mouldy voids the unknown 'smel'"):
        broken("conditions", lambda table: table["mouldy"]["voids"].append("smel"))


@pytest.mark.parametrize("row", [{"gum-tree": {"tree_bark": ["smooth"]}}, {"oak": {"tree_bark": ["smoth"]}}])
def test_an_unknown_tree_or_bark_is_refused(broken: Broken, row: dict[str, Any]) -> None:
    with pytest.raises(BookError, match=r"trees\.toml"):
        broken("trees", lambda table: table["known"].update(row))


def test_a_file_that_is_missing_is_named() -> None:
    with pytest.raises(BookError, match=r"characters/fungi/roots\.toml"):
        loader._read("roots")


def test_the_text_for_the_digest_holds_every_file(vocabulary: Vocabulary) -> None:
    text = loader.vocabulary_text()
    assert all(f"[{code}]" in text for code in vocabulary.characters)
