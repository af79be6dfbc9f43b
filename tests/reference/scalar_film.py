"""The whole chain from a colour to a count, one number at a time.

A second implementation beside the vectorised one: the standard library's mathematics and
plain loops, each formula in the shape its source prints. It reads the tristimulus weights
of the package, which another test holds to ASTM E308, and nothing else.

Colour -> smoothest spectrum -> K, S -> film over ground -> colour -> CIEDE2000 ->
hiding film -> coats.
"""

from __future__ import annotations

import math

from showthrough.colour.lights import weights

BANDS = 31
WEIGHTS = [tuple(row) for row in weights().tolist()]
WHITE = tuple(math.fsum(row[i] for row in WEIGHTS) for i in range(3))

PAINT = (0.01, 0.93)
SURFACE = (0.005, 0.95)
K1, K2 = 0.04, 0.55
BUDGET = 0.36
SLOPE = 1.6
HALF_WHITE = 2.0
STEEPNESS = 3.0
PIGMENT = 0.07
CARBON = 0.18
LIMIT = 0.6
TOLERANCE = 1.0
Z = 1.2816
MOST_OPTICAL = 2048.0
"""Greatest (S + K) X beyond which a ground that still shows is said to show for ever."""


# --- colour (ISO/CIE 11664-4, ASTM E308) -----------------------------------------------


def xyz_of_spectrum(reflectance):
    """X, Y, Z of 31 reflectances, white Y = 100."""
    x = y = z = 0.0
    for value, (wx, wy, wz) in zip(reflectance, WEIGHTS, strict=True):
        x += value * wx
        y += value * wy
        z += value * wz
    return x, y, z


def _f(ratio):
    return ratio ** (1.0 / 3.0) if ratio > 216.0 / 24389.0 else (24389.0 / 27.0 * ratio + 16) / 116


def lab_of_spectrum(reflectance):
    """CIELAB of 31 reflectances."""
    fx, fy, fz = (_f(v / w) for v, w in zip(xyz_of_spectrum(reflectance), WHITE, strict=True))
    return 116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)


def xyz_of_lab(lab):
    """X, Y, Z of CIELAB."""
    light, a, b = lab
    fy = (light + 16.0) / 116.0
    found = []
    for f, white in zip((fy + a / 500.0, fy, fy - b / 200.0), WHITE, strict=True):
        ratio = f**3 if f**3 > 216.0 / 24389.0 else (116.0 * f - 16.0) * 27.0 / 24389.0
        found.append(ratio * white)
    return found


def ciede2000(lab_1, lab_2):
    """CIEDE2000, step by step in degrees (Sharma, Wu, Dalal 2005, equations 2 to 22)."""
    l1, a1, b1 = lab_1
    l2, a2, b2 = lab_2
    c_bar = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2.0
    g = 0.5 * (1.0 - math.sqrt(c_bar**7 / (c_bar**7 + 25.0**7)))
    a1, a2 = (1.0 + g) * a1, (1.0 + g) * a2
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1 = math.degrees(math.atan2(b1, a1)) % 360.0 if c1 else 0.0
    h2 = math.degrees(math.atan2(b2, a2)) % 360.0 if c2 else 0.0
    d_l, d_c = l2 - l1, c2 - c1
    if c1 * c2 == 0.0:
        turn = 0.0
    elif abs(h2 - h1) <= 180.0:
        turn = h2 - h1
    elif h2 - h1 > 180.0:
        turn = h2 - h1 - 360.0
    else:
        turn = h2 - h1 + 360.0
    d_h = 2.0 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2.0))
    l_bar, c_bar = (l1 + l2) / 2.0, (c1 + c2) / 2.0
    if c1 * c2 == 0.0:
        h_bar = h1 + h2
    elif abs(h1 - h2) <= 180.0:
        h_bar = (h1 + h2) / 2.0
    elif h1 + h2 < 360.0:
        h_bar = (h1 + h2 + 360.0) / 2.0
    else:
        h_bar = (h1 + h2 - 360.0) / 2.0
    t = (
        1.0
        - 0.17 * math.cos(math.radians(h_bar - 30.0))
        + 0.24 * math.cos(math.radians(2.0 * h_bar))
        + 0.32 * math.cos(math.radians(3.0 * h_bar + 6.0))
        - 0.20 * math.cos(math.radians(4.0 * h_bar - 63.0))
    )
    theta = 30.0 * math.exp(-(((h_bar - 275.0) / 25.0) ** 2))
    r_c = 2.0 * math.sqrt(c_bar**7 / (c_bar**7 + 25.0**7))
    s_l = 1.0 + 0.015 * (l_bar - 50.0) ** 2 / math.sqrt(20.0 + (l_bar - 50.0) ** 2)
    s_c = 1.0 + 0.045 * c_bar
    s_h = 1.0 + 0.015 * c_bar * t
    r_t = -math.sin(math.radians(2.0 * theta)) * r_c
    total = (d_l / s_l) ** 2 + (d_c / s_c) ** 2 + (d_h / s_h) ** 2 + r_t * (d_c / s_c) * (d_h / s_h)
    return math.sqrt(max(total, 0.0))


