"""``trug book``: what the book holds, whether it is right, which pairs it cannot tell apart, what a change does."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Annotated

import typer

from trug.cli.bookdiff import diff, must_be_folder
from trug.cli.output import console, put_json, write_whole

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="What the book holds, and whether it is right.", rich_markup_mode=None)
app.command("diff")(diff)


@app.command("stats")
def stats(json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False) -> None:
    """Count taxa, characters, harmful taxa, and values by kind of source.

    Example:

      trug book stats --json
    """
    from trug.determine.confusions import Confusions, depth
    from trug.loaded import loaded
    from trug.treatments.statistics import statistics

    here = loaded()
    found = statistics(here.book, here.vocabulary) | depth(Confusions(here.table))
    if json:
        put_json(found)
        return
    from rich.table import Table

    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    for key, value in found.items():
        if isinstance(value, dict):
            text = ", ".join(f"{k} {v:.1%}" if isinstance(v, float) else f"{k} {v}" for k, v in value.items())
        else:
            text = str(value)
        table.add_row(key.replace("_", " "), text)
    console().print(table)


@app.command("separation")
def separation(
    json: Annotated[bool, typer.Option("--json", help="Write JSON of every pair.")] = False,
    most: Annotated[int, typer.Option("--most", min=1, help="How many of the worst pairs to show.")] = 30,
) -> None:
    """Show which pairs of a harmful and a harmless taxon the characters cannot separate.

    For each pair: the expected robust margin when everything is seen, and how often the two sourced
    contradictions that an exclusion needs come together.

    Example:

      trug book separation --most 20
    """
    from trug.determine.separation import separate
    from trug.loaded import loaded

    here = loaded()
    pairs = separate(here.table)
    limit = here.table.model.margin
    if json:
        put_json(
            [
                {
                    "harmful": p.harmful,
                    "level": p.level,
                    "taxon": p.taxon,
                    "margin": round(p.margin, 3),
                    "struck": p.struck,
                    "contradictions": round(p.contradictions, 4),
                    "separable": p.separable(limit),
                }
                for p in pairs
            ]
        )
        return
    from rich.table import Table

    lost = [p for p in pairs if not p.separable(limit)]
    by_level = Counter(p.level for p in lost)
    console().print(
        f"{len(lost)} of {len(pairs)} pairs of a harmful and a harmless taxon are not expected to be separated "
        f"({', '.join(f'{k} {v}' for k, v in sorted(by_level.items()))})."
    )
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for title in ("harmful", "level", "true taxon", "margin (nat)", "struck out", "contradictions"):
        table.add_column(title)
    for p in lost[:most]:
        table.add_row(p.harmful, p.level, p.taxon, f"{p.margin:.1f}", p.struck, f"{100 * p.contradictions:.0f} %")
    console().print(table)


@app.command("check")
def check(
    folder: Annotated[
        Path | None,
        typer.Argument(help="A folder of the book's form; the shipped book without it.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
) -> None:
    """Reject unknown characters, states, sources and impossible ranges; list what is thin and what nothing separates.

    Examples:

      trug book check

      trug book check src/trug/treatments
    """
    from trug.characters import load_vocabulary
    from trug.determine.compile import compile_table
    from trug.determine.confusions import Confusions, thin
    from trug.errors import BookError
    from trug.treatments import load_book
    from trug.treatments.check import findings, unsourced

    must_be_folder(folder)
    vocabulary = load_vocabulary()
    book = load_book(folder)
    problems = unsourced(book)
    if problems:
        raise BookError("\n".join(problems))
    table = compile_table(book, vocabulary)
    found = Confusions(table)
    notes = findings(book, vocabulary) + thin(found, list(book.treatments.values()))
    pairs = found.inseparable()
    if json:
        put_json({"treatments": len(book.treatments), "notes": notes, "not_separated": pairs})
        return
    for note in notes:
        console().print(f"note: {note}", markup=False)
    for a, b in pairs:
        console().print(f"not separated by any character: {a} and {b}", markup=False)
    console().print(f"{len(book.treatments)} treatments, {len(book.sources)} sources: no errors.")


@app.command("table")
def table(
    out: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write the compiled table.")],
) -> None:
    """Write the compiled table (trug.table/1) that other programs can read.

    Example:

      trug book table book.trugtable
    """
    from trug.determine.table import to_bytes
    from trug.loaded import loaded

    data = to_bytes(loaded().table)
    write_whole(out, data)
    console().print(f"{out}: {len(data) / 1e6:.1f} MB", markup=False)
