"""The hash chain: each entry's hash covers the one before it of the same workstation, so nothing can be changed unseen.

hash = SHA-256(prev ‖ 0x00 ‖ meta ‖ 0x00 ‖ canonical bytes), where meta is the canonical JSON of the entry's number, its
workstation, its place in that workstation's chain, and when it was saved.
"""

from __future__ import annotations

import hashlib

from cbi_monitor.model.canonical import bytes_of


def root_of(workstation: str) -> bytes:
    """What the first entry of a workstation has before it."""
    return hashlib.sha256(b"cbi_monitor journal\x00" + workstation.encode()).digest()


def hash_of(
    prev: bytes, *, seq: int, workstation: str, link: int, saved_at: str | None, payload: bytes
) -> bytes:
    """The hash of one entry."""
    meta = bytes_of({"seq": seq, "workstation": workstation, "link": link, "saved_at": saved_at})
    return hashlib.sha256(b"\x00".join((prev, meta, payload))).digest()
