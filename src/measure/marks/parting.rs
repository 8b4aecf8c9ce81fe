//! Touching marks parted at their waists.

use super::depth::chamfer;
use crate::measure::points::Point;
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

/// Square of a waist's half-width over the product of blur and the smaller mark's radius, up to
/// which blur alone can have bridged a gap: two discs of radius R that touch are joined, once
/// blurred by σ and cut at half cover, by a neck about that wide. A wider waist is in the ink.
const BRIDGED_BY_BLUR: f64 = 1.35;

/// How many times as many marks there are when those that blur joined are parted; ≥ 1. Only marks
/// that are not cut are looked at.
#[must_use]
pub fn parted_count(segments: &Segments) -> f64 {
    let bridge = BRIDGED_BY_BLUR * f64::from(segments.blur.sigma_px);
    let counts: Vec<usize> = segments
        .marks
        .par_iter()
        .enumerate()
        .filter(|(_, mark)| !mark.cut)
        .map(|(i, mark)| {
            let bridged = |p: &&Part| {
                let waist = f64::from(p.waist);
                waist * waist <= bridge * f64::from(p.half_width)
            };
            parts_of(segments, mark, i as u32 + 1)
                .iter()
                .filter(bridged)
                .count()
                .max(1)
        })
        .collect();
    if counts.is_empty() {
        return 1.0;
    }
    counts.iter().sum::<usize>() as f64 / counts.len() as f64
}

/// Where the dots stand, px: centres of round marks, middles of the parts of others, however
/// they are joined. Marks that are cut, and outlines, are left out.
#[must_use]
pub fn places(segments: &Segments) -> Vec<Point> {
    let places: Vec<Vec<Point>> = segments
        .marks
        .par_iter()
        .enumerate()
        .filter(|(_, mark)| !mark.cut && is_compact(mark))
        .map(|(i, mark)| {
            let parts = parts_of(segments, mark, i as u32 + 1);
            if parts.len() > 1 {
                parts.iter().map(|p| p.at).collect()
            } else {
                vec![[mark.cx, mark.cy]]
            }
        })
        .collect();
    places.concat()
}

/// A part of a mark.
struct Part {
    /// Its middle, px.
    at: Point,
    /// Half of its width, px.
    half_width: f32,
    /// Half of the width where it meets a wider part, px; 0 for the widest.
    waist: f32,
}

fn box_of(mark: &Mark) -> (usize, usize) {
    let [left, top, right, bottom] = mark.bbox;
    (right - left + 3, bottom - top + 3)
}

fn is_compact(mark: &Mark) -> bool {
    let (width, height) = box_of(mark);
    width * height <= MAX_BOX * mark.pixels + 64
}

/// The parts of a mark; none where it is round or an outline.
fn parts_of(segments: &Segments, mark: &Mark, label: u32) -> Vec<Part> {
    if mark.circularity() >= MAX_CIRCULARITY || !is_compact(mark) {
        return Vec::new();
    }
    let [left, top, right, bottom] = mark.bbox;
    let (width, height) = box_of(mark);
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
    let mut parts = lasting_peaks(&distance, width);
    for part in &mut parts {
        part.at[0] += left as f64 - 1.0;
        part.at[1] += top as f64 - 1.0;
    }
    parts
}

/// Peaks of the distance that are still apart when the level has fallen by the depth of a waist:
/// pixels are added from the highest down, and a peak is swallowed where it meets a higher one
/// before it stands high enough above the meeting.
fn lasting_peaks(distance: &[f32], width: usize) -> Vec<Part> {
    // Highest first, equals by place: distances are positive, so their bits are in their order.
    let mut keys: Vec<u64> = (0_u32..)
        .zip(distance)
        .filter(|(_, value)| **value > 0.0)
        .map(|(i, value)| u64::from(!value.to_bits()) << 32 | u64::from(i))
        .collect();
    keys.sort_unstable();
    let order: Vec<u32> = keys.into_iter().map(|key| key as u32).collect();
    let mut parent = vec![u32::MAX; distance.len()];
    let part = |i: u32, waist: f32| Part {
        at: [(i as usize % width) as f64, (i as usize / width) as f64],
        half_width: distance[i as usize],
        waist,
    };
    let mut lasting = Vec::new();
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
                lasting.push(part(lower, level));
            }
            parent[lower as usize] = higher;
        }
    }
    lasting.extend(order.first().map(|&widest| part(widest, 0.0)));
    lasting
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
        lasting_peaks(&distance, width).len()
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
