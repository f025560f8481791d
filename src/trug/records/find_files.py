"""Read a find document written by a person or a program, check every word of it, and expand its short forms."""

from __future__ import annotations

import datetime
import hashlib
import itertools
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec

from trug.characters import Character, Vocabulary
from trug.characters.model import STAGES
from trug.determine.find import FORMAT, Evidence, Find, Fruitbody, Look, Observer, Photo, Place
from trug.determine.trees import rank_trees
from trug.errors import ImplausibleError, InputError, UnknownWordError
from trug.reading import line_of, nearest, parse, read_text, shown

__all__ = ["ReadFind", "parse_answer", "read_find", "read_find_text", "with_tree"]

Where = tuple[str | int, ...]

_LOOK_FIELDS = frozenset(Look.__struct_fields__)
_EVIDENCE_FIELDS = frozenset(Evidence.__struct_fields__)
_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1.0, "µm": 1.0, "μm": 1.0}
#: No CIELAB figure, nor the variance of one, is larger.
_MOST_LAB = 1000.0
#: Smaller deviations are slips of the pen; zero means that none was told.
_LEAST_DEVIATION = 1e-6
#: A sample larger than this is a slip of the pen.
_MOST_MEASURED = 1_000_000
_NUMBER = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|m|um|µm|μm)?\s*$")


@dataclass(frozen=True, slots=True)
class ReadFind:
    """A find in full form, and what was odd but not wrong about its file."""

    find: Find
    warnings: tuple[str, ...]


def read_find(path: Path, vocabulary: Vocabulary, today: datetime.date) -> ReadFind:
    """Return the find in a file.

    Raises
    ------
    InputError
        With file, line, the wrong word and the nearest right ones; see ``trug.errors`` for the kinds.
    """
    return read_find_text(read_text(path), vocabulary, today, file=str(path))


def read_find_text(text: str, vocabulary: Vocabulary, today: datetime.date, *, file: str = "") -> ReadFind:
    """Return the find in a TOML or JSON text; see ``read_find``."""
    if not text.strip():
        raise ImplausibleError("the file is empty; see the tutorial for a find document", file=file)
    return _Reader(text, file, vocabulary, today).read()


def parse_answer(value: Any, character: Character) -> Evidence:
    """Return the evidence that a short answer means; InputError where it means none."""
    reader = _Reader("", "", Vocabulary({character.code: character}, {}, {}, {}), datetime.date.max)
    return msgspec.convert(reader._evidence(value, character, ()), Evidence)


