//! Whether the colours of the marks lie on one another, or beside one another as inks do that were printed
//! one after the other out of register.
//!
//! In each patch the density seen through one filter is explained by that seen through another and by its slope:
//! the slope's share is how far the second lies beside the first. A lens that magnifies the colours unequally
//! moves them along spokes from its axis, in proportion to the distance; what moves all patches alike, and by
//! more than such a lens could wherever in the frame its axis stood, is the print's own. One ink, or a wash over
//! it, has nothing to be out of register with.
//!
//! A slope leads only about as far as a mark is broad, so the same is done on the photograph drawn together to a
//! half and to a quarter: coarse screens stand further out of register, in pixels, than their dots are broad.

use crate::ink::Inked;
use common::{Patch, Shift, common};
use nalgebra::{Matrix6, Vector6};
use ndarray::{ArrayView2, s};
use rayon::prelude::*;
use seen::{Halved, Seen};
use std::borrow::Cow;

mod common;
mod seen;

/// How the colours lie to one another, by the two filters between which they lie farthest apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Register {
    /// Shift that all patches share beyond what a lens explains, px, ≥ 0; 0 = in register.
    pub beyond_lens_px: f64,
    /// Its standard error, px.
    pub standard_error_px: f64,
    /// Patches it rests on.
    pub patches: usize,
}

/// Patches along each side of the frame.
const ALONG: usize = 8;
/// Largest side of a patch, px: holds some twenty marks, and keeps the cost the same for large photographs.
const LARGEST_PX: usize = 128;
/// Smallest side of a patch, px: several times the smoothing.
const SMALLEST_PX: usize = 40;
/// Standard deviation of the smoothing, px: past demosaicing and the blocks in which files store colour.
const SMOOTHING_PX: f64 = 2.5;
/// Where the smoothing ends, px.
const SUPPORT_PX: usize = 6;
/// Farthest that one colour is followed from another, px.
const FARTHEST_PX: isize = 10;
/// Passes of following: each begins where the last ended, rounded to whole pixels.
const PASSES: usize = 4;
/// Share of a patch that must be usable.
const MIN_USABLE: f64 = 0.95;
/// Least share of a density that must follow the other for its shift to mean anything.
const LEAST_FOLLOWED: f64 = 0.2;
/// Pairs of filters compared: red, green and blue are 0, 1 and 2.
const PAIRS: [[usize; 2]; 3] = [[1, 0], [1, 2], [0, 2]];
/// Standard errors taken off a shift before any of it is believed (95 %).
pub(super) const SURE: f64 = 2.0;

/// Measures it; `None` where too few patches hold marks.
#[must_use]
pub fn measure(inked: &Inked) -> Option<Register> {
    let whole = Seen::of(inked);
    let half = Halved::of(whole);
    let quarter = Halved::of(half.seen());
    [(1.0, whole), (2.0, half.seen()), (4.0, quarter.seen())]
        .into_iter()
        .filter_map(|(pixels, seen)| {
            let found = farthest_apart(&seen)?;
            Some(Register {
                beyond_lens_px: found.beyond_lens_px * pixels,
                standard_error_px: found.standard_error_px * pixels,
                ..found
            })
        })
        .max_by(|a, b| a.beyond_lens_px.total_cmp(&b.beyond_lens_px))
}

/// The two filters that see their colours farthest apart.
fn farthest_apart(seen: &Seen) -> Option<Register> {
    let (rows, columns) = seen.usable.dim();
    let half_diagonal = (rows as f64).hypot(columns as f64) / 2.0;
    let places = places(seen);
    let side = places.1;
    let smooth: Vec<[Vec<f32>; 3]> = places
        .0
        .par_iter()
        .map(|&corner| seen.density.map(|plane| smoothed(plane, corner, side)))
        .collect();
    PAIRS
        .iter()
        .filter_map(|pair| followed(seen, &places, &smooth, *pair))
        .map(|shift| {
            let apart = shift.alike[0].hypot(shift.alike[1]);
            let lens = shift.per_px.abs() * half_diagonal;
            Register {
                beyond_lens_px: (apart - lens - SURE * shift.standard_error).max(0.0),
                standard_error_px: shift.standard_error,
                patches: shift.patches,
            }
        })
        .max_by(|a, b| a.beyond_lens_px.total_cmp(&b.beyond_lens_px))
}

/// Upper left corners and side of the patches that are usable with their surroundings.
fn places(seen: &Seen) -> (Vec<[usize; 2]>, usize) {
    let (rows, columns) = seen.usable.dim();
    let margin = SUPPORT_PX + FARTHEST_PX as usize + 1;
    let tile = [rows / ALONG, columns / ALONG];
    let side = tile[0].min(tile[1]).min(LARGEST_PX);
    if side < SMALLEST_PX {
        return (Vec::new(), side);
    }
    let corners = (0..ALONG * ALONG)
        .map(|i| {
            [(i / ALONG, 0), (i % ALONG, 1)].map(|(k, way)| k * tile[way] + (tile[way] - side) / 2)
        })
        .map(|[y, x]| [y.max(margin), x.max(margin)])
        .filter(|[y, x]| y + side + margin <= rows && x + side + margin <= columns)
        .filter(|[y, x]| {
            let area = s![y - margin..y + side + margin, x - margin..x + side + margin];
            let around = seen.usable.slice(area);
            let usable = around.iter().filter(|&&u| u).count();
            usable as f64 >= MIN_USABLE * around.len() as f64
        })
        .collect();
    (corners, side)
}

