"""The steps of a reduced scene, compiled: trapezoidal rule and Newton's iteration on the drive's coordinates.

The rule, the laws and their order are those of the engine, so that both differ by their rounding and by what a
constraint's drift does, and not by their errors of time.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit

from sim import laws
from sim.engines.sticking import STANDS
from sim.laws import bristle_law, limit_law, strands_law, twist_law

ROUNDS = 20
"""Newton steps after which a step is shortened."""
SHORTEST = 1024
"""How many times a step is shortened at most."""
SAME = 1e-11
"""Change of a speed, rad/s and its share, that counts as none."""
BIT = 1e-8
"""Travel, m or rad, and its rate over which a law's slope is taken; the laws are straight or square in them."""

_strands = njit(strands_law(max, min))
_twist = njit(twist_law(max, min))
_limit = njit(limit_law(np.exp, abs))
_bristle = njit(bristle_law(max, min))


@njit
def _law(kind, x, rate, numbers, slip, sliding, static):  # type: ignore[no-untyped-def]
    """Give what an element carries: N of a chain, N m of the others."""
    if kind == 0:
        a, b = _strands(
            x, rate, numbers[0], numbers[1], numbers[2], numbers[3] > 0, numbers[4], numbers[5], numbers[6]
        )
        return a - b
    if kind == 1:
        return _twist(x, rate, numbers[0], numbers[1], numbers[2])
    return _bristle(x - slip, rate, numbers[0], numbers[1], _limit(sliding, static, rate))


@njit
def _row(table, angle):  # type: ignore[no-untyped-def]
    """Give where an angle falls in a table over a turn whose last row is its first: row, and share of the next."""
    n = table.shape[0] - 1
    place = angle / (2 * np.pi)
    place = (place - np.floor(place)) * n
    k = min(int(place), n - 1)
    return k, place - k


@njit
def _balance(  # type: ignore[no-untyped-def]
    u, v, a, load, inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
    kinds, between, levers, numbers, starts, slip, sliding, static, residual, mass, damping, stiffness,
):  # fmt: skip
    """Set what is wanting of each coordinate's balance, and its slopes by acceleration, speed and place."""
    for c in range(len(u)):
        residual[c], mass[c] = inertia[c] * a[c] - load[c], inertia[c]
        for d in range(len(u)):
            damping[c, d] = stiffness[c, d] = 0.0
    for s in range(len(side_at)):
        at = side_at[s]
        c, r = coordinate[at], share[at]
        w, acc = r * v[c], r * a[c]
        k, part = _row(own_tables[s], start[at] + r * u[c])
        low, high = own_tables[s, k], own_tables[s, k + 1]
        cell = 2 * np.pi / (own_tables.shape[1] - 1)
        heavy = low[0] + part * (high[0] - low[0])
        slope = low[1] + part * (high[1] - low[1])
        weight = low[2] + part * (high[2] - low[2])
        steep = slope * acc + (high[1] - low[1]) / cell / 2 * w * w + (high[2] - low[2]) / cell
        residual[c] += r * (heavy * acc + slope / 2 * w * w + weight)
        mass[c] += r * r * heavy
        damping[c, c] += r * r * slope * w
        stiffness[c, c] += r * r * steep
    c, r = coordinate[wheel_at], share[wheel_at]
    cosine, sine = np.cos(r * u[c]), np.sin(r * u[c])
    residual[c] -= r * wheel[0] * wheel[3] * (cosine * wheel[1] + sine * wheel[2])
    stiffness[c, c] += r * r * wheel[0] * wheel[3] * (sine * wheel[1] - cosine * wheel[2])
    for e in range(len(kinds)):
        i, j = between[e, 0], between[e, 1]
        near, far = levers[e, 0], levers[e, 1]
        x = starts[e] + near * u[i] + far * u[j]
        rate = near * v[i] + far * v[j]
        d = e - (len(kinds) - len(sliding))
        # A limiter slips at its torque, at rest as well.
        most, more = (sliding[d], static[d]) if d >= 0 else (numbers[e, 2], 0.0)
        f = _law(kinds[e], x, rate, numbers[e], slip[e], most, more)
        fx = (_law(kinds[e], x + BIT, rate, numbers[e], slip[e], most, more) - f) / BIT
        fv = (_law(kinds[e], x, rate + BIT, numbers[e], slip[e], most, more) - f) / BIT
        residual[i] += near * f
        damping[i, i] += near * near * fv
        stiffness[i, i] += near * near * fx
        if far != 0.0:
            residual[j] += far * f
            damping[j, j] += far * far * fv
            stiffness[j, j] += far * far * fx
            damping[i, j] += near * far * fv
            damping[j, i] += near * far * fv
            stiffness[i, j] += near * far * fx
            stiffness[j, i] += near * far * fx


