"""A stage's light as Mitsuba emitters.

In: a light's extras, the surface right behind its front, if any, the axial intensity it shall
have, and its share of emitter choices. Out: dictionary entries for `mi.load_dict`. Three forms:

* A Lambertian front on a surface (a ceiling panel): a rectangle or disk area emitter that takes
  over the scattering of what it covers, since our fronts emit without blocking. Exact.
* A tube: cylinder and disk area emitters, L = I / (2·r·l) from the intensity across its length.
* Every other front: points spread evenly over it, each a `projector` that carries the beam.

A projector's texture is proportional to the irradiance I(θ)·cos³θ on a plane at distance 1.
"""

import math

import mitsuba as mi
import numpy as np

TEXELS = 512
# A beam below this share of its axis is dark.
DARK = 1e-5
# Half field of a single projector at most; wider beams take a cube of five.
WIDEST_DEG = 75.0


def relative_intensity(beam, theta):
    """I(θ)/I(0) for angles in [0, π/2]."""
    if beam["type"] == "cosine":
        return np.maximum(np.cos(theta), 0.0) ** beam["exponent"]
    k = math.log2(math.log2(10)) / math.log2(beam["field_rad"] / beam["beam_rad"])
    return 2.0 ** -((theta / (0.5 * beam["beam_rad"])) ** k)


def look(position, forward, up):
    origin = np.asarray(position, float)
    target = origin + np.asarray(forward, float)
    return mi.ScalarTransform4f().look_at(origin=list(origin), target=list(target), up=list(up))


