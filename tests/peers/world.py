"""An exported stage as a Mitsuba scene with chosen lights on.

In: a `glb.Document`, an intensity for each light that is on, picture size. Out: a dictionary for `mi.load_dict`.
Surfaces map one to one: matt is `diffuse`, coated is `roughplastic` (GGX; `nonlinear`, so that
light thrown back inside is coloured by the base again); both on both sides. Velvet has no
counterpart in Mitsuba and is refused.
"""

import dataclasses
import math
import os

import mitsuba as mi
import numpy as np

import glb
import sources

# Units of the scene in a metre, its origin being where the camera focuses. Mitsuba lifts ray
# origins by about 9e-5·(1 + |p|), in whatever unit: 0.2 mm on a sitter in metres with the origin on
# the floor, which leaks five per cent of a rim light into hair. So: centimetres, near the origin.
SCALE = 100.0
# A front this near a surface is taken to lie on it, and is put so little before it.
BACKING = 5e-3 * SCALE
GAP = 2e-4 * SCALE


def rgb(values):
    return {"type": "rgb", "value": [float(v) for v in values]}


def bsdf(mesh):
    colour = rgb(mesh.reflectance) if mesh.tints is None else tint_texture(mesh)
    kind = mesh.scatter["type"]
    if kind == "diffuse":
        inner = {"type": "diffuse", "reflectance": colour}
    elif kind == "coated":
        inner = {
            "type": "roughplastic",
            "distribution": "ggx",
            "nonlinear": True,
            "alpha": mesh.scatter["alpha"],
            "int_ior": mesh.scatter["ior"],
            "ext_ior": 1.0,
            "diffuse_reflectance": colour,
        }
    else:
        raise ValueError(f"surface of mesh {mesh.name!r} ({kind}) has no Mitsuba counterpart")
    return {"type": "twosided", "bsdf": inner}


def tint_texture(mesh):
    """Reflectance times tint as a texture with 2×2 texels for each triangle.

    `roughplastic` takes no colours at vertices. A bilinear patch with the corners' colours a, b, c
    and b + c − a in the fourth place is linear between them, as the tints are.
    """
    columns = cells(mesh)
    a, b, c = (mesh.tints[mesh.triangles[:, k]] * np.float32(mesh.reflectance) for k in range(3))
    grid = np.zeros((columns * columns, 2, 2, 3), np.float32)
    grid[: len(a)] = np.stack([np.stack([a, b], 1), np.stack([c, b + c - a], 1)], 1)
    image = grid.reshape(columns, columns, 2, 2, 3).swapaxes(1, 2)
    image = image.reshape(2 * columns, 2 * columns, 3)
    return {"type": "bitmap", "bitmap": mi.Bitmap(image), "raw": True, "format": "variant"}


def cells(mesh):
    """Cells along a side of the square texture that holds one for each triangle."""
    return math.ceil(math.sqrt(len(mesh.triangles)))


def tint_places(mesh):
    """Texture coordinates of each triangle's three corners: the centres of their texels."""
    columns = cells(mesh)
    row, column = np.divmod(np.arange(len(mesh.triangles)), columns)
    corner = np.stack([column, row], 1)[:, None] * 2 + [[0, 0], [1, 0], [0, 1]]
    return ((corner + 0.5) / (2 * columns)).reshape(-1, 2)


def write_ply(mesh, path):
    """Positions, normals where given, and places in the tint texture."""
    names, fields, triangles = ["x", "y", "z"], [mesh.positions], mesh.triangles
    if mesh.normals is not None:
        fields.append(mesh.normals)
        names += ["nx", "ny", "nz"]
    if mesh.tints is not None:
        # every triangle has a cell of its own, so no corner is shared
        fields = [field[triangles.ravel()] for field in fields] + [tint_places(mesh)]
        triangles = np.arange(triangles.size).reshape(-1, 3)
        names += ["u", "v"]
    vertices = np.concatenate(fields, axis=1).astype("<f4")
    faces = np.empty(len(triangles), dtype=[("count", "u1"), ("index", "<i4", 3)])
    faces["count"], faces["index"] = 3, triangles
    header = ["ply", "format binary_little_endian 1.0", f"element vertex {len(vertices)}"]
    header += [f"property float {name}" for name in names]
    header += [f"element face {len(faces)}", "property list uchar int vertex_indices"]
    with open(path, "wb") as file:
        file.write(("\n".join(header + ["end_header"]) + "\n").encode())
        file.write(vertices.tobytes())
        file.write(faces.tobytes())


