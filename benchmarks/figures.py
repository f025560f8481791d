"""Put the measured figures and the demo's output where users see them.

Reads build/accuracy.json and build/bench.json and fills the parts of README.md and docs that stand between
markers. Run with ``make figures`` after ``make accuracy`` and ``make bench``. ``--check`` only says whether
the demo's output is current.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
PAGES = (ROOT / "README.md", ROOT / "docs/explanation/what-the-figures-mean.md")
#: How much of the demo stands in the README: one fruitbody in full, the others in their first lines.
LINES = {"a": 46, "b": 8, "c": 10}


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
        more = ""
        if r.get("interval"):
            low, high = r["interval"]
            more = f" (95 %: {100 * low:.2f} to {100 * high:.2f} %)"
        elif "wrong" in r:
            more = f" ({r['wrong']} of {r['n']:,})"
        elif "upper" in r and r["unit"] == "finds":
            more = f" (upper 95 % bound {r['upper']:.2f} per 10,000)"
        elif "upper" in r:
            more = f" (upper 95 % bound {100 * r['upper']:.2f} %)"
        lines.append(f"| {r['name']} | {value(r)}{more} | {r['bar']} | {holds} | {r['n']:,} |")
    lines.append("")
    lines += [f"- {r['name']}: {'; '.join(r['detail'][:10])}." for r in data if r.get("detail") and worth(r)]
    return "\n".join(lines)


def worth(r: dict[str, Any]) -> bool:
    """Whether the details of a line belong on the page."""
    return not r["name"].endswith("hoping observer")


def bench_table(data: list[dict[str, Any]]) -> str:
    """Return the bench report as Markdown."""
    lines = ["| measure | value | bar | holds | beside |", "| --- | --- | --- | --- | --- |"]
    for r in data:
        holds = "reported" if r["holds"] is None else "yes" if r["holds"] else "**no**"
        lines.append(f"| {r['name']} | {value(r)} | {r['bar']} | {holds} | {r['peer'] or ''} |")
    return "\n".join(lines)


def demo_text() -> str:
    """Return the demo's output, shortened."""
    out = subprocess.run([sys.executable, "-m", "trug", "demo"], check=True, capture_output=True, text=True).stdout
    pieces = re.split(r"(?m)^(?= fruitbody \w)", out)
    kept = []
    for piece in pieces[1:]:
        lines = [line.rstrip() for line in piece.splitlines()]
        most = LINES[piece.split()[1]]
        kept += lines[:most]
        if len(lines) > most:
            kept.append("  ...")
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


def main() -> int:
    """Fill every page; with --check, only compare the demo."""
    parts = {"demo": demo_text(), "stats": stats_text()}
    if "--check" not in sys.argv:
        for name, make in (("accuracy", accuracy_table), ("bench", bench_table)):
            file = ROOT / "build" / f"{name}.json"
            if not file.exists():
                print(f"{file.name} is missing: run 'make {name}' first", file=sys.stderr)
                return 1
            parts[name] = make(json.loads(file.read_text()))
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
        print("the demo's output in README.md is stale: run 'make figures'", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
