"""``trug determine``: from documents and from answers to a determination, and what goes wrong on the way."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from trug.records import read_find_text

DEMO = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")


@pytest.fixture
def walk(tmp_path: Path) -> Path:
    """A folder with the demonstration in it."""
    (tmp_path / "cluster.toml").write_text(DEMO, "utf-8")
    return tmp_path


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_a_file_gives_a_ledger_for_each_fruitbody(trug: Any, walk: Path) -> None:
    said = trug("determine", walk / "cluster.toml")
    assert (said.code, said.err) == (0, "")
    assert [said.out.count(f" fruitbody {b} ") for b in "abc"] == [1, 1, 1]
    assert "harmful taxa" in said.out
    assert "no person has signed a name" in said.out
    assert "poison centre" in said.out


def test_full_shows_at_least_what_short_shows(trug: Any, walk: Path) -> None:
    short = trug("determine", walk / "cluster.toml").out
    full = trug("determine", walk / "cluster.toml", "--full").out
    assert "(--full shows them)" in short
    assert "(--full shows them)" not in full
    assert len(full) > len(short)


def test_the_same_find_in_another_form_gets_the_same_record(trug: Any, walk: Path) -> None:
    first = trug("determine", walk / "cluster.toml", "--json")
    assert trug("determine", walk / "cluster.toml", "--json").out == first.out
    assert trug("determine", "-", "--json", stdin=DEMO).out == first.out
    assert json.loads(first.out)["format"] == "trug.determination/1"


def test_json_on_standard_input_is_read(trug: Any) -> None:
    document = {
        "date": "2026-10-04",
        "region": "europe-north",
        "fruitbodies": [{"id": "a", "stage": "prime", "seen": {"spore_print": "white"}}],
    }
    said = trug("determine", "-", "--json", stdin=json.dumps(document))
    assert said.code == 0
    assert json.loads(said.out)["fruitbodies"][0]["fruitbody"] == "a"


def test_several_finds_give_a_list_of_records(trug: Any, walk: Path) -> None:
    file = walk / "cluster.toml"
    found = json.loads(trug("determine", file, file, "--json").out)
    assert found[0] == found[1] == json.loads(trug("determine", file, "--json").out)


def test_one_bad_file_among_several_gives_no_half_result(trug: Any, walk: Path) -> None:
    said = trug("determine", walk / "cluster.toml", walk / "absent.toml", "--json")
    assert (said.code, said.out) == (1, "")


def test_a_signed_name_that_does_not_fit_is_refused(trug: Any, walk: Path) -> None:
    found = json.loads(trug("determine", walk / "cluster.toml", "--json", "--sign", "funeral bell").out)
    assert not any(b["release"]["allowed"] for b in found["fruitbodies"])
    assert all(b["release"]["reasons"] for b in found["fruitbodies"])


def test_unknown_keys_are_noted_on_standard_error_only(trug: Any) -> None:
    said = trug("determine", "-", "--json", stdin='wether = "wet"\n' + DEMO)
    assert said.code == 0
    assert said.err.startswith("note: standard input:1: unknown key 'wether' is kept but not used")
    assert json.loads(said.out)


def test_words_of_a_person_are_never_taken_for_markup(trug: Any) -> None:
    text = DEMO.replace('id = "december-class"', 'id = "[/bold] [red]class"').replace('id = "b"', 'id = "[/b]"')
    said = trug("determine", "-", "--full", stdin=text.replace('ring = "absent"', 'ring = "absent?"'))
    assert said.code == 0
    assert "Find [/bold] [red]class" in said.out
    assert " fruitbody [/b] " in said.out


BAD = {
    "empty": b"",
    "blank": b" \n\n",
    "comment": b"# nothing\n",
    "binary": bytes(range(256)),
    "zero": b"date = 1\x00",
    "utf-16": "date = 2026-10-04".encode("utf-16"),
    "large": b"#" * 8_000_001,
    "toml": DEMO.replace('"tufted"', '"tufted').encode(),
    "json": b'{"date": "2026-10-04",',
    "list": b"[1, 2]",
    "number": b"5",
    "deep json": b'{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "deep toml": b"a = " + b"[" * 100_000,
    "digits": b'{"date": ' + b"9" * 5000 + b"}",
    "state": DEMO.replace('"velvety"', '"velvty"').encode(),
    "character": DEMO.replace("cap_shape", "cap_shap").encode(),
    "region": DEMO.replace("europe-north", "europa").encode(),
    "stage": DEMO.replace('"prime"', '"ripe"').encode(),
    "size": DEMO.replace('"48 mm"', '"40 m"').encode(),
    "nan": DEMO.replace('"48 mm"', "nan").encode(),
    "huge": DEMO.replace('"48 mm"', "9" * 400).encode(),
    "future": DEMO.replace("2025-12-06", "2999-12-06").encode(),
    "no day": DEMO.replace("2025-12-06", "2025-02-30").encode(),
    "two forms": DEMO.replace('states = ["white"]', 'states = ["white"], not_seen = "x"').encode(),
    "twice": DEMO.replace('id = "b"', 'id = "a"').encode(),
    "escape": DEMO.replace('id = "b"', 'id = "\\u001b[31m"').encode(),
    "surrogate": b'{"date": "2026-10-04", "id": "\\ud800", "fruitbodies": [{}]}',
    "nothing seen": b"date = 2026-10-04\n[[fruitbodies]]\n",
}


@pytest.mark.parametrize("data", BAD.values(), ids=BAD.keys())
def test_no_bad_file_gives_a_trace_or_a_result(trug: Any, tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "walk.toml"
    file.write_bytes(data)
    for words, stdin, where in ((("determine", file), b"", str(file)), (("determine", "-"), data, "standard input")):
        said = trug(*words, stdin=stdin)
        assert said.code == 1
        assert said.out == ""
        assert said.err.startswith(f"trug: {where}")
        assert "Traceback" not in said.err
        assert "\x1b" not in said.err
        assert len(said.err) < 1000
    assert names(tmp_path) == ["walk.toml"]


def test_a_folder_and_a_missing_file_are_told(trug: Any, tmp_path: Path) -> None:
    assert "this is a folder" in trug("determine", tmp_path).err
    assert "no such file" in trug("determine", tmp_path / "none.toml").err


@pytest.mark.parametrize(
    "words",
    [
        ("determine",),
        ("determine", "cluster.toml", "--ask"),
        ("determine", "--ask", "--json"),
        ("determine", "cluster.toml", "--save", "walk.json"),
        ("determine", "cluster.toml", "--region", "europe-north"),
    ],
)
def test_options_that_do_not_go_together_are_wrong_use(
    trug: Any, walk: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(walk)
    said = trug(*words)
    assert (said.code, said.out) == (2, "")
    assert names(walk) == ["cluster.toml"]


# Asking


def ask(trug: Any, *answers: str, region: str | None = "europe-north", more: tuple[Any, ...] = ()) -> Any:
    where = ("--region", region) if region else ()
    return trug("determine", "--ask", *where, *more, stdin="".join(f"{a}\n" for a in answers))


def saved(trug: Any, folder: Path, *answers: str) -> list[dict[str, Any]]:
    """Return the looks of the document that a session saves."""
    file = folder / "walk.json"
    said = ask(trug, *answers, more=("--save", file))
    assert said.code in (0, 4), said.err
    looks = json.loads(file.read_text("utf-8"))["looks"]
    file.unlink()
    return looks


def test_a_session_ends_in_a_determination(trug: Any) -> None:
    said = ask(trug, "prime", "gills", "1", "q")
    assert said.code == 0
    assert "What is on the fertile side?" in said.out
    assert "harmful taxa open" in said.out
    assert " fruitbody a (prime) " in said.out
    assert "poison centre" in said.out


def test_a_number_a_word_and_several_numbers_are_answers(trug: Any, tmp_path: Path) -> None:
    by_number = saved(trug, tmp_path, "4", "1", "q")
    by_word = saved(trug, tmp_path, "prime", "gills", "q")
    assert by_number == by_word
    assert by_word[0]["evidence"] == {"states": ["gills"]}
    two = saved(trug, tmp_path, "4", "1, 2 1", "q")
    assert two[0]["evidence"] == {"states": ["gills", "folds"]}


def test_a_question_mark_marks_the_look_unsure(trug: Any, tmp_path: Path) -> None:
    (look,) = saved(trug, tmp_path, "4", "1?", "q")
    assert look["sure"] == "unsure"


@pytest.mark.parametrize("answer", ["", "?", " ? "])
def test_not_knowing_is_an_answer(trug: Any, tmp_path: Path, answer: str) -> None:
    looks = saved(trug, tmp_path, "4", answer, "1", "q")
    assert looks[0]["evidence"] == {"not_seen": "do not know"}
    assert "states" in looks[1]["evidence"]


def test_back_takes_the_last_answer_away(trug: Any, tmp_path: Path) -> None:
    assert saved(trug, tmp_path, "4", "b", "2", "b", "1", "q") == saved(trug, tmp_path, "4", "1", "q")


def test_a_question_that_is_skipped_is_not_asked_again(trug: Any, tmp_path: Path) -> None:
    (look,) = saved(trug, tmp_path, "4", "s", "1", "q")
    assert look["character"] != "hymenophore"
    said = ask(trug, "4", "s", "s", "s", "1", "q")
    assert said.out.count("What is on the fertile side?  (") == 1


@pytest.mark.parametrize("wrong", ["99", "0", "-1", "²", "mauve", "1 99", ",", "9" * 5000, "[/bold]", "\x1b[31m"])
def test_a_wrong_answer_is_asked_again(trug: Any, wrong: str) -> None:
    said = ask(trug, "4", wrong, "1", "q")
    assert said.code == 0
    assert said.out.count("What is on the fertile side?  (") == 2
    assert "type a number from 1 to" in said.out
    assert "\x1b" not in said.out


def test_region_and_stage_are_asked_until_they_are_known(trug: Any) -> None:
    said = ask(trug, "narnia", "99", "europe-north", "ripe", "", "1", "q", region=None)
    assert said.code == 0
    assert said.out.count("Type a number from 1 to") == 3
    assert "· europe-north" in said.out
    assert " fruitbody a " in said.out


@pytest.mark.parametrize("answers", [("4", "q"), ("q",), ("4", "", "q"), ("4", "1", "b", "q")])
def test_a_session_without_a_look_determines_and_writes_nothing(
    trug: Any, tmp_path: Path, answers: tuple[str, ...]
) -> None:
    said = ask(trug, *answers, more=("--save", tmp_path / "walk.json"))
    assert said.code == 1
    assert "no look was made" in said.err
    assert names(tmp_path) == []


def test_a_session_that_breaks_off_writes_nothing(trug: Any, tmp_path: Path) -> None:
    said = ask(trug, "4", "1", more=("--save", tmp_path / "walk.json"))
    assert said.code == 1
    assert "Traceback" not in said.err
    assert names(tmp_path) == []


def test_a_saved_session_is_a_find_document_with_the_same_ledger(trug: Any, tmp_path: Path, vocabulary: Any) -> None:
    import datetime

    file = tmp_path / "walk.json"
    said = ask(trug, "prime", "gills", "1?", "", "1", "q", more=("--save", file))
    assert said.code == 0
    find = read_find_text(file.read_text("utf-8"), vocabulary, datetime.date.max).find
    assert find.region == "europe-north"
    assert find.determiner == "you"
    again = trug("determine", file)
    assert again.out in said.out
    assert names(tmp_path) == ["walk.json"]


def test_what_cannot_be_saved_is_told_before_the_first_question(trug: Any, walk: Path) -> None:
    for file, message in ((walk / "cluster.toml", "exists already"), (walk / "none" / "x.json", "no such folder")):
        said = ask(trug, "4", "1", "q", more=("--save", file))
        assert (said.code, said.out) == (1, "")
        assert message in said.err
    assert (walk / "cluster.toml").read_text("utf-8") == DEMO
    assert names(walk) == ["cluster.toml"]


@pytest.mark.parametrize("more", [("--sign", "funeral bll"), ("--region", "narnia")])
def test_a_misspelt_option_is_told_before_the_first_question(trug: Any, tmp_path: Path, more: tuple[str, str]) -> None:
    said = ask(trug, "4", "1", "q", region=None, more=(*more, "--save", tmp_path / "walk.json"))
    assert (said.code, said.out) == (1, "")
    assert names(tmp_path) == []


def test_a_size_is_answered_with_its_unit(trug: Any, tmp_path: Path) -> None:
    """Skip on until a size is asked; the words of the question say so."""
    skips: list[str] = []
    for _ in range(60):
        said = ask(trug, "4", *skips, "q")
        last = said.out.rsplit("\n> ", 1)[0]
        if "\n  a number mm, " in last.rsplit("(", 1)[-1]:
            break
        skips.append("s")
    assert len(skips) < 60
    said = ask(trug, "4", *skips, "wide", "40 m", "4,5 cm?", "q", more=("--save", tmp_path / "walk.json"))
    assert said.code == 0
    assert "is no size" in said.out
    assert "is not plausible" in said.out
    (look,) = json.loads((tmp_path / "walk.json").read_text("utf-8"))["looks"]
    assert look["evidence"] == {"measurement": {"value": 45.0}}
    assert look["sure"] == "unsure"
