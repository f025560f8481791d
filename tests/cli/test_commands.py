"""What every command says."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import typer

from trug.characters import Vocabulary
from trug.cli.app import app
from trug.determine.table import Table
from trug.treatments import Book

DEMO = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")


def commands() -> list[tuple[str, ...]]:
    """Return the words of every command."""

    def walk(command: Any, words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        inner = getattr(command, "commands", None)
        if inner is None:
            yield words
        else:
            for name, one in inner.items():
                yield from walk(one, (*words, name))

    return list(walk(typer.main.get_command(app), ()))


def test_the_commands_are_those_of_the_help() -> None:
    assert {" ".join(words) for words in commands()} == {
        "determine",
        "schema",
        "compare",
        "treatment",
        "characters",
        "tree",
        "demo",
        "example",
        "serve",
        "records backup",
        "records restore",
        "records export",
        "records import",
        "book stats",
        "book separation",
        "book check",
        "book diff",
        "book table",
    }


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_has_help_with_an_example(trug: Any, words: tuple[str, ...]) -> None:
    said = trug(*words, "--help")
    assert said.code == 0
    assert re.search(r"Examples?:", said.out)
    assert f"trug {' '.join(words)}" in said.out.split("Example", 1)[1]


@pytest.mark.parametrize("words", [(), ("book",)])
def test_without_a_command_the_help_is_shown(trug: Any, words: tuple[str, ...]) -> None:
    said = trug(*words)
    assert said.code == 2
    assert "Usage:" in said.out + said.err


def test_the_version_is_told_by_the_app_too(trug: Any) -> None:
    from trug import __version__

    assert trug("--version").out == f"trug {__version__}\n"


# The book


def test_compare_shows_what_separates(trug: Any) -> None:
    said = trug("compare", "velvet shank", "funeral bell")
    assert said.code == 0
    assert "spore print" in said.out
    assert "Galerina marginata: kills (amatoxin" in said.out
    assert "Not a determination" in said.out


def test_compare_in_json_has_the_most_separating_first(trug: Any) -> None:
    found = json.loads(trug("compare", "velvet shank", "funeral bell", "--json").out)
    assert {"flammulina-velutipes", "galerina-marginata"} == set(found[0]["says"])
    assert found[0]["overlap"] < 0.35
    assert found[0]["overlap"] < found[-1]["overlap"]


def test_compare_in_full_shows_more(trug: Any) -> None:
    short = trug("compare", "velvet shank", "funeral bell").out
    full = trug("compare", "velvet shank", "funeral bell", "--full").out
    assert "hardly" in full
    assert "hardly" not in short
    assert len(full) > len(short)


def test_a_treatment_shows_harm_looks_and_sources(trug: Any) -> None:
    said = trug("treatment", "funeral bell")
    assert said.code == 0
    assert "Galerina marginata" in said.out
    assert "Harm: kills (amatoxin" in said.out
    assert "Never ruled out without: spore print" in said.out
    assert "from-memory" in said.out


def test_a_treatment_in_json_is_whole(trug: Any, book: Book) -> None:
    found = json.loads(trug("treatment", "galerina-marginata", "--json").out)
    t = book.treatments["galerina-marginata"]
    assert found["harm"]["level"] == "kills"
    assert set(found["characters"]) == set(t.records)
    assert all(c["source"] in book.sources for c in found["characters"].values())


@pytest.mark.parametrize("words", [("treatment",), ("compare", "velvet shank"), ("determine", "-", "--sign")])
def test_a_misspelt_name_gives_the_nearest(trug: Any, words: tuple[str, ...]) -> None:
    said = trug(*words, "funeral bll", stdin=DEMO)
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith("trug: no treatment is called 'funeral bll'; did you mean 'funeral bell'")


def test_characters_lists_every_one(trug: Any, vocabulary: Vocabulary) -> None:
    said = trug("characters")
    assert all(code in said.out for code in vocabulary.characters)
    assert "Not knowing is always an answer" in said.out
    found = json.loads(trug("characters", "--json").out)
    assert set(found) == set(vocabulary.characters)


@pytest.mark.parametrize("typed", ["spore_print", "spore-print", "Spore Print"])
def test_a_character_shows_its_states(trug: Any, vocabulary: Vocabulary, typed: str) -> None:
    said = trug("characters", typed)
    assert said.code == 0
    for state in vocabulary.characters["spore_print"].states:
        assert state.code in said.out
        assert state.definition[:30] in said.out


def test_a_measured_character_shows_its_span(trug: Any) -> None:
    assert "a size from 2 to 700 mm" in trug("characters", "cap_width").out
    assert json.loads(trug("characters", "cap_width", "--json").out)["unit"] == "mm"


def test_a_misspelt_character_gives_the_nearest(trug: Any) -> None:
    said = trug("characters", "spore_prnt")
    assert said.code == 1
    assert "did you mean 'spore_print'" in said.err


def test_tree_ranks_by_bark_and_buds(trug: Any) -> None:
    said = trug("tree", "tree_buds=opposite", "tree_bud_look=black")
    assert said.code == 0
    assert "ash" in said.out.splitlines()[0].lower()
    assert "never rules a harmful fungus out" in said.out
    ranked = json.loads(trug("tree", "tree_buds=opposite", "tree_bud_look=black", "--json").out)
    assert ranked[0]["tree"] == "ash"
    assert sum(r["probability"] for r in ranked) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize(
    ("word", "message"),
    [
        ("tree_bud=opposite", "did you mean 'tree_buds'"),
        ("tree_buds=oposite", "did you mean 'opposite'"),
        ("tree_buds", "write CHARACTER=STATE"),
        ("=", "write CHARACTER=STATE"),
    ],
)
def test_a_misspelt_word_about_a_tree_gives_the_nearest(trug: Any, word: str, message: str) -> None:
    said = trug("tree", word)
    assert (said.code, said.out) == (1, "")
    assert message in said.err


def test_book_stats_count_the_book(trug: Any, book: Book) -> None:
    found = json.loads(trug("book", "stats", "--json").out)
    assert found["taxa"] >= 60
    assert found["book"] == book.digest
    said = trug("book", "stats")
    assert "median characters" in said.out


def test_book_separation_lists_pairs_of_harmful_and_harmless(trug: Any, book: Book) -> None:
    found = json.loads(trug("book", "separation", "--json").out)
    assert found
    for pair in found[:20]:
        assert book.treatments[pair["harmful"]].harm is not None
        assert book.treatments[pair["taxon"]].harm is None
    lost = sum(not p["separable"] for p in found)
    said = trug("book", "separation", "--most", "3")
    assert said.out.startswith(f"{lost} of {len(found)} pairs")
    assert trug("book", "separation", "--most", "0").code == 2


def test_book_check_passes_on_the_shipped_book(trug: Any, book: Book) -> None:
    said = trug("book", "check")
    assert said.code == 0
    assert f"{len(book.treatments)} treatments" in said.out
    assert json.loads(trug("book", "check", "--json").out)["treatments"] == len(book.treatments)


def test_book_check_reads_another_folder_and_tells_what_is_wrong_there(trug: Any, tmp_path: Path) -> None:
    root = Path(str(resources.files("trug.treatments")))
    for name in ("sources.toml", "coverage.toml", "strangers.toml", "groups.toml"):
        shutil.copy(root / name, tmp_path / name)
    shutil.copytree(root / "fungi" / "flammulina", tmp_path / "fungi" / "flammulina")
    file = tmp_path / "fungi" / "flammulina" / "velutipes.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace('"honey-brown"', '"hony-brown"', 1), "utf-8")
    said = trug("book", "check", tmp_path)
    assert (said.code, said.out) == (3, "")
    line = text[: text.index('"honey-brown"')].count("\n") + 1
    assert said.err.startswith(f"the book is wrong: fungi/flammulina/velutipes.toml:{line}: ")
    assert "did you mean 'honey-brown'" in said.err


def test_book_check_needs_a_folder(trug: Any, tmp_path: Path) -> None:
    assert trug("book", "check", tmp_path / "none").code == 1


def test_book_table_writes_a_table_that_reads_back(trug: Any, tmp_path: Path, table: Table) -> None:
    from trug.determine.table import to_bytes

    file = tmp_path / "book.trugtable"
    said = trug("book", "table", file)
    assert said.code == 0
    assert file.read_bytes() == to_bytes(table)
    assert [p.name for p in tmp_path.iterdir()] == ["book.trugtable"]


def test_a_table_is_written_whole_or_not_at_all(trug: Any, tmp_path: Path) -> None:
    said = trug("book", "table", tmp_path / "none" / "book.trugtable")
    assert said.code == 1
    assert "cannot be written" in said.err
    (tmp_path / "folder").mkdir()
    assert trug("book", "table", tmp_path / "folder").code == 1
    assert [p.name for p in tmp_path.iterdir()] == ["folder"]


# The demonstration


def test_the_demonstration_tells_its_data_are_invented(trug: Any) -> None:
    said = trug("example")
    assert said.code == 0
    assert "invented data" in said.out
    assert said.out.count("fruitbody ") >= 3
    assert json.loads(trug("example", "--json").out)["format"] == "trug.determination/1"


def test_the_demonstration_is_written_once_and_never_over_another_file(trug: Any, tmp_path: Path) -> None:
    file = tmp_path / "cluster.toml"
    assert trug("example", "--write", file).code == 0
    assert file.read_text("utf-8") == DEMO
    file.write_text("mine", "utf-8")
    said = trug("example", "--write", file)
    assert (said.code, said.out) == (1, "")
    assert "exists already" in said.err
    assert file.read_text("utf-8") == "mine"
    assert trug("example", "--write", tmp_path / "none" / "x.toml").code == 1
    assert [p.name for p in tmp_path.iterdir()] == ["cluster.toml"]


# What no output says


def outputs(trug: Any, book: Book) -> Iterator[str]:
    for words in commands():
        yield trug(*words, "--help").out
    for words in (["example"], ["example", "--json"], ["determine", "-", "--full"], ["schema"], ["characters"]):
        yield trug(*words, stdin=DEMO).out
    for words in (["characters", "--json"], ["book", "stats"], ["book", "check"], ["book", "separation"]):
        yield trug(*words).out
    yield trug("compare", "velvet shank", "funeral bell", "--full").out
    for code in book.treatments:
        yield trug("treatment", code).out


def test_no_output_says_that_something_is_edible_or_safe_to_eat(trug: Any, book: Book) -> None:
    """Titles of works and words printed in them are quotations, and left out here."""
    quoted = {s.cite() for s in book.sources.values()}
    quoted |= {t.harm.printed for t in book.treatments.values() if t.harm}
    spaceless = sorted(("".join(q.split()).lower() for q in quoted if "edible" in q.lower()), key=len, reverse=True)
    for out in outputs(trug, book):
        assert "\x1b" not in out
        text = "".join(out.split()).lower()
        for quotation in spaceless:
            text = text.replace(quotation, "")
        for word in ("edible", "safetoeat"):
            assert word not in text, out[:200]


def test_compare_with_one_name_shows_what_it_is_taken_for(trug: Any) -> None:
    said = trug("compare", "sheathed woodtuft")
    assert said.code == 0
    assert "Kuehneromyces mutabilis is confused with" in said.out
    assert "Galerina marginata" in said.out
    found = json.loads(trug("compare", "kuehneromyces-mutabilis", "--json").out)
    galerina = next(c for c in found if c["taxon"] == "galerina-marginata")
    assert galerina["field_separable"] is False
    assert all(s["likeness"] < 0.6 for s in galerina["separating"])


def test_compare_refuses_two_names_of_one_taxon(trug: Any) -> None:
    said = trug("compare", "death cap", "amanita-phalloides")
    assert (said.code, said.out) == (1, "")
    assert "one taxon" in said.err


def test_compare_says_where_two_firm_looks_do_not_part_a_pair(trug: Any) -> None:
    said = trug("compare", "kuehneromyces-mutabilis", "galerina-marginata")
    assert "not separable in the field by two firm looks" in re.sub(r"\s+", " ", said.out)
    said = trug("compare", "boletus-edulis", "amanita-phalloides")
    assert "not separable" not in said.out


def test_treatment_shows_kitchen_and_cautions(trug: Any) -> None:
    said = re.sub(r"\s+", " ", trug("treatment", "reishi").out + trug("treatment", "brown rollrim").out)
    assert "Coded as used in the stillroom, only under a signed name" in said
    assert "Caution: medicines that thin the blood" in said
    assert "Not for anyone: people who thought it good have died of it" in said
    told = json.loads(trug("treatment", "reishi", "--json").out)
    assert told["use"]["keeps"]
    assert told["cautions"]


@pytest.fixture
def changed(tmp_path: Path) -> Path:
    """Return a copy of the book in which the funeral bell's print may be white."""
    folder = tmp_path / "changed"
    shutil.copytree(str(resources.files("trug.treatments")), folder)
    file = folder / "fungi/galerina/marginata.toml"
    text = file.read_text("utf-8")
    start = text.index("[characters.spore_print]")
    end = text.index("[characters", start + 5)
    new = '[characters.spore_print]\nusually = ["rust-brown"]\nsometimes = ["white"]\nsource = "from-memory"\n\n'
    file.write_text(text[:start] + new + text[end:], "utf-8")
    return folder


