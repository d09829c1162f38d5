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
    if mesh.tints is None:
        colour = rgb(mesh.reflectance)
    else:
        colour = {"type": "mesh_attribute", "name": "vertex_color"}
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


def write_ply(mesh, path):
    """Positions, normals where given, and reflectance times tint as the vertex colour."""
    fields = [mesh.positions]
    names = ["x", "y", "z"]
    if mesh.normals is not None:
        fields.append(mesh.normals)
        names += ["nx", "ny", "nz"]
    if mesh.tints is not None:
        fields.append(mesh.tints * np.asarray(mesh.reflectance, np.float32))
        names += ["r", "g", "b"]
    vertices = np.concatenate(fields, axis=1).astype("<f4")
    faces = np.empty(len(mesh.triangles), dtype=[("count", "u1"), ("index", "<i4", 3)])
    faces["count"], faces["index"] = 3, mesh.triangles
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
