from __future__ import annotations

import inspect
import re

import pytest

from trug.characters import load_vocabulary
from trug.records import bin as deleting
from trug.records import gatherings, places
from trug.web.endings import EDITS, why_ended

VOCABULARY = load_vocabulary()


def test_every_reason_that_the_records_write_is_known() -> None:
    source = "".join(inspect.getsource(module) for module in (deleting, gatherings, places))
    written = set(re.findall(r'(?:void_signatures|_after)\([^"\n]*, "([^"]+)"\)', source))

    assert written == EDITS


@pytest.mark.parametrize(
    "reason",
    [
        "spore print was looked at anew",
        "withdrawn: the base was not dug out",
        "Amanita rubescens was signed for the same fruitbody",
        "the name Flammulina velutipes no longer stands: a look was deleted",
        "the name X no longer stands: withdrawn: a thing no longer stands: here",
        "a sentence that nobody knows",
        "",
    ],
)
def test_a_reason_reads_in_english_as_it_was_written(reason: str) -> None:
    assert why_ended(reason, VOCABULARY) == reason
