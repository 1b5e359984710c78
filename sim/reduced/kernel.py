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
from sim.reduced import small
from sim.reduced.small import copy, factor, inlined, row_of, solve

ROUNDS = 20
"""Newton steps after which a step is shortened."""
SHORTEST = 1024
"""How many times a step is shortened at most."""
SAME = 1e-11
"""Change of a speed, rad/s and its share, that counts as none."""
BIT = 1e-8
"""Change of a speed, rad/s, over which a law's slope along a step is taken; the laws are straight or square."""
KEPT = 0.1
"""Share of a Newton step that the next one may be for the slopes to be kept: they are the dear part of it."""

_strands = inlined(strands_law(max, min))
_twist = inlined(twist_law(max, min))
_limit = inlined(limit_law(np.exp, abs))
_bristle = inlined(bristle_law(max, min))


@inlined
def _tensions(e, x, rate, n):  # type: ignore[no-untyped-def]
    """Give the tensions, N, of a chain, the element e, by its numbers n[e]; a row taken out would be a new array."""
    return _strands(x, rate, n[e, 0], n[e, 1], n[e, 2], n[e, 3] > 0, n[e, 4], n[e, 5], n[e, 6])


@inlined
def _law(kind, e, x, rate, n, slip, sliding, static):  # type: ignore[no-untyped-def]
    """Give what an element carries: N of a chain, N m of the others."""
    if kind == 0:
        a, b = _tensions(e, x, rate, n)
        return a - b
    if kind == 1:
        return _twist(x, rate, n[e, 0], n[e, 1], n[e, 2])
    return _bristle(x - slip[e], rate, n[e, 0], n[e, 1], _limit(sliding, static, rate))


@inlined
def _travel(e, u, between, levers):  # type: ignore[no-untyped-def]
    """Give an element's travel, or its rate, by what the coordinates have gone, or their speeds."""
    return levers[e, 0] * u[between[e, 0]] + levers[e, 1] * u[between[e, 1]]


@inlined
def _limits(e, elements, numbers, sliding, static):  # type: ignore[no-untyped-def]
    """Give sliding friction and what static adds, N m; a limiter slips at its torque, at rest as well."""
    d = e - (elements - len(sliding))
    if d >= 0:
        return sliding[d], static[d]
    return numbers[e, 2], 0.0


@inlined
def _centre(turn, wheel):  # type: ignore[no-untyped-def]
    """Give how far forward and up, m, the wheel's centre of mass is after a turn since the start, rad."""
    if wheel[1] == 0.0 and wheel[2] == 0.0:
        return 0.0, 0.0
    cosine, sine = np.cos(turn), np.sin(turn)
    return cosine * wheel[1] + sine * wheel[2], -sine * wheel[1] + cosine * wheel[2]


@inlined
def _balance(  # type: ignore[no-untyped-def]
    u, v, a, load, by_place, by_speed, by_acceleration, fresh,
    inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
    kinds, between, levers, numbers, starts, slip, sliding, static, residual, slopes,
):  # fmt: skip
    """Set what is wanting of each coordinate's balance and, where fresh, its slopes.

    A slope is along a line: with every unit of it places, speeds and accelerations change by what is given.
    """
    for c in range(len(u)):
        residual[c] = inertia[c] * a[c] - load[c]
        if fresh:
            for d in range(len(u)):
                slopes[c, d] = 0.0
            slopes[c, c] = by_acceleration * inertia[c]
    rows = own_tables.shape[1] - 1
    for s in range(len(side_at)):
        at = side_at[s]
        c, r = coordinate[at], share[at]
        w, acc = r * v[c], r * a[c]
        k, part = row_of(rows, start[at] + r * u[c])
        more = own_tables[s, k + 1, 0] - own_tables[s, k, 0]
        bend = own_tables[s, k + 1, 1] - own_tables[s, k, 1]
        steep = own_tables[s, k + 1, 2] - own_tables[s, k, 2]
        heavy = own_tables[s, k, 0] + part * more
        slope = own_tables[s, k, 1] + part * bend
        residual[c] += r * (heavy * acc + slope / 2 * w * w + own_tables[s, k, 2] + part * steep)
        if fresh:
            along = slope * acc + (bend / 2 * w * w + steep) * (rows / (2 * np.pi))
            slopes[c, c] += r * r * (by_acceleration * heavy + by_speed * slope * w + by_place * along)
    c, r = coordinate[wheel_at], share[wheel_at]
    x, z = _centre(r * u[c], wheel)
    residual[c] -= r * wheel[0] * wheel[3] * x
    if fresh:
        slopes[c, c] -= by_place * r * r * wheel[0] * wheel[3] * z
    for e in range(len(kinds)):
        i, j = between[e, 0], between[e, 1]
        near, far = levers[e, 0], levers[e, 1]
        x = starts[e] + _travel(e, u, between, levers)
        rate = _travel(e, v, between, levers)
        most, extra = _limits(e, len(kinds), numbers, sliding, static)
        f = _law(kinds[e], e, x, rate, numbers, slip, most, extra)
        residual[i] += near * f
        residual[j] += far * f
        if fresh:
            after = _law(kinds[e], e, x + by_place * BIT, rate + by_speed * BIT, numbers, slip, most, extra)
            g = (after - f) * (1.0 / BIT)
            slopes[i, i] += near * near * g
            slopes[i, j] += near * far * g
            slopes[j, i] += near * far * g
            slopes[j, j] += far * far * g


