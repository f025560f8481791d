"""Plots of the measured figures, as SVG for the docs. Run with ``make figures``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import matplotlib

matplotlib.use("svg")

import matplotlib.pyplot as plt
from matplotlib.axes import Axes

__all__ = ["plot_eaten", "plot_observers", "plot_sizes"]

INK, SOFT, MARK = "#222222", "#9a9a9a", "#1f5f8b"
STYLE = {
    "font.family": "sans-serif",
    "font.size": 9,
    "svg.hashsalt": "trug",
    "svg.fonttype": "none",
    "axes.spines.top": False,
    "axes.spines.right": False,
}


def plot_observers(rows: list[dict[str, Any]], file: Path) -> None:
    """Draw the rate at which a harmful truth is ruled out, by observer, with its upper bound and its bar."""
    with plt.rc_context(STYLE):
        figure, axes = plt.subplots(figsize=(7.2, 0.55 * len(rows) + 1.3))
        least = 0.02
        for y, row in enumerate(rows):
            rate, bound = max(row["rate"], least), row["value"]
            axes.plot([rate, bound], [y, y], color=MARK, lw=2)
            axes.plot(rate, y, "o", color=MARK, ms=6, mfc="white" if row["wrong"] == 0 else MARK)
            axes.plot(bound, y, "|", color=MARK, ms=12, mew=2)
            if row.get("limit"):
                axes.plot(row["limit"], y, "D", color=INK, ms=6, mfc="none")
            axes.annotate(f"{row['wrong']} of {row['n']:,}", (bound, y), (6, 6), textcoords="offset points", color=INK)
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
        axes.set_xlim(least * 0.7, max(40.0, *(r["value"] * 3 for r in rows)))
        axes.set_ylim(len(rows) - 0.4, -0.7)
        axes.set_yticks(range(len(rows)), [r["label"] for r in rows])
        axes.set_xlabel(
            "harmful truth ruled out, in 10,000 finds:\nrate (dot, open if none), upper bound (tick), bar (diamond)"
        )
        _save(figure, file)


def plot_eaten(rows: list[dict[str, Any]], file: Path) -> None:
    """Draw for each eaten fungus the share of finds that get clear, and the looks and minutes it takes."""
    with plt.rc_context(STYLE):
        figure, (left, right) = plt.subplots(1, 2, sharey=True, figsize=(8.2, 0.2 * len(rows) + 1.4))
        for y, row in enumerate(rows):
            left.plot([0, 100 * row["severe"]["share"]], [y, y], color=MARK, lw=4, solid_capstyle="butt")
            left.plot(100 * row["all"]["share"], y, "D", color=INK, ms=4, mfc="white")
            if row["severe"]["looks"] is not None:
                right.plot(row["severe"]["looks"], y, "o", color=MARK, ms=5)
                right.plot(row["severe"]["minutes"], y, "s", color=INK, ms=4, mfc="white")
        left.set_xlim(0, 102)
        left.set_xlabel("finds that get clear, % (bar: of what kills or\ndoes lasting damage; diamond: of all harm)")
        right.set_xscale("log")
        right.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
        right.xaxis.set_minor_formatter(lambda x, _: f"{x:g}" if f"{x:g}"[0] in "25" else "")
        right.set_xlabel("median until nothing severe is open:\nlooks (dot), minutes of work (square)")
        left.set_yticks(range(len(rows)), [r["name"] for r in rows], fontstyle="italic", fontsize=8)
        left.set_ylim(len(rows) - 0.4, -0.8)
        for axes in (left, right):
            _grid(axes)
        _save(figure, file)


def plot_sizes(rows: list[dict[str, Any]], file: Path) -> None:
    """Draw pages, imports and memory by the size of the database."""
    sizes = [r["size"] for r in rows]
    kinds = (("list", "list", "o"), ("search", "search", "s"), ("find", "find page", "D"), ("look", "look saved", "^"))
    with plt.rc_context(STYLE):
        figure, (pages, rate, memory) = plt.subplots(1, 3, figsize=(9.2, 3.1))
        for key, label, mark in kinds:
            pages.plot(sizes, [r[key] for r in rows], mark + "-", color=MARK, lw=1, ms=5, mfc="white", label=label)
        pages.axhline(50, color=INK, lw=0.8, ls="--")
        pages.axhline(100, color=INK, lw=0.8, ls=":")
        pages.set_ylim(0, None)
        pages.set_ylabel("median [ms]; bar for pages dashed,\nfor a saved look dotted")
        pages.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, 0.94), ncols=2)
        rate.plot(sizes, [r["import"] for r in rows], "o-", color=MARK, label="import")
        rate.plot(sizes, [r["bare"] for r in rows], "s:", color=SOFT, label="bare table into SQLite")
        rate.axhline(5000, color=INK, lw=0.8, ls="--")
        rate.set_yscale("log")
        rate.set_ylabel("rows/s; bar for 100,000 finds dashed")
        rate.legend(frameon=False, fontsize=8)
        memory.plot(sizes, [r["memory"] for r in rows], "o-", color=MARK)
        memory.axhline(300, color=INK, lw=0.8, ls="--")
        memory.set_ylim(0, None)
        memory.set_ylabel("most memory ever held [MiB];\nbar dashed")
        for axes in (pages, rate, memory):
            axes.set_xscale("log")
            axes.set_xlabel("finds in the database")
            axes.grid(axis="y", color=SOFT, lw=0.4, alpha=0.6)
            axes.set_axisbelow(True)
        _save(figure, file)


def _grid(axes: Axes) -> None:
    axes.grid(axis="x", color=SOFT, lw=0.4, alpha=0.6)
    axes.set_axisbelow(True)


def _save(figure: Any, file: Path) -> None:
    figure.tight_layout()
    file.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(file, format="svg", metadata={"Date": None})
    plt.close(figure)