def test_diff_shows_change_and_figures(trug: Any, changed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from trug.determine import bookdiff

    for name, n in (("EACH", 20), ("HARMFUL", 2000), ("WHOLE", 500)):
        monkeypatch.setattr(bookdiff, name, n)
    before = str(resources.files("trug.treatments"))
    said = trug("book", "diff", changed, "--against", before)
    assert said.code == 0
    text = re.sub(r"\s+", " ", said.out)
    assert "galerina-marginata spore_print" in text
    assert "rust brown, also white [from-memory]" in text
    for line in ("first name right", "harmful truth ruled out wrongly, student", "whole book"):
        assert line in text
    found = json.loads(trug("book", "diff", changed, "--against", before, "--json").out)
    assert [c["what"] for c in found["changes"]] == ["spore_print"]
    old, new = found["figures"]["changed and confused"]
    assert new["clear"] <= old["clear"]


def test_diff_of_the_same_book(trug: Any) -> None:
    before = str(resources.files("trug.treatments"))
    said = trug("book", "diff", before, "--against", before)
    assert (said.code, said.out.strip()) == (0, "The two books say the same.")


def test_diff_without_git_says_what_to_do(trug: Any, changed: Path) -> None:
    said = trug("book", "diff", changed)
    assert said.code == 1
    assert "--against" in said.err
    said = trug("book", "diff", changed / "nowhere")
    assert said.code == 1
    assert "no such folder" in said.err
