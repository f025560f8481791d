"""Put the measured figures and the output of the worked example where users see them.

Reads what it finds of build/accuracy.json, build/book.json, build/bench.json and build/web.json, draws the plots,
and fills the parts of README.md and docs that stand between markers. Run with ``make figures`` after
``make accuracy`` or ``make bench``. ``--check`` only says whether that output is current.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
PAGES = (
    ROOT / "README.md",
    ROOT / "docs/explanation/what-the-figures-mean.md",
    ROOT / "docs/explanation/the-book-measured.md",
    ROOT / "docs/explanation/records-and-app-measured.md",
)
PLOTS = ROOT / "docs/images"
#: What the last full measurement found, kept for the test that watches for a worse book.
MEASURED = ROOT / "benchmarks/measured.json"
#: How much of the worked example stands in the README: the first lines of each fruitbody.
LINES = {"a": 9, "b": 5, "c": 7}
#: With these lines more of the first one, from its names on.
NAMES, NAME_LINES = "Names that fit", 4


def value(r: dict[str, Any]) -> str:
    """Return a value with its unit."""
    v = r["value"]
    if r["unit"].startswith("share"):
        return f"{100 * v:.2f} %" + r["unit"].removeprefix("share").replace(",", "")
    text = f"{v:,.0f}" if v >= 1000 or (v == int(v) and r["unit"] == "finds") else f"{v:.3g}"
    return f"{text} {r['unit']}"


def accuracy_table(data: list[dict[str, Any]]) -> str:
    """Return the accuracy report as Markdown."""
    lines = ["| measure | value | bar | holds | finds |", "| --- | --- | --- | --- | ---: |"]
    for r in data:
        holds = "reported" if r["holds"] is None else "yes" if r["holds"] else "**no**"
        lines.append(f"| {r['name']} | {value(r)}{spread(r)} | {r['bar']} | {holds} | {r['n']:,} |")
    return "\n".join(lines)


def spread(r: dict[str, Any]) -> str:
    """Return what is said of a value beside it: its interval, its counts, or its upper bound."""
    if r.get("interval"):
        low, high = r["interval"]
        return f" (95 %: {100 * low:.2f} to {100 * high:.2f} %)"
    if "wrong" in r:
        return f" ({r['wrong']} of {r['n']:,})"
    if "upper" in r:
        per = f"{r['upper']:.2f} per 10,000" if r["unit"] == "finds" else f"{100 * r['upper']:.2f} %"
        return f" (upper 95 % bound {per})"
    return ""


def marks_table(data: list[dict[str, Any]]) -> str:
    """Return the lines of the accuracy report for which a mark was set, whether it was met or not."""
    return accuracy_table([r for r in data if r["holds"] is not None])


def taxon_list(data: list[dict[str, Any]]) -> str:
    """Return which taxa stand behind the lines of the accuracy report, the worst ten of each."""
    lines = []
    for r in data:
        told = [d for d in r.get("detail") or () if not d.endswith(": 0.00%")]
        if told and worth(r):
            lines.append(f"- {r['name']}: {'; '.join(told[:10])}.")
    return "\n".join(lines)


def worth(r: dict[str, Any]) -> bool:
    """Whether the details of a line belong on the page."""
    return not r["name"].endswith("hoping observer")


def class_table(data: dict[str, Any]) -> str:
    """Return names and finds held back by group of the book and by harm class."""
    lines = []
    for title, head in (("group", "group"), ("harm", "harm")):
        lines += [
            f"| {head} | fungi | first name right | held back | most often taken |",
            "| --- | ---: | ---: | ---: | --- |",
        ]
        lines += [
            f"| {r['name']} | {r['taxa']} | {r['first']:.1%} | {r['held']:.1%} | {'; '.join(r['worst'])} |"
            for r in data["classes"][title]
        ]
        lines.append("")
    return "\n".join(lines[:-1])


def confusion_list(data: dict[str, Any]) -> str:
    """Return the worst confusions by name."""
    return "\n".join(f"- {line}" for line in data["confusions"])


def observer_rows(data: dict[str, Any], accuracy: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return one row for each kind of observer, the one who hopes last."""
    hoping = next(
        r for r in accuracy if r["name"] == "harmful truth ruled out wrongly, observer who sees what he hopes"
    )
    rows = [
        {**r, "label": f"{r['observer']}, {100 * r['wrong_looks']:g} % wrong", "limit": r["bar_value"]}
        for r in data["observers"]
    ]
    return [*rows, {**hoping, "label": "sees what he hopes", "limit": None}]


