"""What makes a sculpture swing: turns of its shafts, wing beats, chain teeth, gusts."""

from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import moving_parts, reduced_inertia
from sim.layout import chain_run
from sim.sprocket import pitch_radius
from sim.transmission import polygon
from sim.whole import holding_torque

WHEEL = "once a turn of the wheel"
CRANK = ("once a turn of the crank", "twice a turn of the crank", "three times a turn of the crank")
GUSTS = "gusts"
GUST_MOST = 2 * np.pi * 1.0
"""Frequency, rad/s, below which wind makes structures swing: slender ones below 1 Hz count as flexible (ASCE 7, read
second hand)."""
POSES = 720


@dataclass(frozen=True)
class Excitation:
    """Something that comes round.

    Attributes
    ----------
    name : in words.
    order : times a turn of the wheel; 0 for gusts, which come at any speed.
    note : how large it is.
    """

    name: str
    order: float
    note: str = ""


def tooth(number: int) -> str:
    """Name the tooth frequency of a stage's chain."""
    return f"tooth frequency of stage {number}"


def shaft_turn(m: Mechanism, k: int) -> str:
    """Name the turning of the shaft after stage k, the wheel's where k is 0 and the cranks' after the last."""
    if k == len(m.stages):
        return CRANK[0]
    return WHEEL if k == 0 else f"once a turn of the shaft after stage {k}"


def excitations(closed: Linkage, speed: float) -> tuple[Excitation, ...]:
    """Give what excites a sculpture.

    Parameters
    ----------
    closed : the sculpture.
    speed : of the wheel, rad/s, at which the wing beats' torque is told.
    """
    m = closed.mechanism
    found: list[Excitation] = []
    left = 1.0
    for k, stage in enumerate(m.stages, 1):
        found.append(Excitation(shaft_turn(m, k - 1), left))
        if stage.kind == "chain":
            found.append(Excitation(tooth(k), stage.driver * left, _tooth_size(m, k)))
        left *= stage.driver / stage.driven
    share = beats(closed, speed)
    for n, name in enumerate(CRANK, 1):
        size = f"{share[n - 1]:.3g} N m of the wings' torque at the crank at {speed * 30 / np.pi:.3g} rpm"
        found.append(Excitation(name, n / m.reduction, size))
    found.append(Excitation(GUSTS, 0.0, "below 1 Hz"))
    return tuple(found)


def _tooth_size(m: Mechanism, number: int) -> str:
    """Say how far the pitch polygons of both sprockets push the chain to and fro, at the worst of their phases."""
    stage, run = m.stages[number - 1], chain_run(m, number)
    angle = np.linspace(0, 2 * np.pi, POSES * 10)
    travel = sum(
        float(np.max(np.abs(polygon(angle, teeth, pitch_radius(float(teeth), stage.pitch))[0])))
        for teeth in (stage.driver, stage.driven)
    )
    return (
        f"the pitch polygons push the chain by +/- {1000 * travel:.2g} mm, that is +/- {travel * run.stiffness:.2g} N "
        "where neither shaft gives"
    )


def beats(closed: Linkage, speed: float) -> Array:
    """Give the first three harmonics (3,) of the torque that the wings ask at the crank, N m.

    V' + M' w^2 / 2 at a steady speed, of all sides together and a handle's weight.

    Parameters
    ----------
    closed : the sculpture.
    speed : of the wheel, rad/s.
    """
    m = closed.mechanism
    turn = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    inertia = np.sum([reduced_inertia(moving_parts(s, turn)) for s in closed.sides], axis=0)
    parts = np.fft.rfft(inertia) * 1j * np.arange(POSES // 2 + 1)
    slope = np.fft.irfft(parts, POSES)
    torque = holding_torque(closed, turn) * m.reduction + slope * (speed / m.reduction) ** 2 / 2
    return np.abs(np.fft.rfft(torque)[1:4]) * 2 / POSES
