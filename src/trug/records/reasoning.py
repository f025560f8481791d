"""Determinations of finds in the database: reasoned anew only for the fruitbody that changed."""

from __future__ import annotations

import hashlib
import threading
import zlib
from collections import OrderedDict

import msgspec
from sqlalchemy.orm import Session

from trug import __version__
from trug.determine.determination import assemble, determine_fruitbodies
from trug.determine.find import Find, Place
from trug.determine.record import Determination, FruitbodyResult, canonical
from trug.errors import InputError, UnknownWordError
from trug.loaded import Loaded
from trug.records.documents import day_known, find_document

__all__ = ["Reasoner"]

#: Results of fruitbodies that are kept in memory, packed: about 30 kB each, and unpacked in a twentieth of the time
#: that reasoning takes.
KEPT = 512


class Reasoner:
    """Determines finds with one book, and remembers the latest results.

    A fruitbody's result depends on its own looks, those of the find as a whole, date, region, altitude and the
    observers, and on nothing else; that is what a remembered result is found by.
    """

    def __init__(self, here: Loaded) -> None:
        self.here = here
        self._english = {t.name: t.english[0] for t in here.book.treatments.values() if t.english}
        self._results: OrderedDict[bytes, bytes] = OrderedDict()
        self._decoder = msgspec.msgpack.Decoder(FruitbodyResult)
        self._lock = threading.Lock()

    def determine(self, find: Find, signed: str | None = None) -> Determination:
        """Return the determination of a find document; see ``trug.determine.determination.determine``."""
        results = [self._result(find, body.id, signed) for body in find.fruitbodies]
        return assemble(find, results, self.here.table, self.here.book, program=__version__)

    def of(
        self, session: Session, find_id: str, *, signed: str | None = None, determiner: str | None = None
    ) -> tuple[Find, Determination]:
        """Return a find of the database and its determination; InputError where the month of the find is not known."""
        find = find_document(session, find_id, self.here.vocabulary, determiner=determiner)
        return find, self.determine(find, signed)

    def of_fruitbody(
        self, session: Session, find_id: str, body_id: str, *, determiner: str | None = None
    ) -> tuple[Find, FruitbodyResult]:
        """Return a find of the database and what is reasoned of one of its fruitbodies; the others cost nothing.

        Raises
        ------
        UnknownWordError
            There is no such find, or it has no such fruitbody.
        """
        find = find_document(session, find_id, self.here.vocabulary, determiner=determiner)
        if body_id not in {b.id for b in find.fruitbodies}:
            raise UnknownWordError("there is no such fruitbody; it may have been deleted (see the bin)")
        return find, self._result(find, body_id, None)

    def covers(self, find: Find) -> bool:
        """Whether a find comes from a region that the book covers; elsewhere no ledger can close."""
        return find.region is not None and self.here.table.covered.get(find.region, 0.0) > 0.0

    def english_of(self, name: str) -> str:
        """Return the English name for a scientific one, whatever its qualifier; nothing where the book has none."""
        plain = name.removesuffix(" (aggregate)").replace(" cf. ", " ").replace(" aff. ", " ")
        return self._english.get(plain, "")

    def _result(self, find: Find, body: str, signed: str | None) -> FruitbodyResult:
        if not day_known(find.date):
            raise InputError("the month of this find is not known, so nothing can be reasoned; correct its date first")
        alone = _alone(find, body)
        key = hashlib.sha256(canonical([alone, signed])).digest()
        with self._lock:
            packed = self._results.get(key)
            if packed is not None:
                self._results.move_to_end(key)
        if packed is not None:
            return self._decoder.decode(zlib.decompress(packed))
        here = self.here
        result = determine_fruitbodies(alone, here.table, here.book, here.vocabulary, signed=signed)[0]
        packed = zlib.compress(msgspec.msgpack.encode(result), 1)
        with self._lock:
            self._results[key] = packed
            while len(self._results) > KEPT:
                self._results.popitem(last=False)
        return result


def _alone(find: Find, body: str) -> Find:
    """Return what bears on one fruitbody."""
    altitude = find.place.altitude_m if find.place is not None else None
    return msgspec.structs.replace(
        find,
        fruitbodies=tuple(b for b in find.fruitbodies if b.id == body),
        looks=tuple(k for k in find.looks if k.fruitbody in (None, body)),
        place=None if altitude is None else Place(0.0, 0.0, altitude_m=altitude),
        photos=(),
        notes=None,
        extra={},
    )
