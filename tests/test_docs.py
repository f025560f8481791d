"""The documents describe the program: commands run, generated pages are current, links resolve.

Comments that stand alone on a line steer the run of a page, which happens in a new folder, from top to bottom:

``<!-- file: NAME -->``                   the next fenced block is written to this file
``<!-- insert: NAME, fruitbody ID -->``   the next fenced block goes below ``[fruitbodies.seen]`` of that fruitbody
``<!-- append: NAME -->``                 the next fenced block goes to the end of this file
``<!-- input: A | B -->``                 lines typed at the commands of the next block
``<!-- records: empty -->``               the data folder holds an empty database before the next block
``<!-- exit: N -->``                      the exit code of the commands of the next block, 0 where nothing is said

In a ``console`` block a command follows ``$``; the other lines below ``docs`` must appear in its output, in order,
with any white space, and with ``...`` for what is left out.
"""

from __future__ import annotations

import functools
import importlib.util
import io
import os
import re
import shlex
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType

import msgspec
import pytest

from trug.determine import find, record
from trug.determine.determination import CAUTIONS, DANGER
from trug.determine.find import METHODS, SURE
from trug.treatments import Book

ROOT = Path(__file__).parent.parent
DOCS = sorted((ROOT / "docs").rglob("*.md"))
PAGES = [p for p in (ROOT / "README.md", ROOT / "CONTRIBUTING.md", ROOT / "CHANGELOG.md") if p.exists()] + DOCS
#: Answers for a command that asks, where a page scripts none: a stage, the first answer twice, an end.
ANSWERS = ["1", "prime", "1", "1", "q"]


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_reference", ROOT / "docs/make_reference.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@dataclass
class Block:
    """A fenced block with the comments that stand before it."""

    language: str
    lines: list[str]
    steer: dict[str, str] = field(default_factory=dict)


def blocks(text: str) -> Iterator[Block]:
    steer: dict[str, str] = {}
    block: Block | None = None
    for line in text.splitlines():
        fence = re.match(r"^```(\w*)\s*$", line)
        if block is not None and fence:
            yield block
            block, steer = None, {}
        elif block is not None:
            block.lines.append(line)
        elif fence:
            block = Block(fence.group(1), [], steer)
        elif found := re.match(r"^<!-- (file|insert|append|input|exit|records): (.*) -->$", line):
            steer[found.group(1)] = found.group(2)
    assert block is None, "a fenced block is not closed"


def commands(block: Block) -> Iterator[tuple[str, list[str]]]:
    """Yield each command of a block with the output that is shown for it."""
    if block.language == "sh":
        yield from ((line, []) for line in block.lines if line.strip())
    elif block.language == "console":
        command, shown = "", []
        for line in block.lines:
            if line.startswith("$ "):
                if command:
                    yield command, shown
                command, shown = line[2:], []
            else:
                shown.append(line)
        if command:
            yield command, shown


def run_trug(words: list[str], typed: str, monkeypatch: pytest.MonkeyPatch) -> tuple[int, str, str]:
    from trug.__main__ import main

    out, err = io.StringIO(), io.StringIO()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "argv", ["trug", *words])
        patch.setattr(sys, "stdin", io.StringIO(typed))
        patch.setattr(sys, "stdout", out)
        patch.setattr(sys, "stderr", err)
        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
    return code, out.getvalue(), err.getvalue()


def run_line(line: str, typed: str | None, folder: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[int, str] | None:
    """Run the ``trug`` of one line; None where the line holds none. Other commands of a pipe are not run."""
    lexer = shlex.shlex(line, posix=True, punctuation_chars="|<>;&")
    lexer.whitespace_split, lexer.commenters = True, "#"
    stages: list[list[str]] = [[]]
    for word in lexer:
        if word == "|":
            stages.append([])
        else:
            stages[-1].append(word)
    at = next((i for i, s in enumerate(stages) if s and Path(s[0]).name == "trug"), None)
    if at is None:
        return None
    words, target = stages[at][1:], None
    if words[:1] in (["serve"], ["demo"]):
        return run_server(tuple(words))
    if at and stages[at - 1][0] == "cat":
        typed = "".join((folder / name).read_text("utf-8") for name in stages[at - 1][1:])
    for mark in ("<", ">"):
        if mark in words:
            k = words.index(mark)
            if mark == "<":
                typed = (folder / words[k + 1]).read_text("utf-8")
            else:
                target = folder / words[k + 1]
            del words[k : k + 2]
    if typed is None:
        typed = "\n".join(ANSWERS) + "\n"
    code, out, err = run_trug(words, typed, monkeypatch)
    if target is not None:
        target.write_text(out, "utf-8")
    return code, out + err


@functools.cache
def run_server(words: tuple[str, ...]) -> tuple[int, str]:
    """Run a command that goes on until it is stopped: read where it answers, look at its first page, stop it."""
    told = ["--port", "0"] if "--port" not in words else []
    quiet = ["--no-browser"] if "--no-browser" not in words else []
    command = [sys.executable, "-m", "trug", *words, *told, *quiet]
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "TRUG_DATA": str(Path(folder) / "records"), "PYTHONUNBUFFERED": "1"}
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment, cwd=folder) as process:
            try:
                assert process.stdout is not None
                line = next(line for line in process.stdout if "http://" in line)
                address = re.search(r"http://\S+", line)
                assert address is not None
                with urllib.request.urlopen(address[0], timeout=30) as answer:
                    assert answer.status == 200
                    assert b"trug" in answer.read()
            finally:
                process.terminate()
                process.wait(20)
    return 0, line