def observer_table(rows: list[dict[str, Any]]) -> str:
    """Return wrong exclusions by observer."""
    lines = [
        "| observer | ruled out wrongly | rate per 10,000 | upper 95 % bound | bar | holds | worst |",
        "| --- | ---: | ---: | ---: | ---: | --- | --- |",
    ]
    for r in rows:
        holds = "reported" if r["limit"] is None else "yes" if r["value"] <= r["limit"] else "**no**"
        bar = "" if r["limit"] is None else f"{r['limit']:g}"
        lines.append(
            f"| {r['label']} | {r['wrong']} of {r['n']:,} | {r['rate']:.3f} | {r['value']:.3f} | {bar} | {holds} | "
            f"{'; '.join(r['detail'][:3])} |"
        )
    return "\n".join(lines)


def eaten_table(data: dict[str, Any]) -> str:
    """Return looks and minutes until the ledger is clear, for each eaten fungus."""
    lines = [
        "| fungus | clear of kills and organ | looks | minutes | clear of all harm | looks | minutes |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for r in data["eaten"]:
        cells = []
        for key in ("severe", "all"):
            c = r[key]
            cells += [f"{c['share']:.0%}", *("—" if c[k] is None else f"{c[k]:.0f}" for k in ("looks", "minutes"))]
        lines.append(f"| *{r['name']}* | {' | '.join(cells)} |")
    return "\n".join(lines)


def account_text(data: dict[str, Any]) -> str:
    """Return what independent accounts gave, with every disagreement."""
    a = data["accounts"]
    lines = [
        f"{a['n']} accounts, {a['harmful']} of them of harmful fungi: {a['first']} named as their authors named them, "
        f"{a['five']} among the first five names, {a['held']} held back as a stranger or a poor fit; "
        f"in {a['spoken_against']} a look speaks against its harmful fungus; "
        f"{a['ruled_out']} harmful fungi ruled out on their own account, {a['released']} accounts released under "
        "another name.",
        "",
        *(f"- {line}" for line in (*a["wrong"], *a["disagreements"])),
    ]
    if a["denied"]:
        lines += ["", "Looks that the treatment of the right name excludes:", "", *(f"- {x}" for x in a["denied"])]
    return "\n".join(lines)


def bench_table(data: list[dict[str, Any]]) -> str:
    """Return the bench report as Markdown."""
    lines = ["| measure | value | bar | holds | beside |", "| --- | --- | --- | --- | --- |"]
    for r in data:
        holds = "reported" if r["holds"] is None else "yes" if r["holds"] else "**no**"
        lines.append(f"| {r['name']} | {value(r)} | {r['bar']} | {holds} | {r['peer'] or ''} |")
    return "\n".join(lines)


def demo_text() -> str:
    """Return the output of the worked example, shortened."""
    out = subprocess.run([sys.executable, "-m", "trug", "example"], check=True, capture_output=True, text=True).stdout
    pieces = re.split(r"(?m)^(?= fruitbody \w)", out)
    kept = []
    for piece in pieces[1:]:
        lines = [line.rstrip() for line in piece.splitlines()]
        body = piece.split()[1]
        kept += [*lines[: LINES[body]], "  ..."]
        if body == "a":
            names = lines.index(NAMES)
            kept += lines[names : names + NAME_LINES]
        kept.append("")
    return "```text\n" + "\n".join(kept).rstrip() + "\n```"


def stats_text() -> str:
    """Return what the book holds, in a few lines."""
    out = subprocess.run(
        [sys.executable, "-m", "trug", "book", "stats", "--json"], check=True, capture_output=True, text=True
    ).stdout
    s = json.loads(out)
    levels = ", ".join(f"{n} {level}" for level, n in s["harm_levels"].items())
    return "\n".join(
        [
            f"- {s['taxa']} fungi, {s['harmful']} of them harmful ({levels}), {s['eaten']} coded as eaten.",
            f"- {s['characters']} characters; the median treatment records {s['median_characters']:g}.",
            f"- {s['values']:,} values from {s['sources']} published works ({s['values_by_source']['published']:.0%}) "
            "or from memory; of the exclusions that can speak against what kills or does lasting damage "
            f"{s['exclusions_kills_organ_by_source']['published']:.0%} are published.",
        ]
    )


def fill(text: str, name: str, content: str) -> str:
    """Return a page with the part between its markers replaced."""
    pattern = re.compile(rf"(<!-- {name} -->\n).*?(<!-- /{name} -->)", re.S)
    return pattern.sub(lambda m: m.group(1) + content + "\n" + m.group(2), text)


def measured_parts(accuracy: list[dict[str, Any]], book: dict[str, Any]) -> dict[str, str]:
    """Draw the plots and return the parts of the pages that show accuracy."""
    from plots import plot_eaten, plot_observers

    rows = observer_rows(book, accuracy)
    plot_observers(rows, PLOTS / "observers.svg")
    plot_eaten(book["eaten"], PLOTS / "eaten.svg")
    return {
        "marks": marks_table(accuracy),
        "accuracy": accuracy_table(accuracy),
        "taxa": taxon_list(accuracy),
        "classes": class_table(book),
        "confusions": confusion_list(book),
        "observers": observer_table(rows),
        "eaten": eaten_table(book),
        "accounts": account_text(book),
    }


def web_parts(web: dict[str, Any]) -> dict[str, str]:
    """Draw the plot and return the parts of the pages that show the speed of records and app."""
    from plots import plot_sizes

    plot_sizes(web["sizes"], PLOTS / "sizes.svg")
    lines = ["| finds | list | search | find page | look saved | import | memory |"]
    lines.append("| ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    for r in web["sizes"]:
        pages = " | ".join(f"{r[kind]:.1f} ms" for kind in ("list", "search", "find", "look"))
        lines.append(f"| {r['size']:,} | {pages} | {r['import']:,.0f} rows/s | {r['memory']:.0f} MiB |")
    return {"web": bench_table(web["lines"]), "sizes": "\n".join(lines)}


def measured() -> dict[str, Any]:
    """Return what lies in the build folder, by the name of its file."""
    files = [ROOT / "build" / f"{name}.json" for name in ("accuracy", "book", "bench", "web")]
    return {file.stem: json.loads(file.read_text()) for file in files if file.exists()}


def main() -> int:
    """Fill every page; with --check, only compare the worked example."""
    parts = {"demo": demo_text(), "stats": stats_text()}
    if "--check" not in sys.argv:
        found = measured()
        if not found:
            print("nothing is measured yet: run 'make accuracy' or 'make bench' first", file=sys.stderr)
            return 1
        if "accuracy" in found and "book" in found:
            parts |= measured_parts(found["accuracy"], found["book"])
            kept = {key: found["book"][key] for key in ("book", "classes")}
            MEASURED.write_text(json.dumps(kept, indent=1, ensure_ascii=False) + "\n")
        if "bench" in found:
            parts["bench"] = bench_table(found["bench"])
        if "web" in found:
            parts |= web_parts(found["web"])
    stale = 0
    for page in PAGES:
        before = after = page.read_text()
        for name, content in parts.items():
            after = fill(after, name, content)
        if after != before:
            stale += 1
            if "--check" not in sys.argv:
                page.write_text(after)
                print(f"{page.name} filled")
    if stale and "--check" in sys.argv:
        print("the example's output in README.md is stale: run 'make figures'", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