/// Follows one colour from another until it is found where it was looked for.
fn followed(
    seen: &Seen,
    (corners, side): &(Vec<[usize; 2]>, usize),
    smooth: &[[Vec<f32>; 3]],
    [first, second]: [usize; 2],
) -> Option<Shift> {
    let mut from = [0isize; 2];
    let mut found = None;
    for _ in 0..PASSES {
        let patches: Vec<Patch> = corners
            .par_iter()
            .zip(smooth)
            .filter_map(|(&[top, left], smooth)| {
                let b = if from == [0; 2] {
                    Cow::Borrowed(&smooth[second])
                } else {
                    let moved = [
                        top.checked_add_signed(from[1])?,
                        left.checked_add_signed(from[0])?,
                    ];
                    Cow::Owned(smoothed(seen.density[second], moved, *side))
                };
                patch(seen, [&smooth[first], &b], [top, left], *side, from)
            })
            .collect();
        let shift = common(&patches)?;
        found = Some(shift);
        let next = shift
            .alike
            .map(|s| (s.round() as isize).clamp(-FARTHEST_PX, FARTHEST_PX));
        if next == from {
            break;
        }
        from = next;
    }
    found
}

/// Shift of the second colour in one patch, smoothed `from` so many px (x, y) away, against the first, smoothed in place.
fn patch(
    seen: &Seen,
    [a, b]: [&[f32]; 2],
    [top, left]: [usize; 2],
    side: usize,
    from: [isize; 2],
) -> Option<Patch> {
    let (mut normal, mut right, mut square) = (Matrix6::zeros(), Vector6::zeros(), 0.0);
    for y in 1..side - 1 {
        for x in 1..side - 1 {
            if !seen.usable[[top + y, left + x]] {
                continue;
            }
            let at = |y: usize, x: usize| f64::from(a[y * side + x]);
            let terms = Vector6::new(
                1.0,
                x as f64 / side as f64 - 0.5,
                y as f64 / side as f64 - 0.5,
                at(y, x),
                0.5 * (at(y, x + 1) - at(y, x - 1)),
                0.5 * (at(y + 1, x) - at(y - 1, x)),
            );
            let value = f64::from(b[y * side + x]);
            normal.ger(1.0, &terms, &terms, 1.0);
            right.axpy(value, &terms, 1.0);
            square += value * value;
        }
    }
    let n = normal[(0, 0)];
    // An even patch has no slope to follow; so little added keeps the sums solvable.
    for k in 3..6 {
        normal[(k, k)] += 1e-9 * n.max(1.0);
    }
    let inverse = normal.try_inverse()?;
    let share = inverse * right;
    let gain = share[3];
    if gain.abs() < LEAST_FOLLOWED {
        return None;
    }
    // Neighbouring pixels share their noise: of 4πσ² pixels one is free.
    let together = 4.0 * std::f64::consts::PI * SMOOTHING_PX * SMOOTHING_PX;
    let left_over = (square - right.dot(&share)).max(0.0) / n * together;
    let (rows, columns) = seen.usable.dim();
    Some(Patch {
        at: [
            (left + side / 2) as f64 - 0.5 * columns as f64,
            (top + side / 2) as f64 - 0.5 * rows as f64,
        ],
        shift: [0, 1].map(|k| from[k] as f64 - share[4 + k] / gain),
        standard_error: (left_over * f64::midpoint(inverse[(4, 4)], inverse[(5, 5)])).sqrt()
            / gain.abs(),
    })
}