class _Reader:
    """One pass over one document."""

    def __init__(self, text: str, file: str, vocabulary: Vocabulary, today: datetime.date) -> None:
        self.text, self.file, self.vocabulary, self.today = text, file, vocabulary, today
        self.warnings: list[str] = []
        self.extra: dict[str, Any] = {}
        self.written: list[Where] = []  # where each look of the full form stands in the text

    def fail(self, kind: type[InputError], message: str, *path: str | int, word: str | None = None) -> InputError:
        line = line_of(self.text, path, word) if path or word else None
        return kind(message, file=self.file, line=line)

    def read(self) -> ReadFind:
        table = parse(self.text, self.file)
        self._keep_unknown(table, Find, ())
        for key, kind in (("fruitbodies", Fruitbody), ("looks", Look), ("observers", Observer), ("photos", Photo)):
            items = table.get(key, [])
            if not isinstance(items, list) or not all(isinstance(i, dict) for i in items):
                raise self.fail(InputError, f"{key} must be a list of tables, such as [[{key}]]", key)
            for n, item in enumerate(items):
                self._keep_unknown(item, kind, (key, n))
        if isinstance(table.get("place"), dict):
            self._keep_unknown(table["place"], Place, ("place",))
        if not isinstance(table.get("extra", {}), dict):
            raise self.fail(InputError, "extra must be a table", "extra")
        table.setdefault("format", FORMAT)
        if table["format"] != FORMAT:
            raise self.fail(InputError, f"format must be {FORMAT!r}, got {shown(table['format'])}", "format")
        table["date"] = self._date(table.get("date"))
        table.setdefault("id", "find-" + hashlib.sha256(self.text.encode()).hexdigest()[:12])
        bodies = table.get("fruitbodies") or []
        if not bodies:
            raise self.fail(ImplausibleError, "the find is empty: describe at least one fruitbody in [[fruitbodies]]")
        for n, body in enumerate(bodies):
            body.setdefault("id", chr(ord("a") + n) if n < 26 else f"fruitbody-{n + 1}")
        looks = [self._long_look(n, look) for n, look in enumerate(table.get("looks", []))]
        self.written = [("looks", n) for n in range(len(looks))]
        looks += self._seen(table.pop("seen", None), None, ("seen",))
        for n, body in enumerate(bodies):
            looks += self._seen(body.pop("seen", None), str(body["id"]), ("fruitbodies", n, "seen"))
        table["looks"] = looks
        table["extra"] = {**table.get("extra", {}), **self.extra}
        try:
            find = msgspec.convert(table, Find)
        except msgspec.ValidationError as error:
            raise self._invalid(error) from None
        self._check(find)
        with_its_tree, unused = with_tree(find, self.vocabulary)
        for look, at in zip(find.looks, self.written, strict=True):
            if look.id in unused:
                self.warn(f"{look.character} is not used: to tell the tree it needs one single state", *at)
        return ReadFind(with_its_tree, tuple(self.warnings))

    def warn(self, message: str, *path: str | int) -> None:
        self.warnings.append(str(self.fail(InputError, message, *path)))

    def _keep_unknown(self, table: dict[str, Any], kind: type[msgspec.Struct], path: tuple[str | int, ...]) -> None:
        for key in [k for k in table if k not in kind.__struct_fields__]:
            where = ".".join(str(p) for p in (*path, key))
            self.extra[where] = table.pop(key)
            near = nearest(key, kind.__struct_fields__)
            self.warn(f"unknown key {shown(where)} is kept but not used{near}", *path, key)

    def _invalid(self, error: msgspec.ValidationError) -> InputError:
        message, _, where = str(error).partition(" - at `")
        steps: list[str | int] = [
            int(n) if n else name for name, n in re.findall(r"\.([\w-]+)|\[(\d+)\]", where.rstrip("`"))
        ]
        if len(steps) > 1 and steps[0] == "looks" and isinstance(steps[1], int):
            steps[:2] = self.written[steps[1]]
        place = ".".join(str(step) for step in steps)
        return self.fail(InputError, f"{place or 'the document'}: {message[0].lower()}{message[1:]}", *steps)

    def _date(self, value: Any) -> str:
        if value is None:
            raise self.fail(InputError, "the date of the find is missing; write date = 2026-10-04")
        try:
            day = value if isinstance(value, datetime.date) else datetime.date.fromisoformat(str(value))
        except ValueError:
            raise self.fail(InputError, f"{shown(value)} is no date; write it like 2026-10-04", "date") from None
        day = day.date() if isinstance(day, datetime.datetime) else day
        if day > self.today:
            raise self.fail(ImplausibleError, f"the date {day} lies in the future (today is {self.today})", "date")
        if day.year < 1700:
            raise self.fail(ImplausibleError, f"the date {day} is too long ago to be right", "date")
        return day.isoformat()

    def _long_look(self, n: int, look: dict[str, Any]) -> dict[str, Any]:
        look = dict(look)
        look.setdefault("id", f"look-{n + 1}")
        told = str(look.get("character"))
        code = str(self.vocabulary.aliases.get(told, told))
        look["character"] = code
        character = self._character(code, ("looks", n))
        self._date_words(look)
        if "evidence" not in look:
            raise self.fail(InputError, "a look needs evidence, such as evidence = 'white'", "looks", n)
        if isinstance(look["evidence"], dict) and set(look["evidence"]) & _EVIDENCE_FIELDS:
            look["evidence"] = dict(look["evidence"])
            self._keep_unknown(look["evidence"], Evidence, ("looks", n, "evidence"))
        value, doubt = _doubted(look["evidence"])
        look.update(doubt)
        look["evidence"] = self._evidence(value, character, ("looks", n, "evidence"))
        return look

    def _date_words(self, look: dict[str, Any]) -> None:
        """Turn a TOML date or time into the text that the full form has."""
        if isinstance(look.get("time"), (datetime.date, datetime.time)):
            look["time"] = look["time"].isoformat()

    def _seen(self, seen: Any, body: str | None, path: tuple[str | int, ...]) -> list[dict[str, Any]]:
        if seen is None:
            return []
        if not isinstance(seen, dict):
            raise self.fail(InputError, "seen must be a table of characters", *path)
        looks = []
        for key, value in seen.items():
            code = str(self.vocabulary.aliases.get(str(key), str(key)))
            character = self._character(code, (*path, key))
            rest: dict[str, Any] = {}
            if isinstance(value, dict):
                unknown = set(value) - _LOOK_FIELDS - _EVIDENCE_FIELDS - {"value", "deviation"}
                if unknown:
                    word = sorted(unknown)[0]
                    near = nearest(word, _LOOK_FIELDS | _EVIDENCE_FIELDS)
                    raise self.fail(InputError, f"{key}: unknown key {shown(word)}{near}", *path, key, word)
                rest = {k: v for k, v in value.items() if k in _LOOK_FIELDS and k != "evidence"}
                self._date_words(rest)
                value = value.get("evidence") or {k: v for k, v in value.items() if k not in _LOOK_FIELDS}
            value, doubt = _doubted(value)
            rest.update(doubt)
            evidence = self._evidence(value, character, (*path, key))
            self.written.append((*path, key))
            looks.append(
                {"id": f"{body or 'find'}.{code}", "fruitbody": body, "character": code, **rest, "evidence": evidence}
            )
        return looks

    def _character(self, code: str, path: tuple[str | int, ...]) -> Character:
        character = self.vocabulary.characters.get(code)
        if character is None:
            near = nearest(code, self.vocabulary.characters)
            raise self.fail(UnknownWordError, f"unknown character {shown(code)}{near}", *path, word=code)
        if character.role == "prior":
            told = {"season": "the date", "region": "region = '...' at the top", "altitude": "place.altitude_m"}
            raise self.fail(InputError, f"{code} is not a look: {told[code]} tells it", *path)
        return character

    def _evidence(self, value: Any, character: Character, path: tuple[str | int, ...]) -> dict[str, Any]:
        if isinstance(value, dict) and set(value) & _EVIDENCE_FIELDS:
            evidence = dict(value)
        elif isinstance(value, dict) and "value" in value:
            evidence = {"measurement": dict(value)}
        elif isinstance(value, str) and value.lower().startswith("not seen"):
            evidence = {"not_seen": value.partition(":")[2].strip() or "no reason given"}
        elif character.measured:
            evidence = {"measurement": {"value": self._size(value, character, path)}}
        elif isinstance(value, str):
            evidence = {"states": [value]}
        elif isinstance(value, list):
            evidence = {"states": value}
        else:
            raise self.fail(
                InputError,
                f"{character.code}: {shown(value)} is no state; see 'trug characters {character.code}'",
                *path,
            )
        self._check_evidence(evidence, character, path)
        return evidence

    def _size(self, value: Any, character: Character, path: tuple[str | int, ...]) -> float:
        if _number(value) is not None:
            return float(value)
        found = _NUMBER.match(value) if isinstance(value, str) else None
        if not found:
            unit = "" if character.unit == "ratio" else f" {character.unit}"
            raise self.fail(
                InputError, f"{character.code}: {shown(value)} is no size; write a number such as 45{unit}", *path
            )
        number, unit = float(found.group(1).replace(",", ".")), found.group(2)
        micro = unit in ("um", "µm", "μm")
        if unit and (character.unit == "ratio" or micro != (character.unit == "um")):
            raise self.fail(InputError, f"{character.code} is told in {character.unit}, not in {unit}", *path)
        return number * _UNITS[unit] if unit else number

    def _check_evidence(self, evidence: dict[str, Any], character: Character, path: tuple[str | int, ...]) -> None:
        forms = [k for k in evidence if k in _EVIDENCE_FIELDS and evidence[k] is not None]
        if len(forms) != 1:
            raise self.fail(
                InputError,
                f"{character.code}: evidence must be exactly one of {', '.join(sorted(_EVIDENCE_FIELDS))}",
                *path,
            )
        form, body = forms[0], evidence[forms[0]]
        words: Sequence[Any] = ()
        if form == "states":
            words = body if isinstance(body, list) else [body]
            evidence["states"] = list(words)
            if not words:
                raise self.fail(
                    InputError, f"{character.code}: name at least one state, or not_seen with the reason", *path
                )
        elif form == "distribution" and isinstance(body, dict):
            words = list(body)
            if not _weights(body):
                raise self.fail(
                    InputError, f"{character.code}: a distribution needs weights that are not negative", *path
                )
        measured = form in ("measurement", "sample")
        if form != "not_seen" and measured != character.measured:
            what = "a size" if character.measured else "states"
            raise self.fail(InputError, f"{character.code} is told by {what}, not by {form}", *path)
        if form == "colour" and character.kind != "colour":
            raise self.fail(
                InputError, f"{character.code} is no plain colour; give a distribution over its states", *path
            )
        for word in words:
            if character.measured or word not in character.codes:
                near = nearest(str(word), character.codes)
                raise self.fail(
                    UnknownWordError,
                    f"{character.code} has no state {shown(word)}{near} (all: trug characters {character.code})",
                    *path,
                    word=str(word),
                )
        if measured and isinstance(body, dict):
            self._check_size(body, form, character, path)
        if form == "colour" and isinstance(body, dict):
            numbers = [x for key in ("lab", "covariance") for x in _listed(body.get(key))]
            if any(x is None or abs(x) > _MOST_LAB for x in map(_number, numbers)):
                raise self.fail(
                    ImplausibleError, f"{character.code}: a measured colour lies within ±{_MOST_LAB:g}", *path
                )

    def _check_size(
        self, body: Mapping[str, Any], form: str, character: Character, path: tuple[str | int, ...]
    ) -> None:
        told = body.get("value" if form == "measurement" else "mean")
        value = _number(told)
        if value is None:
            raise self.fail(InputError, f"{character.code}: a size is a number, got {shown(told)}", *path)
        assert character.span is not None
        low, high = character.span
        unit = "" if character.unit == "ratio" else f" {character.unit}"
        if not low <= value <= high:
            raise self.fail(
                ImplausibleError,
                f"{character.label} of {value:g}{unit} is not plausible ({low:g} to {high:g}{unit}); check the unit",
                *path,
            )
        spread = _number(body.get("deviation" if form == "measurement" else "sd", 0.0))
        if spread is None or not (spread == 0 or _LEAST_DEVIATION <= spread <= high):
            raise self.fail(InputError, f"{character.code}: the deviation must be a number that is not negative", *path)
        if form == "sample" and not (isinstance(body.get("n"), int) and 1 <= body["n"] <= _MOST_MEASURED):
            raise self.fail(InputError, f"{character.code}: a sample needs n, the number measured", *path)
        if form == "sample":
            ends = [low if body.get("p5") is None else body["p5"], high if body.get("p95") is None else body["p95"]]
            p5, p95 = (_number(end) for end in ends)
            if p5 is None or p95 is None or not low <= p5 <= p95 <= high:
                raise self.fail(InputError, f"{character.code}: p5 and p95 must be sizes that ascend", *path)

    def _check(self, find: Find) -> None:
        regions = self.vocabulary.characters["region"].codes
        if find.region is None:
            self.warnings.append("no region is given: nothing can be released, and the prior ignores place")
        elif find.region not in regions:
            raise self.fail(
                UnknownWordError,
                f"unknown region {shown(find.region)}{nearest(find.region, regions)} (all: {', '.join(regions)})",
                "region",
            )
        if find.place is not None and not (abs(find.place.lat) <= 90 and abs(find.place.lon) <= 180):
            raise self.fail(ImplausibleError, "place: lat must lie in -90..90 and lon in -180..180", "place")
        if find.place is not None and not (
            math.isfinite(find.place.altitude_m or 0) and 0 <= (find.place.uncertainty_m or 0) < math.inf
        ):
            raise self.fail(ImplausibleError, "place: altitude_m and uncertainty_m must be numbers in metres", "place")
        if not find.looks:
            raise self.fail(ImplausibleError, "the find is empty: no look at any fruitbody is written down")
        ids = [b.id for b in find.fruitbodies]
        if len(set(ids)) != len(ids):
            n = next(n for n, i in enumerate(ids) if i in ids[:n])
            raise self.fail(InputError, f"two fruitbodies have the id {shown(ids[n])}", "fruitbodies", n, "id")
        for n, body in enumerate(find.fruitbodies):
            self._check_body(n, body)
        self._check_looks(find, set(ids))
        self._check_observers(find)

    def _check_body(self, n: int, body: Fruitbody) -> None:
        stages = [body.stage] if isinstance(body.stage, str) else list(body.stage or ())
        for stage in stages:
            if stage not in STAGES:
                raise self.fail(
                    UnknownWordError,
                    f"unknown stage {shown(stage)}{nearest(stage, STAGES)} (all: {', '.join(STAGES)})",
                    "fruitbodies",
                    n,
                    "stage",
                    word=stage,
                )
        if isinstance(body.stage, dict) and not _weights(body.stage):
            raise self.fail(InputError, "a distribution over stages needs positive weights", "fruitbodies", n, "stage")
        at = ("fruitbodies", n, "condition")
        for word in body.condition:
            if word not in self.vocabulary.conditions:
                near = nearest(word, self.vocabulary.conditions)
                raise self.fail(UnknownWordError, f"unknown condition {shown(word)}{near}", *at, word=word)

    def _check_looks(self, find: Find, bodies: set[str]) -> None:
        looks: dict[str, Look] = {}
        for look, at in zip(find.looks, self.written, strict=True):
            character = self.vocabulary.characters[look.character]
            if look.id in looks:
                raise self.fail(InputError, f"two looks have the id {shown(look.id)}", *at, "id")
            looks[look.id] = look
            if look.fruitbody is None and not character.of_find and character.role in ("look", "procedure"):
                raise self.fail(
                    InputError,
                    f"{look.character} belongs to one fruitbody; write it there (looks are never pooled)",
                    *at,
                )
            if look.fruitbody is not None and look.fruitbody not in bodies:
                told = f"look {shown(look.id)} names the unknown fruitbody {shown(look.fruitbody)}"
                raise self.fail(InputError, f"{told}{nearest(look.fruitbody, bodies)}", *at, "fruitbody")
        for look, at in zip(find.looks, self.written, strict=True):
            if look.supersedes is not None:
                self._check_correction(look, looks, (*at, "supersedes"))

    def _check_correction(self, look: Look, looks: Mapping[str, Look], at: Where) -> None:
        """Make sure that a look supersedes another one of the same feature, and not in a circle."""
        told = f"look {shown(look.id)} supersedes"
        other = looks.get(look.supersedes or "")
        if other is None:
            near = nearest(look.supersedes or "", looks)
            raise self.fail(InputError, f"{told} the unknown look {shown(look.supersedes)}{near}", *at)
        if (other.character, other.fruitbody) != (look.character, look.fruitbody):
            raise self.fail(InputError, f"{told} {shown(other.id)}, which is of another feature or fruitbody", *at)
        passed = {look.id}
        while other is not None:
            if other.id in passed:
                raise self.fail(InputError, f"{told} itself in the end; leave one look standing", *at)
            passed.add(other.id)
            other = looks.get(other.supersedes or "")

    def _check_observers(self, find: Find) -> None:
        known = [o.id for o in find.observers]
        if len(set(known)) != len(known):
            n = next(n for n, i in enumerate(known) if i in known[:n])
            raise self.fail(InputError, f"two observers have the id {shown(known[n])}", "observers", n, "id")
        if not known:
            return
        named: list[tuple[str | None, Where]] = [(find.determiner, ("determiner",))]
        named += [(look.observer, (*at, "observer")) for look, at in zip(find.looks, self.written, strict=True)]
        for name, at in named:
            if name is not None and name not in known:
                near = nearest(name, known)
                raise self.fail(UnknownWordError, f"unknown observer {shown(name)}{near}; see [[observers]]", *at)


