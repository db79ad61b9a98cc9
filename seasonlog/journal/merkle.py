"""Merkle trees of RFC 9162 section 2.1 over the hashes of a device's entries: roots and proofs.

A checkpoint states a size and a root; an inclusion proof shows that an entry is under it, a consistency proof that a
later checkpoint only added entries. Every hash is exactly 32 bytes and a proved size is at least 1: without that rule
an empty hash passes for the proof of an empty tree.
"""

import hashlib
from collections.abc import Iterable, Sequence

EMPTY_ROOT = hashlib.sha256(b"").digest()
"""Root of a tree without leaves (RFC 9162 section 2.1.1)."""


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256 of a one byte and both children, so that a node can never pass for a leaf."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def _split(size: int) -> int:
    """Largest power of two smaller than `size` (> 1)."""
    return 1 << ((size - 1).bit_length() - 1)


def root(leaves: Sequence[bytes]) -> bytes:
    """Root over leaf hashes, computed level by level."""
    if not leaves:
        return EMPTY_ROOT
    level = list(leaves)
    while len(level) > 1:
        paired = [node_hash(left, right) for left, right in zip(level[::2], level[1::2], strict=False)]
        level = paired + level[len(level) & ~1 :]
    return level[0]


class Peaks:
    """A tree that grows leaf by leaf, kept as the roots of its whole subtrees: what its next roots follow from."""

    def __init__(self, size: int = 0, hashes: Iterable[bytes] = ()) -> None:
        """A tree of some leaves.

        Args:
            size: Number of leaves.
            hashes: One for each binary one of `size`, the largest subtree first, 32 bytes each.

        Raises:
            ValueError: these are not the peaks of so many leaves.
        """
        self.size, self.hashes = size, list(hashes)
        if size < 0 or len(self.hashes) != size.bit_count() or not _are_hashes(*self.hashes):
            raise ValueError(f"{len(self.hashes)} hashes are not the peaks of {size} leaves")

    def push(self, leaf: bytes) -> None:
        """One leaf hash more."""
        self.size += 1
        size = self.size
        while size & 1 == 0:
            leaf, size = node_hash(self.hashes.pop(), leaf), size >> 1
        self.hashes.append(leaf)

    def root(self) -> bytes:
        """Root over all leaves."""
        if not self.hashes:
            return EMPTY_ROOT
        *rest, top = self.hashes
        for peak in reversed(rest):
            top = node_hash(peak, top)
        return top


class Tree:
    """Roots over the first so many of some leaf hashes; asked in rising order, each leaf is hashed once."""

    def __init__(self, leaves: Sequence[bytes]) -> None:
        self.leaves = leaves
        """Of the whole tree."""
        self._peaks = Peaks()

    def root(self, size: int) -> bytes:
        """Root over the first `size` leaves, at most as many as there are."""
        if size < self._peaks.size:
            self._peaks = Peaks()
        for at in range(self._peaks.size, size):
            self._peaks.push(self.leaves[at])
        return self._peaks.root()


def inclusion_proof(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Hashes that lead from leaf `index` (from 0) to the root of all `leaves` (RFC 9162 section 2.1.3.1)."""
    if not 0 <= index < len(leaves):
        raise IndexError(f"no leaf {index} in a tree of {len(leaves)}")
    if len(leaves) == 1:
        return []
    k = _split(len(leaves))
    if index < k:
        return [*inclusion_proof(leaves[:k], index), root(leaves[k:])]
    return [*inclusion_proof(leaves[k:], index - k), root(leaves[:k])]


def proves_inclusion(proof: Sequence[bytes], index: int, size: int, leaf: bytes, root_hash: bytes) -> bool:
    """Whether `leaf` stands at `index` of the tree of `size` leaves under `root_hash` (RFC 9162 section 2.1.3.2)."""
    if not (0 <= index < size and _are_hashes(leaf, root_hash, *proof)):
        return False
    at, last, computed = index, size - 1, leaf
    for step in proof:
        if last == 0:
            return False
        if at & 1 or at == last:
            computed = node_hash(step, computed)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            computed = node_hash(computed, step)
        at, last = at >> 1, last >> 1
    return last == 0 and computed == root_hash


def consistency_proof(leaves: Sequence[bytes], first: int) -> list[bytes]:
    """Hashes that show the tree of the `first` leaves to be the beginning of the whole (RFC 9162 section 2.1.4.1)."""
    if not 1 <= first <= len(leaves):
        raise IndexError(f"no tree of {first} within one of {len(leaves)}")
    return _subproof(leaves, first, whole=True)


def _subproof(leaves: Sequence[bytes], first: int, *, whole: bool) -> list[bytes]:
    if first == len(leaves):
        return [] if whole else [root(leaves)]
    k = _split(len(leaves))
    if first <= k:
        return [*_subproof(leaves[:k], first, whole=whole), root(leaves[k:])]
    return [*_subproof(leaves[k:], first - k, whole=False), root(leaves[:k])]


def proves_consistency(proof: Sequence[bytes], first: int, second: int, first_root: bytes, second_root: bytes) -> bool:
    """Whether the tree of `second` leaves only added to that of `first` (RFC 9162 section 2.1.4.2)."""
    if not (1 <= first <= second and _are_hashes(first_root, second_root, *proof)):
        return False
    if first == second:
        return not proof and first_root == second_root
    path = [first_root, *proof] if first & (first - 1) == 0 else list(proof)
    return bool(path) and _climb(path, first - 1, second - 1) == (first_root, second_root)


def _climb(path: Sequence[bytes], at: int, last: int) -> tuple[bytes, bytes] | None:
    """Both roots that a consistency path leads to, or None when its length does not fit."""
    while at & 1:
        at, last = at >> 1, last >> 1
    old = new = path[0]
    for step in path[1:]:
        if last == 0:
            return None
        if at & 1 or at == last:
            old, new = node_hash(step, old), node_hash(step, new)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            new = node_hash(new, step)
        at, last = at >> 1, last >> 1
    return (old, new) if last == 0 else None


def _are_hashes(*values: bytes) -> bool:
    return all(len(value) == 32 for value in values)
