"""Reads what `foreshadow export` writes: one binary glTF 2.0 file, with numpy alone.

In: path of a .glb. Out: `Document` with meshes, lights and camera; sources, surfaces and lens as
the exact numbers in the file's extras (SI units).
"""

import json
import struct
from dataclasses import dataclass

import numpy as np

COMPONENTS = {5125: np.uint32, 5126: np.float32}
WIDTHS = {"SCALAR": 1, "VEC3": 3}


@dataclass
class Mesh:
    name: str
    role: str
    positions: np.ndarray
    normals: np.ndarray | None
    tints: np.ndarray | None
    triangles: np.ndarray
    reflectance: list
    scatter: dict


@dataclass
class Document:
    meshes: list
    lights: dict
    camera: dict


def read(path):
    with open(path, "rb") as file:
        data = file.read()
    magic, version, length = struct.unpack_from("<4sII", data, 0)
    if magic != b"glTF" or version != 2 or length != len(data):
        raise ValueError(f"{path} is not a whole binary glTF 2.0 file")
    json_length, json_kind = struct.unpack_from("<I4s", data, 12)
    root = json.loads(data[20 : 20 + json_length])
    bin_length, bin_kind = struct.unpack_from("<I4s", data, 20 + json_length)
    start = 28 + json_length
    if json_kind != b"JSON" or bin_kind != b"BIN\0":
        raise ValueError(f"{path} has unexpected chunks")
    binary = memoryview(data)[start : start + bin_length]

    def array(index):
        accessor = root["accessors"][index]
        view = root["bufferViews"][accessor["bufferView"]]
        offset = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        width = WIDTHS[accessor["type"]]
        values = np.frombuffer(
            binary, COMPONENTS[accessor["componentType"]], accessor["count"] * width, offset
        )
        return values.reshape(-1, width) if width > 1 else values

    def mesh(node):
        entry = root["meshes"][node["mesh"]]
        (primitive,) = entry["primitives"]
        attributes = primitive["attributes"]
        surface = root["materials"][primitive["material"]]["extras"]
        optional = lambda key: array(attributes[key]) if key in attributes else None
        return Mesh(
            name=entry["name"],
            role=entry["extras"]["role"],
            positions=array(attributes["POSITION"]),
            normals=optional("NORMAL"),
            tints=optional("COLOR_0"),
            triangles=array(primitive["indices"]).reshape(-1, 3),
            reflectance=surface["reflectance"],
            scatter=surface["scatter"],
        )

    lights = root.get("extensions", {}).get("KHR_lights_punctual", {}).get("lights", [])
    return Document(
        meshes=[mesh(node) for node in root["nodes"] if "mesh" in node],
        lights={light["name"]: light["extras"] for light in lights},
        camera=root["cameras"][0]["extras"],
    )
