//! Crumbs: specks of noise in the blurred skirts of marks, which are no marks of their own.
//!
//! In a skirt the cover passes through one half, so there a little noise is enough to set single pixels beside
//! the mark's edge apart from it. Out on the bare ground the same noise stays far below. The darkening rim of a
//! round field does the same.

use super::label::Patches;
use crate::plane::Mask;
use ndarray::Array2;

/// Largest area of a crumb in squares of the blur's standard deviation: a sliver along an edge reaches some six
/// of them by four.
const LARGEST: f64 = 24.0;
/// How much larger the mark beside it is at least.
const TIMES_SMALLER: usize = 12;
/// How far beyond the edge the skirt reaches, in standard deviations of the blur.
const SKIRT: f64 = 4.0;

/// Takes the crumbs out and numbers the rest anew.
#[must_use]
pub fn swept(patches: Patches, usable: &Mask, sigma_px: f64) -> Patches {
    let Patches { labels, count } = patches;
    let pixels = pixels_of(&labels, count);
    let largest = (LARGEST * sigma_px * sigma_px).ceil() as usize;
    let reach = (SKIRT * sigma_px).ceil().max(2.0) as usize;
    let mut crumb = vec![false; pixels.len()];
    for ((y, x), &label) in labels.indexed_iter() {
        let own = pixels[label as usize];
        if label > 0 && own <= largest && !crumb[label as usize] {
            let large = TIMES_SMALLER * own;
            crumb[label as usize] = around(labels.dim(), [y, x], reach)
                .any(|at| !usable[at] || pixels[labels[at] as usize] >= large);
        }
    }
    let mut kept = 0;
    let new: Vec<u32> = crumb
        .iter()
        .enumerate()
        .map(|(label, &crumb)| {
            let keep = label > 0 && !crumb;
            kept += u32::from(keep);
            if keep { kept } else { 0 }
        })
        .collect();
    Patches {
        labels: labels.mapv_into(|label| new[label as usize]),
        count: kept as usize,
    }
}

fn pixels_of(labels: &Array2<u32>, count: usize) -> Vec<usize> {
    let mut pixels = vec![0; count + 1];
    for &label in labels {
        pixels[label as usize] += 1;
    }
    pixels[0] = 0;
    pixels
}

/// Pixels within reach along rows and columns, itself included.
fn around(
    (height, width): (usize, usize),
    [y, x]: [usize; 2],
    reach: usize,
) -> impl Iterator<Item = [usize; 2]> {
    let rows = y.saturating_sub(reach)..(y + reach + 1).min(height);
    let columns = x.saturating_sub(reach)..(x + reach + 1).min(width);
    rows.flat_map(move |row| columns.clone().map(move |column| [row, column]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::label::join;

    #[test]
    fn a_speck_beside_a_large_mark_is_swept_and_one_in_the_open_is_kept() {
        let mut inked = Mask::from_elem((40, 60), false);
        inked.slice_mut(ndarray::s![10..20, 10..20]).fill(true);
        inked.slice_mut(ndarray::s![14..17, 22..23]).fill(true);
        inked.slice_mut(ndarray::s![30..33, 40..41]).fill(true);
        let swept = swept(join(&inked, 3), &Mask::from_elem(inked.dim(), true), 1.0);
        assert_eq!(swept.count, 2);
        assert_eq!(swept.labels[[12, 12]], 1);
        assert_eq!(swept.labels[[15, 22]], 0);
        assert_eq!(swept.labels[[31, 40]], 2);
    }

    #[test]
    fn marks_of_one_size_keep_their_neighbours() {
        let mut inked = Mask::from_elem((30, 30), false);
        for x in (0..30).step_by(4) {
            inked.slice_mut(ndarray::s![10..12, x..x + 2]).fill(true);
        }
        let swept = swept(join(&inked, 3), &Mask::from_elem(inked.dim(), true), 1.5);
        assert_eq!(swept.count, 8);
    }
}
