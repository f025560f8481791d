"""The compiled table ``trug.table/1``: the whole book as arrays, the same for one find and for many.

Rows are (taxon, stage profile) pairs: stages at which a taxon's treatment reads the same share a row.
Columns are (character, state) pairs; a measured character has 32 logarithmic bins.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES
from trug.determine.model import ErrorModel
from trug.treatments.model import SEVERE

__all__ = [
    "FORMAT",
    "CharacterColumns",
    "GroupEntry",
    "HarmEntry",
    "Staged",
    "StagedCells",
    "Steady",
    "Table",
    "from_bytes",
    "observe_through",
    "to_bytes",
]

FORMAT = "trug.table/1"

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


class CharacterColumns(msgspec.Struct, frozen=True):
    """A character as the engine knows it. ``edges`` are the bin edges of a measured one."""

    code: str
    label: str
    states: tuple[str, ...]
    first: int
    group: str
    part: str
    kind: str
    firm: bool
    error: float
    minutes: float
    wait_minutes: float
    tools: tuple[str, ...]
    destructive: bool
    gate: str
    grows: bool
    of_find: bool
    applies: tuple[str, tuple[str, ...]] | None = None
    needs: tuple[tuple[str, str, tuple[str, ...]], ...] = ()
    edges: tuple[float, ...] = ()

    @property
    def last(self) -> int:
        """One past the last column."""
        return self.first + len(self.states)


class HarmEntry(msgspec.Struct, frozen=True):
    """A harmful taxon as the ledger knows it."""

    taxon: int
    level: str
    syndrome: str
    insist: tuple[str, ...]
    beginners: bool
    condition: str


class GroupEntry(msgspec.Struct, frozen=True):
    """A whole group as the ledger knows it: listed harmful members, genera, defining states."""

    code: str
    label: str
    level: str
    members: tuple[int, ...]
    genera: tuple[str, ...]
    definition: dict[str, tuple[str, ...]]


@dataclass(frozen=True, eq=False)
class Table:
    """Arrays of the compiled book.

    Shapes: R rows, T taxa, S columns, C characters, H harmful taxa, G stages.

    Attributes
    ----------
    truth : array (R, S)
        Probability of each state of each character, before anyone looks; sums to 1 per character.
    confusion : array (S, S)
        Probability of naming column j when the truth is column i and an error is made.
    recorded : array (T, C)
        Whether the treatment records the character.
    silent : array (S,)
        Columns that say nothing (missing ring, missing latex ...).
    excludes : array (T, S)
        Whether the treatment explicitly excludes the column, with any source.
    contradicts : array (H, S)
        Whether seeing the column contradicts the harmful taxon's treatment, with a source that counts.
    stranger : array (T,)
        Weight of a stranger that resembles each taxon; sums to 1.
    blend : array (C,)
        Share of a stranger's states that come from the background and not from the relative.
    kin : array (T, S)
        Background of each taxon's relatives: its group in the book, drawn towards the whole book.
    row_stages : array (R, G)
        Which stages a row stands for.
    applies : dict
        For a look or a procedure that not every fruitbody allows: the character that tells, and its states.
    """

    taxa: tuple[str, ...]
    names: tuple[str, ...]
    characters: tuple[CharacterColumns, ...]
    rho: dict[str, float]
    harmful: tuple[HarmEntry, ...]
    model: ErrorModel
    book: str
    truth: Floats
    confusion: Floats
    recorded: Bools
    silent: Bools
    excludes: Bools
    contradicts: Bools
    row_taxon: Ints
    row_stages: Bools
    candidate: Bools
    stranger: Floats
    blend: Floats
    kin: Floats
    abundance: Floats
    months: Floats
    regions: Floats
    applies: dict[str, tuple[str, tuple[str, ...]]]
    region_codes: tuple[str, ...]
    covered: dict[str, float] = field(default_factory=dict)
    warned: tuple[GroupEntry, ...] = ()
    altitudes: Floats = field(default_factory=lambda: np.ones((1, 4)))

    @cached_property
    def index(self) -> dict[str, int]:
        """Position of each character by its code."""
        return {c.code: i for i, c in enumerate(self.characters)}

    @cached_property
    def taxon_index(self) -> dict[str, int]:
        """Position of each taxon by its code."""
        return {c: i for i, c in enumerate(self.taxa)}

    @cached_property
    def column_character(self) -> Ints:
        """Character of each column."""
        return np.repeat(np.arange(len(self.characters)), [len(c.states) for c in self.characters])

    @cached_property
    def first_columns(self) -> Ints:
        """First column of each character, and one past the last of all."""
        return np.array([*(c.first for c in self.characters), self.truth.shape[1]], dtype=np.int64)

    @cached_property
    def group_members(self) -> dict[str, list[int]]:
        """Characters of each dependence group, in the order of the vocabulary."""
        members: dict[str, list[int]] = {}
        for i, c in enumerate(self.characters):
            members.setdefault(c.group, []).append(i)
        return members

    @cached_property
    def groups(self) -> tuple[str, ...]:
        """Dependence groups, sorted."""
        return tuple(sorted(self.group_members))

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Parts of the fruitbody, sorted."""
        return tuple(sorted({c.part for c in self.characters}))

    @cached_property
    def harm_taxon(self) -> Ints:
        """Taxon of each ledger entry."""
        return np.array([h.taxon for h in self.harmful], dtype=np.int64)

    @cached_property
    def severe(self) -> Bools:
        """Whether each ledger entry (H,) kills or does lasting damage."""
        return np.array([h.level in SEVERE for h in self.harmful], dtype=bool)

    @cached_property
    def row_start(self) -> Ints:
        """First row of each taxon; rows of one taxon stand together."""
        return np.searchsorted(self.row_taxon, np.arange(len(self.taxa)))

    @cached_property
    def seen(self) -> tuple[Floats, Floats]:
        """Chance that a sure look at a taxon names each column (T, S), over its stages, and its logarithm."""
        seen = self.over_stages(self.observed(0))
        return seen, np.log(seen)

    def over_stages(self, values: Floats) -> Floats:
        """Return the mean (T, S) of values (R, S) over the rows of each taxon."""
        counts = np.bincount(self.row_taxon, minlength=len(self.taxa))
        return np.asarray(np.add.reduceat(values, self.row_start, axis=0) / counts[:, None])

    @cached_property
    def background(self) -> Floats:
        """Mean of the recorded treatments, per column; what a character reads on anything at all."""
        out = np.empty(self.truth.shape[1])
        weight = np.zeros(len(self.row_taxon))
        counts = np.bincount(self.row_taxon, minlength=len(self.taxa))
        weight[:] = 1.0 / counts[self.row_taxon]
        for i, c in enumerate(self.characters):
            rows = self.recorded[self.row_taxon, i] & self.candidate[self.row_taxon]
            block = slice(c.first, c.last)
            if rows.any():
                out[block] = weight[rows] @ self.truth[rows, block] / weight[rows].sum()
            else:
                out[block] = 1.0 / len(c.states)
        return out

    def observed(self, level: int) -> Floats:
        """Probability (R, S) that a look of a level of sureness names each state; worked out anew at each call."""
        return observe_through(self, self.truth, level)

    def loglik(self, level: int) -> Singles:
        """Log-likelihood (R, S), multiples of 2^-10 nat, zero where a state says nothing."""
        return self._levels[level][0]

    def observed_states(self, level: int, character: int, strange: bool = False) -> Floats:
        """As ``observed``, for the states of one character; with ``strange`` for a stranger who resembles each row."""
        c = self.characters[character]
        seen = _observe(self, self.truth, level, c)
        if not strange:
            return seen
        share = self.blend[character]
        return np.asarray((1.0 - share) * seen + share * _observe(self, self.kin, level, c)[self.row_taxon])

    def stranger_loglik(self, level: int) -> Singles:
        """As ``loglik``, for a stranger who resembles each row."""
        return self._levels[level][1]

    @cached_property
    def _levels(self) -> _Lazy:
        return _Lazy(self)

    @cached_property
    def first_loglik(self) -> Singles:
        """Log-likelihood (T, S) of a sure look at the first row of each taxon."""
        return np.ascontiguousarray(self.loglik(0)[self.row_start])

    @cached_property
    def least_loglik(self) -> Singles:
        """Least log-likelihood (S,) of a sure look over all rows."""
        return np.asarray(self.loglik(0).min(axis=0))

    @cached_property
    def steady(self) -> Steady:
        """Chances of a sure look where the treatment does not change with the stage."""
        seen = self.observed(0)[self.row_start]
        for c, staged in zip(self.characters, self.staged, strict=True):
            seen[staged.taxa, c.first : c.last] = 0.0
        return Steady(seen, seen * np.log(np.where(seen > 0.0, seen, 1.0)), observe_through(self, self.kin, 0))

    @cached_property
    def staged_cells(self) -> StagedCells:
        """Chances of a sure look where the treatment changes with the stage, of all characters end to end."""
        column, rows, seen = [], [], []
        width = max((staged.rows.shape[1] for staged in self.staged), default=0)
        for c, staged in zip(self.characters, self.staged, strict=True):
            missing = width - staged.rows.shape[1]
            at = np.pad(staged.rows, ((0, 0), (0, missing)))
            valid = np.pad(staged.valid, ((0, 0), (0, missing)))
            chance = _observe(self, self.truth, 0, c)[at] * valid[:, :, None]
            column.append(np.tile(np.arange(c.first, c.last), len(at)))
            rows.append(np.repeat(at.T, len(c.states), axis=1))
            seen.append(chance.transpose(1, 0, 2).reshape(width, len(at) * len(c.states)))
        return StagedCells(np.concatenate(column), np.concatenate(rows, axis=1), np.concatenate(seen, axis=1))

    @cached_property
    def fit_moments(self) -> tuple[Floats, Floats]:
        """Mean and variance (R, C) of the log-likelihood of a sure look, under the row's own distribution.

        States that say nothing are left out.
        """
        p = np.where(self.silent, 0.0, self.observed(0))
        logp = self.loglik(0).astype(np.float64)
        starts = [c.first for c in self.characters]
        mass = np.add.reduceat(p, starts, axis=1)
        mean = np.add.reduceat(p * logp, starts, axis=1) / mass
        return mean, np.add.reduceat(p * logp**2, starts, axis=1) / mass - mean**2

    @cached_property
    def staged(self) -> tuple[Staged, ...]:
        """For each character, the taxa whose treatment changes with the stage."""
        counts = np.bincount(self.row_taxon, minlength=len(self.taxa))
        out = []
        for c in self.characters:
            block = _observe(self, self.truth, 0, c)
            first = block[self.row_start[self.row_taxon]]
            moved = np.abs(block - first).max(axis=1) > 1e-12
            taxa = np.unique(self.row_taxon[moved])
            width = int(counts[taxa].max()) if len(taxa) else 0
            slot = np.minimum(np.arange(width)[None, :], counts[taxa][:, None] - 1)
            valid = np.arange(width)[None, :] < counts[taxa][:, None]
            rows = self.row_start[taxa][:, None] + slot
            logs = self.loglik(0)[rows, c.first : c.last]
            out.append(Staged(taxa, rows, valid, np.where(valid[:, :, None], logs, np.float32(-np.inf))))
        return tuple(out)


