"""From an engine's trace to the channels of a run."""

import numpy as np

from models.mechanism import Mechanism
from sim import names
from sim.arrays import Array, matrices
from sim.engines.base import Trace
from sim.engines.riding import Riding
from sim.impact import impact
from sim.run import Channel
from sim.scene import Scene
from sim.shaft.recording import shaft_channels
from sim.travel import ahead, wound


def channels(mechanism: Mechanism, scene: Scene, trace: Trace) -> dict[str, Channel]:
    """Give every channel of a run.

    Groups: `bodies` (pose and velocity of each centre of mass), `angles` (wheel, shafts), `panels` (angle from
    level), `joints` (what the moving part puts on the part nearer the ground, in world axes), `torques` (hand,
    friction, couplings, stages on their driven side), `chains` (tension of each strand), `shafts` (deflection, turn and
    moment of crankshafts that bend), `energy`, `health`.
    """
    found: dict[str, Channel] = {}
    for name, pose in trace.poses.items():
        if name in trace.bending:
            continue  # what a shaft that bends does is in its own channels
        at = f"bodies/{name}"
        found[f"{at}/position"] = Channel(pose.position, "m", f"centre of mass of {name}", "world")
        found[f"{at}/rotation"] = Channel(
            pose.quaternion, "1", f"rotation of {name}, quaternion, scalar first", "world"
        )
        found[f"{at}/velocity"] = Channel(
            pose.velocity, "m/s", f"velocity of {name}'s centre of mass", "world"
        )
        found[f"{at}/angular velocity"] = Channel(
            pose.angular_velocity, "rad/s", f"angular velocity of {name}", "world"
        )
    for name, spin in trace.spins.items():
        found[f"angles/{name}/angle"] = Channel(spin.angle, "rad", f"angle of {name}")
        found[f"angles/{name}/speed"] = Channel(spin.speed, "rad/s", f"speed of {name}")
    for side in mechanism.sides:
        for panel in side.panels:
            body = names.panel(side.name, panel.name)
            turned = trace.poses[body].quaternion
            angle = side.sign * 2 * np.arctan2(turned[:, 1], turned[:, 0])
            folded = (angle + np.pi) % (2 * np.pi) - np.pi
            found[f"panels/{side.name} {panel.name}/angle"] = Channel(
                folded, "rad", f"angle of {body} from level, up positive"
            )
    for name, load in _bearings(scene, trace).items():
        found[f"joints/{name}/force"] = Channel(load, "N", f"force on {name}", "world")
    for name, load in trace.joints.items():
        if np.any(load.moment):
            found[f"joints/{name}/moment"] = Channel(load.moment, "N m", f"moment on {name}", "world")
    for name, torque in trace.torques.items():
        found[f"torques/{name}/torque"] = Channel(torque, "N m", f"torque of {name}")
    for name, (a, b) in trace.tensions.items():
        found[f"chains/{name}/tension a"] = Channel(
            a, "N", f"tension of {name}'s strand a, taut when driven forward"
        )
        found[f"chains/{name}/tension b"] = Channel(b, "N", f"tension of {name}'s strand b")
        for strand, tension in (("a", a), ("b", b)):
            words = f"tension of {name}'s strand {strand} just after slack was taken up, else 0"
            found[f"chains/{name}/impact {strand}"] = Channel(impact(trace.time, tension), "N", words)
    found |= shaft_channels(mechanism, trace)
    found |= _energies(scene, trace)
    found["health/gap/distance"] = Channel(trace.gap, "m", "largest drift of a joint's two points")
    return found


def _bearings(scene: Scene, trace: Trace) -> dict[str, Array]:
    """Give the force (n, 3), N, on every joint and on the bearings that the engine does not have."""
    forces = {name: load.force for name, load in trace.joints.items()}
    carried = {s.name: s.load(forces, trace.tensions) for s in scene.stations}
    for station in scene.stations:
        for joint, share in station.relieves:
            forces[joint] = forces[joint] - share * carried[station.name]
    return forces | carried


def _energies(scene: Scene, trace: Trace) -> dict[str, Channel]:
    """Give kinetic, potential and strain energy and what was lost since the start, (n,) J each."""
    kinetic, potential = energy(scene, trace)
    strain, lost = np.zeros(len(trace.time)), np.zeros(len(trace.time))
    for chain in scene.strands:
        x, rate = ahead(chain, trace.spins)
        strain, lost = strain + chain.strain(x), lost + chain.lost(x, rate)
    for twist in scene.twists:
        x, rate = wound(twist, trace.spins)
        strain, lost = strain + twist.strain(x), lost + twist.lost(x, rate)
    for shaft in scene.flexibles:
        bent = trace.bending[shaft.name]
        strain = strain + 0.5 * bent.amplitudes**2 @ shaft.stiffness
        lost = lost + shaft.damping * bent.rates**2 @ shaft.stiffness
    riding = Riding(scene, trace.poses, trace.bending, len(trace.time))
    for bush in scene.bushes:
        stored, power = bush.energies(*riding.apart(bush))
        strain, lost = strain + stored, lost + power
    for drag in scene.drags:
        lost = lost - trace.torques[drag.name] * trace.spins[drag.on].speed
    for limiter in scene.limiters:
        apart = trace.spins[limiter.a].speed - trace.spins[limiter.b].speed
        lost = lost + trace.torques[limiter.name] * apart
    spent = np.concatenate([[0.0], np.cumsum(np.diff(trace.time) * (lost[1:] + lost[:-1]) / 2)])
    return {
        "energy/kinetic/energy": Channel(kinetic, "J", "kinetic energy"),
        "energy/potential/energy": Channel(potential, "J", "potential energy against the crank's axis"),
        "energy/strain/energy": Channel(strain, "J", "energy stored in chains, couplings, shafts and bushes"),
        "energy/lost/energy": Channel(spent, "J", "energy that friction and damping have taken"),
    }


def energy(scene: Scene, trace: Trace) -> tuple[Array, Array]:
    """Give the kinetic and the potential energy (n,), J, of bodies, shafts and rotors; springs are left out."""
    kinetic, potential = np.zeros(len(trace.time)), np.zeros(len(trace.time))
    for body in scene.bodies:
        pose = trace.poses[body.name]
        turned = matrices(pose.quaternion)
        local = np.einsum("nji,nj->ni", turned, pose.angular_velocity)
        kinetic += 0.5 * body.mass * np.sum(pose.velocity**2, -1)
        kinetic += 0.5 * np.einsum("ni,ij,nj->n", local, body.inertia, local)
        potential -= body.mass * (pose.position @ scene.gravity)
    for shaft in scene.flexibles:
        bent = trace.bending[shaft.name]
        kinetic += 0.5 * np.einsum("npi,npi,p->n", bent.velocities, bent.velocities, shaft.masses)
        potential -= (bent.places @ scene.gravity) @ shaft.masses
    for rotor in scene.rotors:
        kinetic += 0.5 * rotor.inertia * trace.spins[rotor.name].speed ** 2
    return kinetic, potential
