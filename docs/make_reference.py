"""Write the reference pages that follow from the program itself.

``docs/reference/commands.md``, ``characters.md``, ``fungi.md``, ``not-separable.md``, ``kitchen-words.md``,
``records.md`` and ``api.md`` are whole pages; in ``docs/reference/glossary.md`` only the table of constants between
its markers is written.
Run with ``python docs/make_reference.py`` after a command, a character or a constant was changed;
``--check`` only says which pages are stale.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from typer.main import get_command
from typer.testing import CliRunner

from trug.characters import Character, load_vocabulary
from trug.cli.app import app
from trug.determine.confusions import Confusions
from trug.determine.model import ErrorModel
from trug.loaded import loaded
from trug.treatments.loader import load_kitchen
from trug.treatments.model import HARM_LEVELS

__all__ = ["CONSTANTS", "command_names", "pages"]

REFERENCE = Path(__file__).parent / "reference"
LEVEL_TITLES = {"kills": "Kills", "organ": "Does lasting damage", "gut": "Upsets the gut or the mind"}
#: Width of the help texts [characters].
WIDTH = 90
#: What each constant of the engine means, and its unit.
CONSTANTS = {
    "weights": ("how much each word for how often weighs against the others of one character", "relative"),
    "unsaid_mass": ("chance left to all the states that a treatment does not mention, together", "share"),
    "never_mass": ("chance left to each state that a treatment excludes", "share"),
    "near_share": ("part of the wrong looks that name a state easily taken for the true one", "share"),
    "max_error": ("most that a look may be taken to err, however unsure", "share"),
    "levels": ("times the error rate for a sure, a fairly sure, an unsure look", "factor"),
    "error_floor": ("least that any look is taken to err", "share"),
    "blend": ("how far a stranger departs from its relative, where this was not estimated", "share"),
    "kin_share": ("how much of that departure stays within the relative's own group", "share"),
    "unlisted_prior": ("chance of a stranger before any look, where the book covers the region best", "share"),
    "unlisted_prior_outside": ("the same where the book does not cover the region", "share"),
    "unlisted_limit": ("chance of a stranger from which nothing is ruled out", "share"),
    "fit_limit": ("surprise from which a fit is called poor", "standard deviations"),
    "margin": ("margin that an exclusion must exceed after every strike (the log of 100)", "nat"),
    "margin_tolerance": ("a margin this close to the limit counts as open", "nat"),
    "size_sigma": ("least spread of a size, as the standard deviation of its logarithm", "log units"),
    "spore_sigma": ("the same for sizes of spores", "log units"),
    "size_tolerance": ("how far beyond the printed extremes a size must lie to contradict", "share"),
    "spore_tolerance": ("the same for sizes of spores", "share"),
    "soft_limit": ("most that hesitant evidence may leave to allowed states and still contradict", "share"),
    "quantum": ("step to which log-likelihoods are rounded", "nat"),
    "floor": ("least log-likelihood of one look", "nat"),
    "stage_prior": ("how common egg, button, young, prime and past are taken to be", "shares"),
    "stage_doubt": ("part of a named stage left to its neighbours", "share"),
    "prior_floor": ("weight of a fungus in a region where it is not recorded", "relative"),
}


def _commands(group: Any, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    yield path
    for name, command in getattr(group, "commands", {}).items():
        yield from _commands(command, (*path, name))


def command_names() -> list[tuple[str, ...]]:
    """Return every command of the live program as a path of words, ``trug`` itself first."""
    return list(_commands(get_command(app), ("trug",)))


def commands_page() -> str:
    """Return the page of all commands: the help text of each."""
    lines = [
        "# Commands",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        "Every command answers `--help` with the text that stands here.",
        "",
        "| exit code | meaning |",
        "| --- | --- |",
        "| 0 | done |",
        "| 1 | a file or an answer cannot be used; the message says what to mend |",
        "| 2 | wrong use of the command |",
        "| 3 | the book is wrong |",
        "| 4 | done, but looks contradict each other; the determination says which |",
    ]
    runner = CliRunner()
    for path in command_names():
        result = runner.invoke(app, [*path[1:], "--help"], prog_name="trug", env={"COLUMNS": str(WIDTH)})
        assert result.exit_code == 0, result.output
        text = "\n".join(line.rstrip() for line in result.output.strip().splitlines())
        lines += ["", f"## {' '.join(path)}", "", "```text", text, "```"]
    return "\n".join(lines) + "\n"


def _notes(c: Character) -> str:
    notes = []
    if c.of_find:
        notes.append("told once for the whole find")
    if c.destructive:
        notes.append("cuts or uses up the specimen")
    if c.silent:
        notes.append(f"says nothing: {', '.join(s.code for s in c.states if s.code in c.silent)}")
    notes += [f"`{n.state}` counts only with `{n.character}` = {' or '.join(n.states)}" for n in c.needs]
    if c.grows:
        notes.append("read on grown fruitbodies only")
    if c.never_excludes:
        notes.append("never rules anything out")
    elif c.weak_for_kills:
        notes.append("never rules out what kills")
    if c.applies:
        notes.append(f"only where `{c.applies.character}` is {', '.join(c.applies.states)}")
    if c.role == "prior":
        notes.append("not a look: it shifts what is expected and rules nothing out")
    if c.role == "procedure":
        notes.append("tells how a look was made")
    if c.role == "tree":
        notes.append("tells which tree it was")
    return "; ".join(notes)


def _work(c: Character) -> str:
    wait = f", then wait {c.wait_minutes:g} min" if c.wait_minutes else ""
    tools = f"; needs {', '.join(c.tools)}" if c.tools else ""
    return f"{c.minutes:g} min{wait}{tools}"


def characters_page() -> str:
    """Return the page of all characters: one table, then the states of each."""
    vocabulary = load_vocabulary()
    characters = list(vocabulary.characters.values())
    lines = [
        "# Characters",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        f"There are {len(characters)} characters; {len(vocabulary.looks())} are looks, weighed as evidence.",
        "A *firm* character is one that weather, age and an unpractised eye seldom change.",
        "The *dependence group* names characters that share one cause, so that one fact is not counted twice.",
        "However few its errors, no look is taken to err in fewer than 8 of 100 (`error_floor` in the glossary).",
        "The *part* is the organ that is struck out as a whole when the ledger is tested.",
        "The words are in the [glossary](glossary.md), their effect in [the ledger](../explanation/the-ledger.md).",
        "",
        "| character | question | part | firm | dependence group | errors in 100 looks | work |",
        "| --- | --- | --- | --- | --- | ---: | --- |",
    ]
    for c in characters:
        firm = "yes" if c.firm else ""
        lines.append(
            f"| [`{c.code}`](#{c.code}) | {c.question} | {c.part} | {firm} | {c.group.replace('_', ' ')} "
            f"| {100 * c.error:g} | {_work(c)} |"
        )
    for c in characters:
        lines += ["", f"## {c.code}", "", f"{c.label[0].upper()}{c.label[1:]}: {c.how}"]
        if c.caution:
            lines.append(f"**Caution:** {c.caution}")
        notes = _notes(c)
        if notes:
            lines.append(f"{notes[0].upper()}{notes[1:]}.")
        lines.append("")
        if c.measured:
            assert c.span is not None
            unit = "a plain ratio" if c.unit == "ratio" else "µm" if c.unit == "um" else c.unit
            lines.append(f"A size from {c.span[0]:g} to {c.span[1]:g}, {unit}.")
        else:
            lines += ["| state | meaning |", "| --- | --- |"]
            lines += [f"| `{s.code}` | {s.definition} |" for s in c.states]
    lines += ["", "## Conditions of a fruitbody", "", "| condition | meaning | looks that it voids | spoils |"]
    lines.append("| --- | --- | --- | --- |")
    order = list(vocabulary.characters)
    for k in vocabulary.conditions.values():
        voids = ", ".join(f"`{code}`" for code in sorted(k.voids, key=order.index))
        lines.append(f"| `{k.code}` | {k.definition} | {voids} | {'yes' if k.spoils else 'no'} |")
    return "\n".join(lines) + "\n"


def fungi_page() -> str:
    """Return the page of all fungi in the book, by group."""
    book = loaded().book
    groups: dict[str, list[Any]] = {}
    for t in book.treatments.values():
        groups.setdefault(t.group, []).append(t)
    lines = [
        "# Fungi in the book",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        f"The book holds {len(book.treatments)} fungi.",
        "An *aggregate* stands for several species that are not told apart in the field, a *genus* for a whole one.",
        "[How the list was chosen](../explanation/how-the-book-was-chosen.md) says why these and not others.",
        "`trug treatment NAME` shows one with the source of every value, `trug compare NAME` what it is taken for.",
        "Coded as eaten means that people eat it when it is rightly named and rightly prepared; it is no advice to.",
    ]
    for group in sorted(groups):
        lines += ["", f"## {group[0].upper()}{group[1:]}", "", "| fungus | English | rank | harm | use |"]
        lines.append("| --- | --- | --- | --- | --- |")
        for t in groups[group]:
            harm = f"{t.harm.level} ({t.harm.syndrome})" if t.harm else ""
            use = {"food": "eaten", "medicine": "stillroom"}[t.use.kind] if t.use else ""
            lines.append(f"| *{t.name}* | {', '.join(t.english[:2])} | {t.rank} | {harm} | {use} |")
    return "\n".join(lines) + "\n"


def not_separable_page() -> str:
    """Return the page of pairs of a harmful and an eaten fungus that two firm looks in the field do not separate."""
    here = loaded()
    pairs = Confusions(here.table)
    eaten = [t for t in here.book.treatments.values() if t.use and t.use.kind == "food"]
    rows: dict[str, list[Any]] = {level: [] for level in HARM_LEVELS}
    every = 0
    for h in (t for t in here.book.treatments.values() if t.harm):
        for e in (t for t in eaten if t.code != h.code):
            every += 1
            found = pairs.pair(h.code, e.code)
            if not found.field_separable:
                field = [s.label + (" *" if s.firm else "") for s in found.separating if s.field]
                lab = [s.label + (" *" if s.firm else "") for s in found.separating if not s.field]
                rows[h.harm.level].append((found.near, h, e, field[:5], lab[:3]))
    lines = [
        "# Not separable in the field",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        f"Of {every:,} pairs of a harmful and an eaten fungus, {sum(map(len, rows.values())):,} are not separated by "
        "two firm looks that a knife, a lens, a ruler and two sheets of paper allow.",
        "A firm look, marked with a star, is one that weather, age and an unpractised eye seldom change.",
        "Most of these pairs look different at once, by colour or smell; but that is not firm enough to lean on.",
        "The nearest pairs to the quick eye stand first.",
        "For these, take what separates them at all, go to a microscope, or leave the eaten one standing.",
        f"The {len(rows['conditional']):,} pairs with a fungus that harms on conditions only are left out here; "
        "`trug compare` tells of each.",
    ]
    for level, told in rows.items():
        if level == "conditional" or not told:
            continue
        told.sort(key=lambda r: (r[0], r[1].code, r[2].code))
        lines += ["", f"## {LEVEL_TITLES[level]}", "", "| harmful | eaten | in the field | with a microscope |"]
        lines.append("| --- | --- | --- | --- |")
        for _, h, e, field, lab in told:
            lines.append(f"| *{h.name}* | *{e.name}* | {', '.join(field) or 'nothing'} | {', '.join(lab)} |")
    return "\n".join(lines) + "\n"


def kitchen_page() -> str:
    """Return the page of words for kitchen and stillroom."""
    lines = [
        "# Words for kitchen and stillroom",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        "Treatments use these codes; the words beside them are what is shown.",
        "They tell what the trade and the sources say, and are no advice.",
    ]
    for section, words in load_kitchen().words.items():
        lines += ["", f"## {section}", "", "| code | shown as |", "| --- | --- |"]
        lines += [f"| `{code}` | {said} |" for code, said in words.items()]
    return "\n".join(lines) + "\n"


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{k} {v:g}" for k, v in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(f"{v:g}" for v in value)
    return f"{value:.4g}"


def constants_table() -> str:
    """Return the table of the engine's constants with meaning, value and unit."""
    lines = ["| name | what it is | value | unit |", "| --- | --- | --- | --- |"]
    for name, value in msgspec.structs.asdict(ErrorModel()).items():
        meaning, unit = CONSTANTS[name]
        lines.append(f"| `{name}` | {meaning} | {_plain(value)} | {unit} |")
    return "\n".join(lines)