def with_tree(find: Find, vocabulary: Vocabulary) -> tuple[Find, tuple[str, ...]]:
    """Turn bark, buds and wood into a distribution over trees, unless the tree itself was named.

    Return also the ids of the looks that were of no use for it: those that name no single state.
    """
    replaced = {look.supersedes for look in find.looks}
    told: dict[str, str] = {}
    rest: list[Look] = []
    unused: list[str] = []
    for look in find.looks:
        if vocabulary.characters[look.character].role != "tree":
            rest.append(look)
        elif look.id not in replaced and look.evidence.not_seen is None:
            if look.evidence.states is None or len(look.evidence.states) != 1:
                unused.append(look.id)
            else:
                told[look.character] = look.evidence.states[0]
    if told and not any(k.character == "tree" and k.evidence.not_seen is None for k in rest):
        shares = dict(rank_trees(vocabulary, told))
        free = next(i for i in _tree_ids() if all(look.id != i for look in rest))
        rest.append(Look(free, "tree", Evidence(distribution={t: round(p, 6) for t, p in shares.items()})))
    return msgspec.structs.replace(find, looks=tuple(rest)), tuple(unused)


def _doubted(value: Any) -> tuple[Any, dict[str, str]]:
    """Return a short answer without its question mark, and what that mark says of the look."""
    if not isinstance(value, str) or not value.rstrip().endswith("?"):
        return value, {}
    said = value.rstrip()[:-1].strip()
    return (said, {"sure": "unsure"}) if said else ("not seen: do not know", {})


def _tree_ids() -> Iterator[str]:
    yield "find.tree"
    yield from (f"find.tree-{n}" for n in itertools.count(2))


def _number(value: Any) -> float | None:
    """Return a finite number as float, None for anything else."""
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return None
    try:
        return float(value) if math.isfinite(value) else None
    except OverflowError:
        return None


def _weights(body: Mapping[str, Any]) -> bool:
    """Whether the values are weights: finite, none negative, one positive."""
    weights = [_number(w) for w in body.values()]
    return all(w is not None and w >= 0 for w in weights) and any(weights)


def _listed(value: Any) -> Sequence[Any]:
    return value if isinstance(value, list) else ()
