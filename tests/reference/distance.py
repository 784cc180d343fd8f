"""Exact Euclidean distances to the nearest empty cell, by scipy.ndimage.

stdin:  {"fields": [{"shape": [x, y, z], "filled": [0 or 1, ...]}]}, z fastest
stdout: {"fields": [{"distance": [cells, ...]}]}

Each field must have an empty cell.
"""

import json
import sys

import numpy as np
from scipy.ndimage import distance_transform_edt


def distances(field):
    filled = np.array(field["filled"], dtype=bool).reshape(field["shape"])
    if filled.all():
        raise SystemExit("a field without an empty cell has no distances")
    return {"distance": distance_transform_edt(filled).ravel().tolist()}


if __name__ == "__main__":
    question = json.load(sys.stdin)
    json.dump({"fields": [distances(field) for field in question["fields"]]}, sys.stdout)
