"""Treatments as files: what reads, and how everything wrong is told."""

from __future__ import annotations

import shutil
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest

from trug.characters import load_vocabulary
from trug.errors import BookError
from trug.treatments import Book, Treatment, load_book
from trug.treatments.check import unsourced
from trug.treatments.loader import read_treatment, treatment_files

GOOD = """\
name = "Genus species"
authority = "Nobody"
family = "Invented"
english = ["invented cap"]
rank = "species"
group = "gilled, on wood"
default_source = "from-memory"

[harm]
level = "kills"
syndrome = "amatoxin"
latency_h = [6, 24]
source = "common-practice"

[use]
as = "food"
stages = ["young"]
conditions = ["cook-through"]

[prior]
months = "oct-apr"
regions = ["europe-north"]
abundance = "rare"

[insist]
looks = ["spore_print"]

[characters.cap_width]
size = "(8–)15–40(–60)"

[characters.spore_print]
usually = ["rust-brown"]
never = ["white"]
source = "common-practice"

[characters.cap_colour]
young = { usually = ["honey-brown"] }
past = { usually = ["buff"], sometimes = ["honey-brown"] }
"""


def read(text: str, book: Book) -> tuple[Treatment | None, list[str]]:
    return read_treatment("genus-species", text, load_vocabulary(), book.sources)


def line(text: str, part: str) -> int:
    return next(n for n, row in enumerate(text.splitlines(), 1) if part in row)


def test_a_good_treatment_reads(book: Book) -> None:
    t, problems = read(GOOD, book)
    assert problems == []
    assert t is not None
    assert (t.code, t.common, t.rank) == ("genus-species", "invented cap", "species")
    assert t.harm is not None
    assert (t.harm.level, t.harm.latency_h, t.harm.source) == ("kills", (6.0, 24.0), "common-practice")
    assert t.use is not None
    assert t.use.stages == ("young",)
    assert t.prior.months == {10, 11, 12, 1, 2, 3, 4}
    assert t.insist == ("spore_print",)
    assert t.records["cap_width"].size is not None
    assert t.records["spore_print"].excludes("white")
    assert not t.records["spore_print"].excludes("green")
    assert set(t.records["cap_colour"].words) == {"young", "past"}
    assert t.records["cap_colour"].source == "from-memory"


@pytest.mark.parametrize(
    ("right", "wrong", "word", "near"),
    [
        ("[characters.spore_print]", "[characters.spore_prnt]", "spore_prnt", "spore_print"),
        ('usually = ["rust-brown"]', 'usually = ["rustbrown"]', "rustbrown", "rust-brown"),
        ('never = ["white"]', 'never = ["whte"]', "whte", "white"),
        ('usually = ["buff"]', 'usually = ["buf"]', "buf", "buff"),
        (
            '"white"]\nsource = "common-practice"',
            '"white"]\nsource = "comon-practice"',
            "comon-practice",
            "common-practice",
        ),
        ('regions = ["europe-north"]', 'regions = ["europe-nort"]', "europe-nort", "europe-north"),
        ('looks = ["spore_print"]', 'looks = ["spore_prints"]', "spore_prints", "spore_print"),
        ('stages = ["young"]', 'stages = ["yung"]', "yung", "young"),
        ('authority = "Nobody"', 'authorty = "Nobody"', "authorty", "authority"),
        ('never = ["white"]', 'nevr = ["white"]', "nevr", "never"),
    ],
)
def test_an_unknown_word_gives_file_line_word_and_the_nearest(
    book: Book, right: str, wrong: str, word: str, near: str
) -> None:
    assert right in GOOD
    text = GOOD.replace(right, wrong)
    t, problems = read(text, book)
    assert t is None
    assert any(
        p.startswith(f"fungi/genus/species.toml:{line(text, word)}: ") and f"{word!r}; did you mean {near!r}" in p
        for p in problems
    ), problems