@njit
def _advance(  # type: ignore[no-untyped-def]
    h, u0, v0, a0, load, driven, speed,
    inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
    kinds, between, levers, numbers, starts, slip, sliding, static,
    u1, v1, a1, residual, mass, damping, stiffness,
):  # fmt: skip
    """Take one step into u1, v1, a1; say whether Newton's iteration found its end.

    Afterwards `residual` holds the torque that a prescribed coordinate takes.
    """
    m = len(u0)
    for c in range(m):  # an array's sum would be a new array each time
        v1[c] = v0[c] + h * a0[c]
    torque = 0.0
    for _ in range(ROUNDS):
        if driven >= 0:
            v1[driven] = speed
        for c in range(m):
            u1[c] = u0[c] + h / 2 * (v0[c] + v1[c])
            a1[c] = (v1[c] - v0[c]) / h if c == driven else 2 / h * (v1[c] - v0[c]) - a0[c]
        _balance(u1, v1, a1, load, inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
                kinds, between, levers, numbers, starts, slip, sliding, static, residual, mass, damping,
                stiffness)  # fmt: skip
        for c in range(m):
            for d in range(m):
                damping[c, d] += h / 2 * stiffness[c, d]
            damping[c, c] += 2 / h * mass[c]
        if driven >= 0:
            torque = residual[driven]
            damping[driven, :] = 0.0
            damping[driven, driven], residual[driven] = 1.0, 0.0
        if not _solve(damping, residual):
            return False
        most = 0.0
        for c in range(m):
            v1[c] -= residual[c]
            most = max(most, abs(residual[c]) - SAME * abs(v1[c]))
        if most < SAME:
            for c in range(m):
                u1[c] = u0[c] + h / 2 * (v0[c] + v1[c])
                a1[c] = (v1[c] - v0[c]) / h if c == driven else 2 / h * (v1[c] - v0[c]) - a0[c]
                residual[c] = torque if c == driven else 0.0
            return True
    return False