def prepare(block: Block, folder: Path) -> None:
    """Write the files that a block describes."""
    text = "\n".join(block.lines) + "\n"
    if name := block.steer.get("file"):
        (folder / name).write_text(text, "utf-8")
    if name := block.steer.get("append"):
        path = folder / name
        path.write_text(path.read_text("utf-8") + "\n" + text, "utf-8")
    if "records" in block.steer:
        from trug.records.database import Database

        Database.open(folder / "records").close()
    if where := block.steer.get("insert"):
        name, _, body = where.partition(", fruitbody ")
        before = (folder / name).read_text("utf-8")
        mark = "[fruitbodies.seen]\n"
        at = before.index(mark, before.index(f'id = "{body}"')) + len(mark)
        (folder / name).write_text(before[:at] + text + before[at:], "utf-8")


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_every_command_of_a_page_runs_in_order_with_its_exit_code(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRUG_DATA", str(tmp_path / "records"))
    for block in blocks(page.read_text("utf-8")):
        prepare(block, tmp_path)
        wanted = int(block.steer.get("exit", "0"))
        told = block.steer.get("input")
        typed = None if told is None else "".join(f"{answer.strip()}\n" for answer in told.split("|"))
        for line, shown in commands(block):
            result = run_line(line, typed, tmp_path, monkeypatch)
            if result is None:
                continue
            code, output = result
            assert code == wanted, f"{line}: exit code {code}, {wanted} expected\n{output}"
            if page in DOCS:
                rest = squeezed(output)
                for piece in filter(None, (squeezed(p) for s in shown for p in s.split("..."))):
                    assert piece in rest, f"{line}: the page shows {piece!r}, the command says\n{output}"
                    rest = rest.partition(piece)[2]


def test_commands_stand_in_the_pages_that_lead_a_reader() -> None:
    for name in ("tutorial/first-find.md", "how-to/write-a-find-document.md", "how-to/be-asked-look-by-look.md"):
        found = [c for b in blocks((ROOT / "docs" / name).read_text("utf-8")) for c, _ in commands(b)]
        assert any(c.startswith("trug determine") for c in found), name


@pytest.mark.parametrize("path", generator().command_names(), ids=" ".join)
def test_every_command_has_a_heading_in_the_reference(path: tuple[str, ...]) -> None:
    headings = re.findall(r"^#+ (.*)$", (ROOT / "docs/reference/commands.md").read_text("utf-8"), re.M)
    assert " ".join(path) in headings


def test_generated_pages_are_current() -> None:
    stale = [path.name for path, text in generator().pages().items() if path.read_text("utf-8") != text]
    assert stale == [], "run 'python docs/make_reference.py'"


def test_the_glossary_explains_every_constant_of_the_engine() -> None:
    from trug.determine.model import ErrorModel

    assert set(generator().CONSTANTS) == set(ErrorModel.__struct_fields__)


def anchors(text: str) -> set[str]:
    prose = re.sub(r"^```.*?^```", "", text, flags=re.M | re.S)
    found = set()
    for heading in re.findall(r"^#+ (.*)$", prose, re.M):
        plain = re.sub(r"[`*]|\[([^\]]*)\]\([^)]*\)", lambda m: m.group(1) or "", heading).lower()
        found.add(re.sub(r"[^\w\- ]", "", plain).replace(" ", "-"))
    return found


def links(page: Path) -> list[str]:
    prose = re.sub(r"^```.*?^```|`[^`\n]*`(?!\])", "", page.read_text("utf-8"), flags=re.M | re.S)
    return re.findall(r"\]\(([^)\s]+)\)", prose) + re.findall(r'<img [^>]*src="([^"]+)"', prose)


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_internal_links_resolve(page: Path) -> None:
    for link in links(page):
        if link.startswith(("http:", "https:", "mailto:")):
            continue
        file, _, anchor = link.partition("#")
        target = (page.parent / file).resolve() if file else page
        assert target.exists(), f"{link}: no such file"
        if anchor:
            assert anchor in anchors(target.read_text("utf-8")), f"{link}: no such heading"


def test_every_page_is_reached_from_the_index() -> None:
    reached, ahead = set(), [ROOT / "docs/index.md"]
    while ahead:
        page = ahead.pop()
        if page in reached or page.suffix != ".md":
            continue
        reached.add(page)
        ahead += [(page.parent / x.partition("#")[0]).resolve() for x in links(page) if "://" not in x and x[0] != "#"]
    assert [name_of(p) for p in DOCS if p.resolve() not in reached] == []


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_no_page_gives_leave_to_eat(page: Path) -> None:
    text = squeezed(page.read_text("utf-8")).lower()
    for words in ("safe to eat", "safely eaten", "edible: yes", "100 % safe", "is edible"):
        assert words not in text


def test_the_safety_page_carries_every_caution_of_the_program() -> None:
    text = squeezed((ROOT / "docs/explanation/safety.md").read_text("utf-8"))
    for caution in (*CAUTIONS, *re.split(r"(?<=\.) ", DANGER)):
        assert caution in text


@pytest.mark.parametrize("page", [p for p in DOCS if p.parent.name in ("tutorial", "how-to")], ids=name_of)
def test_pages_that_lead_to_a_name_lead_to_the_cautions(page: Path) -> None:
    assert any(link.endswith("explanation/safety.md") for link in links(page))


def structs_of(module: ModuleType) -> list[type[msgspec.Struct]]:
    return [s for s in vars(module).values() if isinstance(s, type) and issubclass(s, msgspec.Struct)]


@pytest.mark.parametrize(
    ("module", "page"),
    [(find, "find-document.md"), (record, "determination-record.md")],
    ids=["find document", "determination record"],
)
def test_every_field_of_a_document_is_explained(module: ModuleType, page: str) -> None:
    text = (ROOT / "docs/reference" / page).read_text("utf-8")
    fields = {f for s in structs_of(module) if s.__module__ == module.__name__ for f in s.__struct_fields__}
    assert sorted(f for f in fields if f"`{f}`" not in text) == []


def test_the_find_document_page_names_every_method_and_sureness() -> None:
    text = (ROOT / "docs/reference/find-document.md").read_text("utf-8")
    assert [w for w in (*METHODS, *SURE) if f"`{w}`" not in text] == []


def test_the_treatment_format_names_every_field(book: Book) -> None:
    from trug.treatments import loader

    text = (ROOT / "docs/reference/treatment-format.md").read_text("utf-8")
    fields = loader._TOP | loader._RECORD | loader._HARM | loader._USE | loader._TRADITION | loader._CAUTION
    assert sorted(f for f in fields if not re.search(rf"\b{f}\b", text)) == []
    words = (ROOT / "docs/reference/kitchen-words.md").read_text("utf-8")
    used = {c for t in book.treatments.values() if t.use for c in t.use.conditions}
    used |= {t.harm.condition for t in book.treatments.values() if t.harm and t.harm.condition}
    assert sorted(c for c in used if f"`{c}`" not in words) == []


def test_the_treatment_format_shows_a_file_that_reads(book: Book) -> None:
    from trug.characters import load_vocabulary
    from trug.treatments.loader import read_treatment

    page = (ROOT / "docs/reference/treatment-format.md").read_text("utf-8")
    example = next(b for b in blocks(page) if b.language == "toml")
    text = "\n".join(example.lines).replace('"key"', f'"{next(iter(book.sources))}"')
    treatment, problems = read_treatment("genus-species", text, load_vocabulary(), book.sources)

    assert problems == []
    assert treatment is not None


def test_release_reasons_are_all_explained() -> None:
    source = (ROOT / "src/trug/determine/release.py").read_text("utf-8")
    codes = set(re.findall(r'refuse\(\s*"([\w-]+)"', source))
    text = (ROOT / "docs/reference/determination-record.md").read_text("utf-8")

    assert len(codes) > 10
    assert sorted(c for c in codes if f"`{c}`" not in text) == []


def test_open_reasons_are_all_explained() -> None:
    from trug.cli.render import OPEN_WORDS

    text = (ROOT / "docs/reference/determination-record.md").read_text("utf-8")
    assert sorted(c for c in OPEN_WORDS if f"`{c}`" not in text) == []


def test_a_wrong_exit_code_on_a_page_would_be_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run_line("trug determine no-such-file.toml", None, tmp_path, monkeypatch) == (
        1,
        "trug: no-such-file.toml: no such file; check the name and the folder\n",
    )
    assert run_line("make test", None, tmp_path, monkeypatch) is None