@pytest.mark.parametrize(
    ("right", "wrong", "message", "at"),
    [
        ("(8–)15–40(–60)", "40–15", "must be positive and ascend", "40–15"),
        ("(8–)15–40(–60)", "15 to 40", "is no size", "[characters.cap_width]"),
        ("(8–)15–40(–60)", "(1–)15–40(–6000)", "lies outside 2 to 700 mm", "[characters.cap_width]"),
        ('size = "(8–)15–40(–60)"', 'usually = ["wide"]', "cap_width needs size", "[characters.cap_width]"),
        ('usually = ["rust-brown"]', 'size = "4–5"', "spore_print is not measured", "[characters.spore_print]"),
        ('usually = ["rust-brown"]\n', "", "no state that occurs is named", "[characters.spore_print]"),
        ('never = ["white"]', 'never = ["rust-brown"]', "'rust-brown' is named twice", "usually"),
        ('never = ["white"]', 'never = "white"', "never must be a list", "never"),
        ('"kills"', '"deadly"', "harm level must be one of kills, organ, gut, conditional", "deadly"),
        ('"kills"', '"conditional"', "names its condition", "[harm]"),
        ("[6, 24]", "[24, 6]", "two ascending hours", "24, 6"),
        ('"food"', '"feast"', "as must be 'food' or 'medicine'", "[use]"),
        ("oct-apr", "oct-apil", "is no month", "oct-apil"),
        ('"rare"', '"scarce"', "abundance must be", "scarce"),
        ('rank = "species"', 'rank = "kind"', "rank must be one of", "rank"),
        ('english = ["invented cap"]', 'english = "invented cap"', "english must be a list", "english"),
        ("[characters.spore_print]", "[characters.season]", "season is not evidence", "characters.season"),
    ],
)
def test_a_wrong_value_is_told_with_its_line(book: Book, right: str, wrong: str, message: str, at: str) -> None:
    assert right in GOOD
    text = GOOD.replace(right, wrong)
    t, problems = read(text, book)
    assert t is None
    expected = "[characters.cap_width]" if at == "40–15" else at
    (problem,) = [p for p in problems if message in p]
    assert problem.startswith(f"fungi/genus/species.toml:{line(text, expected)}: ")


@pytest.mark.parametrize("field", ["name", "authority", "family", "group"])
def test_a_missing_field_is_named(book: Book, field: str) -> None:
    text = "\n".join(row for row in GOOD.splitlines() if not row.startswith(f"{field} ="))
    assert read(text, book) == (None, [f"fungi/genus/species.toml: the field '{field}' is missing"])


def test_a_value_without_a_source_is_refused(book: Book) -> None:
    _, problems = read(GOOD.replace('default_source = "from-memory"\n', ""), book)
    assert sum("a source is missing" in p for p in problems) == 4


def test_all_problems_of_a_file_are_told_at_once(book: Book) -> None:
    text = GOOD.replace('"buff"', '"buf"').replace('"white"', '"whte"').replace("15–40", "40–15")
    _, problems = read(text, book)
    assert len(problems) == 3


def test_a_syntax_error_is_told_with_its_line(book: Book) -> None:
    _, (problem,) = read(GOOD.replace('"kills"', '"kills'), book)
    assert problem.startswith(f"fungi/genus/species.toml:{line(GOOD, 'level')}: not valid TOML")


@pytest.mark.parametrize("value", ["5", "true", "nan", "[[1]]", "{a = 1}", "1999-01-01", "'x'", "9" * 5000])
@pytest.mark.parametrize(
    "field", ["english", "level", "latency_h", "stages", "months", "looks", "size", "usually", "young"]
)
def test_a_value_of_another_kind_is_a_problem_and_no_trace(book: Book, field: str, value: str) -> None:
    rows = GOOD.splitlines()
    at = next(n for n, row in enumerate(rows) if row.startswith(f"{field} ="))
    t, problems = read("\n".join([*rows[:at], f"{field} = {value}", *rows[at + 1 :]]), book)
    assert (t is None) == bool(problems)
    assert all(p.startswith("fungi/genus/species.toml") for p in problems)
    assert problems or (field, value) == ("size", "5")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of the book's form that holds one genus."""
    root = Path(str(resources.files("trug.treatments")))
    for name in ("sources.toml", "coverage.toml", "strangers.toml", "groups.toml"):
        shutil.copy(root / name, tmp_path / name)
    shutil.copytree(root / "fungi" / "flammulina", tmp_path / "fungi" / "flammulina")
    return tmp_path


def test_a_book_in_another_folder_reads(folder: Path, book: Book) -> None:
    other = load_book(folder)
    assert list(other.treatments) == ["flammulina-velutipes"]
    assert other.treatments["flammulina-velutipes"] == book.treatments["flammulina-velutipes"]
    assert other.digest != book.digest


def test_the_digest_follows_every_source_text(folder: Path, tmp_path: Path) -> None:
    digests = {load_book(folder).digest}
    for name in ("sources.toml", "coverage.toml", "strangers.toml", "groups.toml", "fungi/flammulina/velutipes.toml"):
        with (folder / name).open("a", encoding="utf-8") as out:
            out.write("# a word\n")
        load_book.cache_clear()
        digests.add(load_book(folder).digest)
    load_book.cache_clear()
    assert len(digests) == 6