@inlined
def _advance(  # type: ignore[no-untyped-def]
    h, u0, v0, a0, load, driven, speed,
    inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
    kinds, between, levers, numbers, starts, slip, sliding, static,
    u1, v1, a1, residual, slopes, order,
):  # fmt: skip
    """Take one step into u1, v1, a1; say whether Newton's iteration found its end.

    Afterwards `residual` holds the torque that a prescribed coordinate takes.
    """
    m = len(u0)
    for c in range(m):
        v1[c] = v0[c] + h * a0[c]
    if driven >= 0:
        v1[driven] = speed
    torque, last, fresh = 0.0, np.inf, True
    for _ in range(ROUNDS):
        for c in range(m):
            u1[c] = u0[c] + h / 2 * (v0[c] + v1[c])
            a1[c] = (v1[c] - v0[c]) / h if c == driven else 2 / h * (v1[c] - v0[c]) - a0[c]
        _balance(u1, v1, a1, load, h / 2, 1.0, 2 / h, fresh,
                 inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
                 kinds, between, levers, numbers, starts, slip, sliding, static, residual, slopes)  # fmt: skip
        if driven >= 0:
            torque = residual[driven]
            residual[driven] = 0.0
            if fresh:
                for c in range(m):
                    slopes[driven, c] = 0.0
                slopes[driven, driven] = 1.0
        if fresh and not factor(slopes, order):
            return False
        solve(slopes, order, residual)
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
        fresh = most > KEPT * last
        last = most
    return False


@inlined
def _follow(u, v, kinds, between, levers, numbers, starts, slip, sliding, static):  # type: ignore[no-untyped-def]
    """Let what has slipped carry its limit and no more."""
    for e in range(len(kinds)):
        if kinds[e] == 2:
            x = starts[e] + _travel(e, u, between, levers)
            most, extra = _limits(e, len(kinds), numbers, sliding, static)
            bend = _limit(most, extra, _travel(e, v, between, levers)) / numbers[e, 0]
            slip[e] = x - min(max(x - slip[e], -bend), bend)


@inlined
def _rub(  # type: ignore[no-untyped-def]
    u, v, a, coordinate, share, start, side_at, side_drag, forces, arms, wheel, wheel_at,
    kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain, sliding, static,
    tension, peaks, carried,
):  # fmt: skip
    """Set every friction by what presses at a state, and keep the largest that joints, chains and couplings carry."""
    chains = pulls.shape[1]
    chain = 0
    for e in range(len(kinds)):
        if kinds[e] < 2:
            x = starts[e] + _travel(e, u, between, levers)
            rate = _travel(e, v, between, levers)
            if kinds[e] == 0:
                tension[chain, 0], tension[chain, 1] = _tensions(e, x, rate, numbers)
                carried[e] = max(carried[e], tension[chain, 0], tension[chain, 1])
                chain += 1
            else:
                carried[e] = max(carried[e], abs(_law(1, e, x, rate, numbers, carried, 0.0, 0.0)))
    for d in range(len(own)):
        sliding[d] = own[d]
        for k in range(chains):
            sliding[d] += on_chain[d, k] * abs(tension[k, 0] - tension[k, 1])
    c, r = coordinate[wheel_at], share[wheel_at]
    w, acc = r * v[c], r * a[c]
    x, z = _centre(r * u[c], wheel)
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
        k, part = row_of(arms.shape[1] - 1, start[at] + r * u[c])
        for j in range(arms.shape[2]):
            total = 0.0
            for i in range(3):
                low = forces[s, k, i, j] + forces[s, k, i + 3, j] * w * w + forces[s, k, i + 6, j] * acc
                high = (
                    forces[s, k + 1, i, j]
                    + forces[s, k + 1, i + 3, j] * w * w
                    + forces[s, k + 1, i + 6, j] * acc
                )
                f = low + part * (high - low)
                total += f * f
            size = np.sqrt(total)
            peaks[s, j] = max(peaks[s, j], size)
            if d >= 0:
                sliding[d] += (arms[s, k, j] + part * (arms[s, k + 1, j] - arms[s, k, j])) * size
    for d in range(len(own)):
        static[d] = more[d] * sliding[d]


