//! How deep pixels lie inside ink, or inside the gaps between: their distance to the other kind.

use crate::ink::Inked;
use crate::measure::segment::Segments;

/// Depth of every inked pixel, px, row by row: 1 at the edge, 0 off the ink; infinite where all is ink.
#[must_use]
pub fn of_ink(segments: &Segments) -> Vec<f32> {
    inside(segments, segments.labels.iter().map(|&l| l > 0))
}

/// Depth of every usable pixel that is not inked, px, likewise.
#[must_use]
pub fn of_gaps(inked: &Inked, segments: &Segments) -> Vec<f32> {
    let pixels = segments.labels.iter().zip(&inked.usable);
    inside(segments, pixels.map(|(&l, &usable)| l == 0 && usable))
}

fn inside(segments: &Segments, pixels: impl Iterator<Item = bool>) -> Vec<f32> {
    let (height, width) = segments.labels.dim();
    let mut depth: Vec<f32> = pixels
        .map(|inside| if inside { f32::INFINITY } else { 0.0 })
        .collect();
    if height > 2 && width > 2 {
        chamfer(&mut depth, width);
    }
    depth
}

/// Distance to the ground with steps of 1 and √2, downwards and upwards. First and last row stay as they
/// are; at the ends of a row its neighbours in memory stand for what lies beyond the frame.
pub(super) fn chamfer(distance: &mut [f32], width: usize) {
    let inner = width..distance.len() - width;
    for start in inner.clone().step_by(width) {
        // The very first pixel has nothing before it in the row above.
        if start > width {
            nearer(
                distance,
                start,
                [start - 1, start - width],
                [start - width - 1, start - width + 1],
            );
        }
        let (above, here) = distance.split_at_mut(start);
        let here = &mut here[..width];
        step_from(&above[start - width..], here);
        for x in 1..width - 1 {
            here[x] = here[x].min(here[x - 1] + 1.0);
        }
        let last = start + width - 1;
        nearer(
            distance,
            last,
            [last - 1, last - width],
            [last - width - 1, last - width + 1],
        );
    }
    for start in inner.clone().step_by(width).rev() {
        let last = start + width - 1;
        if last + 1 < inner.end {
            nearer(
                distance,
                last,
                [last + 1, last + width],
                [last + width + 1, last + width - 1],
            );
        }
        let (here, below) = distance.split_at_mut(start + width);
        let here = &mut here[start..];
        step_from(&below[..width], here);
        for x in (1..width - 1).rev() {
            here[x] = here[x].min(here[x + 1] + 1.0);
        }
        nearer(
            distance,
            start,
            [start + 1, start + width],
            [start + width + 1, start + width - 1],
        );
    }
}

/// Brings a pixel as near to the ground as its neighbours beside it and across its corners are.
fn nearer(distance: &mut [f32], at: usize, beside: [usize; 2], across: [usize; 2]) {
    let diagonal = std::f32::consts::SQRT_2;
    let by = |places: [usize; 2], step: f32| distance[places[0]].min(distance[places[1]]) + step;
    distance[at] = distance[at].min(by(beside, 1.0)).min(by(across, diagonal));
}

/// Distances of a row, but for its ends, where the three nearest pixels of the row beside it make them shorter.
fn step_from(beside: &[f32], here: &mut [f32]) {
    let diagonal = std::f32::consts::SQRT_2;
    for (value, three) in here.iter_mut().skip(1).zip(beside.windows(3)) {
        *value = value
            .min(three[1] + 1.0)
            .min(three[0].min(three[2]) + diagonal);
    }
}
