"""Read the book from its TOML files."""

from __future__ import annotations

import datetime
import functools
import hashlib
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from trug.characters import Character, Vocabulary, load_vocabulary
from trug.characters.loader import vocabulary_text
from trug.characters.model import STAGES
from trug.errors import BookError, UnreadableError
from trug.reading import line_of, nearest, parse
from trug.treatments.model import (
    BUILT_IN_SOURCES,
    HARM_LEVELS,
    WORDS,
    Book,
    Caution,
    Group,
    Harm,
    Kitchen,
    Prior,
    Record,
    SizeRange,
    Source,
    Tradition,
    Treatment,
    Use,
)
from trug.treatments.notation import parse_months, parse_size

__all__ = ["load_book", "load_kitchen", "read_treatment", "treatment_files"]

_TOP = frozenset(
    [
        "name",
        "authority",
        "family",
        "english",
        "synonyms",
        "rank",
        "group",
        "default_source",
        "harm",
        "use",
        "prior",
        "insist",
        "characters",
        "tradition",
        "caution",
        "notes",
    ]
)
_HARM = frozenset(
    ["level", "syndrome", "latency_h", "source", "at", "printed", "condition", "beginners", "thought_good"]
)
_USE = frozenset(["as", "stages", "conditions", "trim", "cook_because", "keeps", "source"])
_TRADITION = frozenset(["form", "purpose", "source", "at", "printed"])
_CAUTION = frozenset(["code", "source", "at", "printed"])
_RECORD = frozenset({*WORDS, *STAGES, "size", "complete", "source", "at", "printed", "also"})
#: What reading a value of the wrong kind (a number for a list, a word for a table) raises.
_WRONG_KIND = (AttributeError, KeyError, TypeError, ValueError)
_RANKS = ("species", "aggregate", "genus", "group")


@functools.cache
def load_book(folder: Path | None = None) -> Book:
    """Return the book that comes with the program, or one in another folder of the same form.

    Raises
    ------
    BookError
        Naming file, line and the wrong word. All errors of all files are told at once.
    """
    root: Traversable = folder if folder is not None else resources.files("trug.treatments")
    vocabulary = load_vocabulary()
    sources = _sources(root)
    coverage, strangers = _toml(root / "coverage.toml"), _toml(root / "strangers.toml")
    digest = hashlib.sha256(vocabulary_text().encode())
    for name in ("sources.toml", "coverage.toml", "strangers.toml", "groups.toml"):
        try:
            digest.update((root / name).read_bytes())
        except FileNotFoundError:
            raise BookError(f"{name}: missing") from None
    treatments: dict[str, Treatment] = {}
    problems: list[str] = []
    for code, file in treatment_files(root):
        try:
            text = file.read_text("utf-8")
        except UnicodeDecodeError:
            problems.append(f"fungi/{code.replace('-', '/', 1)}.toml: not a text file (UTF-8 is expected)")
            continue
        digest.update(f"{code}\n{len(text)}\n{text}".encode())
        found, errors = read_treatment(code, text, vocabulary, sources)
        problems += errors
        if found is not None:
            treatments[code] = found
    if problems:
        raise BookError("\n".join(problems))
    try:
        return Book(
            dict(sorted(treatments.items())),
            sources,
            digest.hexdigest(),
            datetime.date.fromisoformat(str(coverage["date"])).isoformat(),
            {k: float(v) for k, v in coverage["regions"].items()},
            dict(strangers["blend"]),
            dict(strangers["weight"]),
            _groups(root, vocabulary),
        )
    except _WRONG_KIND as error:
        told = f"{type(error).__name__}: {error}"
        raise BookError(
            f"coverage.toml, strangers.toml or groups.toml lacks a field or holds a wrong value ({told})"
        ) from None


@functools.cache
def load_kitchen() -> Kitchen:
    """Return the vocabulary of kitchen and stillroom that comes with the program."""
    return Kitchen(_toml(resources.files("trug.treatments") / "kitchen.toml"))


def treatment_files(root: Traversable) -> Iterator[tuple[str, Traversable]]:
    """Yield (code, file) for every treatment below ``root/fungi``, in order of code."""
    folder = root / "fungi"
    if not folder.is_dir():
        raise BookError("fungi: there is no such folder")
    pairs = [
        (f"{genus.name}-{file.name.removesuffix('.toml')}", file)
        for genus in folder.iterdir()
        if genus.is_dir()
        for file in genus.iterdir()
        if file.name.endswith(".toml")
    ]
    yield from sorted(pairs, key=lambda pair: pair[0])