@njit
def _solve(matrix, vector):  # type: ignore[no-untyped-def]
    """Solve a small system in place by elimination with pivots; say whether it could be."""
    n = len(vector)
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > abs(matrix[pivot, k]):
                pivot = i
        if matrix[pivot, k] == 0.0 or not np.isfinite(matrix[pivot, k]):
            return False
        if pivot != k:
            for j in range(k, n):
                matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
            vector[k], vector[pivot] = vector[pivot], vector[k]
        for i in range(k + 1, n):
            factor = matrix[i, k] / matrix[k, k]
            if factor != 0.0:
                for j in range(k + 1, n):
                    matrix[i, j] -= factor * matrix[k, j]
                vector[i] -= factor * vector[k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            vector[k] -= matrix[k, j] * vector[j]
        vector[k] /= matrix[k, k]
    return True


@njit
def _follow(u, v, kinds, between, levers, numbers, starts, slip, sliding, static):  # type: ignore[no-untyped-def]
    """Let what has slipped carry its limit and no more."""
    for e in range(len(kinds)):
        if kinds[e] != 2:
            continue
        d = e - (len(kinds) - len(sliding))
        x = starts[e] + levers[e, 0] * u[between[e, 0]] + levers[e, 1] * u[between[e, 1]]
        rate = levers[e, 0] * v[between[e, 0]] + levers[e, 1] * v[between[e, 1]]
        most, more = (sliding[d], static[d]) if d >= 0 else (numbers[e, 2], 0.0)
        bend = _limit(most, more, rate) / numbers[e, 0]
        slip[e] = x - min(max(x - slip[e], -bend), bend)


@njit
def _rub(  # type: ignore[no-untyped-def]
    u, v, a, coordinate, share, start, side_at, side_drag, forces, arms, wheel, wheel_at,
    kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain, sliding, static,
    peaks,
):  # fmt: skip
    """Set every friction by what presses at a state, and keep the largest force of each side's joints."""
    chains = pulls.shape[1]
    tension = np.empty((chains, 2))
    chain = 0
    for e in range(len(kinds)):
        if kinds[e] == 0:
            n = numbers[e]
            x = starts[e] + levers[e, 0] * u[between[e, 0]] + levers[e, 1] * u[between[e, 1]]
            rate = levers[e, 0] * v[between[e, 0]] + levers[e, 1] * v[between[e, 1]]
            tension[chain] = _strands(x, rate, n[0], n[1], n[2], n[3] > 0, n[4], n[5], n[6])
            chain += 1
    for d in range(len(own)):
        sliding[d] = own[d]
        for k in range(chains):
            sliding[d] += on_chain[d, k] * abs(tension[k, 0] - tension[k, 1])
    c, r = coordinate[wheel_at], share[wheel_at]
    w, acc = r * v[c], r * a[c]
    cosine, sine = np.cos(r * u[c]), np.sin(r * u[c])
    x, z = cosine * wheel[1] + sine * wheel[2], -sine * wheel[1] + cosine * wheel[2]
    forward, up = -wheel[0] * (z * acc - x * w * w), -wheel[0] * (-x * acc - z * w * w + wheel[3])
    for b in range(len(stations)):
        fx = stations[b, 0] + stations[b, 3] * forward
        fy = stations[b, 1]
        fz = stations[b, 2] + stations[b, 3] * up
        for k in range(chains):
            fx += tension[k, 0] * pulls[b, k, 0] + tension[k, 1] * pulls[b, k, 3]
            fy += tension[k, 0] * pulls[b, k, 1] + tension[k, 1] * pulls[b, k, 4]
            fz += tension[k, 0] * pulls[b, k, 2] + tension[k, 1] * pulls[b, k, 5]
        size = np.sqrt(fx * fx + fy * fy + fz * fz)
        for d in range(len(own)):
            sliding[d] += on_station[d, b] * size
    for s in range(len(side_at)):
        d, at = side_drag[s], side_at[s]
        c, r = coordinate[at], share[at]
        w, acc = r * v[c], r * a[c]
        k, part = _row(arms[s], start[at] + r * u[c])
        for j in range(arms.shape[2]):
            low, high = forces[s, k, j], forces[s, k + 1, j]
            total = 0.0
            for i in range(3):
                f = (
                    low[i] + part * (high[i] - low[i])
                    + (low[i + 3] + part * (high[i + 3] - low[i + 3])) * w * w
                    + (low[i + 6] + part * (high[i + 6] - low[i + 6])) * acc
                )  # fmt: skip
                total += f * f
            size = np.sqrt(total)
            peaks[s, j] = max(peaks[s, j], size)
            if d >= 0:
                sliding[d] += (arms[s, k, j] + part * (arms[s, k + 1, j] - arms[s, k, j])) * size
    for d in range(len(own)):
        static[d] = more[d] * sliding[d]


@njit
def _follow_steps(  # type: ignore[no-untyped-def]
    first, count, h, load, driven, speeds, rest_speed, rest_steps, slow,
    u, v, a, slip, sliding, static,
    inertia, coordinate, share, start, side_at, side_drag, own_tables, forces, arms, wheel, wheel_at,
    kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain,
    out_u, out_v, out_a, out_friction, out_held, peaks,
):  # fmt: skip
    """Take steps and write each into the rows of `out`; give the last row written, how it ended, and slow steps.

    It ends with 0 when all were taken, 1 at rest, 2 where a step could not be taken however short.

    Parameters
    ----------
    first, count : row of the state that there is, and how many more.
    h : step, s.
    load : (m,) N m on the coordinates over these steps.
    driven, speeds : prescribed coordinate or -1, and its speeds (rows,), rad/s.
    rest_speed, rest_steps, slow : when it counts as at rest, after how many steps, and how many were slow so far.
    u, v, a, slip, sliding, static : state, changed in place.
    out_held : (rows,) N m that a prescribed coordinate takes.
    peaks : (s, j) N, largest force of each side's joints so far, at the beginnings of the steps.
    The others are those of `sim.reduced.system.System`, the sides' stacked.
    """
    m, elements, drags = len(u), len(kinds), len(own)
    u1, v1, a1 = np.zeros(m), np.zeros(m), np.zeros(m)
    residual, mass, damping, stiffness = np.zeros(m), np.zeros(m), np.zeros((m, m)), np.zeros((m, m))
    kept_u, kept_v, kept_a, kept_slip = np.zeros(m), np.zeros(m), np.zeros(m), np.zeros(elements)
    kept_sliding, kept_static = np.zeros(drags), np.zeros(drags)
    parts = 1
    for row in range(first + 1, first + count + 1):
        kept_u[:], kept_v[:], kept_a[:], kept_slip[:] = u, v, a, slip
        kept_sliding[:], kept_static[:] = sliding, static
        while True:
            done = True
            for part in range(parts):
                aim = 0.0
                if driven >= 0:
                    aim = speeds[row - 1] + (speeds[row] - speeds[row - 1]) * (part + 1) / parts
                if row > 1 or part > 0:
                    _follow(u, v, kinds, between, levers, numbers, starts, slip, sliding, static)
                if drags > 0:
                    _rub(u, v, a, coordinate, share, start, side_at, side_drag, forces, arms, wheel, wheel_at,
                         kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain,
                         sliding, static, peaks)  # fmt: skip
                done = _advance(h / parts, u, v, a, load, driven, aim,
                                inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
                                kinds, between, levers, numbers, starts, slip, sliding, static,
                                u1, v1, a1, residual, mass, damping, stiffness)  # fmt: skip
                if not done:
                    break
                u[:], v[:], a[:] = u1, v1, a1
            if done:
                break
            u[:], v[:], a[:], slip[:] = kept_u, kept_v, kept_a, kept_slip
            sliding[:], static[:] = kept_sliding, kept_static
            parts *= 2
            if parts > SHORTEST:
                return row - 1, 2, slow
        parts = max(1, parts // 2)
        out_u[row], out_v[row], out_a[row] = u, v, a
        out_held[row] = residual[driven] if driven >= 0 else 0.0
        stuck = True
        for e in range(elements):
            if kinds[e] == 2:
                d = e - (elements - drags)
                x = starts[e] + levers[e, 0] * u[between[e, 0]] + levers[e, 1] * u[between[e, 1]]
                rate = levers[e, 0] * v[between[e, 0]] + levers[e, 1] * v[between[e, 1]]
                most, extra = (sliding[d], static[d]) if d >= 0 else (numbers[e, 2], 0.0)
                out_friction[row, e] = _law(2, x, rate, numbers[e], slip[e], most, extra)
                if d >= 0 and abs(out_friction[row, e]) >= _limit(most, extra, rate) and abs(rate) >= STANDS:
                    stuck = False
        if rest_steps > 0:
            still = stuck
            for i in range(len(share)):
                still = still and abs(share[i] * v[coordinate[i]]) < rest_speed
            slow = slow + 1 if still else 0
            if slow >= rest_steps:
                return row, 1, slow
    return first + count, 0, slow


def _kept(stamp: str) -> tuple[Callable[..., Any], Callable[..., Any]]:
    """Give both functions compiled and kept between processes, under a stamp that changes with what they are made of.

    The compiler looks at this file alone to see whether what it kept is still right, and at what is enclosed here.
    """

    @njit(cache=True)
    def balance(*numbers):  # type: ignore[no-untyped-def]
        return _balance(*numbers) if len(stamp) > 0 else None

    @njit(cache=True)
    def follow_steps(*numbers):  # type: ignore[no-untyped-def]
        if len(stamp) == 0:
            return 0, 0, 0
        return _follow_steps(*numbers)

    return balance, follow_steps


balance, follow_steps = _kept(
    hashlib.sha256(Path(laws.__file__).read_bytes() + repr(STANDS).encode()).hexdigest()
)