def front_points(light, count):
    """Points spread evenly by area over a flat front: a golden-ratio set and its mirror image,
    so that their centre is the front's."""
    i = np.arange(count // 2)
    a, b = (2 * i + 1) / count, (i * 0.6180339887498949) % 1.0
    shape = light["shape"]
    if shape["type"] == "disc":
        radius = shape["radius_m"] * np.sqrt(a)
        x, y = radius * np.cos(2 * np.pi * b), radius * np.sin(2 * np.pi * b)
    else:
        x, y = (a - 0.5) * shape["width_m"], (b - 0.5) * shape["height_m"]
    x, y = np.concatenate([x, -x]), np.concatenate([y, -y])
    centre, right, up = (np.asarray(light[k], float) for k in ("position_m", "right", "up"))
    return centre + x[:, None] * right + y[:, None] * up


def faces(light):
    """Projector orientations that cover the beam: (forward, up, half field in radians)."""
    beam, axis = light["beam"], np.asarray(light["axis"], float)
    up, right = np.asarray(light["up"], float), np.asarray(light["right"], float)
    theta = np.linspace(0, math.pi / 2, 9001)
    lit = theta[relative_intensity(beam, theta) > DARK][-1]
    if lit <= math.radians(WIDEST_DEG):
        return [(axis, up, lit)]
    quarter = math.pi / 4
    sides = [(right, up), (-right, up), (up, axis), (-up, axis)]
    return [(axis, up, quarter)] + [(f, u, quarter) for f, u in sides]


def texture(light, forward, up, half):
    """Irradiance texture of one projector face and its flux for unit axial intensity."""
    axis = np.asarray(light["axis"], float)
    # Mitsuba's image x runs to the left of a camera with this forward and up, its y down.
    left = np.cross(up, forward)
    t = ((np.arange(TEXELS) + 0.5) / TEXELS * 2 - 1) * math.tan(half)
    x, y = np.meshgrid(-t, -t)
    length = np.sqrt(1 + x * x + y * y)
    cos_axis = (
        np.dot(forward, axis) + x * np.dot(left, axis) + y * np.dot(up, axis)
    ) / length
    theta = np.arccos(np.clip(cos_axis, -1, 1))
    image = np.where(cos_axis > 0, relative_intensity(light["beam"], theta), 0.0)
    # Nowhere zero: a particle that starts where its density has underflowed would weigh infinite.
    image = np.maximum(image, DARK) / length**3
    total = float(image.sum()) * (2 * math.tan(half) / TEXELS) ** 2
    return np.repeat(image[..., None], 3, 2).astype(np.float32), total


def flux(light):
    """Lumens for each candela on the axis."""
    if light["shape"]["type"] == "tube":
        radius, length = light["shape"]["radius_m"], light["shape"]["length_m"]
        return math.pi * math.pi * (length + radius) / length
    theta = (np.arange(9000) + 0.5) / 9000 * math.pi / 2
    rings = relative_intensity(light["beam"], theta) * np.sin(theta)
    return float(rings.sum()) * math.pi / 2 / 9000 * 2 * math.pi


def emitters(light, backing=None, intensity=1.0, share=1.0, name="light", count=256):
    """Entries for `mi.load_dict`. `backing` is (how far behind the front to put it, BSDF); `count`
    points stand for a front that has to be split."""
    shape, beam = light["shape"], light["beam"]
    if shape["type"] == "tube":
        entries = tube(light, intensity, share)
    elif backing and beam["type"] == "cosine" and beam["exponent"] == 1:
        entries = panel(light, *backing, intensity, share)
    else:
        entries = spots(light, intensity, share, name, count)
    return {f"{name}_{key}": entry for key, entry in entries.items()}


def spots(light, intensity, share, name, count):
    entries = {}
    parts = [(f, u, half, *texture(light, f, u, half)) for f, u, half in faces(light)]
    total = sum(part[4] for part in parts)
    for k, (forward, up, half, image, part_flux) in enumerate(parts):
        if part_flux <= 10 * DARK * total:
            continue
        # The projector takes radiant exitance over π; found and kept by check_sources.py.
        entries[f"beam{k}"] = {
            "type": "bitmap",
            "bitmap": mi.Bitmap(image * np.float32(intensity / (math.pi * count))),
            "raw": True,
            "format": "variant",
            "wrap_mode": "clamp",
        }
        for n, point in enumerate(front_points(light, count)):
            entries[f"spot{k}_{n}"] = {
                "type": "projector",
                "irradiance": {"type": "ref", "id": f"{name}_beam{k}"},
                "fov": math.degrees(2 * half),
                "to_world": look(point, forward, up),
                "sampling_weight": share * part_flux / total / count,
            }
    return entries


def panel(light, offset, bsdf, intensity, share):
    shape = light["shape"]
    axis = np.asarray(light["axis"], float)
    centre = np.asarray(light["position_m"], float) - offset * axis
    if shape["type"] == "disc":
        kind, area = "disk", math.pi * shape["radius_m"] ** 2
        scale = [shape["radius_m"]] * 2 + [1]
    else:
        kind, area = "rectangle", shape["width_m"] * shape["height_m"]
        scale = [shape["width_m"] / 2, shape["height_m"] / 2, 1]
    return {
        "front": {
            "type": kind,
            "to_world": look(centre, axis, light["up"]).scale(scale),
            "bsdf": bsdf,
            "emitter": glow(intensity / area, share),
        }
    }


def glow(radiance, share):
    return {
        "type": "area",
        "radiance": {"type": "rgb", "value": [radiance] * 3},
        "sampling_weight": share,
    }


def tube(light, intensity, share):
    """A closed tube: its side and both ends glow alike."""
    radius, length = light["shape"]["radius_m"], light["shape"]["length_m"]
    centre, axis = (np.asarray(light[k], float) for k in ("position_m", "axis"))
    radiance = intensity / (2 * radius * length)
    black = {"type": "diffuse", "reflectance": {"type": "rgb", "value": [0.0] * 3}}
    half = axis * length / 2
    side, end = length / (length + radius), 0.5 * radius / (length + radius)
    entries = {
        "side": {
            "type": "cylinder",
            "p0": list(centre - half),
            "p1": list(centre + half),
            "radius": radius,
            "bsdf": black,
            "emitter": glow(radiance, share * side),
        }
    }
    for key, sign in (("near", 1), ("far", -1)):
        entries[key] = {
            "type": "disk",
            "to_world": look(centre + sign * half, sign * axis, light["up"]).scale(
                [radius, radius, 1]
            ),
            "bsdf": black,
            "emitter": glow(radiance, share * end),
        }
    return entries
