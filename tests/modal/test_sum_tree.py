"""Sums over parts of which a few change."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from solver.modal.sum_tree import SumTree


def parts(count: int, seed: int = 1) -> list[np.ndarray]:
    return list(np.random.default_rng(seed).normal(size=(count, 3)).astype(np.float32))


@given(st.integers(1, 40))
def test_total_is_the_sum_of_all_parts(count: int) -> None:
    here = parts(count)
    assert np.allclose(SumTree.of(here).total, np.sum(here, axis=0), atol=1e-5)


@given(st.lists(st.tuples(st.integers(0, 15), st.integers(2, 9)), max_size=12))
def test_way_to_the_parts_leaves_nothing_behind(steps: list[tuple[int, int]]) -> None:
    """Parts changed one by one give the last bit of the tree that was made of them at once; so do those changed back."""
    start, other, here = SumTree.of(parts(16)), SumTree.of(parts(16)), parts(16)
    for which, seed in steps:
        here[which] = parts(16, seed)[which]
        other = other.with_parts([which], [here[which]])
    assert np.array_equal(other.total, SumTree.of(here).total)
    back = other.with_parts(range(16), parts(16))
    assert all(map(np.array_equal, back.nodes, start.nodes))


def test_untouched_sums_are_shared() -> None:
    before = SumTree.of(parts(8))
    after = before.with_parts([0], [np.ones(3, np.float32)])
    assert [a is b for a, b in zip(before.nodes, after.nodes, strict=True)] == [
        False, False, True, False, True, True, True, False, *[True] * 7
    ]  # fmt: skip
