"""Invented books of any size, for timing only."""

from __future__ import annotations

import numpy as np

from trug.characters.model import STAGES
from trug.determine.model import ErrorModel
from trug.determine.table import CharacterColumns, HarmEntry, Table

__all__ = ["synthetic_table"]


def synthetic_table(
    taxa: int, characters: int, states: int, harmful: int, parts: int, rng: np.random.Generator
) -> Table:
    """Return a table of invented taxa, one row each, every character its own dependence group."""
    columns = tuple(
        CharacterColumns(
            code=f"character_{i}",
            label=f"character {i}",
            states=tuple(f"state-{s}" for s in range(states)),
            first=i * states,
            group=f"group_{i:03d}",
            part=f"part_{i % parts:02d}",
            kind="unordered",
            firm=i % 3 == 0,
            error=0.06,
            minutes=1.0 + i % 5,
            wait_minutes=0.0,
            tools=(),
            destructive=False,
            gate="",
            grows=False,
            of_find=False,
        )
        for i in range(characters)
    )
    truth = rng.dirichlet(np.full(states, 0.3), size=(taxa, characters))
    truth = (0.97 * truth + 0.03 / states).reshape(taxa, characters * states)
    even = (1.0 - np.eye(states)) / (states - 1)
    total = characters * states
    rare = np.take_along_axis(truth[:harmful], np.argsort(truth[:harmful], axis=1), axis=1)[:, total // 3][:, None]
    return Table(
        taxa=tuple(f"genus{i:05d}-species" for i in range(taxa)),
        names=tuple(f"Genus{i:05d} species" for i in range(taxa)),
        characters=columns,
        rho={c.group: 0.0 for c in columns},
        harmful=tuple(
            HarmEntry(i, ("kills", "organ", "gut")[i % 3], "invented", (columns[i % characters].code,), False, "")
            for i in range(harmful)
        ),
        model=ErrorModel(),
        book="invented",
        truth=truth,
        confusion=np.kron(np.eye(characters), even),
        recorded=np.ones((taxa, characters), dtype=bool),
        silent=np.zeros(total, dtype=bool),
        excludes=np.zeros((taxa, total), dtype=bool),
        contradicts=truth[:harmful] <= rare,
        row_taxon=np.arange(taxa),
        row_stages=np.ones((taxa, len(STAGES)), dtype=bool),
        candidate=np.ones(taxa, dtype=bool),
        stranger=np.full(taxa, 1.0 / taxa),
        blend=np.full(characters, 0.4),
        kin=np.broadcast_to(truth.mean(axis=0), truth.shape).copy(),
        abundance=np.ones(taxa),
        months=np.ones((taxa, 12)),
        regions=np.ones((taxa, 1)),
        applies={},
        region_codes=("anywhere",),
        covered={"anywhere": 1.0},
    )
