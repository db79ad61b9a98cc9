"""Merkle trees against the published vectors of Certificate Transparency and of transparency-dev/merkle."""

from collections.abc import Iterator, Sequence

import pytest

from seasonlog.journal.encoding import entry_hash
from seasonlog.journal.merkle import (
    EMPTY_ROOT,
    consistency_proof,
    inclusion_proof,
    node_hash,
    proves_consistency,
    proves_inclusion,
    root,
)

# Reference leaves of Certificate Transparency and the roots of their first 0..8, as in transparency-dev/merkle,
# proof/verify_test.go; the tree is that of RFC 9162 section 2.1.
DATA = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
LEAVES = [entry_hash(bytes.fromhex(data)) for data in DATA]
ROOTS = [
    bytes.fromhex(text)
    for text in (
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
        "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
        "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
        "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    )
]
SOME_HASH = bytes.fromhex("abacaba000000000000000000000000000000000000000000060061e00123456")
E96A, E5F0, E6B4 = (
    "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
    "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
)
EBC1, ECA8, EB08 = (
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
    "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
)
E0EB = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
Hashes = Sequence[bytes]


def hashes(*texts: str) -> list[bytes]:
    return [bytes.fromhex(text) for text in texts]


# index, size, proof
INCLUSION = [
    (0, 1, []),
    (0, 8, hashes(E96A, E5F0, E6B4)),
    (5, 8, [*hashes(EBC1, ECA8), ROOTS[4]]),
    (2, 3, [ROOTS[2]]),
    (1, 5, [ROOTS[1], *hashes(E5F0, EBC1)]),
]
# first size, second size, proof
CONSISTENCY = [
    (1, 1, []),
    (1, 8, hashes(E96A, E5F0, E6B4)),
    (6, 8, [*hashes(E0EB, ECA8), ROOTS[4]]),
    (2, 5, hashes(E5F0, EBC1)),
    (6, 7, [*hashes(E0EB, EB08), ROOTS[4]]),
]


@pytest.mark.parametrize("size", range(9))
def test_roots_are_the_published_ones(size: int) -> None:
    assert root(LEAVES[:size]) == ROOTS[size]
    assert ROOTS[0] == EMPTY_ROOT


def test_a_node_is_hashed_as_published() -> None:
    # transparency-dev/merkle, rfc6962_test.go: node of "N123" and "N456"
    assert node_hash(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSION)
def test_published_inclusion_proofs_are_made_and_accepted(index: int, size: int, proof: Hashes) -> None:
    assert inclusion_proof(LEAVES[:size], index) == proof
    assert proves_inclusion(proof, index, size, LEAVES[index], ROOTS[size])


@pytest.mark.parametrize(("first", "second", "proof"), CONSISTENCY)
def test_published_consistency_proofs_are_made_and_accepted(first: int, second: int, proof: Hashes) -> None:
    assert consistency_proof(LEAVES[:second], first) == proof
    assert proves_consistency(proof, first, second, ROOTS[first], ROOTS[second])


def flipped(proof: Hashes, bit: int) -> Iterator[list[bytes]]:
    for at, step in enumerate(proof):
        yield [*proof[:at], bytes([step[0] ^ bit]) + step[1:], *proof[at + 1 :]]


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSION)
def test_spoiled_inclusion_proofs_are_refused(index: int, size: int, proof: Hashes) -> None:
    """The probes of transparency-dev/merkle, proof/verify_test.go, corruptInclusionProof."""
    leaf, top = LEAVES[index], ROOTS[size]
    probes = [
        (index - 1, size, top, leaf, proof), (index + 1, size, top, leaf, proof), (index ^ 2, size, top, leaf, proof),
        (index, size * 2, top, leaf, proof), (index, size // 2, top, leaf, proof),
        (index, size, top, b"WrongLeaf", proof), (index, size, EMPTY_ROOT, leaf, proof),
        (index, size, SOME_HASH, leaf, proof), (index, size, top, leaf, [*proof, b""]),
        (index, size, top, leaf, [*proof, top]), (index, size, top, leaf, [b"", *proof]),
        (index, size, top, leaf, [top, *proof]),
        *((index, size, top, leaf, wrong) for wrong in flipped(proof, 8)),
    ]  # fmt: skip
    if proof:
        probes.append((index, size, top, leaf, proof[:-1]))
    if len(proof) > 1:
        probes.append((index, size, top, leaf, [proof[0], SOME_HASH, *proof[1:]]))
    accepted = [probe for probe in probes if proves_inclusion(probe[4], probe[0], probe[1], probe[3], probe[2])]
    assert accepted == []


@pytest.mark.parametrize(("first", "second", "proof"), CONSISTENCY[1:])
def test_spoiled_consistency_proofs_are_refused(first: int, second: int, proof: Hashes) -> None:
    """The probes of transparency-dev/merkle, proof/verify_test.go, corruptConsistencyProof."""
    old, new = ROOTS[first], ROOTS[second]
    probes = [
        (first - 1, second, old, new, proof), (first + 1, second, old, new, proof), (first ^ 2, second, old, new, proof),  # noqa: E501
        (first, second * 2, old, new, proof), (first, second // 2, old, new, proof),
        (first, second, b"WrongRoot", new, proof), (first, second, old, b"WrongRoot", proof),
        (first, second, new, old, proof), (first, second, old, new, []), (first, second, old, new, proof[:-1]),
        *((first, second, old, new, [*proof, extra]) for extra in (b"", old, new)),
        *((first, second, old, new, [extra, *proof]) for extra in (b"", old, new, proof[0])),
        *((first, second, old, new, wrong) for wrong in flipped(proof, 16)),
    ]  # fmt: skip
    accepted = [probe for probe in probes if proves_consistency(probe[4], probe[0], probe[1], probe[2], probe[3])]
    assert accepted == []


def test_an_empty_hash_or_size_proves_nothing() -> None:
    """TestVerifyInclusionSingleEntry and TestVerifyInclusion there; sizes of 0 are refused here on purpose."""
    leaf = LEAVES[0]
    assert not proves_inclusion([], 0, 1, b"", leaf)
    assert not proves_inclusion([], 0, 1, leaf, b"")
    assert not proves_inclusion([], 0, 1, b"", b"")
    for index, size in ((0, 0), (0, 1), (1, 0), (2, 1)):
        assert not proves_inclusion([], index, size, SOME_HASH, b"")
        assert not proves_inclusion([], index, size, b"", EMPTY_ROOT)
        assert not proves_inclusion([], index, size, SOME_HASH, EMPTY_ROOT)
    for first, second in ((0, 0), (0, 1), (1, 0), (2, 1), (1, 2)):
        assert not proves_consistency([], first, second, EMPTY_ROOT, EMPTY_ROOT)
    assert not proves_consistency([EMPTY_ROOT], 1, 1, EMPTY_ROOT, EMPTY_ROOT)


def test_every_proof_holds_at_its_place_and_nowhere_else() -> None:
    many = [entry_hash(str(number).encode()) for number in range(40)]
    for size in range(1, 40):
        top = root(many[:size])
        for index in range(size):
            proof = inclusion_proof(many[:size], index)
            fits = [at for at in range(size + 1) if proves_inclusion(proof, at, size, many[index], top)]
            assert fits == [index]
        for first in range(1, size + 1):
            proof = consistency_proof(many[:size], first)
            assert proves_consistency(proof, first, size, root(many[:first]), top)
            assert not proves_consistency(proof, first, size, SOME_HASH, top)


@pytest.mark.parametrize("index", [-1, 3])
def test_there_is_no_proof_for_a_leaf_that_is_not_there(index: int) -> None:
    with pytest.raises(IndexError):
        inclusion_proof(LEAVES[:3], index)
    with pytest.raises(IndexError):
        consistency_proof(LEAVES[:3], index + 1 if index > 0 else 0)
