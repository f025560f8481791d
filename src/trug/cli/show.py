"""Commands that show the book: treatments, comparisons, characters, trees."""

from __future__ import annotations

import itertools
from typing import Annotated, Any

import typer

from trug.cli.output import console, put_json
from trug.errors import InputError, UnknownWordError

__all__ = ["register"]

FIRM = "* firm: weather, age and an unpractised eye seldom change it. Not a determination."
NOT_SEPARABLE = "not separable in the field by two firm looks"


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("compare")(compare)
    app.command("treatment")(treatment)
    app.command("characters")(characters)
    app.command("tree")(tree)


def compare(
    taxa: Annotated[list[str], typer.Argument(metavar="TAXON...", help="One name or more.")],
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
    full: Annotated[bool, typer.Option("--full", help="Show also what does not separate.")] = False,
) -> None:
    """Set treatments side by side, what separates them first; with one name, against all it is confused with.

    Examples:

      trug compare "velvet shank"

      trug compare "velvet shank" "funeral bell"

      trug compare pleurotus-ostreatus pleurocybella-porrigens --full
    """
    from trug.determine.compare import compare as differences
    from trug.determine.comparison import comparison_document, strength
    from trug.determine.confusions import Confusions
    from trug.loaded import loaded
    from trug.treatments.names import treatment_named
    from trug.treatments.words import says

    here = loaded()
    chosen = [treatment_named(here.book, name) for name in taxa]
    codes = list(dict.fromkeys(t.code for t in chosen))
    if len(codes) < 2:
        if len(taxa) > 1:
            raise InputError("these are names of one taxon; name another to compare it with")
        _confused_with(here, chosen[0], json)
        return
    chosen = [here.book.treatments[c] for c in codes]
    found = differences(here.table, codes)
    if json:
        put_json(comparison_document(found, chosen))
        return
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("separates", width=11)
    table.add_column("character", width=26, overflow="fold")
    for t in chosen:
        table.add_column(_title(t), overflow="fold")
    for d in found:
        how_well = strength(d.overlap)
        if how_well == "hardly" and not full:
            continue
        table.add_row(how_well + (" *" if d.firm else ""), d.label, *(says(t.records.get(d.character)) for t in chosen))
    console().print(table)
    console().print(FIRM)
    for t in chosen:
        if t.harm:
            console().print(_harm(t), markup=False, style="bold")
    pairs = Confusions(here.table)
    for a, b in itertools.combinations(codes, 2):
        if not pairs.pair(a, b).field_separable and any(here.book.treatments[x].harm for x in (a, b)):
            console().print(f"{_name(here, a)} and {_name(here, b)}: {NOT_SEPARABLE}", markup=False, style="bold")


def _confused_with(here: Any, treatment: Any, json: bool) -> None:
    """Show what a taxon is confused with and which looks separate the two."""
    from rich.table import Table

    from trug.determine.comparison import confusions_document
    from trug.determine.confusions import Confusions

    found = Confusions(here.table).of(treatment.code)
    if json:
        put_json(confusions_document(found))
        return
    out = console()
    out.print(f"{treatment.name} is confused with", markup=False, style="bold")
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for title in ("fungus", "harm", "separating looks"):
        table.add_column(title, overflow="fold")
    for c in found:
        other = here.book.treatments[c.taxon]
        looks = ", ".join(s.label + (" *" if s.firm else "") + ("" if s.field else " (lab)") for s in c.separating[:8])
        if not c.field_separable and (treatment.harm or other.harm):
            looks = f"{NOT_SEPARABLE}. {looks}"
        table.add_row(_title(other), other.harm.level if other.harm else "", looks)
    out.print(table)
    out.print("Nearest to the quick eye first; worked out from the treatments. (lab): microscope or reagent.")
    out.print(FIRM)
    if treatment.harm:
        out.print(_harm(treatment), markup=False, style="bold")


def _name(here: Any, code: str) -> str:
    return str(here.book.treatments[code].name)


def _title(t: Any) -> str:
    return str(t.name) if t.common == t.name else f"{t.name}\n{t.common}"


def _harm(t: Any) -> str:
    from trug.cli.render import LEVEL_WORDS

    hours = f", first signs after {t.harm.latency_h[0]:g} to {t.harm.latency_h[1]:g} h" if t.harm.latency_h else ""
    condition = f", {t.harm.condition.replace('-', ' ')}" if t.harm.condition else ""
    return f"{t.name}: {LEVEL_WORDS[t.harm.level]} ({t.harm.syndrome}{hours}{condition})"