def records_page() -> str:
    """Return the page of the database: every table with its columns."""
    from trug.records.tables import Base

    lines = [
        "# Records",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        "The records of a person lie in one folder, which `trug serve` names: the database `trug.sqlite3` and the",
        "folder `photos`, where each photo stands under the SHA-256 of its bytes.",
        "Ids are UUIDs (version 7, RFC 9562) made where the thing was made; times are ISO 8601, in UTC.",
        "The same tables serve PostgreSQL; they change by migrations alone, which run when a database is opened.",
        "",
        "`events` holds every change of every field: who, when, on which device, and which earlier change it replaces.",
        "The other tables are the present view of it.",
        "A row with `deleted_at` lies in the bin and can be brought back for thirty days.",
    ]
    kinds = {m.local_table.name: m.class_ for m in Base.registry.mappers}
    for table in Base.metadata.sorted_tables:
        told = " ".join((kinds[table.name].__doc__ or "").split()).replace("``", "`")
        lines += ["", f"## {table.name}", "", told, "", "| column | kind | |", "| --- | --- | --- |"]
        for column in table.columns:
            notes = ["key"] if column.primary_key else []
            notes += [f"names a row of `{key.column.table.name}`" for key in column.foreign_keys]
            if column.nullable:
                notes.append("may be empty")
            lines.append(f"| `{column.name}` | {_kind(column.type)} | {'; '.join(notes)} |")
    return "\n".join(lines) + "\n"


