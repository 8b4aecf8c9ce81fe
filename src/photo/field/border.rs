//! A plain border that software has put around a picture.
//!
//! Paper, cloth and a scanner's lid are photographed with noise; rows that are of one colour from end to end are not
//! photographed at all. Taken for paper they would hide what bare paper the sheet has.

use super::usable::CLIPPED_BLACK;
use crate::plane::{Mask, Rgb};
use ndarray::{ArrayView1, ArrayView2, s};

/// Largest difference inside a row that counts as of one colour, share of its light: about one code of 255.
const ONE_COLOUR: f32 = 0.01;
/// Rows left out besides those of one colour: compression in blocks of so many makes the print shine into the border.
const MARGIN_PX: usize = 8;
/// Share of the picture within that may have the border's very colour: a photograph's paper is noisy and toned.
const OWN_GROUND: f64 = 0.2;

/// Strikes it out, and gives its share of the frame.
pub(super) fn strike_out(linear: &Rgb, seen: &mut Mask) -> f64 {
    let (height, width) = seen.dim();
    let row = |y: usize| is_plain(linear.each_ref().map(|plane| plane.row(y)));
    let column = |x: usize| is_plain(linear.each_ref().map(|plane| plane.column(x)));
    let top = (0..height).take_while(|&y| row(y)).count();
    let left = (0..width).take_while(|&x| column(x)).count();
    if top == height || left == width {
        // One colour all over, or ruled from side to side, is no border of anything.
        return 0.0;
    }
    let foot = (0..height).rev().take_while(|&y| row(y)).count();
    let right = (0..width).rev().take_while(|&x| column(x)).count();
    let corner = [
        if top + left > 0 { 0 } else { height - 1 },
        if top + left > 0 { 0 } else { width - 1 },
    ];
    let inside = s![top..height - foot, left..width - right];
    if recurs(
        linear
            .each_ref()
            .map(|plane| (plane[corner], plane.slice(inside))),
    ) {
        return 0.0;
    }
    let [top, foot, left, right] =
        [top, foot, left, right].map(|rows| if rows > 0 { rows + MARGIN_PX } else { 0 });
    seen.slice_mut(s![..top.min(height), ..]).fill(false);
    seen.slice_mut(s![height.saturating_sub(foot).., ..])
        .fill(false);
    seen.slice_mut(s![.., ..left.min(width)]).fill(false);
    seen.slice_mut(s![.., width.saturating_sub(right)..])
        .fill(false);
    let inside = height.saturating_sub(top + foot) * width.saturating_sub(left + right);
    1.0 - inside as f64 / (height * width).max(1) as f64
}

/// Whether the colour of the border, of each channel, is that of much of the picture within: then it is the clean ground of
/// a drawing or of a line scan, and nobody put it around.
fn recurs(channels: [(f32, ArrayView2<f32>); 3]) -> bool {
    let [(red, reds), (green, greens), (blue, blues)] = channels;
    let same = |a: f32, b: f32| (a - b).abs() <= ONE_COLOUR * b;
    let pixels = reds.iter().zip(&greens).zip(&blues);
    let again = pixels.filter(|((r, g), b)| same(**r, red) && same(**g, green) && same(**b, blue));
    again.count() as f64 > OWN_GROUND * reds.len() as f64
}

/// Whether a row or column is of one colour that is not black: black is the surround of a loupe.
fn is_plain(channels: [ArrayView1<f32>; 3]) -> bool {
    let mut lightest = 0.0_f32;
    for channel in channels {
        let (mut least, mut most) = (f32::INFINITY, 0.0_f32);
        for &light in channel {
            (least, most) = (least.min(light), most.max(light));
            if most - least > ONE_COLOUR * most {
                return false;
            }
        }
        lightest = lightest.max(most);
    }
    lightest > CLIPPED_BLACK
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;

    /// Noise within a border of so many px at the top and at the left.
    fn bordered(top: usize, left: usize) -> Rgb {
        let mut state = 1u32;
        let plane = Plane::from_shape_fn((60, 80), |(y, x)| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            if y < top || x < left {
                0.9
            } else {
                0.5 + 0.2 * (state >> 8) as f32 / (1 << 24) as f32
            }
        });
        [plane.clone(), plane.clone(), plane]
    }

    #[test]
    fn only_rows_of_one_colour_are_a_border() {
        for (top, left, kept) in [(0, 0, 60 * 80), (5, 0, 47 * 80), (4, 6, 48 * 66)] {
            let mut seen = Mask::from_elem((60, 80), true);
            let share = strike_out(&bordered(top, left), &mut seen);
            assert_eq!(seen.iter().filter(|s| **s).count(), kept, "{top} {left}");
            approx::assert_abs_diff_eq!(share, 1.0 - f64::from(kept as u32) / 4800.0);
        }
        let mut seen = Mask::from_elem((60, 80), true);
        assert_eq!(strike_out(&bordered(60, 80), &mut seen), 0.0);
        let ruled = Plane::from_shape_fn((60, 80), |(_, x)| [0.9, 0.1][x / 3 % 2]);
        for ruled in [ruled.t().as_standard_layout().into_owned(), ruled] {
            let mut seen = Mask::from_elem(ruled.dim(), true);
            let ruled = [ruled.clone(), ruled.clone(), ruled];
            assert_eq!(
                strike_out(&ruled, &mut seen),
                0.0,
                "ruled from side to side"
            );
        }
        let clean = bordered(20, 20).map(|plane| plane.mapv(|v| if v < 0.6 { 0.1 } else { 0.9 }));
        assert_eq!(strike_out(&clean, &mut seen), 0.0);
        assert!(
            seen.iter().all(|s| *s),
            "one colour all over, or a drawing's own ground, is no border"
        );
    }
}