def treatment(
    name: Annotated[str, typer.Argument(help="A scientific, English or older name.")],
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
) -> None:
    """Show the coded account of one fungus with the source of every value.

    Example:

      trug treatment "funeral bell"
    """
    from trug.cli.kitchen import kitchen_lines
    from trug.cli.render import LEVEL_WORDS
    from trug.loaded import loaded
    from trug.treatments.document import treatment_document
    from trug.treatments.names import treatment_named
    from trug.treatments.words import says

    here = loaded()
    t = treatment_named(here.book, name)
    if json:
        put_json(treatment_document(here.book, t))
        return
    from rich.table import Table
    from rich.text import Text

    from trug.treatments.notation import MONTHS

    out = console()
    out.print(Text(f"{t.name} {t.authority}", style="bold"), Text(f"  {t.family}, {t.rank}", style="dim"))
    if t.english:
        out.print(", ".join(t.english))
    if t.synonyms:
        out.print("also as " + ", ".join(t.synonyms), style="dim", markup=False)
    if t.harm:
        out.print(Text(f"Harm: {_harm(t).split(': ', 1)[1]}", style="bold red"))
        told = " ".join(x for x in (here.book.sources[t.harm.source].cite(), t.harm.at, t.harm.printed) if x)
        out.print(told, style="dim", markup=False)
    for group in here.book.groups_of(t):
        words = f"Belongs to a group that beginners leave alone: {group.label} ({LEVEL_WORDS[group.level]})."
        out.print(words, style="bold red" if t.rank == "genus" else "bold", markup=False)
    for line in kitchen_lines(t, here.book):
        out.print(line, markup=False)
    if t.insist:
        out.print("Never ruled out without: " + ", ".join(c.replace("_", " ") for c in t.insist), markup=False)
    if t.prior.months:
        out.print("Season: " + " ".join(m for i, m in enumerate(MONTHS, 1) if i in t.prior.months), markup=False)
    if t.notes:
        out.print(t.notes, markup=False)
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for title, width in (("character", 28), ("says", None), ("source", 26)):
        table.add_column(title, width=width, overflow="fold")
    for code, c in here.vocabulary.characters.items():
        record = t.records.get(code)
        if record is not None:
            table.add_row(
                c.label + (" *" if c.firm else ""), says(record), " ".join(x for x in (record.source, record.at) if x)
            )
    out.print(table)
    cited = {r.source for r in t.records.values()}
    cited |= {x.source for x in t.traditions} | {x.source for x in t.cautions}
    used = sorted(key for key in cited if here.book.source_kind(key) == "published")
    for key in used:
        out.print(f"{key}: {here.book.sources[key].cite()}", style="dim", markup=False)


def characters(
    code: Annotated[
        str | None, typer.Argument(help="A character; all are listed without it.", show_default=False)
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
) -> None:
    """Show the vocabulary: which looks there are, and the states of one of them.

    Examples:

      trug characters

      trug characters spore_print
    """
    from rich.table import Table

    from trug.characters import load_vocabulary
    from trug.reading import nearest
    from trug.treatments.document import character_lines

    vocabulary = load_vocabulary()
    if code is None:
        if json:
            put_json(character_lines(vocabulary))
            return
        table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
        for title in ("part", "character", "question"):
            table.add_column(title, overflow="fold")
        for c in vocabulary.characters.values():
            table.add_row(c.part, c.code + (" *" if c.firm else ""), c.question)
        console().print(table)
        console().print(
            "* firm. 'trug characters CODE' shows the states. Not knowing is always an answer: leave it out."
        )
        return
    told = code.replace("-", "_").replace(" ", "_").lower()
    if told not in vocabulary.characters:
        raise UnknownWordError(f"unknown character {code!r}{nearest(code, vocabulary.characters)}")
    c = vocabulary.characters[told]
    if json:
        put_json(c)
        return
    out = console()
    out.print(f"{c.code}: {c.question}", style="bold", markup=False)
    out.print(c.how, markup=False)
    if c.caution:
        out.print(f"Caution: {c.caution}", style="bold", markup=False)
    facts = [
        f"part {c.part}",
        "firm" if c.firm else "not firm",
        f"errors {100 * c.error:g} in 100 looks",
        f"{c.minutes:g} min",
    ]
    if c.wait_minutes:
        facts.append(f"wait {c.wait_minutes:g} min")
    if c.tools:
        facts.append("needs " + ", ".join(c.tools))
    out.print("; ".join(facts), style="dim", markup=False)
    if c.measured:
        assert c.span is not None
        out.print(f"a size from {c.span[0]:g} to {c.span[1]:g} {c.unit}", markup=False)
        return
    for s in c.states:
        out.print(f"  {s.code:18s} {s.definition}", markup=False)


def tree(
    seen: Annotated[
        list[str], typer.Argument(metavar="CHARACTER=STATE...", help="What bark, buds, wood and litter show.")
    ],
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
) -> None:
    """Tell which tree a bare or dead trunk may be, by bark, buds, wood and what lies below.

    Example:

      trug tree tree_buds=opposite tree_bud_look=black
    """
    from trug.characters import load_vocabulary
    from trug.determine.trees import rank_trees
    from trug.reading import nearest

    vocabulary = load_vocabulary()
    known = {c.code: c for c in vocabulary.with_role("tree")}
    told = {}
    for word in seen:
        code, equals, state = word.partition("=")
        if not equals or code not in known:
            raise UnknownWordError(
                f"{word!r}: write CHARACTER=STATE with one of {', '.join(known)}{nearest(code, known)}"
            )
        if state not in known[code].codes:
            raise UnknownWordError(
                f"{code} has no state {state!r}{nearest(state, known[code].codes)}"
                f" (all: {', '.join(known[code].codes)})"
            )
        told[code] = state
    ranked = rank_trees(vocabulary, told)
    if json:
        put_json([{"tree": t, "probability": round(p, 6)} for t, p in ranked])
        return
    for name, p in ranked[:6]:
        console().print(f"{100 * p:5.1f} %  {vocabulary.characters['tree'].state(name).definition}", markup=False)
    console().print("A tree never rules a harmful fungus out; not knowing it is an answer.")
