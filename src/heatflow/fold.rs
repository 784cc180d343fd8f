//! A scene that is its own mirror image is marched by halves.

use super::scene::{Face, Scene};

/// Which axes were cut in half.
pub(super) type Folded = [bool; 3];

/// The half, quarter or eighth of a scene that says all, and how it was cut.
pub(super) fn fold(scene: &Scene) -> (Scene, Folded) {
    let mut folded = [false; 3];
    let mut part = scene.clone();
    for (axis, cut) in folded.iter_mut().enumerate() {
        *cut = same_both_ways(&part, axis);
        if *cut {
            part = low_half(&part, axis);
        }
    }
    (part, folded)
}

fn same_both_ways(scene: &Scene, axis: usize) -> bool {
    let size = scene.size[axis];
    let [low, high] = scene.faces[axis];
    size.is_multiple_of(2)
        && low == high
        && (0..scene.cells.len()).all(|cell| {
            let mut place = scene.place(cell);
            place[axis] = size - 1 - place[axis];
            let other = scene.at(place);
            scene.cells[cell] == scene.cells[other] && scene.fill[cell] == scene.fill[other]
        })
}

fn low_half(scene: &Scene, axis: usize) -> Scene {
    let kept = |cell: &usize| scene.place(*cell)[axis] < scene.size[axis] / 2;
    let cells: Vec<usize> = (0..scene.cells.len()).filter(kept).collect();
    let mut half = Scene {
        cells: cells.iter().map(|c| scene.cells[*c]).collect(),
        fill: cells.iter().map(|c| scene.fill[*c]).collect(),
        ..scene.clone()
    };
    half.size[axis] /= 2;
    half.faces[axis][1] = Face::Closed;
    half
}

/// The cell of the part that stands for this cell of the whole.
pub(super) fn stands_for(whole: &Scene, part: &Scene, folded: Folded, cell: usize) -> usize {
    let mut place = whole.place(cell);
    for axis in (0..3).filter(|a| folded[*a]) {
        place[axis] = place[axis].min(whole.size[axis] - 1 - place[axis]);
    }
    part.at(place)
}
