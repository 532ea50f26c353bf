"""Marks on a lane that would touch stack downwards; none overlaps another."""

from __future__ import annotations

from collections.abc import Sequence


def stack(spans: Sequence[tuple[float, float]], gap: float) -> list[int]:
    """The storey of each span, 0 the top one.

    ``spans`` are (left, right) in pixels; two in one storey keep at least ``gap`` between them. A span takes the
    highest storey that is free, those that begin further left first, so the order on the lane stays the order in time.
    """
    order = sorted(range(len(spans)), key=lambda i: (spans[i][0], i))
    ends: list[float] = []
    storeys = [0] * len(spans)
    for i in order:
        left, right = spans[i]
        for storey, end in enumerate(ends):
            if left >= end + gap:
                ends[storey] = right
                storeys[i] = storey
                break
        else:
            storeys[i] = len(ends)
            ends.append(right)
    return storeys
