"""Texts that are read, and texts that are refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trug.errors import InputError, UnreadableError
from trug.reading import MAX_BYTES, MAX_DEPTH, nearest, parse, read_text, shown


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    file = tmp_path / "find.toml"
    file.write_bytes(b"\xef\xbb\xbfa = 1\n")
    assert parse(read_text(file), str(file)) == {"a": 1}


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (bytes(range(256)), "not a text file"),
        (b"\xff\xfe\x00d", "not a text file"),
        (b"date = 1\x00", "zero bytes"),
        (b"#" * (MAX_BYTES + 1), "too large"),
    ],
)
def test_what_is_no_text_is_refused(tmp_path: Path, data: bytes, message: str) -> None:
    file = tmp_path / "find.toml"
    file.write_bytes(data)
    with pytest.raises(UnreadableError, match=message) as caught:
        read_text(file)
    assert caught.value.file == str(file)


def test_a_folder_and_a_missing_file_are_told(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="this is a folder"):
        read_text(tmp_path)
    with pytest.raises(UnreadableError, match="no such file"):
        read_text(tmp_path / "absent.toml")
    with pytest.raises(UnreadableError):
        read_text(tmp_path / ("x" * 3000))


def test_an_endless_device_is_too_large() -> None:
    if not Path("/dev/zero").exists():
        pytest.skip("no such device here")
    with pytest.raises(UnreadableError, match="too large"):
        read_text(Path("/dev/zero"))


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\nb = \n", 2),
        ('a = 1\nb = "x\nc = 1', 2),
        ("a = 1\na = 2\n", 2),
        ("a = 1\nb = [1,\n2\n", 3),
        ("date = 2026-02-30\n", 1),
        ('{\n"a": 1,\n"b": }', 3),
        ('{"a": 1,}', 1),
        ('{"a": 1} trailing', 1),
    ],
)
def test_a_syntax_error_names_its_line(text: str, line: int) -> None:
    with pytest.raises(UnreadableError, match="not valid") as caught:
        parse(text, "find")
    assert caught.value.line == line
    assert str(caught.value).startswith(f"find:{line}: ")


@pytest.mark.parametrize(
    "text",
    [
        '{"a": ' + "[" * 100_000 + "]" * 100_000 + "}",
        '{"a": ' * 100_000 + "1" + "}" * 100_000,
        "[" * 100_000,
        "a = " + "[" * 100_000 + "]" * 100_000,
        "a" + ".a" * 5_000 + " = 1",
    ],
)
def test_deep_nesting_is_refused(text: str) -> None:
    with pytest.raises(UnreadableError, match=r"nested too deeply|not valid"):
        parse(text, "find")


def test_nesting_is_allowed_up_to_the_limit() -> None:
    def deep(n: int) -> str:
        return '{"a":' * n + "1" + "}" * n

    assert parse(deep(MAX_DEPTH - 1), "find")
    with pytest.raises(UnreadableError, match="nested too deeply"):
        parse(deep(MAX_DEPTH), "find")


@pytest.mark.parametrize("text", ['{"a": ' + "9" * 5000 + "}", "a = " + "9" * 5000])
def test_a_number_of_thousands_of_digits_is_refused(text: str) -> None:
    with pytest.raises(UnreadableError, match="a whole number is too long"):
        parse(text, "find")


@pytest.mark.parametrize("odd", ["\x1b[31m", "\ud800", "\x9b1m", "\x07"])
def test_control_characters_are_refused_with_their_line(odd: str) -> None:
    with pytest.raises(UnreadableError, match="control character") as caught:
        parse('{"b": 1,\n"a": ' + json.dumps([1, odd]) + "}", "find")
    assert caught.value.line == 2
    assert odd not in str(caught.value)
    with pytest.raises(UnreadableError, match="control character"):
        parse(json.dumps({odd: 1}), "find")


def test_tabs_and_line_ends_are_text() -> None:
    assert parse('{"a": "x\\ty\\r\\nz"}', "find") == {"a": "x\ty\r\nz"}


def test_the_nearest_words_are_proposed() -> None:
    assert nearest("whte", ["white", "black"]) == "; did you mean 'white'?"
    assert nearest("zzz", ["white", "black"]) == ""
    assert nearest("x" * 1_000_000, ["white"]) == ""


def test_long_values_are_quoted_by_their_beginning() -> None:
    assert shown("white") == "'white'"
    assert len(shown("x" * 10_000)) == 60


def test_an_error_tells_file_and_line_before_the_message() -> None:
    assert str(InputError("wrong", file="a.toml", line=3)) == "a.toml:3: wrong"
    assert str(InputError("wrong", file="a.toml")) == "a.toml: wrong"
    assert str(InputError("wrong", line=3)) == "wrong"
    assert isinstance(InputError("wrong"), ValueError)