/// A patch of a plane under a Gaussian, in rows; all that it reaches must lie in the plane.
fn smoothed(plane: ArrayView2<f32>, [top, left]: [usize; 2], side: usize) -> Vec<f32> {
    let weights: Vec<f32> = (0..=2 * SUPPORT_PX)
        .map(|k| (-0.5 * ((k as f64 - SUPPORT_PX as f64) / SMOOTHING_PX).powi(2)).exp() as f32)
        .collect();
    let total: f32 = weights.iter().sum();
    let wide = side + 2 * SUPPORT_PX;
    let mut down = vec![0.0f32; side * wide];
    for y in 0..side {
        for (k, weight) in weights.iter().enumerate() {
            let row = plane.row(top + y + k - SUPPORT_PX);
            let from = &row.as_slice().unwrap_or_default()[left - SUPPORT_PX..];
            for (sum, value) in down[y * wide..][..wide].iter_mut().zip(from) {
                *sum += weight * value;
            }
        }
    }
    let mut both = vec![0.0f32; side * side];
    for y in 0..side {
        for (k, weight) in weights.iter().enumerate() {
            let from = &down[y * wide + k..][..side];
            for (sum, value) in both[y * side..][..side].iter_mut().zip(from) {
                *sum += weight * value;
            }
        }
    }
    both.iter_mut().for_each(|v| *v /= total * total);
    both
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;
    use rand::{RngExt, SeedableRng};

    const SIZE: [usize; 2] = [640, 560];

    /// Soft dots of two inks, the second `apart` px (x, y) from the first, photographed by a lens that magnifies
    /// red by so much more than green, and blue by as much less.
    fn sheet(inks: [[f64; 3]; 2], apart: [f64; 2], lens: f64) -> Inked {
        sheet_of(inks, apart, lens, 1)
    }

    /// The same with dots so many times as broad, and as much fewer.
    fn sheet_of(inks: [[f64; 3]; 2], apart: [f64; 2], lens: f64, broad: usize) -> Inked {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        let dots: Vec<[f64; 3]> = (0..1400 / broad.pow(2))
            .map(|_| {
                [
                    rng.random_range(0.0..SIZE[0] as f64),
                    rng.random_range(0.0..SIZE[1] as f64),
                    broad as f64 * rng.random_range(2.0..4.0),
                ]
            })
            .collect();
        let lit = |c: usize| {
            let magnified = 1.0 + lens * (1.0 - c as f64);
            let mut density = Plane::zeros((SIZE[1], SIZE[0]));
            for [x, y, r] in &dots {
                for (ink, off) in [(inks[0], [0.0; 2]), (inks[1], apart)] {
                    let [cx, cy] = [(x + off[0], 0), (y + off[1], 1)].map(|(v, k)| {
                        (v - 0.5 * SIZE[k] as f64) * magnified + 0.5 * SIZE[k] as f64
                    });
                    let (x0, y0) = (cx as isize, cy as isize);
                    let reach = 12 * broad as isize;
                    for py in (y0 - reach).max(0)..(y0 + reach + 1).min(SIZE[1] as isize) {
                        for px in (x0 - reach).max(0)..(x0 + reach + 1).min(SIZE[0] as isize) {
                            let d2 = (px as f64 - cx).powi(2) + (py as f64 - cy).powi(2);
                            density[[py as usize, px as usize]] +=
                                (ink[c] * (-0.5 * d2 / (r * r)).exp()) as f32;
                        }
                    }
                }
            }
            let mut noise = rand_chacha::ChaCha8Rng::seed_from_u64(c as u64);
            density.mapv(|d| 0.9 * 10f32.powf(-d) + noise.random_range(-0.01..0.01))
        };
        inked_from([lit(0), lit(1), lit(2)], None)
    }

    const BLACK: [f64; 3] = [0.7, 0.7, 0.7];
    const YELLOW: [f64; 3] = [0.02, 0.08, 0.6];
    const BROWN: [f64; 3] = [0.3, 0.6, 0.8];
    const NONE: [f64; 3] = [0.0; 3];

    #[test]
    fn a_second_ink_beside_the_first_is_out_of_register_by_its_share() {
        let found = measure(&sheet([BLACK, YELLOW], [3.0, -2.0], 0.0)).expect("marks");
        // Blue sees black and, 3.6 px off, nearly as much yellow: as one density, shifted by about half of it.
        assert!((1.2..2.4).contains(&found.beyond_lens_px), "{found:?}");
        assert!(found.standard_error_px < 0.1, "{found:?}");
    }

    #[test]
    fn far_off_inks_are_followed() {
        let found = measure(&sheet(
            [[0.7, 0.1, 0.05], [0.05, 0.1, 0.7]],
            [7.0, 4.0],
            0.0,
        ));
        let found = found.expect("marks");
        assert!((found.beyond_lens_px - 8.06).abs() < 1.0, "{found:?}");
    }

    #[test]
    fn coarse_dots_are_followed_farther() {
        let inks = [[0.7, 0.1, 0.05], [0.05, 0.1, 0.7]];
        let found = measure(&sheet_of(inks, [15.0, 9.0], 0.0, 2)).expect("marks");
        assert!((found.beyond_lens_px - 17.5).abs() < 2.0, "{found:?}");
    }

    #[test]
    fn one_ink_is_in_register_whatever_the_lens_does() {
        for (ink, lens) in [(BLACK, 0.0), (BROWN, 0.0), (BLACK, 0.004), (BROWN, -0.004)] {
            let found = measure(&sheet([ink, NONE], [0.0; 2], lens)).expect("marks");
            assert_eq!(found.beyond_lens_px, 0.0, "{ink:?} {lens}: {found:?}");
        }
    }

    #[test]
    fn an_empty_or_small_sheet_gives_nothing() {
        let bare =
            |side: usize| inked_from([0, 1, 2].map(|_| Plane::from_elem((side, side), 0.9)), None);
        assert!(measure(&bare(600)).is_none());
        assert!(measure(&bare(40)).is_none());
    }
}