def rescaled(document):
    """The document in the scene's own units and origin; intensities grow with the square."""
    camera = document.camera
    origin = np.asarray(camera["position_m"]) + np.multiply(camera["forward"], camera["focus_m"])

    def moved(points):
        return (np.asarray(points, float) - origin) * SCALE

    meshes = [
        dataclasses.replace(mesh, positions=moved(mesh.positions).astype(np.float32))
        for mesh in document.meshes
    ]
    lights = {}
    for name, light in document.lights.items():
        shape = {k: v * SCALE if k.endswith("_m") else v for k, v in light["shape"].items()}
        lights[name] = light | {"position_m": moved(light["position_m"]), "shape": shape}
    lengths = ("sensor_m", "focal_m", "pupil_radius_m", "focus_m")
    camera = camera | {key: np.multiply(camera[key], SCALE) for key in lengths}
    camera["position_m"] = moved(camera["position_m"])
    return glb.Document(meshes, lights, camera)


def lens(camera, width, height):
    image_m = camera["focal_m"] * camera["focus_m"] / (camera["focus_m"] - camera["focal_m"])
    sensor = {
        "type": "perspective",
        "to_world": sources.look(camera["position_m"], camera["forward"], camera["up"]),
        "fov": math.degrees(2 * math.atan(camera["sensor_m"][0] / (2 * image_m))),
        "fov_axis": "x",
        "near_clip": 1e-3 * SCALE,
        "far_clip": 1e4 * SCALE,
        "sampler": {"type": "independent"},
        "film": {
            "type": "hdrfilm",
            "width": width,
            "height": height,
            "rfilter": {"type": "box"},
            "pixel_format": "rgb",
            "component_format": "float32",
            "sample_border": False,
        },
    }
    if camera["pupil_radius_m"] > 0:
        sensor |= {
            "type": "thinlens",
            "aperture_radius": float(camera["pupil_radius_m"]),
            "focus_distance": float(camera["focus_m"]),
        }
    return sensor


def backing(meshes, light):
    """(how far back to put a front, BSDF) where a surface is right behind its middle."""
    start, back = np.asarray(light["position_m"], float), -np.asarray(light["axis"], float)
    nearest = None
    for mesh in meshes:
        distance = first_hit(mesh, start, back)
        if distance < (nearest[0] + GAP if nearest else BACKING) and mesh.tints is None:
            nearest = (distance - GAP, bsdf(mesh))
    return nearest


def first_hit(mesh, start, way):
    """Distance along a ray to a mesh (Möller & Trumbore 1997), infinite where it misses."""
    a, b, c = (mesh.positions[mesh.triangles[:, k]].astype(float) for k in range(3))
    p = np.cross(way, c - a)
    det = np.einsum("ij,ij->i", b - a, p)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.einsum("ij,ij->i", start - a, p) / det
        q = np.cross(start - a, b - a)
        v = q @ way / det
        t = np.einsum("ij,ij->i", c - a, q) / det
        hit = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0)
    return float(t[hit].min()) if hit.any() else math.inf


def build(document, intensities, size, integrator, folder, points):
    document = rescaled(document)
    entries = {}
    for n, mesh in enumerate(document.meshes):
        path = os.path.join(folder, f"mesh{n}.ply")
        write_ply(mesh, path)
        entries[f"mesh{n}"] = {
            "type": "ply",
            "filename": path,
            "face_normals": mesh.normals is None,
            "bsdf": bsdf(mesh),
        }
    for n, (name, intensity) in enumerate(intensities.items()):
        light = document.lights[name]
        flat = light["shape"]["type"] != "tube"
        behind = backing(document.meshes, light) if flat else None
        # Particles start in proportion to the light there is; a path's joins are spread evenly.
        particles = integrator["type"] == "ptracer"
        share = intensity * sources.flux(light) if particles else 1.0
        scaled = intensity * SCALE**2
        entries |= sources.emitters(light, behind, scaled, share, f"light{n}", points)
    view = {"integrator": integrator, "sensor": lens(document.camera, *size)}
    return {"type": "scene"} | view | entries
