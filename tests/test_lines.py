"""Lines at which values stand in hand-written TOML and JSON."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.lines import line_of

TOML = """\
date = 2026-10-04   # the looks, fruitbodies and region of a find
region = "europe-north"
# looks: none of these words count
[seen]
substrate = "stump"

[[looks]]
id = "one"
evidence = { states = [
  "white",
  "cream", # brown is not meant
  "brown",
] }

[[fruitbodies]]
id = "a"
notes = \"\"\"
[[fruitbodies]]
id = "b"
\"\"\"
[fruitbodies.seen]
cap_colour = { states = ["tan"] }
"odd key" = 'it''s'

[[looks]]
id = "two"

[[fruitbodies]]
id = "b"
place.lat = 3
[fruitbodies.seen]
cap_colour = "tan"
"""


@pytest.mark.parametrize(
    ("path", "word", "line"),
    [
        (("date",), None, 1),
        (("region",), None, 2),
        (("seen",), None, 4),
        (("seen", "substrate"), "stump", 5),
        (("looks", 0), None, 7),
        (("looks", 0, "id"), "one", 8),
        (("looks", 0, "evidence"), None, 9),
        (("looks", 0, "evidence"), "brown", 12),
        (("looks", 0, "evidence", "states", 1), None, 11),
        (("fruitbodies", 0), None, 15),
        (("fruitbodies", 0, "seen", "cap_colour"), "tan", 22),
        (("looks", 1, "id"), None, 26),
        (("fruitbodies", 1, "id"), "b", 29),
        (("fruitbodies", 1, "place", "lat"), None, 30),
        (("fruitbodies", 1, "seen", "cap_colour"), "tan", 32),
        (("fruitbodies", 1, "seen", "missing"), None, 31),
        (("nowhere",), None, None),
        ((), None, None),
        ((), "stump", 5),
    ],
)
def test_toml_values_are_found_on_their_line(path: tuple[str | int, ...], word: str | None, line: int | None) -> None:
    text = TOML.replace("'it''s'", "'its'")
    tomllib.loads(text)
    assert line_of(text, path, word) == line


def test_json_values_are_found_on_their_line() -> None:
    text = '{\n"looks": [\n{"id": "looks"},\n{"id": "x, {[", "n": [1,\n2]}],\n"a\\"b": {"c": true}}'
    json.loads(text)
    assert line_of(text, ("looks",)) == 2
    assert line_of(text, ("looks", 0, "id")) == 3
    assert line_of(text, ("looks", 1)) == 4
    assert line_of(text, ("looks", 1, "n", 1)) == 5
    assert line_of(text, ('a"b', "c")) == 6


def test_text_that_ends_too_soon_keeps_what_was_found() -> None:
    assert line_of("a = 1\nb = [1,\n", ("b",)) == 2
    assert line_of("a = 1\n= 5\nc = 2", ("c",)) is None


values = st.recursive(
    st.integers() | st.booleans() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=12,
)


def _paths(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(p for key, inner in items for p in _paths(inner, (*path, key)))]


@given(st.dictionaries(st.text(max_size=5), values, max_size=4))
def test_in_json_with_one_value_to_a_line_every_value_has_its_own_line(document: dict[str, Any]) -> None:
    """Indented JSON puts every key and item on a line of its own, in the order of the document."""
    text = json.dumps(document, indent=1)
    lines = [line_of(text, path) for path in _paths(document)[1:]]
    assert None not in lines
    assert lines == sorted(set(lines))
