//! Specks of several colours side by side, as process inks make where their spots fall apart.
//!
//! Within a small block one ink on one ground is a mixture of two lights, blur included, so the hue
//! of its light follows its darkness along a straight way; a small shift between the channels adds what
//! follows the slope of darkness. What is left over, compared two pixels apart where the noise of
//! the camera is not the same any more, is hue of its own: specks beside the marks.

use crate::ink::Inked;
use crate::measure::film::layout::hue_part;
use crate::rank::median;
use nalgebra::{Matrix4, Matrix4x2, Vector4};
use ndarray::{Array2, s};
use rayon::prelude::*;

/// Side of a block in px: several spots of a printer or screen, yet little of a subject's shading.
const BLOCK_PX: usize = 24;
/// Pixels between two places compared: past demosaicing, within one speck.
const APART_PX: usize = 2;
/// Missing light, mean over the block, from which it is printed.
const PRINTED: f32 = 0.06;
/// Blocks needed.
const MIN_BLOCKS: usize = 25;
/// Most blocks looked at; those of a large photograph are thinned evenly.
const MAX_BLOCKS: usize = 2500;

/// Hue that does not follow the marks, over the printed blocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Specks {
    /// Median scatter of hue, as a share of the block's own light.
    pub scatter: f64,
    /// The same along the way on which it scatters least: above nought only with three lights or more
    /// beside the marks' and the ground's.
    pub breadth: f64,
    /// Blocks it rests on.
    pub blocks: usize,
}

/// Measures it; `None` where too little is printed.
#[must_use]
pub fn measure(inked: &Inked) -> Option<Specks> {
    let (rows, columns) = inked.usable.dim();
    let (down, across) = (rows / BLOCK_PX, columns / BLOCK_PX);
    let every = (down * across).div_ceil(MAX_BLOCKS).max(1);
    let found: Vec<[f64; 2]> = (0..down * across)
        .into_par_iter()
        .filter(|i| i % every == 0)
        .filter_map(|i| block(inked, i / across * BLOCK_PX, i % across * BLOCK_PX))
        .collect();
    if found.len() < MIN_BLOCKS {
        return None;
    }
    let middle = |k: usize| median(found.iter().map(|f| f[k]));
    Some(Specks {
        scatter: middle(0)?,
        breadth: middle(1)?,
        blocks: found.len(),
    })
}

/// Scatter in all and along the narrowest way of one block's hue, as shares of its light.
fn block(inked: &Inked, top: usize, left: usize) -> Option<[f64; 2]> {
    let area = s![top..top + BLOCK_PX, left..left + BLOCK_PX];
    if !inked.usable.slice(area).iter().all(|&u| u) {
        return None;
    }
    let light = inked
        .density
        .each_ref()
        .map(|plane| plane.slice(area).mapv(|d| 10f32.powf(-d)));
    let grey = (&light[0] + &light[1] + &light[2]) / 3.0;
    let mean = grey.mean()?;
    if 1.0 - mean < PRINTED || mean <= 0.0 {
        return None;
    }
    let left_over = without_marks(&light, &grey)?;
    let [uu, uv, vv] = covariance_apart(&left_over);
    let middle = (uu + vv) / 2.0;
    let half = ((uu - vv) / 2.0).hypot(uv);
    let share = |variance: f64| variance.max(0.0).sqrt() / f64::from(mean);
    Some([share(uu + vv), share(middle - half)])
}

/// Hue of the light with what follows its darkness and the slope of its darkness taken out; a rim one
/// pixel wide is left off.
fn without_marks(light: &[Array2<f32>; 3], grey: &Array2<f32>) -> Option<Array2<[f64; 2]>> {
    let side = BLOCK_PX - 2;
    let at = |i: usize| {
        let (y, x) = (i / side + 1, i % side + 1);
        let g = |y: usize, x: usize| f64::from(grey[[y, x]]);
        let terms = Vector4::new(
            1.0,
            g(y, x),
            g(y, x + 1) - g(y, x - 1),
            g(y + 1, x) - g(y - 1, x),
        );
        (
            terms,
            hue_part([0, 1, 2].map(|c| f64::from(light[c][[y, x]]))),
        )
    };
    let (mut normal, mut right) = (Matrix4::zeros(), Matrix4x2::zeros());
    for i in 0..side * side {
        let (terms, hue) = at(i);
        normal += terms * terms.transpose();
        right.set_column(0, &(right.column(0) + terms * hue[0]));
        right.set_column(1, &(right.column(1) + terms * hue[1]));
    }
    // An even block has nothing to follow: so little added keeps it solvable and moves no other.
    for k in 0..4 {
        normal[(k, k)] += 1e-9 * (side * side) as f64;
    }
    let followed = normal.cholesky()?.solve(&right);
    Some(Array2::from_shape_fn((side, side), |(y, x)| {
        let (terms, hue) = at(y * side + x);
        [0, 1].map(|k| hue[k] - terms.dot(&followed.column(k)))
    }))
}

