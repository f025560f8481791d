"""A determination as a page of text: the ledger and what to look at stand first, names come below."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from trug.characters import Vocabulary
from trug.determine.determination import Determination, FruitbodyResult, LedgerLine
from trug.determine.find import Find
from trug.treatments.model import SEVERE

if TYPE_CHECKING:
    from rich.console import RenderableType

__all__ = ["LEVEL_WORDS", "OPEN_WORDS", "duration", "show_determination"]

LEVEL_WORDS = {
    "kills": "kills",
    "organ": "lasting damage",
    "gut": "gut poison",
    "conditional": "harms on conditions",
}
HARM_PHRASE = {
    "kills": "kills",
    "organ": "does lasting damage",
    "gut": "poisons the gut",
    "conditional": "harms unless its conditions are kept",
}
LEVEL_STYLE = {"kills": "bold red", "organ": "red", "gut": "yellow", "conditional": "cyan"}
OPEN_WORDS = {
    "contradictions": "too few looks speak against it",
    "firm": "no firm look speaks against it",
    "margin": "no other name fits clearly better once one kind of evidence is struck out",
    "unlisted": "the find may be a species that is not in this book",
    "insist": "a look that the trade insists on is missing",
    "unopened": "an egg or button must be cut lengthwise",
}
#: Ruled-out lines shown before the rest is summed up.
SHORT_LEDGER = 8
#: Probability from which an open harmful taxon is named first.
FITTING = 0.02


def show_determination(
    console: Console, find: Find, record: Determination, vocabulary: Vocabulary, *, full: bool = False
) -> None:
    """Print a determination."""
    where = f" · {record.region}" if record.region else ""
    console.print(Text(f"Find {find.id} · {find.date}{where}", style="bold"))
    for body in record.fruitbodies:
        console.print()
        _fruitbody(console, find, body, vocabulary, full)
    console.print()
    console.print(Text(record.danger, style="bold"))
    console.print(record.coverage)
    console.print()
    for caution in record.cautions:
        console.print(f"· {caution}")
    console.print(Text(f"book {record.book_sha256[:12]} of {record.book_date}, trug {record.program}", style="dim"))


def _fruitbody(console: Console, find: Find, body: FruitbodyResult, vocabulary: Vocabulary, full: bool) -> None:
    stage = next((f.stage for f in find.fruitbodies if f.id == body.fruitbody), None)
    told = f" ({stage})" if isinstance(stage, str) else ""
    console.rule(Text(f" fruitbody {body.fruitbody}{told} ", style="bold"), align="left", characters="─")
    # Worst harm first, and within it what the looks have pushed away least.
    levels = [e.level for e in body.ledger]
    opened = sorted((e for e in body.ledger if not e.ruled_out), key=lambda e: (levels.index(e.level), e.margin))
    style = "bold red" if any(e.level in SEVERE for e in opened) else "bold yellow" if opened else "bold green"
    console.print(Text(body.summary[0].upper() + body.summary[1:] + ".", style=style))
    top = body.names[0] if body.names else None
    if top is not None and top.harm and top.probability >= 0.5:
        told = f"What was seen fits {top.name} ({top.english}) best, which {HARM_PHRASE[top.harm]}."
        console.print(Text(told, style="bold red"))
    if body.conflicts:
        pairs = "; ".join(f"{a} against {b}" for a, b in body.conflicts)
        console.print(Text(f"Looks contradict each other: {pairs}.", style="bold red"))
    if opened:
        _heading(console, "Not ruled out")
        console.print(_indented(_open_table(opened, full)))
    warned = [g for g in body.groups if g.open]
    if warned:
        _heading(console, "Groups that beginners leave alone, not ruled out")
        for g in warned:
            why = (
                f"{len(g.members_open)} listed member{'s' if len(g.members_open) > 1 else ''} open"
                if g.members_open
                else "no firm look stands outside the group"
            )
            console.print(f"  {g.label}: {why}", markup=False)
    ruled = [e for e in body.ledger if e.ruled_out]
    if ruled:
        _heading(console, "Ruled out")
        console.print(_indented(_ruled_table(ruled if full else ruled[:SHORT_LEDGER])))
        if not full and len(ruled) > SHORT_LEDGER:
            console.print(f"  and {len(ruled) - SHORT_LEDGER} more (--full shows them)")
    if body.next_looks:
        _heading(console, "Look at next")
        console.print(_indented(_next_table(body)))
    _heading(console, "Names that fit")
    console.print(_indented(_names_table(body)))
    if body.excluded:
        told = ", ".join(map(_plain, body.excluded))
        console.print(Text(f"  Its account excludes what was seen: {told}. Look again before any name.", style="bold"))
    if body.poor_fit or body.misfits:
        fit = "Poor fit" if body.poor_fit else "Misfits"
        console.print(
            f"  {fit}: {', '.join(map(_plain, body.misfits)) or 'the looks as a whole'} hardly suit the leading name."
        )
    _heading(console, "What the looks say" if full else "What the looks say (loudest)")
    console.print(_indented(_contributions(body, None if full else 6)))
    if body.not_used:
        _heading(console, "Not used")
        for look, _, reason in body.not_used:
            console.print(f"  {_plain(look)}: {reason}")
    _heading(console, "Kitchen and stillroom")
    console.print(_indented(_release_text(body)))


def _heading(console: Console, text: str) -> None:
    console.print(Text(text, style="bold underline"))


def _indented(content: RenderableType) -> Padding:
    return Padding(content, (0, 0, 0, 2))


def _grid(*widths: int | None) -> Table:
    table = Table.grid(padding=(0, 2))
    for width in widths:
        table.add_column(width=width, overflow="fold")
    return table


def _named(e: LedgerLine) -> str:
    return e.name if e.english == e.name else f"{e.name} ({e.english})"


def _open_table(entries: Iterable[LedgerLine], full: bool) -> Table:
    table = _grid(19, 36, None)
    rest = sorted(entries, key=lambda e: e.probability < FITTING)
    shown = rest if full else rest[:12]
    for e in shown:
        reasons = [OPEN_WORDS[r] for r in e.open_for if r != "insist"]
        if e.probability >= FITTING:
            reasons.insert(0, "FITS WHAT WAS SEEN")
        if e.still_to_look:
            reasons.append("still to look at: " + ", ".join(c.replace("_", " ") for c in e.still_to_look))
        if e.against:
            reasons.append(
                "against it so far: " + ", ".join(f"{a.character.replace('_', ' ')} {a.seen}" for a in e.against[:4])
            )
        table.add_row(Text(LEVEL_WORDS[e.level], style=LEVEL_STYLE[e.level]), _named(e), "; ".join(reasons))
    if len(rest) > len(shown):
        table.add_row("", f"and {len(rest) - len(shown)} more", "(--full shows them)")
    return table


def _ruled_table(entries: Iterable[LedgerLine]) -> Table:
    table = _grid(19, 36, None)
    for e in entries:
        told = ", ".join(f"{a.character.replace('_', ' ')} {a.seen}{'*' if a.firm else ''}" for a in e.against[:5])
        error = "error" if e.withstands == 1 else "errors"
        table.add_row(
            Text(LEVEL_WORDS[e.level], style=LEVEL_STYLE[e.level]),
            _named(e),
            f"{told}; withstands {e.withstands} further {error}",
        )
    return table


def _next_table(body: FruitbodyResult) -> Table:
    table = _grid(24, 16, None)
    for n in body.next_looks:
        work = duration(n.minutes) + (f" + {duration(n.wait_minutes)} wait" if n.wait_minutes else "")
        extra = []
        if n.tools:
            extra.append(f"needs {', '.join(n.tools)}")
        if n.destructive:
            extra.append("cuts or uses up the specimen")
        if n.settles:
            extra.append("may settle " + ", ".join(_latin(s) for s in n.settles[:3]))
        if n.caution:
            extra.append(n.caution)
        table.add_row(n.label, work, f"{n.question} {('(' + '; '.join(extra) + ')') if extra else ''}".strip())
    return table


def _names_table(body: FruitbodyResult) -> Table:
    table = _grid(8, None, None)
    table.add_row("", Text(f"proposed: {body.proposed}", style="bold"), "")
    for n in body.names:
        if n.probability >= 0.0005:
            harm = Text(LEVEL_WORDS[n.harm], style=LEVEL_STYLE[n.harm]) if n.harm else Text("")
            english = "" if n.english == n.name else f" ({n.english})"
            table.add_row(_share(n.probability), n.name + english, harm)
    table.add_row(_share(body.unlisted), "none in this book", "")
    return table


def _contributions(body: FruitbodyResult, most: int | None) -> Table:
    table = _grid(26, 26, 9, None)
    for c in body.contributions[:most]:
        table.add_row(c.label, c.seen, f"{c.over_average:+.1f} nat", c.words)
    return table


def _release_text(body: FruitbodyResult) -> Text:
    if body.release.allowed:
        kitchen = "; ".join(k.replace("-", " ") for k in body.release.kitchen) or "none stated"
        return Text(
            f"The release rule is met for the signed name {_latin(body.release.name)}; the signer answers for it. "
            f"Conditions: {kitchen}."
        )
    reasons = [text for _, text, _, _ in body.release.reasons]
    opened = [r for r in reasons if r.endswith("is not ruled out")]
    others = [r for r in reasons if not r.endswith("is not ruled out")]
    if opened:
        others.append(f"{len(opened)} harmful taxa are not ruled out")
    return Text("Refused: " + "; ".join(others) + ".")


def _latin(code: str) -> str:
    return code.replace("-", " ", 1).capitalize()


def _plain(look: str) -> str:
    return look.split(".", 1)[-1].replace("_", " ")


def _share(p: float) -> str:
    return "> 99.9 %" if p > 0.999 else "< 0.1 %" if p < 0.001 else f"{100 * p:.1f} %"


def duration(minutes: float) -> str:
    """Return a span of minutes in words."""
    if minutes >= 120:
        return f"{minutes / 60:.0f} h"
    return f"{minutes:g} min"
