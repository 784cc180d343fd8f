"""What bodies cover from above, and how much of each feeder's neck stands on no metal."""

import json, sys
import shapely
from shapely.geometry import Point, Polygon
out = []
for one in json.load(sys.stdin):
    v = one["vertices"]
    faces = [Polygon([v[i][:2] for i in t]) for t in one["triangles"]]
    # Upward faces alone: what looks down lies under them.
    faces = [f for f in faces if f.area > 1e-12 and f.exterior.is_ccw]
    plan = shapely.union_all(faces, grid_size=1e-8)
    bare = [plan.area and Point(n["at"]).buffer(n["across"] / 2).difference(plan).area
            / Point(n["at"]).buffer(n["across"] / 2).area for n in one["necks"]]
    out.append({"area": plan.area, "bare": bare})
json.dump(out, sys.stdout)