def _toml(file: Traversable) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text("utf-8"))
    except FileNotFoundError:
        raise BookError(f"{file.name}: missing") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BookError(f"{file.name}: {error}") from None


def _groups(root: Traversable, vocabulary: Vocabulary) -> tuple[Group, ...]:
    groups = []
    for code, e in _toml(root / "groups.toml").items():
        definition = {c: tuple(states) for c, states in e["definition"].items()}
        for character, states in definition.items():
            known = vocabulary.characters.get(character)
            if known is None or any(s not in known.codes for s in states):
                raise BookError(f"groups.toml: {code}: {character} {states} is unknown")
        if e["level"] not in HARM_LEVELS:
            raise BookError(f"groups.toml: {code}: harm level must be one of {', '.join(HARM_LEVELS)}")
        groups.append(Group(code, e["label"], e["level"], tuple(e["genera"]), definition))
    return tuple(groups)


def _sources(root: Traversable) -> dict[str, Source]:
    sources = {}
    for key, e in _toml(root / "sources.toml").items():
        try:
            sources[key] = Source(
                key,
                e["kind"],
                e.get("authors", ""),
                e.get("year"),
                e.get("title", ""),
                e.get("in", ""),
                e.get("doi", ""),
                e.get("isbn", ""),
                e.get("url", ""),
                str(e.get("read", "")),
            )
        except (KeyError, TypeError, AttributeError) as error:
            raise BookError(f"sources.toml: {key}: {error} is missing or wrong") from None
    for key, kind in BUILT_IN_SOURCES.items():
        sources[key] = Source(key, kind)
    return sources


def read_treatment(
    code: str, text: str, vocabulary: Vocabulary, sources: Mapping[str, Source]
) -> tuple[Treatment | None, list[str]]:
    """Return a treatment and everything that is wrong with it.

    Parameters
    ----------
    code : str
        ``genus-epithet``.
    text : str
        The file's text.

    Returns
    -------
    treatment : Treatment or None
        None where something is wrong.
    problems : list of str
        ``file:line: what``, with the nearest right words.
    """
    file = "fungi/" + code.replace("-", "/", 1) + ".toml"
    try:
        table = parse(text, file)
    except UnreadableError as error:
        return None, [str(error)]
    reader = _Reader(file, text, table, vocabulary, sources)
    treatment = None
    try:
        treatment = reader.treatment(code)
    except _WRONG_KIND as error:
        reader.problems.append(f"{file}: a field holds a value of the wrong kind ({error})")
    return (None if reader.problems else treatment), reader.problems


