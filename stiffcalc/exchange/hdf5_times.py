"""The same HDF5 file for the same content: times of writing set to zero.

Object headers of version 2 carry four times and a checksum (HDF5 File Format Specification 3.0, IV.A.1.b; checksum:
the public-domain hash "lookup3" of B. Jenkins, there appendix). Only headers whose checksum is right are touched.
"""

from __future__ import annotations

import struct

SIGNATURE = b"OHDR"
TIMES = slice(
    6, 22
)  # access, modification, change, birth: four bytes each, after signature, version and flags
HAS_TIMES = 0x20
HAS_PHASES = 0x10  # four more bytes before the size
MASK = 0xFFFFFFFF


def without_times(content: bytes) -> bytes:
    """`content` with all times in its object headers zero."""
    found = bytearray(content)
    at = found.find(SIGNATURE)
    while at >= 0:
        end = _end(found, at)
        if end is not None and struct.unpack_from("<I", found, end)[0] == checksum(bytes(found[at:end])):
            found[at + TIMES.start : at + TIMES.stop] = bytes(16)
            struct.pack_into("<I", found, end, checksum(bytes(found[at:end])))
        at = found.find(SIGNATURE, at + 4)
    return bytes(found)


def _end(content: bytearray, at: int) -> int | None:
    """Where the checksum of a header with times stands, or None for anything else."""
    if at + 23 > len(content) or content[at + 4] != 2 or not content[at + 5] & HAS_TIMES:
        return None
    flags = content[at + 5]
    width = 1 << (flags & 3)
    size_at = at + TIMES.stop + (4 if flags & HAS_PHASES else 0)
    end = size_at + width + int.from_bytes(content[size_at : size_at + width], "little")
    return end if end + 4 <= len(content) else None


def checksum(data: bytes) -> int:
    """Hash "lookup3" (little-endian, start value 0) of some bytes."""
    a = b = c = (0xDEADBEEF + len(data)) & MASK
    blocks = max(0, (len(data) - 1) // 12)
    for k in range(blocks):
        x, y, z = struct.unpack_from("<III", data, 12 * k)
        a, b, c = _mixed((a + x) & MASK, (b + y) & MASK, (c + z) & MASK)
    tail = data[12 * blocks :]
    if not tail:
        return c
    x, y, z = struct.unpack("<III", tail.ljust(12, b"\0"))
    return _final((a + x) & MASK, (b + y) & MASK, (c + z) & MASK)


def _turned(value: int, bits: int) -> int:
    return ((value << bits) | (value >> (32 - bits))) & MASK


def _mixed(a: int, b: int, c: int) -> tuple[int, int, int]:
    for bits in (4, 6, 8, 16, 19, 4):
        a = ((a - c) & MASK) ^ _turned(c, bits)
        c = (c + b) & MASK
        a, b, c = b, c, a
    return a, b, c


def _final(a: int, b: int, c: int) -> int:
    for bits in (14, 11, 25, 16, 4, 14, 24):
        c = ((c ^ b) - _turned(b, bits)) & MASK
        a, b, c = b, c, a
    return b
