"""The published JSON Schema of the find document."""

from __future__ import annotations

import copy
import datetime
import json
from importlib import resources
from typing import Any

import jsonschema
import msgspec
import pytest

from trug.characters import Vocabulary
from trug.determine.find import Find, json_schema
from trug.records import read_find_text


def full_form(find: Find) -> dict[str, Any]:
    """Return a find as it stands in a JSON file."""
    return json.loads(msgspec.json.encode(msgspec.to_builtins(find)))


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    from trug.characters import load_vocabulary

    text = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")
    return full_form(read_find_text(text, load_vocabulary(), datetime.date(2026, 11, 25)).find)


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    jsonschema.Draft202012Validator.check_schema(json_schema())
    return jsonschema.Draft202012Validator(json_schema())


def test_the_demonstration_in_full_form_validates(
    demo: dict[str, Any], validator: jsonschema.Draft202012Validator
) -> None:
    assert [e.message for e in validator.iter_errors(demo)] == []


def test_every_form_of_evidence_validates(
    demo: dict[str, Any], validator: jsonschema.Draft202012Validator, vocabulary: Vocabulary
) -> None:
    text = """
    date = 2026-10-04
    region = "elsewhere"
    place = { lat = 1, lon = 2 }
    observers = [{ id = "ann", practice = "student" }]
    photos = [{ sha256 = "00" }]
    seen = { tree_buds = "opposite" }
    [[fruitbodies]]
    stage = { young = 0.5, prime = 0.5 }
    condition = ["frosted"]
    [fruitbodies.seen]
    cap_colour = { colour = { lab = [60, 10, 20], accuracy = "B" } }
    ring = { distribution = { skirt = 1, absent = 0.2 } }
    cap_width = "40 mm"
    spore_length = { sample = { n = 20, mean = 8.4, sd = 0.4, p5 = 7.8, p95 = 9.1 }, observer = "ann" }
    smell = "not seen: a cold"
    """
    find = read_find_text(text, vocabulary, datetime.date(2026, 11, 25)).find
    assert {form for look in find.looks for form in look.evidence.forms()} == {
        "colour",
        "distribution",
        "measurement",
        "sample",
        "not_seen",
    }
    assert [e.message for e in validator.iter_errors(full_form(find))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "trug.find/2"),
        (("date",), 5),
        (("fruitbodies",), "a"),
        (("fruitbodies", 0, "condition"), "frosted"),
        (("looks", 0, "sure"), "very"),
        (("looks", 0, "evidence"), {"states": "white"}),
    ],
)
def test_a_wrong_document_does_not_validate(
    demo: dict[str, Any], validator: jsonschema.Draft202012Validator, path: tuple[Any, ...], value: Any
) -> None:
    wrong = copy.deepcopy(demo)
    at = wrong
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    assert not validator.is_valid(wrong)


def test_the_schema_names_its_format() -> None:
    schema = json_schema()
    assert schema["title"] == "trug.find/1"
    assert schema["$schema"].endswith("2020-12/schema")
