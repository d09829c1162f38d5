"""An exported stage as a Mitsuba scene with chosen lights on.

In: a `glb.Document`, an intensity for each light that is on, picture size. Out: a dictionary for `mi.load_dict`.
Surfaces map one to one: matt is `diffuse`, coated is `roughplastic` (GGX; `nonlinear`, so that
light thrown back inside is coloured by the base again); both on both sides. Velvet has no
counterpart in Mitsuba and is refused.
"""

import math
import os

import mitsuba as mi
import numpy as np

import sources

# A front this near a surface is taken to lie on it.
BACKING_M = 5e-3


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


def lens(camera, width, height):
    image_m = camera["focal_m"] * camera["focus_m"] / (camera["focus_m"] - camera["focal_m"])
    sensor = {
        "type": "perspective",
        "to_world": sources.look(camera["position_m"], camera["forward"], camera["up"]),
        "fov": math.degrees(2 * math.atan(camera["sensor_m"][0] / (2 * image_m))),
        "fov_axis": "x",
        "near_clip": 1e-3,
        "far_clip": 1e4,
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
            "aperture_radius": camera["pupil_radius_m"],
            "focus_distance": camera["focus_m"],
        }
    return sensor


def backing(meshes, entries, light):
    """(distance, BSDF) of the surface right behind the front, if there is one."""
    scene = mi.load_dict({"type": "scene"} | entries)
    axis = np.asarray(light["axis"], float)
    start = np.asarray(light["position_m"], float) + 1e-5 * axis
    start, back = start.tolist(), (-axis).tolist()
    # The type of a scalar or of a vectorised variant alike.
    hit = scene.ray_intersect_preliminary(mi.Ray3f(mi.Point3f(*start), mi.Vector3f(*back)))
    distance = float(np.ravel(hit.t)[0])
    if not distance <= BACKING_M:
        return None
    shape = hit.shape[0] if hasattr(hit.shape, "__getitem__") else hit.shape
    mesh = meshes[int(shape.id().removeprefix("mesh"))]
    return None if mesh.tints is not None else (distance - 1e-5, bsdf(mesh))


def build(document, intensities, size, integrator, folder, points):
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
    surfaces = dict(entries)
    for n, (name, intensity) in enumerate(intensities.items()):
        light = document.lights[name]
        flat = light["shape"]["type"] != "tube"
        behind = backing(document.meshes, surfaces, light) if flat else None
        # Particles start in proportion to the light there is; a path's joins are spread evenly.
        particles = integrator["type"] == "ptracer"
        share = intensity * sources.flux(light) if particles else 1.0
        entries |= sources.emitters(light, behind, intensity, share, f"light{n}", points)
    view = {"integrator": integrator, "sensor": lens(document.camera, *size)}
    return {"type": "scene"} | view | entries