@dataclass(frozen=True, eq=False)
class Staged:
    """Taxa of which one character changes with the stage.

    ``rows`` (taxa, slots) and which slots are real (``valid``); ``logs`` (taxa, slots, states) of a sure look,
    minus infinity in the other slots.
    """

    taxa: Ints
    rows: Ints
    valid: Bools
    logs: Singles


@dataclass(frozen=True, eq=False)
class Steady:
    """Chances of a sure look for each taxon and column, where all rows of the taxon share them.

    ``seen`` (T, S) is zero where a treatment changes with the stage; ``seen_log_seen`` is ``seen * log(seen)``;
    ``kin`` (T, S) is that of the background of each taxon's relatives.
    """

    seen: Floats
    seen_log_seen: Floats
    kin: Floats


@dataclass(frozen=True, eq=False)
class StagedCells:
    """Pairs of taxon and column whose chance changes with the stage.

    ``column`` (cells,); ``rows`` (slots, cells) of the taxon and the chance ``seen`` (slots, cells) of a sure
    look in each, zero in slots that the taxon does not fill.
    """

    column: Ints
    rows: Ints
    seen: Floats


class _Lazy:
    """Tables of each level of sureness, made when first asked for."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.made: dict[int, tuple[Singles, Singles]] = {}

    def __getitem__(self, level: int) -> tuple[Singles, Singles]:
        if level not in self.made:
            t, m = self.table, self.table.model
            seen = observe_through(t, t.truth, level)
            ground = observe_through(t, t.kin, level)[t.row_taxon]
            share = t.blend[t.column_character]
            strange = (1.0 - share) * seen + share * ground
            self.made[level] = (quantise(seen, t.silent, m), quantise(strange, t.silent, m))
        return self.made[level]


def observe_through(table: Table, truth: Floats, level: int) -> Floats:
    """Return the probability (rows, S) that an observer of a level of sureness names each state."""
    out = np.empty_like(truth)
    for c in table.characters:
        out[:, c.first : c.last] = _observe(table, truth, level, c)
    return out


def _observe(table: Table, truth: Floats, level: int, c: CharacterColumns) -> Floats:
    """As ``observe_through``, for the states of one character."""
    block = slice(c.first, c.last)
    error = min(max(c.error, table.model.error_floor) * table.model.levels[level], table.model.max_error)
    p = truth[:, block]
    return np.asarray((1.0 - error) * p + error * (p @ table.confusion[block, block]))


def quantise(probability: Floats, silent: Bools, model: ErrorModel) -> Singles:
    """Return logs as multiples of the quantum, not below the floor; silent columns read zero."""
    with np.errstate(divide="ignore"):
        logs = np.maximum(np.log(probability), model.floor)
    logs = np.rint(logs / model.quantum) * model.quantum
    logs[:, silent] = 0.0
    return logs.astype(np.float32)


_ARRAYS = (
    ("truth", "<f8"),
    ("confusion", "<f8"),
    ("recorded", "|b1"),
    ("silent", "|b1"),
    ("excludes", "|b1"),
    ("contradicts", "|b1"),
    ("row_taxon", "<i8"),
    ("row_stages", "|b1"),
    ("candidate", "|b1"),
    ("stranger", "<f8"),
    ("blend", "<f8"),
    ("kin", "<f8"),
    ("abundance", "<f8"),
    ("months", "<f8"),
    ("regions", "<f8"),
    ("altitudes", "<f8"),
)


def to_bytes(table: Table) -> bytes:
    """Return a table as one block: the header's length (8 bytes, little endian), JSON header, arrays."""
    body, entries = b"", []
    for name, kind in _ARRAYS:
        array = np.ascontiguousarray(getattr(table, name), dtype=kind)
        entries.append({"name": name, "type": kind, "shape": array.shape, "offset": len(body)})
        body += array.tobytes() + b"\0" * (-array.nbytes % 8)
    log = np.ascontiguousarray(table.loglik(0), dtype="<f4")
    entries.append({"name": "loglik", "type": "<f4", "shape": log.shape, "offset": len(body)})
    body += log.tobytes()
    header: dict[str, Any] = {
        "format": FORMAT,
        "book": table.book,
        "stages": STAGES,
        "taxa": table.taxa,
        "names": table.names,
        "characters": msgspec.to_builtins(table.characters),
        "rho": table.rho,
        "applies": table.applies,
        "harmful": msgspec.to_builtins(table.harmful),
        "model": msgspec.to_builtins(table.model),
        "region_codes": table.region_codes,
        "covered": table.covered,
        "warned": msgspec.to_builtins(table.warned),
        "arrays": entries,
    }
    head = json.dumps(header, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    head += b" " * (-len(head) % 8)
    return len(head).to_bytes(8, "little") + head + body


def from_bytes(data: bytes) -> Table:
    """Return the table that ``to_bytes`` wrote.

    Raises
    ------
    ValueError
        Another format.
    """
    size = int.from_bytes(data[:8], "little")
    header = json.loads(data[8 : 8 + size])
    if header["format"] != FORMAT:
        raise ValueError(f"from_bytes: format must be {FORMAT!r}, got {header['format']!r}")
    body = memoryview(data)[8 + size :]
    arrays: dict[str, Any] = {}
    for e in header["arrays"]:
        kind, shape = np.dtype(e["type"]), tuple(e["shape"])
        count = int(np.prod(shape, dtype=np.int64))
        arrays[e["name"]] = np.frombuffer(body, kind, count, e["offset"]).reshape(shape)
    arrays.pop("loglik")
    return Table(
        taxa=tuple(header["taxa"]),
        names=tuple(header["names"]),
        characters=msgspec.convert(header["characters"], tuple[CharacterColumns, ...]),
        rho=header["rho"],
        applies={k: (c, tuple(s)) for k, (c, s) in header["applies"].items()},
        harmful=msgspec.convert(header["harmful"], tuple[HarmEntry, ...]),
        model=msgspec.convert(header["model"], ErrorModel),
        book=header["book"],
        region_codes=tuple(header["region_codes"]),
        covered=header["covered"],
        warned=msgspec.convert(header["warned"], tuple[GroupEntry, ...]),
        **arrays,
    )
