"""Chance that does not depend on who looked before: a number for (seed, name, index)."""

from __future__ import annotations

from hashlib import blake2b


def gauss(seed: int, name: str, index: int) -> float:
    """Give a nearly normal number of mean 0 and standard deviation 1, within 6 either way.

    It is the sum of twelve uniform numbers less 6 (central limit), taken from a hash, so the
    same arguments give the same bits on any machine.
    """
    digest = blake2b(f"{seed}|{name}|{index}".encode(), digest_size=24).digest()
    total = sum(int.from_bytes(digest[i : i + 2], "big") for i in range(0, 24, 2))
    return (total + 6) / 65536.0 - 6.0


def uniform(seed: int, name: str, index: int) -> float:
    """Give a number from 0 up to 1, evenly spread."""
    digest = blake2b(f"{seed}|{name}|{index}".encode(), digest_size=7).digest()
    return int.from_bytes(digest, "big") / 2.0**56
