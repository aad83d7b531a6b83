"""Connected areas of a mask, found from runs of set pixels; the twin is in checks/areas/table.py.

Pixels that touch at a side or a corner belong together. Areas are numbered by their first pixel in
raster order, as `scipy.ndimage.label` does.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

_STRIDE = 64  # pixels skipped at once in long runs


@loop
def count_runs(mask: Any) -> int:
    """Runs of set pixels of a mask (rows, cols), 0 or 1: no more areas can there be."""
    count = 0
    for row in range(mask.shape[0]):
        line = mask[row]
        count += line[0]
        for at in range(1, line.shape[0]):
            count += line[at] & (line[at - 1] ^ 1)
    return count


@loop
def areas_of(
    mask: Any,
    values: Any,
    corner: Any,
    parent: Any,
    table: Any,
    edges: Any,
) -> int:
    """Fill the table of all areas of a mask (rows, cols), and their numbers along its edges.

    Parameters
    ----------
    mask, values : (rows, cols)
        0 or 1 as uint8, and whole numbers from 0 to 2^20 - 1.
    corner : (int, int, int)
        Row and column of the first pixel, and bits of a row or column in a key.
    parent : (n,) int32 buffer, n = runs of the mask.
    table : (extent, peak, pixels, marks)
        (n, 4) and thrice (n,) int64; the first rows hold the areas afterwards.
    edges : (top, bottom, left, right)
        int64, -1 or an area.

    Returns
    -------
    The number of areas.
    """
    rows, cols = mask.shape
    runs = np.empty((2, cols // 2 + 1, 3), np.int32)  # start, stop, label; of two rows
    turns, changed = np.empty(cols + 1, np.int32), np.empty(cols, np.uint8)
    top, bottom, left, right = edges
    labels = above = 0
    for row in range(rows):
        old, new = runs[(row + 1) & 1], runs[row & 1]
        here = _runs_of(mask[row], new, turns, changed)
        labels = _join(old[:above], new[:here], parent, labels, table)
        for run in range(here):
            start, stop, label = new[run]
            _take(values[row, start:stop], (row, start), label, corner, table)
        left[row] = new[0, 2] if here and new[0, 0] == 0 else -1
        right[row] = new[here - 1, 2] if here and new[here - 1, 1] == cols else -1
        if row == 0:
            _mark(new[:here], top)
        above = here
    _mark(runs[(rows - 1) & 1][:above], bottom)
    return _closed(parent[:labels], table, edges)


@inner
def _runs_of(line: Any, runs: Any, turns: Any, changed: Any) -> int:
    """Start, stop and no label yet of each run of a row; how many."""
    count: int = _turns(line, turns, changed)
    for turn in range(0, count, 2):
        run = runs[turn >> 1]
        run[0], run[1], run[2] = turns[turn], turns[turn + 1], -1
    return count >> 1


@inner
def _turns(line: Any, turns: Any, changed: Any) -> Any:
    """Places where a row turns from bare to set and back, in turn; an even number."""
    length = line.shape[0]
    changed[0] = line[0]
    for at in range(1, length):
        changed[at] = line[at] ^ line[at - 1]
    count = np.uint64(0)
    for start in range(0, length, _STRIDE):
        stop = min(start + _STRIDE, length)
        if not _any(changed[start:stop]):
            continue
        for at in range(start, stop):  # without a branch: in noise every guess would be wrong
            turns[count] = at
            count += np.uint64(changed[at])
    turns[count] = length
    return np.int64(count) + np.int64(line[length - 1])


@inner
def _any(changed: Any) -> bool:
    some = np.uint8(0)
    for at in range(changed.shape[0]):
        some |= changed[at]
    return bool(some)


@inner
def _root(parent: Any, label: int) -> int:
    while parent[label] != label:
        parent[label] = parent[parent[label]]
        label = parent[label]
    return label


@inner
def _join(old: Any, new: Any, parent: Any, labels: int, table: Any) -> int:
    """Give each run the lowest label of what it touches above, or the next one; labels so far."""
    extent, peak, pixels, marks = table
    first = 0
    for run in range(new.shape[0]):
        start, stop = new[run, 0], new[run, 1]
        while first < old.shape[0] and old[first, 1] < start:
            first += 1
        label, at = -1, first
        while at < old.shape[0] and old[at, 0] <= stop:
            touched = _root(parent, old[at, 2])
            if label < 0:
                label = touched
            elif touched != label:
                low, high = min(label, touched), max(label, touched)
                parent[high] = label = low
            at += 1
        if label < 0:
            label = labels
            parent[label], peak[label], pixels[label], marks[label] = label, -1, 0, 0
            extent[label] = np.iinfo(np.int64).max
            labels += 1
        new[run, 2] = label
    return labels


@loop
def groups_across(ones: Any, others: Any, groups: Any) -> None:
    """Number of the joined area of each area, from the areas on both sides of a seam (n,).

    `ones` and `others` hold -1 or an area; `groups` (areas,) of int64 is filled.
    """
    length = ones.shape[0]
    for area in range(groups.shape[0]):
        groups[area] = area
    for at in range(length):
        if ones[at] < 0:
            continue
        for near in range(max(0, at - 1), min(at + 2, length)):
            if others[near] >= 0:
                one, other = _root(groups, ones[at]), _root(groups, others[near])
                groups[max(one, other)] = min(one, other)
    count = 0
    for area in range(groups.shape[0]):
        if groups[area] == area:
            groups[area] = count
            count += 1
        else:
            groups[area] = groups[groups[area]]


@inner
def _take(values: Any, place: Any, label: int, corner: Any, table: Any) -> None:
    """Take one run at (row, start) into the row of its label."""
    extent, peak, pixels, marks = table
    top = values[0]
    for at in range(values.shape[0]):
        top = max(top, values[at])
    row, start = place[0] + corner[0], place[1] + corner[1]
    box = extent[label]
    box[0], box[1] = min(box[0], row), min(box[1], start)
    box[2], box[3] = min(box[2], -row - 1), min(box[3], -start - values.shape[0])
    pixels[label] += values.shape[0]
    bits = corner[2]
    place_key, mark = (np.int64(row) << bits) | start, np.int64(0)
    for at in range(values.shape[0]):
        mark += _mark_of(place_key + at, values[at], bits)
    marks[label] += mark
    if top > peak[label] >> 2 * bits:
        first = 0
        while values[first] != top:
            first += 1
        behind = (1 << 2 * bits) - 1 - ((row << bits) | (start + first))
        peak[label] = (np.int64(top) << 2 * bits) | behind


@inner
def _mark_of(place: Any, value: Any, bits: Any) -> Any:
    """The mark of one pixel; its twin is `pixel_marks`."""
    mark = ((place << (bits - 1)) | np.int64(value)) * np.int64(0x1E3779B97F4A7C15)
    mark = (mark ^ (mark >> 31)) * np.int64(0x3F58476D1CE4E5B9)
    return mark ^ (mark >> 29)


@inner
def _mark(runs: Any, edge: Any) -> None:
    """Labels of the runs of a row along it, -1 between them."""
    edge[:] = -1
    for run in range(runs.shape[0]):
        edge[runs[run, 0] : runs[run, 1]] = runs[run, 2]


@inner
def _closed(parent: Any, table: Any, edges: Any) -> int:
    """Join rows of labels that met, number areas without gaps, in the edges too; how many."""
    extent, peak, pixels, marks = table
    count = 0
    for label in range(parent.shape[0]):
        if parent[label] != label:  # its lowest label came before and is final
            root = parent[label] = parent[parent[label]]
            extent[root] = np.minimum(extent[root], extent[label])
            peak[root] = max(peak[root], peak[label])
            pixels[root] += pixels[label]
            marks[root] += marks[label]
            continue
        extent[count], peak[count] = extent[label], peak[label]
        pixels[count], marks[count] = pixels[label], marks[label]
        parent[label] = count
        count += 1
    for edge in edges:
        for at in range(edge.shape[0]):
            if edge[at] >= 0:
                edge[at] = parent[edge[at]]
    return count