def _kind(kind: Any) -> str:
    """Return what a column holds, in a plain word."""
    name = type(kind).__name__
    words = {"String": "text", "Text": "text", "Float": "number", "Integer": "whole number", "Boolean": "yes or no"}
    return words.get(name, {"LargeBinary": "bytes"}.get(name, name))


def api_page() -> str:
    """Return the page of the API: every operation with what it takes and answers."""
    import tempfile

    from trug.records.database import Database
    from trug.web.app import create_app

    with tempfile.TemporaryDirectory() as folder:
        database = Database.open(Path(folder))
        told = create_app(database).openapi()
        database.close()
    lines = [
        "# API",
        "",
        "This page is made from the program by `python docs/make_reference.py`.",
        "While `trug serve` runs, other programs on this computer find at `/api` the objects that the command line",
        "writes with `--json`; `/api/openapi.json` describes them (OpenAPI), `/api` shows an example of each.",
        "Places are generalised in every answer.",
        'A mistake is answered with its status and one object: `{"error": "what to mend"}`.',
        "What is sent must have the content type `application/json`.",
        "",
        "| operation | what it does |",
        "| --- | --- |",
    ]
    for path, operations in sorted(told["paths"].items()):
        for method, operation in sorted(operations.items()):
            if path.startswith("/api"):
                told = f"{operation['summary']}. {operation['description']}"
                lines.append(f"| `{method.upper()} {path}` | {' '.join(told.split())} |")
    return "\n".join(lines) + "\n"


def pages() -> dict[Path, str]:
    """Return the text that each generated page should have."""
    glossary = REFERENCE / "glossary.md"
    text = re.sub(
        r"(<!-- constants -->\n).*?(<!-- /constants -->)",
        lambda found: f"{found.group(1)}{constants_table()}\n{found.group(2)}",
        glossary.read_text("utf-8"),
        flags=re.S,
    )
    return {
        REFERENCE / "commands.md": commands_page(),
        REFERENCE / "characters.md": characters_page(),
        REFERENCE / "fungi.md": fungi_page(),
        REFERENCE / "not-separable.md": not_separable_page(),
        REFERENCE / "kitchen-words.md": kitchen_page(),
        REFERENCE / "records.md": records_page(),
        REFERENCE / "api.md": api_page(),
        glossary: text,
    }


def main() -> int:
    """Write every page that differs; with ``--check``, only name it."""
    check = "--check" in sys.argv
    stale = 0
    for path, text in pages().items():
        if path.exists() and path.read_text("utf-8") == text:
            continue
        stale += 1
        if check:
            print(f"{path.name} is stale: run 'python docs/make_reference.py'", file=sys.stderr)
        else:
            path.write_text(text, "utf-8")
            print(f"{path.name} written")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