@inlined
def _bent(e, u, v, kinds, between, levers, numbers, starts, slip, sliding, static):  # type: ignore[no-untyped-def]
    """Give what a bristle carries, N m, and whether it holds: below its limit, or standing where it just carries it."""
    x = starts[e] + _travel(e, u, between, levers)
    rate = _travel(e, v, between, levers)
    most, extra = _limits(e, len(kinds), numbers, sliding, static)
    torque = _law(2, e, x, rate, numbers, slip, most, extra)
    return torque, abs(torque) < _limit(most, extra, rate) or abs(rate) < STANDS


@njit(error_model="numpy")
def _balance_at(  # type: ignore[no-untyped-def]
    u, v, a, load, inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
    kinds, between, levers, numbers, starts, slip, sliding, static, residual, slopes,
):  # fmt: skip
    """Set what is wanting of each coordinate's balance at a state, and its slopes by the accelerations."""
    _balance(u, v, a, load, 0.0, 0.0, 1.0, True,
             inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
             kinds, between, levers, numbers, starts, slip, sliding, static, residual, slopes)  # fmt: skip


@njit(error_model="numpy")
def _follow_steps(  # type: ignore[no-untyped-def]
    first, count, h, load, driven, speeds, rest_speed, rest_steps, slow,
    u, v, a, slip, sliding, static,
    inertia, coordinate, share, start, side_at, side_drag, own_tables, forces, arms, wheel, wheel_at,
    kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain,
    recorded, out_u, out_v, out_a, out_friction, out_held, peaks, carried,
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
    recorded : whether more than out_u and out_v is written.
    out_held : (rows,) N m that a prescribed coordinate takes.
    peaks, carried : (s, j) N, largest force of each side's joints so far, and (e,) the largest of each chain and
        coupling, N and N m, at the beginnings of the steps.
    The others are those of `sim.reduced.system.System`, the sides' stacked.
    """
    m, elements, drags = len(u), len(kinds), len(own)
    u1, v1, a1 = np.zeros(m), np.zeros(m), np.zeros(m)
    residual, slopes, order = np.zeros(m), np.zeros((m, m)), np.zeros(m, np.int64)
    kept_u, kept_v, kept_a, kept_slip = np.zeros(m), np.zeros(m), np.zeros(m), np.zeros(elements)
    kept_sliding, kept_static, tension = np.zeros(drags), np.zeros(drags), np.zeros((pulls.shape[1], 2))
    parts = 1
    for row in range(first + 1, first + count + 1):
        copy(kept_u, u)
        copy(kept_v, v)
        copy(kept_a, a)
        copy(kept_slip, slip)
        copy(kept_sliding, sliding)
        copy(kept_static, static)
        while True:
            done = True
            for part in range(parts):
                aim = 0.0
                if driven >= 0:
                    aim = speeds[row - 1] + (speeds[row] - speeds[row - 1]) * (part + 1) / parts
                if row > 1 or part > 0:
                    _follow(u, v, kinds, between, levers, numbers, starts, slip, sliding, static)
                _rub(u, v, a, coordinate, share, start, side_at, side_drag, forces, arms, wheel, wheel_at,
                     kinds, between, levers, numbers, starts, own, more, stations, pulls, on_station, on_chain,
                     sliding, static, tension, peaks, carried)  # fmt: skip
                done = _advance(h / parts, u, v, a, load, driven, aim,
                                inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at,
                                kinds, between, levers, numbers, starts, slip, sliding, static,
                                u1, v1, a1, residual, slopes, order)  # fmt: skip
                if not done:
                    break
                copy(u, u1)
                copy(v, v1)
                copy(a, a1)
            if done:
                break
            copy(u, kept_u)
            copy(v, kept_v)
            copy(a, kept_a)
            copy(slip, kept_slip)
            copy(sliding, kept_sliding)
            copy(static, kept_static)
            parts *= 2
            if parts > SHORTEST:
                return row - 1, 2, slow
        parts = max(1, parts // 2)
        for c in range(m):
            out_u[row, c], out_v[row, c] = u[c], v[c]
        if recorded:
            for c in range(m):
                out_a[row, c] = a[c]
            out_held[row] = residual[driven] if driven >= 0 else 0.0
            for e in range(elements):
                if kinds[e] == 2:
                    bent, _ = _bent(e, u, v, kinds, between, levers, numbers, starts, slip, sliding, static)
                    out_friction[row, e] = bent
        if rest_steps > 0:
            still = True
            for i in range(len(share)):
                still = still and abs(share[i] * v[coordinate[i]]) < rest_speed
            for e in range(elements - drags, elements):
                if still:
                    _, still = _bent(e, u, v, kinds, between, levers, numbers, starts, slip, sliding, static)
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
        return _balance_at(*numbers) if len(stamp) > 0 else None

    @njit(cache=True)
    def follow_steps(*numbers):  # type: ignore[no-untyped-def]
        if len(stamp) == 0:
            return 0, 0, 0
        return _follow_steps(*numbers)

    return balance, follow_steps


balance, follow_steps = _kept(
    hashlib.sha256(
        Path(laws.__file__).read_bytes() + Path(small.__file__).read_bytes() + repr(STANDS).encode()
    ).hexdigest()
)
