"""The posterior once more in plain float64, without rounding: what other implementations are compared with."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trug.determine.standing import by_taxon, temper
from trug.determine.table import Table

__all__ = ["reference_log_posterior"]

Floats = NDArray[np.float64]


def reference_log_posterior(table: Table, codes: NDArray[np.int16], prior: Floats) -> Floats:
    """Return log posterior (N, T) over the listed taxa alone, stage not known.

    Log-likelihoods are not rounded to the table's quantum; the floor holds, and silent states say nothing.

    Parameters
    ----------
    codes : array (N, C)
        The column seen of each character; -1 where not seen.
    prior : array (T,)
        Log prior of each taxon.
    """
    logs = np.maximum(np.log(table.observed(0)), table.model.floor)
    logs[:, table.silent] = 0.0
    groups = [c.group for c in table.characters]
    stage_rows = np.log(table.row_stages @ np.array(table.model.stage_prior))
    out = np.empty((len(codes), len(table.taxa)))
    for n, row in enumerate(codes):
        seen = np.flatnonzero(row >= 0)
        weight = temper(groups, seen.tolist(), table.rho)[seen]
        scores = prior + by_taxon(logs[:, row[seen]] @ weight + stage_rows, table)
        out[n] = scores - np.logaddexp.reduce(scores)
    return out
