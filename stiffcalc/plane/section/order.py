"""The order in which unknowns are eliminated: nested dissection by halving the elements along their longer extent.

A node belongs to the smallest group of elements that holds all elements it is part of; groups are eliminated
before the groups that contain them. After George, Nested dissection of a regular finite element mesh, SIAM J.
Numer. Anal. 10 (1973), from memory; the halving by coordinates is the plain recursive bisection.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import Index

LEAF = 2  # elements left in a group that is not halved any more


def elimination_order(nodes: Array, triangles: Index, *, coupled: Sequence[Index] = ()) -> Index:
    """Nodes (n,) in the order of their elimination; `coupled`: sets of nodes that something further ties together."""
    code, depth = _halve(nodes[triangles[:, :3]].mean(axis=1))
    low, high = np.full(len(nodes), 2**depth), np.full(len(nodes), -1)
    for column in triangles.T:
        np.minimum.at(low, column, code)
        np.maximum.at(high, column, code)
    for group in coupled:
        low[group], high[group] = low[group].min(), high[group].max()
    _, up = np.frexp((low ^ high).astype(float))  # levels up to the group both codes lie in
    last = (((high >> up) + 1) << up) - 1
    return np.asarray(np.lexsort((nodes[:, 1], nodes[:, 0], up, last)))


def _halve(centres: Array) -> tuple[Index, int]:
    """Path (e,) of each element down the tree of halves, as a binary number, and the tree's depth."""
    count = len(centres)
    depth = max(0, int(np.ceil(np.log2(count / LEAF))))
    code = np.zeros(count, dtype=np.int64)
    for _ in range(depth):
        order = np.argsort(code, kind="stable")
        _, start, size = np.unique(code[order], return_index=True, return_counts=True)
        own = np.empty(count, dtype=np.int64)  # running number of the group
        own[order] = np.repeat(np.arange(len(start)), size)
        grouped = centres[order]
        extent = np.maximum.reduceat(grouped, start) - np.minimum.reduceat(grouped, start)
        along = centres[np.arange(count), np.argmax(extent, axis=1)[own]]
        order = np.lexsort((along, code))
        rank = np.empty(count, dtype=np.int64)
        rank[order] = np.arange(count) - start[own[order]]
        code = 2 * code + (2 * rank >= size[own])
    return code, depth