/// Covariance of the two coordinates between places so far apart across and down: uu, uv, vv.
fn covariance_apart(hues: &Array2<[f64; 2]>) -> [f64; 3] {
    let side = hues.nrows();
    let (mut sums, mut n) = ([0.0; 3], 0.0);
    let mut add = |[u, v]: [f64; 2], [p, q]: [f64; 2]| {
        sums[0] += u * p;
        sums[1] += (u * q + v * p) / 2.0;
        sums[2] += v * q;
        n += 1.0;
    };
    for along in 0..side {
        for across in 0..side - APART_PX {
            add(hues[[along, across]], hues[[along, across + APART_PX]]);
            add(hues[[across, along]], hues[[across + APART_PX, along]]);
        }
    }
    sums.map(|sum| sum / n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;
    use rand::{RngExt, SeedableRng};

    const SIDE: usize = 240;

    /// Discs of 5 px across at random places, so many a px²; `true` inside.
    fn dots(seed: u64, density: f64) -> Array2<bool> {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        let mut cover = Array2::from_elem((SIDE, SIDE), false);
        for _ in 0..(density * (SIDE * SIDE) as f64) as usize {
            let (cx, cy) = (rng.random_range(0..SIDE), rng.random_range(0..SIDE));
            for ((y, x), c) in cover.indexed_iter_mut() {
                *c |= (y as f64 - cy as f64).hypot(x as f64 - cx as f64) < 2.6;
            }
        }
        cover
    }

    fn printed(inks: &[(Array2<bool>, [f32; 3])], paper: [f32; 3]) -> Inked {
        inked_from(
            [0, 1, 2].map(|c| {
                Plane::from_shape_fn((SIDE, SIDE), |at| {
                    inks.iter()
                        .filter(|(cover, _)| cover[at])
                        .fold(paper[c], |light, (_, ink)| light * ink[c])
                })
            }),
            None,
        )
    }

    const CYAN: [f32; 3] = [0.15, 0.6, 0.85];
    const MAGENTA: [f32; 3] = [0.8, 0.15, 0.4];
    const YELLOW: [f32; 3] = [0.95, 0.85, 0.15];
    const BLACK: [f32; 3] = [0.08, 0.08, 0.09];

    #[test]
    fn spots_of_three_inks_scatter_both_ways_and_one_ink_on_a_wash_does_not() {
        let three = printed(
            &[
                (dots(1, 0.01), CYAN),
                (dots(2, 0.01), MAGENTA),
                (dots(3, 0.01), YELLOW),
            ],
            [0.95, 0.94, 0.9],
        );
        let three = measure(&three).unwrap();
        let washed = measure(&printed(&[(dots(4, 0.02), BLACK)], [0.3, 0.6, 0.35])).unwrap();
        let sepia = measure(&printed(
            &[(dots(5, 0.02), [0.4, 0.15, 0.1])],
            [0.95, 0.94, 0.9],
        ));
        let sepia = sepia.unwrap();
        assert!(three.scatter > 0.1 && three.breadth > 0.05, "{three:?}");
        assert!(washed.scatter < 0.01 && washed.breadth < 0.01, "{washed:?}");
        assert!(sepia.scatter < 0.02 && sepia.breadth < 0.01, "{sepia:?}");
    }

    #[test]
    fn blank_paper_has_no_printed_blocks() {
        assert_eq!(measure(&printed(&[], [0.99, 0.98, 0.97])), None);
    }
}