class _Reader:
    """One pass over one treatment; collects problems instead of stopping at the first."""

    def __init__(
        self, file: str, text: str, table: dict[str, Any], vocabulary: Vocabulary, sources: Mapping[str, Source]
    ) -> None:
        self.file, self.text, self.table = file, text, table
        self.vocabulary, self.sources = vocabulary, sources
        self.default_source = str(table.get("default_source", ""))
        self.problems: list[str] = []

    def wrong(self, message: str, *path: str | int, word: str | None = None) -> None:
        line = line_of(self.text, path, word)
        self.problems.append(f"{self.file}{f':{line}' if line else ''}: {message}")

    def source(self, entry: Mapping[str, Any], *path: str) -> str:
        key = str(entry.get("source", self.default_source))
        if not key:
            self.wrong("a source is missing (or a default_source at the top)", *path)
        elif key not in self.sources:
            self.wrong(f"unknown source {key!r}{nearest(key, self.sources)}", *path, word=key)
        return key

    def treatment(self, code: str) -> Treatment | None:
        for key in self.table:
            if key not in _TOP:
                self.wrong(f"unknown field {key!r}{nearest(key, _TOP)}", key)
        for key in ("name", "authority", "family", "rank", "group"):
            if not isinstance(self.table.get(key), str):
                self.wrong(f"the field {key!r} is missing")
        for key in ("english", "synonyms"):
            names = self.table.get(key, [])
            if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
                self.wrong(f"{key} must be a list of names", key)
        if self.table.get("rank") not in _RANKS:
            self.wrong(f"rank must be one of {', '.join(_RANKS)}", "rank")
        records = {}
        for character, entry in self.table.get("characters", {}).items():
            record = self.record(character, entry)
            if record is not None:
                records[character] = record
        insist = tuple(self.table.get("insist", {}).get("looks", ()))
        for look in insist:
            if look not in self.vocabulary.characters:
                self.wrong(f"unknown look {look!r}{nearest(look, self.vocabulary.characters)}", "insist", word=look)
        harm, use, prior = self.harm(), self.use(), self.prior()
        traditions, cautions = self.traditions(), self.cautions()
        if self.problems:
            return None
        return Treatment(
            code=code,
            name=self.table["name"],
            authority=self.table["authority"],
            family=self.table["family"],
            english=tuple(self.table.get("english", ())),
            synonyms=tuple(self.table.get("synonyms", ())),
            rank=self.table["rank"],
            group=self.table["group"],
            records=records,
            prior=prior,
            harm=harm,
            use=use,
            insist=insist,
            traditions=traditions,
            cautions=cautions,
            notes=self.table.get("notes", ""),
        )

    def record(self, code: str, entry: Any) -> Record | None:
        path = ("characters", code)
        character = self.vocabulary.characters.get(code)
        if character is None:
            self.wrong(f"unknown character {code!r}{nearest(code, self.vocabulary.characters)}", *path)
            return None
        if not isinstance(entry, dict):
            self.wrong(f"{code} must be a table", *path)
            return None
        if character.role != "look":
            self.wrong(f"{code} is not evidence ({character.role}); it does not belong under characters", *path)
            return None
        for key in entry:
            if key not in _RECORD:
                self.wrong(f"{code}: unknown field {key!r}{nearest(key, _RECORD)}", *path, key)
        source = self.source(entry, *path)
        size = self.size(character, entry) if character.measured else None
        words = {} if character.measured else self.words(character, entry)
        if character.measured and any(k in entry for k in (*WORDS, *STAGES)):
            self.wrong(f"{code} is measured; write size = '(20–)50–150(–250)'", *path)
        if not character.measured and "size" in entry:
            self.wrong(f"{code} is not measured; it has states", *path)
        for key in entry.get("also", ()):
            if key not in self.sources:
                self.wrong(f"unknown source {key!r}{nearest(key, self.sources)}", *path, word=key)
        return Record(
            code,
            words,
            size,
            bool(entry.get("complete", False)),
            source,
            str(entry.get("at", "")),
            str(entry.get("printed", "")),
            tuple(entry.get("also", ())),
        )

    def size(self, character: Character, entry: Mapping[str, Any]) -> SizeRange | None:
        path = ("characters", character.code)
        try:
            size = parse_size(str(entry["size"]))
        except KeyError:
            self.wrong(f"{character.code} needs size = '...'", *path)
            return None
        except ValueError as error:
            self.wrong(f"{character.code}: {error}", *path)
            return None
        assert character.span is not None
        low, high = character.span
        if size.low_extreme < low or size.high_extreme > high:
            unit = "" if character.unit == "ratio" else f" {character.unit}"
            self.wrong(f"{character.code}: {entry['size']} lies outside {low:g} to {high:g}{unit}", *path)
        return size

    def words(self, character: Character, entry: Mapping[str, Any]) -> dict[str, dict[str, str]]:
        path = ("characters", character.code)
        by_stage: dict[str, dict[str, str]] = {}
        base = self.states(character, entry, path)
        stages = [s for s in STAGES if s in entry]
        for stage in stages:
            if not isinstance(entry[stage], dict):
                self.wrong(f"{character.code}: {stage} must be a table such as {{ usually = [...] }}", *path, stage)
                continue
            by_stage[stage] = {**base, **self.states(character, entry[stage], (*path, stage))}
        if not stages:
            by_stage[""] = base
        for stage, words in by_stage.items():
            if not any(w != "never" for w in words.values()):
                self.wrong(f"{character.code}{f', {stage}' if stage else ''}: no state that occurs is named", *path)
        return by_stage

    def states(self, character: Character, entry: Mapping[str, Any], path: tuple[str, ...]) -> dict[str, str]:
        said: dict[str, str] = {}
        for word in WORDS:
            states = entry.get(word, [])
            if isinstance(states, str):
                self.wrong(f"{character.code}: {word} must be a list", *path, word)
                continue
            for state in states:
                if state not in character.codes:
                    self.wrong(
                        f"{character.code} has no state {state!r}{nearest(str(state), character.codes)}",
                        *path,
                        word=str(state),
                    )
                elif state in said:
                    self.wrong(f"{character.code}: {state!r} is named twice", *path, word=state)
                else:
                    said[state] = word
        return said

    def harm(self) -> Harm | None:
        e = self.table.get("harm")
        if e is None:
            return None
        if e.get("level") not in HARM_LEVELS:
            self.wrong(f"harm level must be one of {', '.join(HARM_LEVELS)}", "harm", "level")
        latency = e.get("latency_h")
        if latency is not None and not (len(latency) == 2 and 0 <= latency[0] <= latency[1] <= 24 * 60):
            self.wrong("latency_h must be two ascending hours", "harm", "latency_h")
            latency = None
        self.fields(e, _HARM, "harm")
        if e.get("level") == "conditional" and not e.get("condition"):
            self.wrong("a conditional harm names its condition", "harm")
        if e.get("condition"):
            self.kitchen("conditions", [e["condition"]], "harm", "condition")
        return Harm(
            str(e.get("level")),
            str(e.get("syndrome", "")),
            (float(latency[0]), float(latency[1])) if latency else None,
            self.source(e, "harm"),
            str(e.get("at", "")),
            str(e.get("printed", "")),
            str(e.get("condition", "")),
            bool(e.get("beginners", False)),
            bool(e.get("thought_good", False)),
        )

    def use(self) -> Use | None:
        e = self.table.get("use")
        if e is None:
            return None
        if e.get("as") not in ("food", "medicine"):
            self.wrong("use: as must be 'food' or 'medicine'", "use")
        for stage in e.get("stages", ()):
            if stage not in STAGES:
                self.wrong(f"unknown stage {stage!r}{nearest(stage, STAGES)}", "use", word=stage)
        self.fields(e, _USE, "use")
        return Use(
            str(e.get("as")),
            tuple(e.get("stages", ())),
            self.kitchen("conditions", e.get("conditions", ()), "use", "conditions"),
            self.source(e, "use"),
            self.kitchen("trim", e.get("trim", ()), "use", "trim"),
            self.kitchen("reasons", e.get("cook_because", ()), "use", "cook_because"),
            self.kitchen("keeps", e.get("keeps", ()), "use", "keeps"),
        )

    def traditions(self) -> tuple[Tradition, ...]:
        found = []
        for e in self.table.get("tradition", ()):
            self.fields(e, _TRADITION, "tradition")
            self.kitchen("forms", [str(e.get("form"))], "tradition")
            self.kitchen("purposes", [str(e.get("purpose"))], "tradition")
            said = str(e.get("at", "")), str(e.get("printed", ""))
            found.append(Tradition(str(e.get("form")), str(e.get("purpose")), self.source(e, "tradition"), *said))
        return tuple(found)

    def cautions(self) -> tuple[Caution, ...]:
        found = []
        for e in self.table.get("caution", ()):
            self.fields(e, _CAUTION, "caution")
            self.kitchen("cautions", [str(e.get("code"))], "caution")
            said = str(e.get("at", "")), str(e.get("printed", ""))
            found.append(Caution(str(e.get("code")), self.source(e, "caution"), *said))
        return tuple(found)

    def fields(self, entry: Mapping[str, Any], known: frozenset[str], *path: str) -> None:
        for key in entry:
            if key not in known:
                self.wrong(f"{path[0]}: unknown field {key!r}{nearest(key, known)}", *path, key)

    def kitchen(self, section: str, codes: Iterable[str], *path: str) -> tuple[str, ...]:
        known = load_kitchen().words[section]
        for code in codes:
            if code not in known:
                self.wrong(f"{path[0]}: unknown word {code!r}{nearest(code, known)}", *path, word=code)
        return tuple(codes)

    def prior(self) -> Prior:
        e = self.table.get("prior", {})
        months = []
        for key in ("months", "months_some"):
            try:
                months.append(parse_months(str(e.get(key, ""))))
            except ValueError as error:
                self.wrong(str(error), "prior", key)
                months.append(frozenset())
        for key, known in (("regions", "region"), ("regions_some", "region"), ("altitudes", "altitude")):
            codes = self.vocabulary.characters[known].codes
            for word in e.get(key, ()):
                if word not in codes:
                    self.wrong(f"unknown {known} {word!r}{nearest(word, codes)}", "prior", word=word)
        abundance = e.get("abundance", "occasional")
        if abundance not in ("common", "occasional", "rare"):
            self.wrong("abundance must be common, occasional or rare", "prior", "abundance")
        return Prior(
            months[0],
            months[1],
            frozenset(e.get("regions", ())),
            frozenset(e.get("regions_some", ())),
            frozenset(e.get("altitudes", ())),
            abundance,
            self.source(e, "prior") if e else "from-memory",
        )
