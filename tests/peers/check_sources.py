"""Checks the emitters of sources.py against closed forms and quadrature, before they judge us.

Every case must agree within 0.2 % of the expected irradiance. Prints one line a case; exit
status 1 if any is off.
"""

import math
import sys

import mitsuba as mi
import numpy as np

mi.set_variant("scalar_rgb")
import sources

TOLERANCE = 2e-3
GRID = 96
BASE = {"position_m": [0.2, 1.0, -0.3], "axis": [0, 0, 1], "right": [-1, 0, 0], "up": [0, 1, 0]}
DISH = {"type": "dish", "beam_rad": math.radians(35), "field_rad": math.radians(60)}
WIDE = {"type": "dish", "beam_rad": math.radians(110), "field_rad": math.radians(150)}
LAMBERT = {"type": "cosine", "exponent": 1}


def tilted(light):
    """The same source with a slanted axis, to catch frames that only fit one direction."""
    axis = np.array([0.3, -0.8, 0.5])
    axis /= np.linalg.norm(axis)
    right = np.cross(axis, [0, 1, 0])
    right /= np.linalg.norm(right)
    up = np.cross(right, axis)
    return light | {"axis": list(axis), "right": list(right), "up": list(up)}


def measured(light, point, normal, backing=None):
    """Irradiance at a point for unit axial intensity: the sum over the emitters, as Mitsuba's
    integrators ask them, on a grid where they have an area."""
    scene = mi.load_dict({"type": "scene"} | sources.emitters(light, backing))
    place = mi.SurfaceInteraction3f()
    place.p, place.n, place.t = list(point), list(normal), 0.0
    place.wavelengths = []
    total = 0.0
    for emitter in scene.emitters():
        extended = emitter.get_shape() is not None
        grid = (np.arange(GRID) + 0.5) / GRID if extended else [0.5]
        for u in grid:
            for v in grid:
                sample, weight = emitter.sample_direction(place, [u, v])
                cosine = float(np.dot(normal, sample.d))
                total += max(cosine, 0.0) * float(weight[1]) / len(grid) ** 2
    return total


def expected(light, point, normal):
    """Quadrature over the front: ∫ I(θ)/A · cos(θ at the patch)/d² dA."""
    points = sources.front_points(light, 20000)
    span = points - np.asarray(point, float)
    d = np.linalg.norm(span, axis=1)
    theta = np.arccos(np.clip(-(span @ np.asarray(light["axis"])) / d, -1, 1))
    intensity = np.where(theta < math.pi / 2, sources.relative_intensity(light["beam"], theta), 0)
    cosine = np.maximum(span @ np.asarray(normal, float) / d, 0)
    return float(np.mean(intensity * cosine / d**2))


def cases():
    small = BASE | {"shape": {"type": "disc", "radius_m": 0.09}}
    for label, beam in (("dish 35/60", DISH), ("dish 110/150", WIDE), ("cos^1 as spots", LAMBERT)):
        for slant, light in (("", small), (", slanted", tilted(small))):
            light = light | {"beam": beam}
            axis, up, right = (np.asarray(light[k]) for k in ("axis", "up", "right"))
            for degrees in (0, 10, 17.5, 30, 40, 60, 80):
                a = math.radians(degrees)
                if sources.relative_intensity(beam, a) < 1e-3:
                    continue
                # off to a corner, so that up and right both matter
                way = math.cos(a) * axis + math.sin(a) * (0.8 * right + 0.6 * up)
                point = np.asarray(light["position_m"]) + 1.7 * way
                yield (
                    f"disc {label} at {degrees} deg{slant}",
                    measured(light, point, -way),
                    expected(light, point, -way),
                )
    plate = BASE | {"shape": {"type": "rectangle", "width_m": 1, "height_m": 1}, "beam": LAMBERT}
    below = np.asarray(plate["position_m"]) + [0, 0, 1]
    black = {"type": "diffuse", "reflectance": {"type": "rgb", "value": [0.0] * 3}}
    # Unit square, element at unit distance under the centre: F = 0.239456470; I = L·A, E = π·L·F.
    closed = math.pi * 0.239456470
    yield "square panel, centre", measured(plate, below, [0, 0, -1], (0.0, black)), closed
    yield "square as spots, centre", measured(plate, below, [0, 0, -1]), closed
    # Disc r = 0.3 at h = 1: C = r²/(r² + h²) = 0.082568807, I = L·π·r².
    disc = BASE | {"shape": {"type": "disc", "radius_m": 0.3}, "beam": LAMBERT}
    closed = 0.082568807 / 0.3**2
    yield "disc panel, coaxial", measured(disc, below, [0, 0, -1], (0.0, black)), closed
    # A thin tube across: E = I/d² within (r/d)² and (l/d)²; along its axis only the cap shows.
    tube = BASE | {"shape": {"type": "tube", "radius_m": 0.02, "length_m": 0.1}, "beam": LAMBERT}
    point = np.asarray(tube["position_m"]) + [0, 3.0, 0]
    yield "tube, across", measured(tube, point, [0, -1, 0]), tube_across(0.02, 0.1, 3.0)
    point = np.asarray(tube["position_m"]) + [0, 0, 3.05]
    radiance = 1 / (2 * 0.02 * 0.1)
    cap = math.pi * radiance * 0.02**2 / (0.02**2 + 3.0**2)
    yield "tube, along", measured(tube, point, [0, 0, -1]), cap


def tube_across(radius, length, distance):
    """Quadrature over the lit side of a Lambertian tube of unit intensity across."""
    phi = (np.arange(2000) + 0.5) / 2000 * math.pi - math.pi / 2
    z = ((np.arange(400) + 0.5) / 400 - 0.5) * length
    phi, z = np.meshgrid(phi, z)
    dx, dy = distance - radius * np.cos(phi), -radius * np.sin(phi)
    d2 = dx**2 + dy**2 + z**2
    out = np.maximum(np.cos(phi) * dx + np.sin(phi) * dy, 0) / np.sqrt(d2)
    patch = radius * (math.pi / 2000) * (length / 400)
    radiance = 1 / (2 * radius * length)
    return float(np.sum(radiance * out * dx / np.sqrt(d2) / d2) * patch)


def main():
    worst = 0.0
    for label, got, want in cases():
        off = got / want - 1
        worst = max(worst, abs(off))
        print(f"{label:42} {got:.6f} {want:.6f} {100 * off:+.3f} %", flush=True)
    print(f"worst {100 * worst:.3f} %")
    sys.exit(1 if worst > TOLERANCE else 0)


if __name__ == "__main__":
    main()