# --- a spectrum for a colour (the idea of Burns 2020, within bounds) --------------------


def _chain(diagonal, rhs):
    """Solve a tridiagonal system whose off-diagonals are -1 (Thomas)."""
    upper, out = [0.0] * BANDS, [0.0] * BANDS
    pivot = diagonal[0]
    out[0] = rhs[0] / pivot
    for i in range(1, BANDS):
        upper[i - 1] = -1.0 / pivot
        pivot = diagonal[i] + upper[i - 1]
        out[i] = (rhs[i] + out[i - 1]) / pivot
    for i in range(BANDS - 2, -1, -1):
        out[i] -= upper[i] * out[i + 1]
    return out


def _solve(matrix, rhs):
    """Solve three equations by elimination with pivoting."""
    rows = [[*row, value] for row, value in zip(matrix, rhs, strict=True)]
    for i in range(3):
        best = max(range(i, 3), key=lambda r: abs(rows[r][i]))
        rows[i], rows[best] = rows[best], rows[i]
        for r in range(i + 1, 3):
            factor = rows[r][i] / rows[i][i]
            rows[r] = [a - factor * b for a, b in zip(rows[r], rows[i], strict=True)]
    x = [0.0] * 3
    for i in (2, 1, 0):
        known = math.fsum(rows[i][j] * x[j] for j in range(i + 1, 3))
        x[i] = (rows[i][3] - known) / rows[i][i]
    return x


def smoothest_spectrum(lab, bounds):
    """The spectrum low + span / (1 + exp(-z)) of this colour whose z is smoothest, or None.

    Newton on the conditions of Lagrange: for every band the second difference of z equals
    the slope of the curve times the pull of the three multipliers.
    """
    low, high = bounds
    span = high - low
    target = xyz_of_lab(lab)
    share = min(max((target[1] / 100.0 - low) / span, 1e-4), 1.0 - 1e-4)
    z = [math.log(share / (1.0 - share))] * BANDS
    pull_of = [0.0, 0.0, 0.0]
    for _ in range(40):
        part = [1.0 / (1.0 + math.exp(-v)) for v in z]
        slope = [span * p * (1.0 - p) for p in part]
        found = xyz_of_spectrum([low + span * p for p in part])
        miss = [t - f for t, f in zip(target, found, strict=True)]
        pull = [math.fsum(w * m for w, m in zip(row, pull_of, strict=True)) for row in WEIGHTS]
        gradient = [s * p for s, p in zip(slope, pull, strict=True)]
        for i in range(BANDS - 1):
            gradient[i] += z[i + 1] - z[i]
            gradient[i + 1] -= z[i + 1] - z[i]
        if max(map(abs, miss)) < 1e-8 and max(map(abs, gradient)) < 1e-8:
            return [low + span * p for p in part]
        diagonal = [
            (1.0 if i in {0, BANDS - 1} else 2.0) - slope[i] * (1.0 - 2.0 * part[i]) * pull[i]
            for i in range(BANDS)
        ]
        diagonal = [d + 1e-7 for d in diagonal]  # without a pull only the mean is free
        columns = [[s * row[j] for s, row in zip(slope, WEIGHTS, strict=True)] for j in range(3)]
        steps = [_chain(diagonal, column) for column in columns]
        free = _chain(diagonal, gradient)
        matrix = [
            [math.fsum(a * b for a, b in zip(columns[i], steps[j], strict=True)) for j in range(3)]
            for i in range(3)
        ]
        short = [
            miss[i] - math.fsum(a * b for a, b in zip(columns[i], free, strict=True))
            for i in range(3)
        ]
        change = _solve(matrix, short)
        move = [
            free[i] + math.fsum(change[j] * steps[j][i] for j in range(3)) for i in range(BANDS)
        ]
        damp = min(1.0, 3.0 / max(map(abs, move)))
        z = [v + damp * m for v, m in zip(z, move, strict=True)]
        pull_of = [p + damp * c for p, c in zip(pull_of, change, strict=True)]
    return None


