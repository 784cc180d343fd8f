"""Measure triangle meshes with trimesh.

stdin:  [{"vertices": [[x, y, z], ...], "faces": [[a, b, c], ...]}, ...]
stdout: [{"volume": float, "area": float, "watertight": bool,
          "winding_consistent": bool, "centroid": [x, y, z]}, ...]

Nothing is repaired: equal corners are joined, but faces that point inward give
a negative volume. Units are those of the input.
"""

import json
import sys

import numpy as np
import trimesh


def measure(item):
    mesh = trimesh.Trimesh(
        vertices=np.asarray(item["vertices"], dtype=float),
        faces=np.asarray(item["faces"], dtype=int),
        process=False,
    )
    mesh.merge_vertices()
    return {
        "volume": float(mesh.volume),
        "area": float(mesh.area),
        "watertight": bool(mesh.is_watertight),
        "winding_consistent": bool(mesh.is_winding_consistent),
        "centroid": [float(at) for at in mesh.center_mass],
    }


def main():
    json.dump([measure(item) for item in json.load(sys.stdin)], sys.stdout)
    print()


if __name__ == "__main__":
    main()
