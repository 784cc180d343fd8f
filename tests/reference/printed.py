"""Read binary STL files with trimesh and measure them.

stdin:  [{"stl": base64, "cuts": [z, ...]}, ...]
stdout: [{"watertight": bool, "volume": float, "extents": [x, y, z],
          "sections": [area, ...]}, ...]

Units are those of the file. Equal corners are joined; nothing else is repaired.
"""

import base64
import io
import json
import sys

import trimesh
from shapely.geometry import Polygon


def section(mesh, z):
    cut = mesh.section(plane_origin=[0, 0, z], plane_normal=[0, 0, 1])
    if cut is None:
        return 0.0
    plane, _ = cut.to_2D()
    # Loops inside loops are holes: what lies in an odd number of them is full.
    full = Polygon()
    for loop in plane.polygons_closed:
        full = full.symmetric_difference(loop)
    return float(full.area)


def measure(item):
    mesh = trimesh.load(io.BytesIO(base64.b64decode(item["stl"])), file_type="stl")
    return {
        "watertight": bool(mesh.is_watertight),
        "volume": float(mesh.volume),
        "extents": [float(v) for v in mesh.extents],
        "sections": [section(mesh, z) for z in item["cuts"]],
    }


json.dump([measure(item) for item in json.load(sys.stdin)], sys.stdout)
