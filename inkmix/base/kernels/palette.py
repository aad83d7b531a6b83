"""Colours of mixes of many sets of inks, and how many colours differ, compiled.

Only what a search needs is here: coverages and primaries come ready, and every colour that is shown
to anyone is asked of the press condition again. The twins are in mixes/palettes/mixtures.py
and mixes/palettes/distinct.py.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

_FAR = 25.0**7
_KNEE = (6 / 29) ** 3
_SLOPE = 841 / 108
_OFFSET = 4 / 29
_C30, _S30, _C6, _S6, _C63, _S63 = (
    turn(np.radians(angle)) for angle in (30.0, 6.0, 63.0) for turn in (np.cos, np.sin)
)


@loop
def colours(tone_pct: Any, of_set: Any, sets: Any, press: Any, labs: Any) -> None:
    """Fill the Lab of mixes of many sets of inks; `press/forward.py` without measured mixtures.

    Parameters
    ----------
    tone_pct : (N, I) array
    of_set : (N,) array of int64
    sets : (members, black, primaries, because, spots)
        (S, I) int64 into the inks; (S,) int64 into `covers`; (S, 2**I, C) relative reflectance
        ** (1/n); (S, I, I, C) how much further ink i spreads because of ink j where no spot ink is;
        (S, I) bool, spot inks.
    press : (covers, presence, to_ratio, n, spreading)
        (D, A, 101, C) coverage of each ink by whole tone values, beside each black; (D, A); (C, 3)
        from relative reflectance to X, Y, Z over those of white; Yule-Nielsen factor; strength of
        spreading.
    labs : (N, 3) ndarray
    """
    members, black, primaries = sets[0], sets[1], sets[2]
    covers, presence, to_ratio, n, spreading = press
    inks, channels = members.shape[1], primaries.shape[2]
    cover, grown = np.empty((inks, channels)), np.empty((inks, channels))
    before = np.ones((inks + 1, channels))
    rows = np.empty((primaries.shape[1], channels))
    for one in range(tone_pct.shape[0]):
        of = of_set[one]
        shares = presence[black[of]]
        _cover(tone_pct[one], members[of], covers[black[of]], cover)
        for ink in range(1, inks):
            share = shares[members[of, ink - 1]]
            for band in range(channels):
                bare = before[ink - 1, band] * (1 - share * cover[ink - 1, band])
                before[ink, band] = bare
        _spread(cover, before, grown, shares, members[of], spreading)
        _spread_further(cover, grown, sets[3][of], sets[4][of])
        _fold(grown, primaries, of, rows)
        labs[one] = _lab_of_root(rows, to_ratio, n)


@inner
def _cover(tone: Any, inked: Any, covers: Any, cover: Any) -> None:
    """Coverages (I, C) of tone values (I,), straight between whole percents."""
    for ink in range(cover.shape[0]):
        low = min(int(tone[ink]), 99)
        part = tone[ink] - low
        for band in range(cover.shape[1]):
            below, above = covers[inked[ink], low, band], covers[inked[ink], low + 1, band]
            cover[ink, band] = below * (1 - part) + above * part


@inner
def _spread(
    cover: Any, before: Any, grown: Any, presence: Any, inked: Any, spreading: float
) -> None:
    """Coverages (I, C) grown on other inks; `before` holds what earlier ones leave bare.

    Its last row serves for what later ones do.
    """
    inks, channels = cover.shape
    after = before[inks]
    for band in range(channels):
        after[band] = 1.0
    for ink in range(inks - 1, -1, -1):
        share = presence[inked[ink]]
        for band in range(channels):
            own = cover[ink, band]
            others = 1 - before[ink, band] * after[band]
            full = own + spreading * others * own * (1 - own)
            grown[ink, band] = min(max(full, 0.0), 1.0)
            after[band] = after[band] * (1 - share * own)


@inner
def _spread_further(cover: Any, grown: Any, because: Any, spots: Any) -> None:
    """Coverages (I, C) grown because of single inks, as far as no spot ink is there."""
    inks, channels = cover.shape
    for band in range(channels):
        bare = 1.0
        for ink in range(inks):
            if spots[ink]:
                bare *= 1 - cover[ink, band]
        for ink in range(inks):
            if spots[ink]:
                continue
            further = 0.0
            for other in range(inks):
                further += because[ink, other, band] * cover[other, band]
            own = cover[ink, band]
            full = grown[ink, band] + further * own * (1 - own) * bare
            grown[ink, band] = min(max(full, 0.0), 1.0)


@inner
def _fold(grown: Any, primaries: Any, one: int, rows: Any) -> None:
    """Weighted mean of the primaries into the first row, one ink at a time, the last one first."""
    inks, channels = grown.shape
    half = primaries.shape[1] // 2
    for row in range(half):
        for band in range(channels):
            low, high = primaries[one, row, band], primaries[one, half + row, band]
            rows[row, band] = grown[inks - 1, band] * (high - low) + low
    for ink in range(inks - 2, -1, -1):
        half //= 2
        for row in range(half):
            for band in range(channels):
                low, high = rows[row, band], rows[half + row, band]
                rows[row, band] = grown[ink, band] * (high - low) + low


@inner
def _lab_of_root(rows: Any, to_ratio: Any, n: float) -> tuple[float, float, float]:
    """Lab of the first of rows (P, C)."""
    x, y, z = 0.0, 0.0, 0.0
    for band in range(rows.shape[1]):
        relative = _power(rows[0, band], n)
        x += relative * to_ratio[band, 0]
        y += relative * to_ratio[band, 1]
        z += relative * to_ratio[band, 2]
    fx, fy, fz = _root(x), _root(y), _root(z)
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@inner
def _power(root: float, n: float) -> float:
    if n == 6.0:
        square = root * root
        return square * square * square
    if n == 2.0:
        return root * root
    return np.maximum(root, 0.0) ** n  # type: ignore[no-any-return]


@inner
def _root(ratio: float) -> float:
    return np.cbrt(ratio) if ratio > _KNEE else _SLOPE * ratio + _OFFSET


@loop
def de00(L1: float, a1: float, b1: float, goal: Any) -> float:
    """CIEDE2000 to a goal (3,), by sines and cosines of the mean hue in place of the angle.

    Differs from `colorimetry.delta_e00` in the last digits only.
    """
    L2, a2, b2 = goal[0], goal[1], goal[2]
    mean = (np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2)) / 2
    stretch = 1 + 0.5 * (1 - _share_of_far(mean))
    a1, a2 = a1 * stretch, a2 * stretch
    C1, C2 = np.sqrt(a1 * a1 + b1 * b1), np.sqrt(a2 * a2 + b2 * b2)
    both, dot, cross = C1 * C2, a1 * a2 + b1 * b2, a1 * b2 - a2 * b1
    x, y = C2 * a1 + C1 * a2, C2 * b1 + C1 * b2
    if both == 0.0:
        x, y = a1 + a2, b1 + b2
    length = np.sqrt(x * x + y * y)
    if length > 0:
        x, y = x / length, y / length
    else:
        x = 1.0
    chroma = (C1 + C2) / 2
    off = (L1 + L2) / 2 - 50
    off50 = off * off
    dL = (L2 - L1) / (1 + 0.015 * off50 / np.sqrt(20 + off50))
    dC = (C2 - C1) / (1 + 0.045 * chroma)
    dH = np.sqrt(max(2 * (both - dot), 0.0)) / (1 + 0.015 * chroma * _hue_weight(x, y))
    if cross < 0:
        dH = -dH
    square = dL * dL + dC * dC + dH * dH
    if x < 0 or y < 0:  # from 0 to 90 degrees the tilt is below 1e-20
        hue = np.degrees(np.arctan2(y, x)) % 360
        off_blue = (hue - 275) / 25
        tilt = np.sin(np.radians(60 * np.exp(-off_blue * off_blue)))
        square -= 2 * _share_of_far(chroma) * tilt * dC * dH
    return np.sqrt(max(square, 0.0))  # type: ignore[no-any-return]


@inner
def _share_of_far(chroma: float) -> float:
    chroma2 = chroma * chroma
    chroma7 = chroma2 * chroma2 * chroma2 * chroma
    return np.sqrt(chroma7 / (chroma7 + _FAR))  # type: ignore[no-any-return]


@inner
def _hue_weight(c: float, s: float) -> float:
    """T of CIEDE2000 from cosine and sine of the mean hue."""
    c2, s2 = c * c - s * s, 2 * (s * c)
    c3, s3 = c2 * c - s2 * s, s2 * c + c2 * s
    c4, s4 = c2 * c2 - s2 * s2, 2 * (s2 * c2)
    turned = 1 - 0.17 * (c * _C30 + s * _S30) + 0.24 * c2 + 0.32 * (c3 * _C6 - s3 * _S6)
    return turned - 0.20 * (c4 * _C63 + s4 * _S63)  # type: ignore[no-any-return]


@loop
def count_different(lab: Any, least: float) -> int:
    """Colours (N, 3) kept if each differs by `least` dE00 or more from all kept before."""
    kept = np.empty_like(lab)
    count = 0
    for row in range(lab.shape[0]):
        is_new = True
        for other in range(count):
            # no difference in L* counts less than 1 / 1.75
            if abs(lab[row, 0] - kept[other, 0]) >= 1.75 * least:
                continue
            if de00(lab[row, 0], lab[row, 1], lab[row, 2], kept[other]) < least:
                is_new = False
                break
        if is_new:
            kept[count] = lab[row]
            count += 1
    return count


@loop
def differences(lab: Any, goals: Any, found: Any) -> None:
    """Fill the CIEDE2000 (G, N) of colours (N, 3) to goals (G, 3)."""
    for goal in range(goals.shape[0]):
        for row in range(lab.shape[0]):
            found[goal, row] = de00(lab[row, 0], lab[row, 1], lab[row, 2], goals[goal])
