//! Touching marks parted at their waists.

use crate::measure::segment::{Mark, Segments};
use rayon::prelude::*;

/// Roundness below which a mark may be several that touch; a flick five widths long has 0.5.
const MAX_CIRCULARITY: f64 = 0.7;
/// Depth of a waist, as a share of the smaller half-width beside it: less is raggedness.
const WAIST_DEPTH: f32 = 0.25;
/// Least depth of a waist, px: pixels alone make distances uneven by this much.
const MIN_WAIST_PX: f32 = 0.7;
/// Largest bounding box, in pixels of the mark: outlines and nets of lines are not dots that touch.
const MAX_BOX: usize = 12;

/// How many times as many marks there are when touching ones are parted; ≥ 1. Only marks that are
/// not cut are looked at.
#[must_use]
pub fn parted_count(segments: &Segments) -> f64 {
    let (mut whole, mut parts) = (0_usize, 0_usize);
    let counted: Vec<usize> = segments
        .marks
        .par_iter()
        .enumerate()
        .filter(|(_, mark)| !mark.cut)
        .map(|(i, mark)| parts_of(segments, mark, i as u32 + 1))
        .collect();
    for count in counted {
        whole += 1;
        parts += count;
    }
    if whole == 0 {
        return 1.0;
    }
    parts as f64 / whole as f64
}

fn parts_of(segments: &Segments, mark: &Mark, label: u32) -> usize {
    let [left, top, right, bottom] = mark.bbox;
    let (width, height) = (right - left + 3, bottom - top + 3);
    if mark.circularity() >= MAX_CIRCULARITY || width * height > MAX_BOX * mark.pixels + 64 {
        return 1;
    }
    // One pixel of ground all round, so that the distance transform has something to start from.
    let mut distance = vec![0.0_f32; width * height];
    for y in top..=bottom {
        for x in left..=right {
            if segments.labels[[y, x]] == label {
                distance[(y - top + 1) * width + x - left + 1] = f32::INFINITY;
            }
        }
    }
    chamfer(&mut distance, width);
    lasting_peaks(&distance, width).max(1)
}

/// Distance to the ground with steps of 1 and √2, forwards and backwards; the rim is ground.
fn chamfer(distance: &mut [f32], width: usize) {
    let diagonal = std::f32::consts::SQRT_2;
    let n = distance.len();
    for i in width + 1..n - width {
        if distance[i] > 0.0 {
            distance[i] = (distance[i - 1] + 1.0)
                .min(distance[i - width] + 1.0)
                .min(distance[i - width - 1] + diagonal)
                .min(distance[i - width + 1] + diagonal);
        }
    }
    for i in (width..n - width - 1).rev() {
        if distance[i] > 0.0 {
            distance[i] = distance[i]
                .min(distance[i + 1] + 1.0)
                .min(distance[i + width] + 1.0)
                .min(distance[i + width + 1] + diagonal)
                .min(distance[i + width - 1] + diagonal);
        }
    }
}

/// Peaks of the distance that are still apart when the level has fallen by the depth of a waist:
/// pixels are added from the highest down, and a peak is swallowed where it meets a higher one
/// before it stands high enough above the meeting.
fn lasting_peaks(distance: &[f32], width: usize) -> usize {
    let mut order: Vec<u32> = (0..distance.len() as u32)
        .filter(|&i| distance[i as usize] > 0.0)
        .collect();
    order.sort_by(|&a, &b| {
        distance[b as usize]
            .total_cmp(&distance[a as usize])
            .then(a.cmp(&b))
    });
    let mut parent = vec![u32::MAX; distance.len()];
    let mut lasting = 0;
    for &i in &order {
        parent[i as usize] = i;
        let level = distance[i as usize];
        for step in neighbours(i as usize, width) {
            if parent[step] == u32::MAX {
                continue;
            }
            let (a, b) = (root(&mut parent, i), root(&mut parent, step as u32));
            if a == b {
                continue;
            }
            let (higher, lower) = if distance[a as usize] >= distance[b as usize] {
                (a, b)
            } else {
                (b, a)
            };
            let peak = distance[lower as usize];
            if peak - level >= (WAIST_DEPTH * peak).max(MIN_WAIST_PX) {
                lasting += 1;
            }
            parent[lower as usize] = higher;
        }
    }
    lasting + 1
}

fn neighbours(i: usize, width: usize) -> [usize; 8] {
    [
        i - width - 1,
        i - width,
        i - width + 1,
        i - 1,
        i + 1,
        i + width - 1,
        i + width,
        i + width + 1,
    ]
}

fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        parent[i as usize] = parent[parent[i as usize] as usize];
        i = parent[i as usize];
    }
    i
}

#[cfg(test)]
mod tests {
    use super::*;

    fn peaks(discs: &[(f32, f32, f32)]) -> usize {
        let (width, height) = (60_usize, 40_usize);
        let mut distance: Vec<f32> = (0..width * height)
            .map(|i| {
                let (x, y) = ((i % width) as f32, (i / width) as f32);
                let inside = discs.iter().any(|&(cx, cy, r)| (x - cx).hypot(y - cy) <= r);
                if inside { f32::INFINITY } else { 0.0 }
            })
            .collect();
        chamfer(&mut distance, width);
        lasting_peaks(&distance, width)
    }

    #[test]
    fn overlapping_discs_are_parted_and_flicks_are_not() {
        assert_eq!(peaks(&[(20.0, 20.0, 7.0)]), 1);
        assert_eq!(peaks(&[(18.0, 20.0, 7.0), (30.0, 21.0, 6.5)]), 2);
        let flick: Vec<_> = (0..25)
            .map(|i| (15.0 + i as f32, 20.0 + 0.3 * i as f32, 4.0))
            .collect();
        assert_eq!(peaks(&flick), 1);
    }
}
