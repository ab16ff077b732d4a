"""The checksum of an SHT4x word.

Polynomial 0x31, start 0xFF, no reflection, no final exclusive-or; 0xBEEF gives 0x92. Grade cited, from
independent public drivers of the part. Written apart from the driver's own, so that each checks the other.
"""

from __future__ import annotations


def _row(byte: int) -> int:
    for _ in range(8):
        byte = (byte << 1 ^ 0x31 if byte & 0x80 else byte << 1) & 0xFF
    return byte


_TABLE = bytes(_row(byte) for byte in range(256))


def crc8(word: bytes) -> int:
    """Give the checksum of the bytes of a word."""
    crc = 0xFF
    for byte in word:
        crc = _TABLE[crc ^ byte]
    return crc
