"""Records: finds as files and in a database, with their history, photos, names, signatures and exchange."""

from trug.records.find_files import ReadFind, read_find, read_find_text

__all__ = ["ReadFind", "read_find", "read_find_text"]
