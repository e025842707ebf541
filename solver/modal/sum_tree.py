"""A sum over many parts of which a few change at a time, the same to the last bit however it came about."""

from collections.abc import Iterable
from dataclasses import dataclass

from solver.core.arrays import Singles


@dataclass(frozen=True, eq=False)
class SumTree:
    """A binary tree of sums: node i is the sum of nodes 2 i + 1 and 2 i + 2, the g parts are the last g nodes.

    Each node depends on its own parts alone, added in one order; trees share the nodes in which they agree.
    """

    nodes: tuple[Singles, ...]

    @classmethod
    def of(cls, parts: list[Singles]) -> "SumTree":
        """Return the tree over g parts, one or more, all of one shape."""
        empty = cls((parts[0],) * (2 * len(parts) - 1))
        return empty.with_parts(range(len(parts)), parts)

    @property
    def total(self) -> Singles:
        """The sum of all parts."""
        return self.nodes[0]

    def with_parts(self, which: Iterable[int], parts: Iterable[Singles]) -> "SumTree":
        """Return the tree in which the parts numbered ``which`` are others; only the sums over them are made anew."""
        nodes, stale = list(self.nodes), set()
        for number, part in zip(which, parts, strict=True):
            node = len(nodes) // 2 + number
            nodes[node] = part
            while node:
                node = (node - 1) // 2
                stale.add(node)
        for node in sorted(stale, reverse=True):
            nodes[node] = nodes[2 * node + 1] + nodes[2 * node + 2]
        return SumTree(tuple(nodes))
