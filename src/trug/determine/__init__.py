"""Pure mathematics: looks to posterior to ledger to next looks. No files, no clock, no network."""

from trug.determine.compile import compile_table
from trug.determine.determination import Determination, canonical, determine, digest_of
from trug.determine.find import Evidence, Find, Fruitbody, Look, json_schema
from trug.determine.ledger import Ledger, hold_contest, keep_ledger
from trug.determine.model import ErrorModel
from trug.determine.nextlooks import next_looks
from trug.determine.observations import observe
from trug.determine.release import release
from trug.determine.standing import log_prior, stand, unlisted_prior
from trug.determine.table import Table, from_bytes, to_bytes

__all__ = [
    "Determination",
    "ErrorModel",
    "Evidence",
    "Find",
    "Fruitbody",
    "Ledger",
    "Look",
    "Table",
    "canonical",
    "compile_table",
    "determine",
    "digest_of",
    "from_bytes",
    "hold_contest",
    "json_schema",
    "keep_ledger",
    "log_prior",
    "next_looks",
    "observe",
    "release",
    "stand",
    "to_bytes",
    "unlisted_prior",
]
