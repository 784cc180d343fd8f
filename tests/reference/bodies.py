"""Placed solids joined and cut by manifold3d, seen and cut through by trimesh and shapely.

In: {"bodies": [{"solids": [{"kind", "sizes", "frames", "less", "of"}], "cuts": [[axis, place]]}]},
metres. Out, in order: volume, surface, bounds, three silhouette areas, section areas.
"""

import json
import sys

import manifold3d
import numpy
import shapely
import trimesh

SIDES = 240


def solid(kind, sizes):
    if kind == "block":
        length, width, height = sizes
        return manifold3d.Manifold.cube((length, width, height)).translate((-length / 2, -width / 2, 0))
    if kind == "cylinder":
        across, length = sizes
        return manifold3d.Manifold.cylinder(length, across / 2, across / 2, SIDES)
    if kind == "tube":
        outside, inside, length = sizes
        bore = manifold3d.Manifold.cylinder(3 * length, inside / 2, inside / 2, SIDES)
        return solid("cylinder", (outside, length)) - bore.translate((0, 0, -length))
    if kind == "cone":
        bottom, top, length = sizes
        return manifold3d.Manifold.cylinder(length, bottom / 2, top / 2, SIDES)
    if kind == "sphere":
        (across,) = sizes
        return manifold3d.Manifold.sphere(across / 2, SIDES).translate((0, 0, across / 2))
    if kind == "ring":
        outside, section = sizes
        round_bar = manifold3d.CrossSection.circle(section / 2, SIDES)
        moved = round_bar.translate(((outside - section) / 2, section / 2))
        return manifold3d.Manifold.revolve(moved, SIDES)
    outline = manifold3d.CrossSection([kind["polygon"]])
    return manifold3d.Manifold.extrude(outline, sizes[0])


def placed(entry, growth):
    """Every solid a little larger than those before it in the work, by this many steps of 5 millionths
    about its middle: faces that lie on each other then leave no skin of nothing between them."""
    own = solid(entry["kind"], entry["sizes"])
    low_x, low_y, low_z, high_x, high_y, high_z = own.bounding_box()
    middle = numpy.array([low_x + high_x, low_y + high_y, low_z + high_z]) / 2
    own = own.translate(-middle).scale([1 + 5e-6 * growth] * 3).translate(middle)
    copies = []
    for frame in entry["frames"]:
        matrix = numpy.column_stack([*frame["axes"], frame["at"]])
        copies.append(own.transform(matrix))
    return manifold3d.Manifold.batch_boolean(copies, manifold3d.OpType.Add)


def body(entries):
    """The first solid, its own cuts, what is added to it, then the cuts of all."""
    whole = placed(entries[0], 0)
    for entry in entries:
        if entry["less"] and entry["of"] == 0:
            whole = whole - placed(entry, 1)
    for entry in entries[1:]:
        if not entry["less"]:
            whole = whole + placed(entry, 2)
    for entry in entries:
        if entry["less"] and entry["of"] is None:
            whole = whole - placed(entry, 3)
    return whole


def measured(asked):
    scale = 1000.0
    whole = body(asked["solids"]).scale((scale, scale, scale))
    faces = whole.to_mesh64()
    mesh = trimesh.Trimesh(faces.vert_properties[:, :3], faces.tri_verts, process=False)
    silhouettes = []
    for axis in range(3):
        # The axis comes to point up: z stays, x and y are turned there.
        turn = {0: (0, -90, 0), 1: (90, 0, 0), 2: (0, 0, 0)}[axis]
        seen = whole.rotate(turn).project().to_polygons()
        rings = [shapely.Polygon(ring) for ring in seen]
        signed = [p.area * (1 if p.exterior.is_ccw else -1) for p in rings]
        silhouettes.append(sum(signed) / scale**2)
    sections = []
    for axis, at in asked["cuts"]:
        normal = numpy.eye(3)[axis]
        lines = trimesh.intersections.mesh_plane(mesh, normal, normal * at * scale)
        plane = [i for i in range(3) if i != axis]
        if len(lines):
            drawn = shapely.MultiLineString(list(numpy.round(lines[:, :, plane], 6)))
            area = shapely.build_area(shapely.union_all(drawn, grid_size=1e-6)).area
        else:
            area = 0.0
        sections.append(area / scale**2)
    return {
        "volume": mesh.volume / scale**3,
        "surface": mesh.area / scale**2,
        "bounds": (mesh.bounds / scale).tolist(),
        "silhouettes": silhouettes,
        "sections": sections,
    }


json.dump([measured(asked) for asked in json.load(sys.stdin)["bodies"]], sys.stdout)