# --- film (Saunderson 1942, Kubelka and Munk 1931) -------------------------------------


def inside(outside):
    """Reflectance inside of one seen outside."""
    return outside / ((1.0 - K1) * (1.0 - K2) + K2 * outside)


def outside(inner):
    """Reflectance seen of one inside."""
    return (1.0 - K1) * (1.0 - K2) * inner / (1.0 - K2 * inner)


def constants(reflectance):
    """K and S per band of a paint of this colour, of which nothing else is known.

    White and coloured pigment scatter by their shares; in each band absorption takes from S, so
    that K comes to LIMIT of S0 at most: S0 / S = 1 / clear + (K/S) / LIMIT.
    """
    ratios = [(1.0 - inside(r)) ** 2 / (2.0 * inside(r)) for r in reflectance]
    white = 1.0 / (1.0 + (max(ratios[2:29]) / HALF_WHITE) ** STEEPNESS)
    # A dark neutral is carbon black, that scatters as opaque pigments do: fully up to C* 10,
    # not at all from C* 15 (from memory).
    _, a, b = lab_of_spectrum(reflectance)
    carbon = min(max((15.0 - math.hypot(a, b)) / 5.0, 0.0), 1.0)
    pigment = PIGMENT + carbon * (CARBON - PIGMENT)
    scattering = []
    for band, q in enumerate(ratios):
        curve = (550.0 / (400.0 + 10.0 * band)) ** SLOPE
        clear = white * curve + (1.0 - white) * pigment
        scattering.append(BUDGET / (1.0 / clear + q / LIMIT))
    return [q * s for q, s in zip(ratios, scattering, strict=True)], scattering


def film_spectrum(absorption, scattering, thickness_um, substrate):
    """What is seen of a film: R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX)."""
    if thickness_um == 0.0:
        return [outside(rg) for rg in substrate]
    seen = []
    for k, s, rg in zip(absorption, scattering, substrate, strict=True):
        a = 1.0 + max(k / s, 1e-7)
        b = math.sqrt(a * a - 1.0)
        c = b / math.tanh(b * s * thickness_um)
        seen.append(outside((1.0 - rg * (a - c)) / (a - rg + c)))
    return seen


def difference(absorption, scattering, thickness_um, substrate, chip):
    """CIEDE2000 between a film over a ground and the chip."""
    return ciede2000(
        lab_of_spectrum(film_spectrum(absorption, scattering, thickness_um, substrate)), chip
    )


def hiding_film(absorption, scattering, substrate, chip, tolerance=TOLERANCE):
    """Thinnest film beyond which the chip's colour is kept; 0 or inf where none or no film is.

    Down from far beyond any paint in steps of a tenth until the tolerance is missed, then
    halving.
    """
    unit = 1.0 / max(k + s for k, s in zip(absorption, scattering, strict=True))

    def misses(film):
        return difference(absorption, scattering, film, substrate, chip) > tolerance

    high = MOST_OPTICAL * unit
    if misses(high):
        return math.inf
    low = high / 1.1
    while not misses(low):
        high = low
        low = high / 1.1
        if low < 1e-3 * unit:
            return 0.0 if not misses(0.0) else high
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        if misses(middle):
            low = middle
        else:
            high = middle
    return high


# --- coats -----------------------------------------------------------------------------


def coats(hiding_film_um, dry_film_thickness_um, cv=0.25, lost=0.0):
    """Coats one by one until the thin spots hold the hiding film; inf where none do."""
    if math.isinf(hiding_film_um):
        return math.inf
    n = 1
    while (n - lost - Z * cv * math.sqrt(n)) * dry_film_thickness_um < hiding_film_um * (
        1.0 - 1e-9
    ):
        n += 1
    return n


def coats_of_colours(topcoat_lab, surface_lab, dry_film_thickness_um, *, bare=False):
    """The whole chain; None where a colour has no spectrum as it stands."""
    paint = smoothest_spectrum(topcoat_lab, PAINT)
    substrate = smoothest_spectrum(surface_lab, SURFACE)
    if paint is None or substrate is None:
        return None
    absorption, scattering = constants(paint)
    met = substrate if bare else [inside(r) for r in substrate]
    film = hiding_film(absorption, scattering, met, topcoat_lab)
    return coats(film, dry_film_thickness_um)
