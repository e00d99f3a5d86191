"""Files of the same content are the same bytes, whenever they were written."""

import struct

import pytest

from stiffcalc.exchange.hdf5_times import checksum, without_times


# B. Jenkins, lookup3.c, self-test driver5: these strings with initial value 0 (values from memory).
@pytest.mark.parametrize(
    ("text", "value"), [(b"", 0xDEADBEEF), (b"Four score and seven years ago", 0x17770551)]
)
def test_published_hashes(text, value):
    assert checksum(text) == value


def header(times, body=b"message", flags=0x20):
    start = b"OHDR" + bytes([2, flags]) + times + bytes([len(body)]) + body
    return start + struct.pack("<I", checksum(start))


def test_times_go_and_the_checksum_stays_right():
    early, late = header(b"\1" * 16), header(b"\2" * 16)
    assert early != late
    assert without_times(b"before" + early + b"after") == without_times(b"before" + late + b"after")
    assert without_times(early) == header(bytes(16))


@pytest.mark.parametrize(
    "content",
    [
        b"OHDR",
        header(b"\1" * 16)[:-1] + b"\0",  # a checksum that is not right: data that only look like a header
        header(b"\1" * 16, flags=0x00),
        b"nothing of the kind",
    ],
)
def test_anything_else_is_left_alone(content):
    assert without_times(content) == content