def test_problems_of_all_files_are_told_together(folder: Path) -> None:
    for name in ("alba", "nigra"):
        (folder / "fungi" / "flammulina" / f"{name}.toml").write_text(GOOD.replace('"white"', '"whte"'), "utf-8")
    (folder / "fungi" / "flammulina" / "photo.toml").write_bytes(b"\xff\xd8")
    with pytest.raises(BookError) as caught:
        load_book(folder)
    told = str(caught.value).splitlines()
    assert [t.split(":")[0] for t in told] == [f"fungi/flammulina/{n}.toml" for n in ("alba", "nigra", "photo")]


@pytest.mark.parametrize("name", ["sources.toml", "coverage.toml", "strangers.toml", "groups.toml"])
@pytest.mark.parametrize("text", ["", "x", "x = 5", "[x]\ny = 1", "[date]\n[regions]\n[blend]", "\udcff"])
def test_a_wrong_or_missing_file_of_the_book_is_told(folder: Path, name: str, text: str) -> None:
    (folder / name).write_bytes(text.encode("utf-8", "surrogateescape"))
    if name == "groups.toml" and not text:
        assert load_book(folder).groups == ()
        return
    with pytest.raises(BookError, match=r"\.toml|unknown source"):
        load_book(folder)
    (folder / name).unlink()
    with pytest.raises(BookError, match=f"{name}: missing"):
        load_book(folder)


def test_a_folder_without_treatments_is_told(tmp_path: Path, folder: Path) -> None:
    shutil.rmtree(folder / "fungi")
    with pytest.raises(BookError, match="fungi: there is no such folder"):
        load_book(folder)


def test_files_come_in_order_of_their_code(book: Book) -> None:
    found = [code for code, _ in treatment_files(resources.files("trug.treatments"))]
    assert found == sorted(found) == list(book.treatments)


KITCHEN = """
[[tradition]]
form = "decoction"
purpose = "stomach"
source = "common-practice"
at = "p. 1"

[[caution]]
code = "blood-thinners"
source = "common-practice"
"""


def test_kitchen_words_traditions_and_cautions_are_read(book: Book) -> None:
    text = GOOD.replace(
        'conditions = ["cook-through"]\n',
        'conditions = ["cook-through"]\ntrim = ["base"]\ncook_because = ["germs"]\nkeeps = ["dry"]\n',
    )
    text = text.replace('level = "kills"\n', 'level = "kills"\nthought_good = true\n')
    t, problems = read(text + KITCHEN, book)
    assert problems == []
    assert t is not None
    assert t.use is not None
    assert (t.use.trim, t.use.cook_because, t.use.keeps) == (("base",), ("germs",), ("dry",))
    assert t.harm is not None
    assert t.harm.thought_good
    assert [(x.form, x.purpose, x.at) for x in t.traditions] == [("decoction", "stomach", "p. 1")]
    assert [x.code for x in t.cautions] == ["blood-thinners"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('conditions = ["cook-through"]', 'conditions = ["cook-trough"]', "did you mean 'cook-through'"),
        ('stages = ["young"]', 'stages = ["young"]\nkeeps = ["dryed"]', "unknown word 'dryed'; did you mean 'dry'"),
        ('stages = ["young"]', 'stages = ["young"]\ntrims = ["base"]', "unknown field 'trims'; did you mean 'trim'"),
        ('level = "kills"', 'level = "kills"\nlatency = [6, 24]', "unknown field 'latency'"),
        ('form = "decoction"', 'form = "decoctoin"', "unknown word 'decoctoin'"),
        ('code = "blood-thinners"', 'code = "blood"', "unknown word 'blood'"),
        ('code = "blood-thinners"', 'code = "alcohol"\nwho = "all"', "unknown field 'who'"),
    ],
)
def test_wrong_kitchen_words_are_told_with_the_nearest(book: Book, old: str, new: str, told: str) -> None:
    text = (GOOD + KITCHEN).replace(old, new)
    assert text != GOOD + KITCHEN
    t, problems = read(text, book)
    assert t is None
    assert any(told in problem for problem in problems), problems


def test_an_unsourced_exclusion_of_what_kills_is_refused(book: Book) -> None:
    """At level kills a never from common practice is told; a published one with its place is not."""
    t, _ = read(GOOD, book)
    assert t is not None
    one = replace(book, treatments={t.code: t})
    problems = unsourced(one)
    assert any("spore_print: never and complete need a published source" in p for p in problems)
    assert any("harm: 'at' or 'printed' is missing" in p for p in problems)
    published = next(key for key, s in book.sources.items() if s.kind == "published")
    text = GOOD.replace('never = ["white"]\nsource = "common-practice"', f'never = ["white"]\nsource = "{published}"')
    t, _ = read(text, book)
    assert t is not None
    problems = unsourced(replace(book, treatments={t.code: t}))
    assert any("spore_print: 'at' or 'printed' is missing" in p for p in problems)
