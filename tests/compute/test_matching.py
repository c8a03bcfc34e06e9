"""Matching: the radio's own address before the label, and no guess where several would do."""

from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.matching import Doubt, Identity, match

A, B, C = (f"02:00:5e:00:53:0{n}" for n in (1, 2, 3))
IDENTITIES = st.lists(
    st.builds(Identity, st.sampled_from([None, A, B, C]), st.sampled_from(["1", "2", "3"])),
    max_size=6,
)


def test_the_address_decides_whatever_the_labels_say() -> None:
    planned = [Identity(A, "1"), Identity(B, "2")]
    assert match(planned, [Identity(A, "2"), Identity(B, "1")]).pairs == {0: 0, 1: 1}


def test_the_label_decides_where_one_side_has_no_address() -> None:
    assert match([Identity(A, "1")], [Identity(None, "1")]).pairs == {0: 0}
    assert match([Identity(None, "1")], [Identity(B, "1")]).pairs == {0: 0}
    assert match([Identity(None, "1")], [Identity(None, "1")]).pairs == {0: 0}


def test_two_radios_are_two_under_one_label() -> None:
    assert match([Identity(A, "1")], [Identity(B, "1")]) == ({}, [])


def test_a_label_whose_radio_is_known_is_nobody_elses() -> None:
    """Radio A bears label 2; who bears label 1 without an address may be anyone but A."""
    planned = [Identity(A, "1"), Identity(B, "2")]
    assert match(planned, [Identity(A, "2"), Identity(None, "1")]).pairs == {0: 0}


def test_what_stands_twice_is_paired_with_nobody() -> None:
    twice = [Identity(A, "1"), Identity(A, "2")]
    assert match([Identity(A, "1")], twice) == ({}, [Doubt("hardware_address", [0], [0, 1])])
    assert match(twice, [Identity(B, "1")]).doubts == [Doubt("hardware_address", [0, 1], [])]
    labels = [Identity(None, "1"), Identity(None, "1"), Identity(B, "1")]
    assert match([Identity(A, "1")], labels) == ({}, [Doubt("id", [0], [0, 1])])
    assert match([Identity(None, "1")], labels).doubts == [Doubt("id", [0], [0, 1, 2])]


def test_a_label_twice_is_no_doubt_where_nobody_else_has_it() -> None:
    assert match([Identity(A, "2")], [Identity(None, "1"), Identity(None, "1")]) == ({}, [])
    assert match([Identity(A, "1")], [Identity(B, "1"), Identity(A, "1")]) == ({0: 1}, [])


@given(IDENTITIES, IDENTITIES)
def test_swapping_the_sides_swaps_the_answer(
    planned: list[Identity], found: list[Identity]
) -> None:
    there, back = match(planned, found), match(found, planned)
    assert {f: p for p, f in there.pairs.items()} == back.pairs
    assert {(d.key, *map(tuple, d[1:])) for d in there.doubts} == {
        (d.key, tuple(d.found), tuple(d.planned)) for d in back.doubts
    }


@given(IDENTITIES, IDENTITIES)
def test_nobody_is_paired_twice_nor_with_another_radio(
    planned: list[Identity], found: list[Identity]
) -> None:
    matching = match(planned, found)
    assert len(set(matching.pairs.values())) == len(matching.pairs)
    for p, f in matching.pairs.items():
        here, there = planned[p], found[f]
        if None in (here.hardware_address, there.hardware_address):
            assert here.id == there.id
        else:
            assert here.hardware_address == there.hardware_address


@given(IDENTITIES, IDENTITIES)
def test_who_is_left_alone_with_an_address_or_a_label_is_paired_or_in_doubt(
    planned: list[Identity], found: list[Identity]
) -> None:
    matching = match(planned, found)
    doubted = {at for doubt in matching.doubts for at in doubt.planned}
    taken = {*matching.pairs.values(), *(at for d in matching.doubts for at in d.found)}
    for at, here in enumerate(planned):
        if at not in matching.pairs and at not in doubted:
            rest = [each for f, each in enumerate(found) if f not in taken]
            known = here.hardware_address is not None
            assert not any(known and e.hardware_address == here.hardware_address for e in rest)
            nameless = (e for e in rest if not known or e.hardware_address is None)
            assert all(each.id != here.id for each in nameless)
