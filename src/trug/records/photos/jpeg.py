"""The segments of a JPEG file (ITU-T T.81, annex B), read without decoding a pixel."""

from __future__ import annotations

import re
from collections.abc import Iterator

__all__ = ["COM", "EOI", "SOS", "segments"]

SOS, EOI, COM = 0xDA, 0xD9, 0xFE
#: Markers without a length: TEM, RST0 to RST7, SOI, EOI.
_BARE = frozenset([0x01, *range(0xD0, 0xDA)])
#: Inside a scan 0xFF is followed by 0 or by a restart marker; anything else ends the scan.
_SCAN_END = re.compile(rb"\xff+([^\x00\xff\xd0-\xd7])")


def segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield marker and payload of each segment, then ``(EOI, what follows the end)``.

    The payload of a scan is its header alone. Stops early where the file is cut or is no JPEG.
    """
    at = 2 if data[:2] == b"\xff\xd8" else len(data)
    while found := _SCAN_END.match(data, at):
        marker, at = found.group(1)[0], found.end()
        if marker == EOI:
            yield EOI, data[at:]
            return
        if marker in _BARE:
            continue
        length = int.from_bytes(data[at : at + 2], "big")
        if length < 2 or at + length > len(data):
            return
        yield marker, data[at + 2 : at + length]
        at += length
        if marker == SOS:
            end = _SCAN_END.search(data, at)
            if end is None:
                return
            at = end.start()
