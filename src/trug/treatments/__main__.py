"""Dev-time check of single treatment files before the sources are merged (temporary)."""

import sys
import tomllib
from pathlib import Path

from trug.characters import load_vocabulary
from trug.treatments.loader import read_treatment
from trug.treatments.model import BUILT_IN_SOURCES, Source

root = Path(__file__).parent
sources = {k: Source(k, v) for k, v in BUILT_IN_SOURCES.items()}
for f in [*root.glob("sources/*.toml"), *([root / "sources.toml"] if (root / "sources.toml").exists() else [])]:
    try:
        for k, e in tomllib.loads(f.read_text()).items():
            for need in ("kind", "title"):
                if need not in e:
                    print(f"{f.name}: {k}: {need} missing")
            sources[k] = Source(k, e.get("kind", ""))
    except tomllib.TOMLDecodeError as err:
        print(f"{f.name}: {err}")
files = [Path(a) for a in sys.argv[2:]] or sorted(root.glob("fungi/*/*.toml"))
bad = 0
for f in files:
    code = f.parent.name + "-" + f.stem
    t, problems = read_treatment(code, f.read_text(), load_vocabulary(), sources)
    bad += len(problems)
    print(
        "\n".join(problems)
        if problems
        else f"ok {code}: {len(t.records)} characters, exclusions in {sum(1 for r in t.records.values() if r.complete or any('never' in w.values() for w in r.words.values()))}, published {sum(1 for r in t.records.values() if sources[r.source].kind == 'published')}"
    )
print(f"{len(files)} files, {bad} problems")
